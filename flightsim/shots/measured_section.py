"""The `measured` section: a table of measured shots, and what its columns hold."""

from __future__ import annotations

from functools import cache
from math import fsum
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.quantities import KINDS, Distance, parse, refusal

Share = Annotated[float, Field(gt=0.0, le=1.0)]
Name = Annotated[str, Field(min_length=1, description="its name in the table's first line")]
_SHARES_TOLERANCE = 1e-9
DEFAULT_NU = 4.0  # Student's nu: that of the shipped mid player; judgement


class NumberColumn(Model):
    """A column of numbers in one unit."""

    column: Name
    unit: str

    @property
    def factor(self) -> float:
        """What a number of the column is to be multiplied with, for SI."""
        return unit_factor(self.unit)

    @property
    def sign(self) -> float:
        """-1 where the column counts left as positive."""
        return -1.0 if getattr(self, "left_is_positive", False) else 1.0


@cache
def unit_factor(unit: str) -> float:
    """One of this unit of speed, angle or spin, in SI."""
    kind = next(kind for kind in KINDS.values() if unit in kind.units)
    return parse(kind, f"1 {unit}")


class SpeedColumn(NumberColumn):
    """A column of speeds."""

    unit: Literal["m/s", "mph", "km/h", "ft/s"] = Field(description="the unit that the column is in")


class AngleColumn(NumberColumn):
    """A column of angles."""

    unit: Literal["deg", "rad"] = Field(description="the unit that the column is in")


class SideAngleColumn(AngleColumn):
    """A column of angles to the right or left."""

    left_is_positive: bool = Field(False, description="true where the table counts left as +; default: right is +")


class SpinColumn(NumberColumn):
    """A column of spins."""

    unit: Literal["rpm", "rad/s"] = Field(description="the unit that the column is in")


class WholeSpinColumn(SpinColumn):
    """A column of the whole spin."""

    negative_is_topspin: bool = Field(
        False, description="true where a number below nought is topspin, as in a run's own shots.csv; default: an error"
    )


class SideSpinColumn(SpinColumn):
    """A column of sidespins."""

    left_is_positive: bool = Field(
        False, description="true where the table counts spin that curves left as +; default: right is +"
    )


class ClubColumn(Model):
    """A column of words: the club of each shot."""

    column: Name


class HandColumn(Model):
    """A column of words: who hit each shot, a right-hander or a left-hander."""

    column: Name


class Columns(Model):
    """Which of the table's columns holds what."""

    ball_speed: SpeedColumn = Field(description="just after the strike")
    elevation: AngleColumn = Field(description="up angle")
    azimuth: SideAngleColumn = Field(description="left-right angle")
    spin_rate: WholeSpinColumn | None = Field(None, description="all of the spin; or give backspin")
    spin_tilt: SideAngleColumn | None = Field(
        None, description="tilt of the spin axis, + curves right; beside spin_rate; without it, no tilt"
    )
    backspin: SpinColumn | None = Field(None, description="in place of spin_rate; - is topspin")
    sidespin: SideSpinColumn | None = Field(
        None, description="+ curves right; beside backspin; without it, no sidespin"
    )
    spin_along: SpinColumn | None = Field(
        None, description="spin about the path, + clockwise as seen from the tee; without it, none; spread: none only"
    )
    club: ClubColumn | None = Field(None, description="makes one shot type a club; without it, one for all")
    hand: HandColumn | None = Field(
        None,
        description="R or L, right or left: each row is flown as it was hit, or turned to `hand` where that is given",
    )

    @model_validator(mode="after")
    def _sound(self) -> Self:
        spins = "spin_rate (and spin_tilt), or backspin (and sidespin)"
        if (self.spin_rate is None) is (self.backspin is None):
            found = "no spin is given" if self.spin_rate is None else "both spin_rate and backspin are given"
            raise refusal(found, spins, "spin_rate: {column: spin, unit: rpm}")
        odd = "spin_tilt" if self.backspin is not None else "sidespin"
        if getattr(self, odd) is not None:
            raise refusal(f"{odd} does not go with {'backspin' if self.backspin else 'spin_rate'}", spins, "remove it")
        names = [entry.column.strip() for _, entry in self.given()]
        twice = [name for k, name in enumerate(names) if name in names[:k]]
        if twice:
            raise refusal(f"the column {twice[0]!r} is named twice", "a column for each", "name another column")
        return self

    def given(self) -> list[tuple[str, NumberColumn | ClubColumn | HandColumn]]:
        """Our name and the column of each that is given, in our order."""
        entries = ((name, getattr(self, name)) for name in type(self).model_fields)
        return [(name, entry) for name, entry in entries if entry is not None]

    def numbers(self) -> list[tuple[str, NumberColumn]]:
        """Our name and the column of each number that is given, in our order."""
        return [(name, entry) for name, entry in self.given() if isinstance(entry, NumberColumn)]


