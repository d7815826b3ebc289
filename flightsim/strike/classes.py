"""Strike classes by geometry: where the ball is met decides the contact normal, the lever and the parameters.

The class is a label of the strike point. The normals are continuous where the reference geometry is; the numbers
marked "judgement" have no published source, and the thresholds are inputs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.scenario.models import Model
from flightsim.scenario.quantities import Size
from flightsim.strike.clubs import FRICTION, TANGENTIAL_RESTITUTION, Club, Head, face_restitution
from flightsim.strike.delivery import Delivery, head_axes, to_bay, to_head
from flightsim.strike.impact import Blow, Contact, strike_ball

Array = NDArray[np.float64]

SOLE_EDGE_RADIUS = 0.003  # m
TOE_EDGE_RADIUS = 0.005  # m
CROWN_EDGE_RADIUS = 0.008  # m: the one chosen
HOSEL_RADIUS = 0.0067  # m, 6-7 mm (memory)
HOSEL_OFFSET = 0.002  # m, hosel axis ahead of the leading edge
HOSEL_SPEED = 0.95  # of the head's speed at its centre (reference worked case)
MEAN_EDGE_HEIGHT = 0.003  # m above the mat, irons: judgement
CLEAN_MARGIN = 0.004  # m by which a mean strike clears the height where it would be thin: judgement, for steep lofts
FAT_DEPTH = 0.006  # m below the mean edge height from which a strike counts as fat: judgement
FAT_LOSS = 0.04  # of the head speed a mm: judgement
MOST_FAT_LOSS = 0.5


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

    hosel_iron: Size = Field(0.024, description="toward the heel, irons, woods and the driver; default 24 mm")
    hosel_wedge: Size = Field(0.022, description="toward the heel, wedges; default 22 mm")
    toe: Size = Field(0.038, description="toward the toe; default 38 mm")
    sky: Size = Field(0.025, description="above the intended point, driver; default 25 mm")
    driver_top: Size = Field(0.029, description="below the intended point, driver; default 29 mm")

    def hosel(self, club: Club) -> float:
        """The hosel's threshold for a club, m."""
        return float(self.hosel_wedge if club.kind == "wedge" else self.hosel_iron)


