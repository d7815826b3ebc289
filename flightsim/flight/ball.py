"""The ball as data: mass, diameter, moment of inertia."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi


@dataclass(frozen=True)
class Ball:
    """A golf ball or a practice ball.

    mass in kg, diameter in m; `inertia_factor` is k in I = k m r^2 (0.40 for a solid sphere).
    """

    name: str
    mass: float
    diameter: float
    inertia_factor: float
    source: str

    def __post_init__(self) -> None:
        """Refuse a ball that cannot exist. Raises ValueError."""
        for field in ("mass", "diameter", "inertia_factor"):
            value = getattr(self, field)
            if not (0.0 < value < float("inf")):
                raise ValueError(f"ball {field} must be a positive, finite number, not {value!r}")

    @property
    def radius(self) -> float:
        """Radius, m."""
        return self.diameter / 2.0

    @property
    def area(self) -> float:
        """Cross-section area, m2."""
        return pi * self.diameter**2 / 4.0


LEGAL_BALL = Ball(
    name="legal",
    mass=0.04593,
    diameter=0.04267,
    inertia_factor=0.40,
    source="USGA/R&A Equipment Rules: mass at most 45.93 g, diameter at least 42.67 mm",
)

BALLS: dict[str, Ball] = {
    ball.name: ball
    for ball in (
        LEGAL_BALL,
        Ball("foam", 0.0070, 0.0420, 0.40, "from memory: soft foam practice balls weigh some 5-9 g"),
        Ball("perforated", 0.0065, 0.0420, 0.60, "from memory: hollow plastic practice balls weigh some 5-8 g"),
        Ball("limited_flight", 0.0330, 0.0430, 0.40, "from memory: firm limited-flight balls weigh some 30-36 g"),
    )
}
