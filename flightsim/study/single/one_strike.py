"""One strike, as the `strike` command asks for it: how the club is delivered goes in, the launch comes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, degrees, radians, sin
from pathlib import Path
from typing import Literal

import numpy as np

from flightsim.errors import Asked, BadInputError
from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.explain import not_a_choice
from flightsim.shots.played_plan import TEE_HEIGHT
from flightsim.shots.played_strata import golfers_numbers
from flightsim.strike.classes import GivenContact, StrikeClass, Thresholds, cells, class_at, strike
from flightsim.strike.clubs import FRICTION, Club, Head, club_names, driver_restitution, point_head, shipped_club
from flightsim.strike.delivery import Delivery, head_axes, to_bay, to_head
from flightsim.strike.edges import edge_from_up
from flightsim.strike.head_file import read_head
from flightsim.strike.impact import Blow, Contact, strike_ball
from flightsim.strike.mat_bounce import bounce_off_mat
from flightsim.strike.vectors import dot

_RPM = 60.0 / (2.0 * np.pi)
POINT_MASS = 0.200  # kg: a driver's head
POINT_RESTITUTION = 0.83  # the limit in the rules (read)
POINT_TANGENTIAL = 0.0
LEAST_LOFT, MOST_LOFT = 1.0, 85.0  # deg at impact, of a club whose edges and hosel may meet the ball
CLASS_WORDS = {
    StrikeClass.FACE: "the face",
    StrikeClass.SKY: "the crown's edge: skied",
    StrikeClass.HOSEL: "the hosel: a shank",
    StrikeClass.THIN: "the sole's edge: thin",
    StrikeClass.TOP: "the sole's edge: topped",
    StrikeClass.TOE: "the toe's edge",
    StrikeClass.FAT: "the mat, then the face: fat",
}


@dataclass(frozen=True)
class OneStrike:
    """How one ball is struck, SI and radians, as a right-hander's; None where the default is wanted.

    edge_height: of the leading edge above the mat, m, in place of `up`, for clubs other than a driver. club: a shipped
    one; head: a head file; neither: a point. left: the mirror image.
    """

    club_speed: float
    loft: float | None = None
    attack: float = 0.0
    path: float = 0.0
    face: float = 0.0
    toe: float = 0.0
    up: float = 0.0
    edge_height: float | None = None
    head_mass: float | None = None
    restitution: float | None = None
    tangential_restitution: float | None = None
    friction: float | None = None
    club: str | None = None
    head: Path | None = None
    left: bool = False

    @property
    def given(self) -> GivenContact:
        """The numbers of the contact that were given."""
        return GivenContact(self.restitution, self.tangential_restitution, self.friction)


@dataclass(frozen=True)
class Struck:
    """The ball's launch `numbers`, units in their names, and how it came by them.

    slid: the ball slid on what it met, all through; bounced: it was struck down into the mat and left it by a bounce.
    """

    numbers: dict[str, float | str]
    strike_class: StrikeClass
    slid: bool
    bounced: bool


def strike_once(order: OneStrike, ball: Ball = LEGAL_BALL) -> Struck:
    """The launch of one strike. Raises BadInputError for a club that cannot be, and for one that misses the ball."""
    if order.head is not None and (order.club is not None or order.head_mass is not None):
        other = Asked("club" if order.club is not None else "head_mass")
        both_give = " both give the head\n  allowed: one of them\n  try: without "
        raise BadInputError(Asked("head"), " and ", other, both_give, other)
    if order.club is not None:
        return _with_club(order, ball)
    if order.loft is None:
        raise BadInputError(
            Asked("loft"),
            ": missing\n  allowed: the elevation of the face's normal at impact; a shipped club has its own\n  try: ",
            Asked("loft", "12deg"),
        )
    if order.edge_height is not None:
        words = ": needs a club\n  allowed: with a club other than a driver\n  try: "
        raise BadInputError(Asked("edge_height"), words, Asked("club", "7-iron"), ", or ", Asked("up"))
    head = read_head(order.head) if order.head else point_head(order.head_mass or POINT_MASS)
    return _told(order, rigid_blow(head, _delivery(order, order.loft), order.given, ball), StrikeClass.FACE, ball)


def rigid_blow(head: Head, delivery: Delivery, given: GivenContact, ball: Ball) -> Blow:
    """A head, or a point, meets the ball with its face.

    Where no restitution is given: a driver's law for a head, and its limit in the rules, 0.83, for a point.
    """
    axes = head_axes(delivery.face, delivery.loft)
    place, normal = head.face_point(delivery.toe, delivery.up)
    velocity = to_head(axes, delivery.head_velocity())
    restitution = POINT_RESTITUTION if head.inertia is None else driver_restitution(dot(velocity, normal))
    own = Contact(restitution, POINT_TANGENTIAL, FRICTION)
    lever = place - head.centre[:, None]
    blow = strike_ball(head.mass, head.inverse_inertia, lever, normal, velocity, given.over(own), ball)
    return Blow(to_bay(axes, blow.velocity), to_bay(axes, blow.spin), to_bay(axes, blow.impulse), blow.slid)


def known_club(name: str) -> Club:
    """The shipped club of this name. Raises BadInputError with the nearest one."""
    if name not in club_names():
        raise unknown("club", name, club_names())
    return shipped_club(name)


def unknown(option: str, name: str, known: tuple[str, ...]) -> BadInputError:
    """What to say of a name that nobody knows."""
    found, allowed, near = not_a_choice(name, known)
    fix = ("\n  try: ", Asked(option, near)) if near else ()
    return BadInputError(Asked(option), f": {found}\n  allowed: {allowed}", *fix)


def _with_club(order: OneStrike, ball: Ball) -> Struck:
    """A shipped club: the strike point decides the class, and that what the ball meets."""
    club = known_club(order.club or "")
    if order.head_mass is not None:
        club = club.model_copy(update={"head_mass": order.head_mass})
    loft = float(club.loft) if order.loft is None else order.loft
    if not radians(LEAST_LOFT) <= loft <= radians(MOST_LOFT):
        allowed = f"{LEAST_LOFT:g} to {MOST_LOFT:g} deg with a club"
        words = f": {degrees(loft):g} deg is out of range\n  allowed: {allowed}\n  try: without "
        raise BadInputError(Asked("loft"), words, Asked("club"))
    delivery = _delivery(order, loft, _edge(order, club, loft, ball))
    thresholds = Thresholds()
    height = delivery.up if club.kind == "driver" else delivery.edge
    kind = class_at(cells(club, loft, thresholds, ball), order.toe, float(height[0]))
    on_mat = TEE_HEIGHT[club.kind] == 0.0
    return _told(order, strike(kind, club, delivery, thresholds, ball, order.given), kind, ball, on_mat)


def _edge(order: OneStrike, club: Club, loft: float, ball: Ball) -> float:
    """Height of the leading edge above the mat, m; a driver's does not count."""
    if order.edge_height is None:
        return float(edge_from_up(order.up, loft, ball))
    if club.kind == "driver":
        raise BadInputError(
            Asked("edge_height"),
            ": a driver's ball is teed\n  allowed: ",
            Asked("up"),
            "\n  try: ",
            Asked("up", "-10mm"),
            " for a low strike",
        )
    if order.up != 0.0:
        both = " both say how high the ball is met\n  allowed: one of them\n  try: without "
        raise BadInputError(Asked("edge_height"), " and ", Asked("up"), both, Asked("up"))
    return order.edge_height


