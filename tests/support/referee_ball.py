"""One ball of the referee's: where it is, and what it has done."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from flightsim.contact.fates import Flag


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
    failed_first: bool = False
    left: int = -1
    past: list[int] = field(default_factory=list)  # cloths whose edge it has got past and that it is not clear of
    slipped: tuple[float, int] | None = None  # past an edge, at this speed, and no guard has kept it in since
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
