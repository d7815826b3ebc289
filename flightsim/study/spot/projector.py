"""A projector's light: how far it stands from its picture, what is in the way, and the shadow of who hits."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, ceil, floor, hypot

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, PartKind
from flightsim.bay.people import Zone
from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.display import FOOT, Display

Array = NDArray[np.float64]
_EDGE = 0.99  # of the picture's half sizes: where its rim is looked at
_RIM = (9, 5)  # points across and up that the light must reach, looked at of every place
_CLOSE = 0.05  # m between the points that it must reach as well, of a place that is to be told
METRIC = Display()
_GRID = (16, 9)  # points across and up that a shadow is counted on
_STEPS = 120  # of a ray, in which a shadow is looked for


@dataclass(frozen=True)
class Projector:
    """What is thrown: nearest and farthest throw, lens to cloth, and the picture's width and height, m."""

    nearest: float
    farthest: float
    width: float
    height: float


@dataclass(frozen=True)
class Picture:
    """A picture in its place: its middle `(3,)`, width and height, m, on the face of a screen, square to the room."""

    middle: Array
    width: float
    height: float

    def points(self, across: int, up: int, share: float = _EDGE) -> Array:
        """Points `(across * up, 3)` over it, the corners among them, drawn in to this share."""
        y = np.linspace(-0.5, 0.5, across) * self.width * share
        z = np.linspace(-0.5, 0.5, up) * self.height * share
        grid = np.stack(np.meshgrid(y, z, indexing="ij"), axis=-1).reshape(-1, 2)
        return np.asarray(self.middle + np.column_stack([np.zeros(len(grid)), grid]))

    @property
    def rim(self) -> list[Array]:
        """Where light must reach: corners, edges and face."""
        return list(self.points(*_RIM))

    @property
    def close_points(self) -> Array:
        """Points `(m, 3)` all over it, no farther apart than _CLOSE: what is thinner may stand between two of them."""
        across, up = (ceil(size / _CLOSE) + 1 for size in (self.width, self.height))
        return self.points(across, up)

    @property
    def corners(self) -> Array:
        """Its corners `(4, 3)`, in order round it."""
        w, h = self.width / 2.0, self.height / 2.0
        return np.asarray(self.middle + np.array([[0.0, -w, -h], [0.0, w, -h], [0.0, w, h], [0.0, -w, h]]))


@dataclass(frozen=True)
class Light:
    """How a place throws the picture: throw, m; down and aside, rad: how far the picture's middle is below and to the
    side of straight ahead of the lens; shadow and head: shares of the picture that who hits takes away, with any part
    of the body and with the head alone, the worse hand and spot.
    """

    throw: float
    down: float
    aside: float
    shadow: float
    head: float


def picture_on(bay: Bay, projector: Projector, name: str = "", show: Display = METRIC) -> Picture:
    """The picture in the middle of a screen: the named one, else the largest. Raises BadInputError where none fits."""
    screens = bay.guards_of(PartKind.SCREEN)
    named = [part for part in bay.parts if name and name in (part.name, part.label)]
    candidates = [part for part in screens if part in named] or list(screens) or named
    if not candidates:
        allowed = "a bay with a screen, or a part's name as "
        raise BadInputError(f"a picture needs a screen\n  allowed: {allowed}", Asked("see"))
    screen = max(candidates, key=lambda part: float(np.prod(_size(part)[1:])))
    corners = np.concatenate(screen.shape.outlines())
    low, high = corners.min(axis=0), corners.max(axis=0)
    _, across, up = high - low
    if projector.width > across + 1e-9 or projector.height > up + 1e-9:
        wide = across / FOOT if show.units == "imperial" else across
        fits = f"{floor(wide * 10.0) / 10.0:.1f}x{floor(wide * 90.0 / 16.0) / 10.0:.1f}{show.length_axis[1]}"
        raise BadInputError(
            f"a picture of {show.length(projector.width)} by {show.length(projector.height)} does not fit the "
            f"{screen.label} of {show.length(across)} by {show.length(up)}\n  try: ",
            Asked("picture", fits),
        )
    middle = np.array([low[0], (low[1] + high[1]) / 2.0, (low[2] + high[2]) / 2.0])
    return Picture(middle, projector.width, projector.height)


def _size(part: Part) -> Array:
    corners = np.concatenate(part.shape.outlines())
    return np.asarray(corners.max(axis=0) - corners.min(axis=0))


def light_from(lens: Array, picture: Picture, zones: tuple[Zone, ...]) -> Light:
    """The light from a lens `(3,)`. Zones of who hits throw the shadow, each spot and hand by itself."""
    way = picture.middle - lens
    hitters = sorted({(zone.own_spot, zone.own_hand) for zone in zones if zone.own_spot})
    shadows = [_shadows(lens, picture, [z for z in zones if (z.own_spot, z.own_hand) == hitter]) for hitter in hitters]
    return Light(
        float(way[0]), atan2(-way[2], hypot(way[0], way[1])), atan2(way[1], way[0]),
        max((whole for whole, _ in shadows), default=0.0), max((head for _, head in shadows), default=0.0),
    )  # fmt: skip


def _shadows(lens: Array, picture: Picture, zones: list[Zone]) -> tuple[float, float]:
    """Shares of the picture that these zones, and the heads among them, shade."""
    ends = picture.points(*_GRID)
    share = np.linspace(0.0, 1.0, _STEPS)[None, :, None]
    points = (lens + share * (ends[:, None, :] - lens)).reshape(-1, 3)
    found = [np.zeros(len(ends), dtype=bool), np.zeros(len(ends), dtype=bool)]
    for zone in zones:
        inside = (zone.shape.distance(points.T)[0] <= 0.0).reshape(len(ends), -1)
        dark = inside.any(axis=1)
        found[0] |= dark
        if zone.head:
            found[1] |= dark
    return float(found[0].mean()), float(found[1].mean())