def _delivery(order: OneStrike, loft: float, edge: float = 0.0) -> Delivery:
    numbers = (order.club_speed, order.attack, order.path, order.face, loft, order.toe, order.up, edge)
    return Delivery(*(np.array([number]) for number in numbers))


def _told(order: OneStrike, blow: Blow, kind: StrikeClass, ball: Ball, on_mat: bool = False) -> Struck:
    if not np.any(blow.impulse):
        raise BadInputError(
            "the face moves away from the ball, and misses it\n  allowed: a face within 90 deg of the way the head goes"
            "\n  try: less between path and face, or between attack and loft"
        )
    bounced = on_mat and bool(blow.velocity[2, 0] < 0.0)
    velocity, spin = bounce_off_mat(blow.velocity, blow.spin, ball) if bounced else (blow.velocity, blow.spin)
    return Struck(_launch(velocity, spin, kind, order.left), kind, bool(blow.slid[0]), bounced)


def _launch(velocity: np.ndarray, spin: np.ndarray, kind: StrikeClass, left: bool) -> dict[str, float | str]:
    speed, elevation, azimuth, rate, tilt, _ = (float(column[0]) for column in golfers_numbers(velocity, spin))
    hand = -1.0 if left else 1.0
    return {
        "ball_speed_m_s": speed,
        "elevation_deg": degrees(elevation),
        "azimuth_deg": hand * degrees(azimuth) + 0.0,  # no -0
        "backspin_rpm": rate * cos(tilt) * _RPM + 0.0,
        "sidespin_rpm": hand * rate * sin(tilt) * _RPM + 0.0,
        "strike_class": str(kind),
    }


def strike_lines(struck: Struck, order: OneStrike, units: Literal["metric", "imperial"] | str) -> list[str]:
    """The launch in words, a line each, in the user's units."""
    lines = [f"{label:<14} {words}" for label, words in strike_rows(struck, order, units)]
    if order.club is None and order.head is None and (order.toe or order.up):
        lines.append("A point head does not turn: where on the face it meets the ball changes nothing.")
    return lines


def strike_rows(struck: Struck, order: OneStrike, units: str) -> list[tuple[str, str]]:
    """The launch: what, and how much of it in words, in the user's units."""
    display = Display("imperial" if units == "imperial" else "metric")
    number: Mapping[str, float] = {key: value for key, value in struck.numbers.items() if isinstance(value, float)}
    speed, side, back = number["ball_speed_m_s"], number["azimuth_deg"], number["backspin_rpm"]
    return [
        ("met by", CLASS_WORDS[struck.strike_class]),
        ("ball speed", f"{display.speed(speed)}, {speed / order.club_speed:.2f} times the club's"),
        ("up angle", f"{_one_place(number['elevation_deg'])} deg"),
        ("left-right", _sided(side, "deg", 1, "straight")),
        ("backspin" if back >= 0.0 else "topspin", f"{abs(back):,.0f} rpm"),
        ("sidespin", _sided(number["sidespin_rpm"], "rpm", 0, "none", ", curves ")),
        ("the ball", ("slid" if struck.slid else "gripped")
         + (", went down into the mat, and bounced" if struck.bounced else "")),
    ]  # fmt: skip


def loft_of(order: OneStrike) -> float:
    """Elevation of the face's normal at impact, rad: as given, else the club's."""
    return float(known_club(order.club or "").loft) if order.loft is None else order.loft


def _one_place(value: float) -> str:
    return f"{value if abs(value) >= 0.05 else 0.0:.1f}"


def _sided(value: float, unit: str, places: int, none: str, joint: str = " to the ") -> str:
    if abs(value) < 0.5 * 10.0**-places:
        return none
    return f"{abs(value):,.{places}f} {unit}{joint}{'right' if value > 0.0 else 'left'}"
