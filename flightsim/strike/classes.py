"""Strike classes by geometry: where the ball is met decides the contact normal, the lever and the parameters.

The class is a label of the strike point, at the club's mean dynamic loft. How the ball is met goes by each strike's own
loft: the contact normal changes without a jump across the borders of face, sole, crown and toe (edges.py). Restitution,
friction and lever do change there, since an edge is no face. Numbers marked "judgement" have no published source, and
the thresholds are inputs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import quantity
from flightsim.strike.clubs import FRICTION, TANGENTIAL_RESTITUTION, Club, Head, face_restitution
from flightsim.strike.delivery import Delivery, from_level, head_axes, to_bay, to_head, to_level
from flightsim.strike.edges import (
    HOSEL_OFFSET,
    crown_normal,
    grazing,
    hosel_normal,
    low_normal,
    mean_edge,
    sole_normal,
    thin_edge,
    toe_normal,
    up_from_edge,
)
from flightsim.strike.impact import Blow, Contact, strike_ball
from flightsim.strike.vectors import dot

Array = NDArray[np.float64]

EDGE_CONTACT = Contact(0.75, 0.0, 0.30)  # sole and toe; restitution +-.15: practice
CROWN_CONTACT = Contact(0.55, 0.0, 0.25)
HOSEL_CONTACT = Contact(0.70, 0.0, 0.20)
HOSEL_SPEED = 0.95  # of the head's speed at its centre [miss-hits]
FAT_DEPTH = 0.006  # m below the mean edge height from which a strike counts as fat: judgement
FAT_LOSS = 0.04  # of the head speed a mm: judgement
MOST_FAT_LOSS = 0.5
# Levers from the head's centre of mass, m, as in the worked cases [miss-hits]: toward the heel, and up.
_HOSEL_LEVER = (0.040, 0.004)
_SOLE_AHEAD, _SOLE_UP = 0.008, -0.018  # of the centre's depth; in axes level with the ground
_PIECE = 4096  # strikes worked at once: their arrays stay in the processor's cache
_CROWN_AHEAD, _CROWN_UP = 0.002, 0.003  # of the centre's depth, and of the threshold

if TYPE_CHECKING:
    Threshold: TypeAlias = float
else:
    Threshold = quantity("length", above=0.0, most=0.1)


class StrikeClass(StrEnum):
    """How the ball was met."""

    FACE = "face"
    SKY = "sky"  # crown edge
    HOSEL = "shank"
    THIN = "thin"  # sole edge, below the middle of the ball
    TOP = "top"  # sole edge, above the middle of the ball
    TOE = "toe"
    FAT = "fat"


class Thresholds(Model):
    """Where one class ends and the next begins. All judgements; `run` shows what they do to a rate."""

    hosel_iron: Threshold = Field(0.024, description="toward the heel, irons and woods; default 24 mm")
    hosel_wedge: Threshold = Field(0.022, description="toward the heel, wedges; default 22 mm")
    hosel_driver: Threshold = Field(
        0.036, description="toward the heel, driver, whose face is wide and whose hosel sits high; default 36 mm"
    )
    toe: Threshold = Field(0.038, description="toward the toe; default 38 mm")
    sky: Threshold = Field(0.025, description="above the intended point, driver; default 25 mm")
    driver_top: Threshold = Field(0.029, description="below the intended point, driver; default 29 mm")

    def hosel(self, club: Club) -> float:
        """The hosel's threshold for a club, m."""
        return float({"wedge": self.hosel_wedge, "driver": self.hosel_driver}.get(club.kind, self.hosel_iron))


@dataclass(frozen=True)
class Cells:
    """The rectangles of the strike point that make the classes: toe from..to and height from..to, m."""

    strike_class: StrikeClass
    toe: tuple[float, float]
    height: tuple[float, float]


def cells(club: Club, loft: float, thresholds: Thresholds, ball: Ball = LEGAL_BALL) -> tuple[Cells, ...]:
    """All classes of a club, at its mean dynamic loft, as rectangles that cover the plane without overlap.

    The height is `up` for a driver and the leading edge's height for all other clubs.
    """
    everywhere = (-np.inf, np.inf)
    heel, toe = -thresholds.hosel(club), float(thresholds.toe)
    rows = _rows(club, loft, thresholds, ball)
    return (
        Cells(StrikeClass.HOSEL, (-np.inf, heel), everywhere),
        Cells(StrikeClass.TOE, (toe, np.inf), everywhere),
        *(Cells(kind, (heel, toe), span) for kind, span in rows),
    )


