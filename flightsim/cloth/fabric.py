"""What a hanging cloth is made of, how it hangs, and which numbers cannot be."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import inf, isfinite, isnan, sqrt

# Air that an airtight cloth drags along: .1-.2 kg/m2 [cloth-values]. The least is used: less mass sinks deeper.
AIR_DRAGGED = 0.1
SIDES = ("left", "right", "foot", "top")  # across 0, across the width, up 0, up the height


@dataclass(frozen=True)
class Cloth:
    """A cloth in a frame.

    areal_mass, kg/m2; stiffness Et, N/m (tension per metre of width at strain 1); shear_ratio G/E, in-plane shear
    stiffness over Et; pretension T0, N/m; cord_stiffness, N/m of one cord (infinite: the rim is held fast);
    cord_spacing, m; width, height, m; airtight: the air in front and behind has to move too; cord_length, m, of a slack
    cord (judgement; it hardly matters); corded: the sides that cords (or a held rim) hold, the others hang free.
    Defaults: the lattice [cloth-lattice] with a loose weave (computed there; screen cloth .30-.60 kg/m2, 50-300 kN/m,
    wrinkle-free 10-100 N/m).
    Raises ValueError, naming the number, for a cloth that cannot be.
    """

    areal_mass: float = 0.35
    stiffness: float = 300e3
    shear_ratio: float = 0.006
    pretension: float = 50.0
    cord_stiffness: float = 500.0
    cord_spacing: float = 0.20
    width: float = 4.2
    height: float = 2.6
    airtight: bool = False
    cord_length: float = 0.15
    corded: frozenset[str] = frozenset(SIDES)

    def __post_init__(self) -> None:
        for each in fields(self):
            if each.name in _LIMITS:
                _refuse(each.name, getattr(self, each.name))
        if self.pretension > 0.01 * self.stiffness:
            raise ValueError(
                f"a pretension of {self.pretension:g} N/m stretches a cloth of {self.stiffness:g} N/m by more than "
                "1 %: up to a hundredth of the stiffness can be"
            )
        if not self.corded or not self.corded <= set(SIDES):
            raise ValueError(
                f"a cloth held at {', '.join(sorted(self.corded)) or 'no side'} cannot be: "
                f"at least one of {', '.join(SIDES)} can"
            )

    @property
    def moving_mass(self) -> float:
        """Mass that a ball has to move, kg/m2: the cloth and the air that an airtight one drags along."""
        return self.areal_mass + (AIR_DRAGGED if self.airtight else 0.0)

    @property
    def wave_speed(self) -> float:
        """Speed of a stretch along the yarns, m/s: c = sqrt(Et/sigma)."""
        return sqrt(self.stiffness / self.moving_mass)

    @property
    def edge_stiffness(self) -> float:
        """Cords of an edge, N/m per metre of it: one cord's stiffness over their spacing."""
        return self.cord_stiffness / self.cord_spacing

    def ball_length(self, ball_mass: float) -> float:
        """Side of the square of cloth that weighs what the ball does, m: the length that depth scales with."""
        return sqrt(ball_mass / self.moving_mass)


SMALLEST, LARGEST = 0.3, 30.0  # m, of a cloth each way
# What can be, with the unit: wide enough for nets and tarpaulins, narrow enough to catch a wrong unit (judgement).
_LIMITS: dict[str, tuple[float, float, str]] = {
    "areal_mass": (0.02, 5.0, "kg/m2"),
    "stiffness": (1e3, 1e7, "N/m"),
    "shear_ratio": (0.0, 0.5, "(no unit)"),
    "pretension": (0.0, 2000.0, "N/m"),
    "cord_stiffness": (5.0, inf, "N/m"),
    "cord_spacing": (0.02, 2.0, "m"),
    "width": (SMALLEST, LARGEST, "m"),
    "height": (SMALLEST, LARGEST, "m"),
    "cord_length": (0.02, 2.0, "m"),
}


def _refuse(name: str, value: float) -> None:
    """Raise ValueError for a number outside its limits, or none at all."""
    lowest, highest, unit = _LIMITS[name]
    if isnan(value) or not lowest <= value <= highest:
        most = f"{highest:g}" if isfinite(highest) else "infinite (held fast)"
        raise ValueError(f"a cloth's {name} of {value:g} {unit} cannot be: {lowest:g} to {most} {unit} can")