def thin_edge(loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """Leading-edge height, m, above which the sole's edge and not the face meets the ball: r - (r + 3 mm) sin L."""
    return np.asarray(ball.radius - (ball.radius + SOLE_EDGE_RADIUS) * np.sin(loft))


def mean_edge(loft: float, ball: Ball = LEGAL_BALL) -> float:
    """Mean height of the leading edge above the mat's top, m: 3 mm, less for lofts that ask for it (mats give way)."""
    return min(MEAN_EDGE_HEIGHT, float(thin_edge(loft, ball)) - CLEAN_MARGIN)


def hosel_reach(loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """s_max, m: toe-side offset of the ball from the hosel's axis at which ball, face and hosel all touch."""
    r = ball.radius
    ahead = HOSEL_RADIUS - HOSEL_OFFSET + r * (1.0 - np.sin(loft)) / np.cos(loft)
    return np.asarray(np.sqrt(np.maximum((r + HOSEL_RADIUS) ** 2 - ahead**2, 0.0)))


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
    thin = min(float(thin_edge(loft, ball)), ball.radius)
    fat = mean_edge(loft, ball) - FAT_DEPTH
    return (
        (StrikeClass.FAT, (-np.inf, fat)),
        (StrikeClass.FACE, (fat, thin)),
        (StrikeClass.THIN, (thin, ball.radius)),
        (StrikeClass.TOP, (ball.radius, np.inf)),
    )


def strike(
    strike_class: StrikeClass, club: Club, delivery: Delivery, thresholds: Thresholds, ball: Ball = LEGAL_BALL
) -> Blow:
    """What the ball leaves with, bay axes, for deliveries of one class."""
    return _METHODS[strike_class](club, club.head(), delivery, thresholds, ball)


def face_blow(head: Head, kind: str, delivery: Delivery, ball: Ball, contact: Contact | None = None) -> Blow:
    """A clean strike on the face, at `toe` and `up` from its middle."""
    axes = head_axes(delivery.face, delivery.loft)
    place, normal = head.face_point(delivery.toe, delivery.up)
    velocity = to_head(axes, delivery.head_velocity())
    if contact is None:
        closing = (velocity * normal).sum(axis=0)
        contact = Contact(face_restitution(kind, closing), TANGENTIAL_RESTITUTION[kind], FRICTION)
    lever = place - head.centre[:, None]
    blow = strike_ball(head.mass, head.inverse_inertia, lever, normal, velocity, contact, ball)
    return _out(axes, blow)


def _out(axes: Array, blow: Blow) -> Blow:
    return Blow(to_bay(axes, blow.velocity), to_bay(axes, blow.spin), to_bay(axes, blow.impulse), blow.slid)


def _edge_blow(
    head: Head, delivery: Delivery, normal: Array, lever: tuple[float, float, float], contact: Contact, ball: Ball,
    lofted: bool,
) -> Blow:  # fmt: skip
    """A strike on an edge. normal `(3, n)` in axes that turn with the face only; lever in the head's axes, m."""
    level = head_axes(delivery.face, np.zeros_like(delivery.loft))
    axes = head_axes(delivery.face, delivery.loft) if lofted else level
    n = to_head(axes, to_bay(level, normal))
    arm = np.repeat(np.array(lever)[:, None], len(delivery), axis=1)
    velocity = to_head(axes, delivery.head_velocity())
    return _out(axes, strike_ball(head.mass, head.inverse_inertia, arm, n, velocity, contact, ball))


def _face(club: Club, head: Head, delivery: Delivery, thresholds: Thresholds, ball: Ball) -> Blow:
    if club.kind != "driver":
        delivery = replace(delivery, up=_up_from_edge(delivery, ball))
    return face_blow(head, club.kind, delivery, ball)


def _up_from_edge(delivery: Delivery, ball: Ball) -> Array:
    """Strike above the sweet spot, which the mean edge height meets: the higher the edge, the lower the strike."""
    highest = np.minimum(MEAN_EDGE_HEIGHT, thin_edge(delivery.loft, ball) - CLEAN_MARGIN)
    return np.asarray((highest - delivery.edge) / np.cos(delivery.loft))


def _fat(club: Club, head: Head, delivery: Delivery, thresholds: Thresholds, ball: Ball) -> Blow:
    """The mat takes speed first; then the face meets the ball as high as a strike that is just not fat."""
    highest = np.minimum(MEAN_EDGE_HEIGHT, thin_edge(delivery.loft, ball) - CLEAN_MARGIN) - FAT_DEPTH
    deep = np.maximum(highest - delivery.edge, 0.0)
    left = 1.0 - np.minimum(deep * 1000.0 * FAT_LOSS, MOST_FAT_LOSS)
    return _face(club, head, replace(delivery, speed=delivery.speed * left, edge=highest), thresholds, ball)


def _sole(club: Club, head: Head, delivery: Delivery, thresholds: Thresholds, ball: Ball) -> Blow:
    """Sole edge: normal at elevation asin((r - h)/(r + 3 mm)), h the edge's height above the mat.

    A driver's h is reckoned from the threshold: there the edge begins to meet the ball, with the face's own normal.
    """
    reach = ball.radius + SOLE_EDGE_RADIUS
    if club.kind == "driver":
        below = reach * np.sin(delivery.loft) - np.maximum(-delivery.up - thresholds.driver_top, 0.0)
    else:
        # Continuous with the face: the edge is not met below the height where the face still is.
        below = np.minimum(ball.radius - delivery.edge, reach * np.sin(delivery.loft))
    sine = np.clip(below / reach, -0.98, 0.98)
    normal = np.stack([np.sqrt(1.0 - sine**2), np.zeros_like(sine), sine])
    contact = Contact(0.75, 0.0, 0.30)
    return _edge_blow(head, delivery, normal, (0.012, 0.0, -0.018), contact, ball, lofted=False)


def _sky(club: Club, head: Head, delivery: Delivery, thresholds: Thresholds, ball: Ball) -> Blow:
    """Crown edge: the normal rises from the loft toward 90 deg over the crown's edge radius."""
    above = np.maximum(delivery.up - thresholds.sky, 0.0) / (ball.radius + CROWN_EDGE_RADIUS)
    elevation = np.minimum(delivery.loft + np.arcsin(np.minimum(above, 1.0)), np.radians(89.0))
    normal = np.stack([np.cos(elevation), np.zeros_like(elevation), np.sin(elevation)])
    return _edge_blow(head, delivery, normal, (0.040, 0.0, 0.028), Contact(0.55, 0.0, 0.25), ball, lofted=True)


def _toe(club: Club, head: Head, delivery: Delivery, thresholds: Thresholds, ball: Ball) -> Blow:
    """Toe edge: normal at azimuth asin(s/(r + 5 mm)) to the toe's side, s the strike past the threshold."""
    past = (delivery.toe - thresholds.toe) / (ball.radius + TOE_EDGE_RADIUS)
    turn = np.arcsin(np.clip(past, 0.0, 0.98))
    level = np.cos(delivery.loft)
    normal = np.stack([level * np.cos(turn), -level * np.sin(turn), np.sin(delivery.loft)])
    lever = (float(club.cg_depth), -float(thresholds.toe), 0.0)
    return _edge_blow(head, delivery, normal, lever, Contact(0.75, 0.0, 0.30), ball, lofted=True)


def _hosel(club: Club, head: Head, delivery: Delivery, thresholds: Thresholds, ball: Ball) -> Blow:
    """Hosel: psi = asin(s/(r + Rh)), n = (cos psi, -sin psi sin lie, sin psi cos lie).

    s, the ball's offset from the hosel's axis toward the toe, is s_max at the threshold and falls from there: the
    threshold places the hosel, since its true place gives more shanks than golfers report.
    """
    s = hosel_reach(delivery.loft, ball) - np.maximum(-delivery.toe - thresholds.hosel(club), 0.0)
    sine = np.clip(s / (ball.radius + HOSEL_RADIUS), -0.98, 0.98)
    cosine = np.sqrt(1.0 - sine**2)
    normal = np.stack([cosine, -sine * np.sin(club.lie), sine * np.cos(club.lie)])
    slower = replace(delivery, speed=delivery.speed * HOSEL_SPEED)
    return _edge_blow(head, slower, normal, (0.006, 0.040, 0.004), Contact(0.70, 0.0, 0.20), ball, lofted=True)


_METHODS = {
    StrikeClass.FACE: _face,
    StrikeClass.SKY: _sky,
    StrikeClass.HOSEL: _hosel,
    StrikeClass.THIN: _sole,
    StrikeClass.TOP: _sole,
    StrikeClass.TOE: _toe,
    StrikeClass.FAT: _fat,
}