def _rows(
    club: Club, loft: float, thresholds: Thresholds, ball: Ball
) -> tuple[tuple[StrikeClass, tuple[float, float]], ...]:
    if club.kind == "driver":
        low, high = -float(thresholds.driver_top), float(thresholds.sky)
        return (
            (StrikeClass.TOP, (-np.inf, low)),
            (StrikeClass.FACE, (low, high)),
            (StrikeClass.SKY, (high, np.inf)),
        )
    thin, fat = float(thin_edge(loft, ball)), float(mean_edge(loft, ball)) - FAT_DEPTH
    return (
        (StrikeClass.FAT, (-np.inf, fat)),
        (StrikeClass.FACE, (fat, thin)),
        (StrikeClass.THIN, (thin, ball.radius)),
        (StrikeClass.TOP, (ball.radius, np.inf)),
    )


def class_at(found: tuple[Cells, ...], toe: float, height: float) -> StrikeClass:
    """The class of a strike point; a point on a border belongs to the cell above it, or toward the toe."""
    return next(
        cell.strike_class
        for cell in found
        if cell.toe[0] <= toe < cell.toe[1] and cell.height[0] <= height < cell.height[1]
    )


def strike(
    strike_class: StrikeClass,
    club: Club,
    delivery: Delivery,
    thresholds: Thresholds,
    ball: Ball = LEGAL_BALL,
    given: GivenContact | None = None,
) -> Blow:
    """What the ball leaves with, bay axes, for deliveries of one class. Worked in pieces that stay in the cache."""
    method, n = _METHODS[strike_class], len(delivery)
    setting = _Setting(club, club.head(), thresholds, ball, given or GivenContact())
    if n <= _PIECE:
        return method(setting, delivery)
    pieces = [slice(first, min(first + _PIECE, n)) for first in range(0, n, _PIECE)]
    return _joined([(piece, method(setting, delivery.take(piece))) for piece in pieces], n)


@dataclass(frozen=True)
class GivenContact:
    """Numbers of the contact that are given by hand; where None, the class of strike has its own."""

    restitution: float | None = None
    tangential_restitution: float | None = None
    friction: float | None = None

    def over(self, own: Contact) -> Contact:
        """The contact with what is given put in its place."""
        return Contact(
            own.restitution if self.restitution is None else self.restitution,
            own.tangential_restitution if self.tangential_restitution is None else self.tangential_restitution,
            own.friction if self.friction is None else self.friction,
        )


@dataclass(frozen=True)
class _Setting:
    """What all strikes of a batch have in common."""

    club: Club
    head: Head
    thresholds: Thresholds
    ball: Ball
    given: GivenContact


def face_blow(head: Head, kind: str, delivery: Delivery, ball: Ball, given: GivenContact | None = None) -> Blow:
    """A clean strike on the face, at `toe` and `up` from its middle."""
    axes = head_axes(delivery.face, delivery.loft)
    place, normal = head.face_point(delivery.toe, delivery.up)
    velocity = to_head(axes, delivery.head_velocity())
    normal = grazing(normal, velocity)
    own = Contact(face_restitution(kind, dot(velocity, normal)), TANGENTIAL_RESTITUTION[kind], FRICTION)
    contact = own if given is None else given.over(own)
    lever = place - head.centre[:, None]
    blow = strike_ball(head.mass, head.inverse_inertia, lever, normal, velocity, contact, ball)
    return _out(axes, blow)


def _out(axes: Array, blow: Blow) -> Blow:
    return Blow(to_bay(axes, blow.velocity), to_bay(axes, blow.spin), to_bay(axes, blow.impulse), blow.slid)


def _edge_blow(
    setting: _Setting, delivery: Delivery, normal: Array, lever: Array, own: Contact, lofted: bool = True
) -> Blow:
    """A strike on an edge. normal `(3, n)` in axes that turn with the face only; lever `(3, n)`, m, in the head's axes,
    or, where they are not `lofted`, in those level ones, and the inertia with it.
    """
    axes = head_axes(delivery.face, delivery.loft if lofted else np.zeros_like(delivery.loft))
    velocity = to_head(axes, delivery.head_velocity())
    n = grazing(from_level(delivery.loft, normal) if lofted else normal, velocity)
    head, contact = setting.head, setting.given.over(own)
    return _out(axes, strike_ball(head.mass, head.inverse_inertia, lever, n, velocity, contact, setting.ball))


def _lever(out: float, heel: Array, up: float) -> Array:
    return np.stack([np.full_like(heel, out), heel, np.full_like(heel, up)])


def _face_end(head: Head, delivery: Delivery, toe: Array, up: Array) -> tuple[Array, Array]:
    """Lever `(3, n)` in the head's axes, and normal `(3, n)` in level ones, of a place on the face."""
    place, normal = head.face_point(toe, up)
    return place - head.centre[:, None], to_level(delivery.loft, normal)