def _one_sign(text: str) -> str:
    if text in " \r\n\"'" or text.isalnum():
        raise refusal(f"{text!r} cannot part the cells", "one sign: a comma, a semicolon or a tab", r'";" or "\t"')
    return text


class Measured(Model):
    """Shots that were measured, from a table of any origin: a text file with one shot a line (CSV)."""

    file: str = Field(min_length=1, description="the table; its path starts at the scenario file's folder")
    columns: Columns = Field(description="which of the table's columns holds what")
    spread: Literal["none", "kernel", "t"] = Field(
        "none", description="none: each row once; kernel: draws around the rows; t: draws from a fitted Student's t"
    )
    bandwidth: float | None = Field(
        None, gt=0.0, le=2.0, description="of kernel, in standard deviations of the rows; default: Silverman's rule"
    )
    nu: float | None = Field(
        None, gt=2.0, le=200.0, description=f"of t, the smaller, the heavier the tails; default {DEFAULT_NU:g}"
    )
    shares: dict[str, Share] | None = Field(
        None, description="part of the shots by club; all add to 1; default: as many as the table has"
    )
    bad_rows: Literal["refuse", "leave_out"] = Field(
        "refuse", description="leave_out: fly the good rows, and tell each bad one"
    )
    accept_units: bool = Field(False, description="true: fly numbers that look as if they were in another unit")
    delimiter: Annotated[str, Field(min_length=1, max_length=1), AfterValidator(_one_sign)] = Field(
        ",", description='what parts the cells of a line; default ","'
    )
    decimal: Literal[".", ","] = Field(".", description='before the decimals of a number; default "."')
    thousands: Literal[".", ",", " ", "'"] | None = Field(
        None, description='what stands between thousands, as "," in 2,840; default nothing'
    )
    encoding: Literal["utf-8", "utf-16", "windows-1252"] | None = Field(
        None, description="of the file; default: what its first bytes say, else utf-8"
    )
    header_line: int | None = Field(
        None, ge=1, description="line of the columns' names, where titles stand above; default: the first with anything"
    )
    hand: Literal["right", "left"] = Field("right", description="who plays in the bay; left needs measured_hand")
    measured_hand: Literal["right", "left"] | None = Field(
        None, description="who hit the measured shots: where it is not `hand`, they are mirrored; default: as hand"
    )
    tee_height: Distance = Field(0.0, description="mat or turf to the ball's underside; default 0 m")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.delimiter == self.decimal:
            raise refusal("delimiter and decimal are the same", "two different signs", 'delimiter: ";"')
        for name, spread in (("bandwidth", "kernel"), ("nu", "t")):
            if getattr(self, name) is not None and self.spread != spread:
                raise refusal(f"{name} does nothing with spread: {self.spread}", f"spread: {spread}", "remove it")
        if self.columns.spin_along is not None and self.spread != "none":
            found = f"spin_along does not go with spread: {self.spread}, which draws from five numbers"
            raise refusal(found, "spread: none", "remove columns.spin_along, or spread")
        if self.thousands is not None and self.thousands == self.decimal:
            raise refusal("thousands and decimal are the same", "two different signs", 'thousands: ","')
        if self.columns.hand is not None and self.measured_hand is not None:
            found = "both columns.hand and measured_hand say who hit the shots"
            raise refusal(found, "one of them", "remove measured_hand")
        if self.hand == "left" and self.measured_hand is None and self.columns.hand is None:
            found = "hand is left, and the file does not say who hit the measured shots"
            allowed = "measured_hand: left (flown as they are), or measured_hand: right (mirrored)"
            raise refusal(found, allowed, "measured_hand: left")
        self._check_shares()
        return self

    def _check_shares(self) -> None:
        if self.shares is None:
            return
        if self.columns.club is None:
            raise refusal("shares by club, but no column holds the club", "columns.club", "club: {column: club}")
        total = fsum(self.shares.values())
        if abs(total - 1.0) > _SHARES_TOLERANCE:
            fix = ", ".join(f"{club}: {share / total:.6g}" for club, share in self.shares.items())
            raise refusal(f"the shares add to {total:.12g}", "shares that add to 1", fix)

    @property
    def as_hit(self) -> bool:
        """Whether each row is flown by the hand that a column says."""
        return self.columns.hand is not None and "hand" not in self.model_fields_set

    @property
    def mirrored(self) -> bool:
        """Whether all rows are flown as the other hand's."""
        return self.measured_hand is not None and self.measured_hand != self.hand


MEASURED_SECTION = Section("measured", Measured, "Measured shots", owner="strike", order=895)
