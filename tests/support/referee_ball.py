"""One ball of the referee's: where it is, and what it has done."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates, Flag


@dataclass
class Ball:
    """One ball on its way, and what it has done."""

    point: np.ndarray
    v: np.ndarray
    w: np.ndarray
    own: np.ndarray
    time: float = 0.0
    last: int = -1
    on: int = -1
    level: np.ndarray | None = None
    touches: list[dict] = field(default_factory=list)
    worst: dict[Flag, tuple[float, int]] = field(default_factory=dict)
    person: tuple[int, float] = (-1, np.nan)
    kept: bool = False
    guards: int = 0
    rests: bool = False
    slow: int = 0
    since: np.ndarray | None = None
    left_at: np.ndarray | None = None  # where its last touch left it
    failed_first: bool = False
    left: int = -1
    past: list[int] = field(default_factory=list)  # cloths whose edge it has got past and that it is not clear of
    slipped: tuple[float, int] | None = None  # past an edge, at this speed, and no other guard has kept it in since
    tee: float = 0.0
    zones: dict[int, tuple[float, int]] = field(default_factory=dict)
    behind_tee: float = np.nan

    def slip_told(self) -> None:
        """It got past the protection."""
        if self.slipped is not None:
            self.note(Flag.PAST_EDGE, *self.slipped)
            self.slipped = None

    def meets(self, zone: int, speed: float, height: float, harm: float) -> None:
        """A person: each zone keeps its own worst, and from the harm speed of that zone on it is a hit."""
        if zone not in self.zones or speed > self.zones[zone][0]:
            self.zones[zone] = speed, self.last
        if speed >= harm and self.note(Flag.PERSON_HIT, speed, zone):
            self.person = self.last, height

    def note(self, flag: Flag, speed: float, place: int) -> bool:
        """That this happened; whether it is the worst so far."""
        worse = flag not in self.worst or speed > self.worst[flag][0]
        if worse:
            self.worst[flag] = (float(speed), place)
        return worse


def write(ball: Ball, k: int, first: Contacts, fates: Fates, log) -> None:
    """This ball's story where the engine writes its own."""
    first.failed[k] = ball.failed_first
    if ball.touches:
        one = ball.touches[0]
        first.part[k], first.time[k], first.point[:, k] = one["part"], one["time"], one["point"]
        first.velocity[:, k], first.normal[:, k], first.spin[:, k] = one["arriving"], one["normal"], one["spin"]
    elif ball.left >= 0:
        first.opening[k], first.time[k], first.point[:, k] = ball.left, ball.time, ball.point
        first.velocity[:, k], first.spin[:, k] = ball.v, ball.w
    for flag, (speed, place) in ball.worst.items():
        fates.worst[flag, k], fates.place[flag, k] = speed, place
    fates.came_from[k], fates.height[k] = ball.person
    fates.contacts[k], fates.kept[k], fates.left[k] = len(ball.touches), ball.kept, ball.left
    for word in range(len(fates.touched)):
        fates.touched[word, k] = ball.guards >> 64 * word & (1 << 64) - 1
    for zone, (speed, place) in ball.zones.items():
        fates.at_zone[zone, k], fates.zone_from[zone, k] = speed, place
    fates.behind_tee[k] = ball.behind_tee
    fates.point[:, k], fates.time[k], fates.rests[k] = ball.point, ball.time, ball.rests
    if log is not None:
        for number, touch in enumerate(ball.touches):
            columns = (
                touch[key][:, None]
                for key in ("point", "arriving", "leaving", "normal", "spin", "leaving_spin", "left")
            )
            one = (np.array([value]) for value in (k, number, touch["part"], touch["time"]))
            log.write(*one, *columns, np.array([touch["left_time"]]))