def _face(setting: _Setting, delivery: Delivery) -> Blow:
    """The face of a teed driver; of any other club, face or sole's edge, as this strike's own loft has it."""
    head, kind, ball, given = setting.head, setting.club.kind, setting.ball, setting.given
    if kind == "driver":
        return face_blow(head, kind, delivery, ball, given)
    low = delivery.edge > thin_edge(delivery.loft, ball)
    if low.all():
        return _sole(setting, delivery)
    on_face = replace(delivery, up=up_from_edge(delivery.edge, delivery.loft, ball))
    if not low.any():
        return face_blow(head, kind, on_face, ball, given)
    high, rest = np.flatnonzero(low), np.flatnonzero(~low)
    return _joined(
        [(high, _sole(setting, delivery.take(high))), (rest, face_blow(head, kind, on_face.take(rest), ball, given))],
        len(delivery),
    )


def _joined(blows: list[tuple[NDArray[np.intp] | slice, Blow]], n: int) -> Blow:
    """n blows from their parts, each with its places."""
    whole = Blow(np.empty((3, n)), np.empty((3, n)), np.empty((3, n)), np.empty(n, dtype=np.bool_))
    for index, blow in blows:
        for name in ("velocity", "spin", "impulse"):
            for row, part in zip(getattr(whole, name), getattr(blow, name), strict=True):
                row[index] = part
        whole.slid[index] = blow.slid
    return whole


def _fat(setting: _Setting, delivery: Delivery) -> Blow:
    """The mat takes speed first; then the face meets the ball as high as a strike that is just not fat."""
    highest = mean_edge(delivery.loft, setting.ball) - FAT_DEPTH
    deep = np.maximum(highest - delivery.edge, 0.0)
    left = 1.0 - np.minimum(deep * 1000.0 * FAT_LOSS, MOST_FAT_LOSS)
    slower = replace(delivery, speed=delivery.speed * left, edge=np.maximum(highest, delivery.edge))
    return _face(setting, slower)


def _sole(setting: _Setting, delivery: Delivery) -> Blow:
    """Sole's edge. A driver's begins to meet the ball at the threshold; any other club's where its loft says."""
    club, head, ball = setting.club, setting.head, setting.ball
    if club.kind == "driver":
        lowest = np.full_like(delivery.up, -float(setting.thresholds.driver_top))
        lever, ends = _face_end(head, delivery, delivery.toe, lowest)
        normal = low_normal(np.maximum(lowest - delivery.up, 0.0), ends, ball)
        return _edge_blow(setting, delivery, normal, lever, EDGE_CONTACT)
    edge = thin_edge(delivery.loft, ball)
    _, ends = _face_end(head, delivery, delivery.toe, up_from_edge(edge, delivery.loft, ball))
    normal = sole_normal(delivery.edge, delivery.loft, ends, ball)
    lever = _lever(club.cg_depth + _SOLE_AHEAD, -delivery.toe, _SOLE_UP)
    return _edge_blow(setting, delivery, normal, lever, EDGE_CONTACT, lofted=False)


def _sky(setting: _Setting, delivery: Delivery) -> Blow:
    """Crown's edge, from the threshold on."""
    sky = float(setting.thresholds.sky)
    highest = np.full_like(delivery.up, sky)
    _, ends = _face_end(setting.head, delivery, delivery.toe, highest)
    normal = crown_normal(np.maximum(delivery.up - highest, 0.0), ends, setting.ball)
    lever = _lever(setting.club.cg_depth + _CROWN_AHEAD, -delivery.toe, sky + _CROWN_UP)
    return _edge_blow(setting, delivery, normal, lever, CROWN_CONTACT)


def _toe(setting: _Setting, delivery: Delivery) -> Blow:
    """Toe's edge, from the threshold on."""
    ball = setting.ball
    last = np.full_like(delivery.toe, float(setting.thresholds.toe))
    driver = setting.club.kind == "driver"
    up = delivery.up if driver else up_from_edge(delivery.edge, delivery.loft, ball)
    lever, ends = _face_end(setting.head, delivery, last, up)
    return _edge_blow(setting, delivery, toe_normal(delivery.toe - last, ends, ball), lever, EDGE_CONTACT)


def _hosel(setting: _Setting, delivery: Delivery) -> Blow:
    """Hosel, from the threshold on."""
    club = setting.club
    past = np.maximum(-delivery.toe - setting.thresholds.hosel(club), 0.0)
    normal = hosel_normal(past, delivery.loft, float(club.lie), setting.ball)
    slower = replace(delivery, speed=delivery.speed * HOSEL_SPEED)
    heel, up = _HOSEL_LEVER
    lever = _lever(club.cg_depth + HOSEL_OFFSET, np.full_like(past, heel), up)
    return _edge_blow(setting, slower, normal, lever, HOSEL_CONTACT)


_METHODS = {
    StrikeClass.FACE: _face,
    StrikeClass.SKY: _sky,
    StrikeClass.HOSEL: _hosel,
    StrikeClass.THIN: _face,
    StrikeClass.TOP: _sole,
    StrikeClass.TOE: _toe,
    StrikeClass.FAT: _fat,
}
