"""A clubhead from a file: mass, centre of mass and inertia as a laboratory or a drawing gives them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationError, field_validator

from flightsim.scenario.reading.explain import explain
from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim.scenario.reading.quantities import quantity, refusal
from flightsim.scenario.reading.source import Source, read_source
from flightsim.strike.clubs import FaceRadius, Head, HeadMass

Array = NDArray[np.float64]
_G_CM2 = 1.0e-7  # kg m2
_LEAST, _MOST = 10.0, 20_000.0  # g cm2: what no clubhead falls short of or exceeds, so that a slip of the unit is told
_ROUNDED = 1.0e-3  # of the largest moment: what rounding of the numbers in a file may amount to
EXAMPLE = """\
mass: 207 g
centre: {out: -42.3 mm, heel: -1.0 mm, up: 2.9 mm}
inertia:
  - [2843.0, -530.2, -733.0]
  - [-530.2, 4085.0, -0.5]
  - [-733.0, -0.5, 5679.0]
bulge: 305 mm
roll: 305 mm"""

if TYPE_CHECKING:
    Offset: TypeAlias = float
else:
    Offset = quantity("length", least=-0.12, most=0.12)


class Centre(Model):
    """The head's centre of mass, from the middle of the face."""

    out: Offset = Field(
        examples=["-42.3 mm"], description="out of the face, along its normal; a head behind its face has a minus here"
    )
    heel: Offset = Field(examples=["-1.0 mm"], description="toward the heel")
    up: Offset = Field(examples=["2.9 mm"], description="up along the face")


class HeadFile(Model):
    """What a head file holds. Axes of the head: out of the face, toward the heel, up."""

    mass: HeadMass = Field(
        description="of the head, as it is to be reckoned with: nothing is added for the shaft", examples=["207 g"]
    )
    centre: Centre = Field(
        description="its centre of mass, from the middle of the face: out, heel, up",
        examples=["{out: -42.3 mm, heel: -1.0 mm, up: 2.9 mm}"],
    )
    inertia: list[list[float]] = Field(
        description="3 by 3 tensor about the centre of mass, in those axes, g cm2",
        examples=["[[2843, -530.2, -733], [-530.2, 4085, -0.5], [-733, -0.5, 5679]]"],
    )
    bulge: FaceRadius | None = Field(None, description="radius of the face, heel to toe; none: flat")
    roll: FaceRadius | None = Field(None, description="radius of the face, sole to crown; none: flat")

    @field_validator("inertia")
    @classmethod
    def _of_a_body(cls, rows: list[list[float]]) -> list[list[float]]:
        if [len(row) for row in rows] != [3, 3, 3]:
            found = f"{len(rows)} rows of {', '.join(str(len(row)) for row in rows)} numbers"
            raise refusal(found, "3 rows of 3 numbers, g cm2", "[[2843, 0, 0], [0, 4085, 0], [0, 0, 5679]]")
        tensor = np.array(rows)
        if tensor.diagonal().min() < _LEAST or np.abs(tensor).max() > _MOST:
            found = f"its numbers go from {tensor.diagonal().min():g} to {np.abs(tensor).max():g}"
            raise refusal(found, f"g cm2: {_LEAST:g} to {_MOST:,g} about each axis", "1 kg m2 is 10,000,000 g cm2")
        _check_body(tensor)
        return rows

    def head(self) -> Head:
        """The rigid head."""
        tensor = np.array(self.inertia) * _G_CM2
        centre = np.array([self.centre.out, self.centre.heel, self.centre.up])
        return Head(float(self.mass), centre, (tensor + tensor.T) / 2.0, self.bulge, self.roll)


def _check_body(tensor: Array) -> None:
    """Refuse what is not symmetric, and moments that no mass, however spread, has."""
    slack = _ROUNDED * tensor.max()
    if np.abs(tensor - tensor.T).max() > slack:
        raise refusal("it is not symmetric", "row by row the same as column by column", "the two of each pair equal")
    moments = np.linalg.eigvalsh(tensor)
    if moments[0] <= slack or moments[2] > moments[0] + moments[1] + slack:
        shown = ", ".join(f"{moment:.0f}" for moment in moments)
        raise refusal(
            f"no body has this inertia: its principal moments are {shown} g cm2",
            "all above nought, and the largest at most the other two together",
            "a tensor about the centre of mass, in g cm2, products with their minus signs",
        )


def read_head(path: Path) -> Head:
    """The head that a file describes. Raises ScenarioError with every problem found."""
    source = _read(path)
    try:
        found = HeadFile.model_validate_json(json.dumps(source.data), strict=True)
    except ValidationError as error:
        problems = explain(error, HeadFile, source.data, "", source)
        raise ScenarioError([*source.problems, *problems]) from None
    if source.problems:
        raise ScenarioError(source.problems)
    return found.head()


def _read(path: Path) -> Source:
    """The file's data. What is no YAML is told as for any file; what is no head at all is shown one."""
    try:
        return read_source(path)
    except ScenarioError as error:
        raise ScenarioError([_of_a_head(problem) for problem in error.problems]) from None


def _of_a_head(problem: Problem) -> Problem:
    if problem.allowed not in ("a scenario file", "a scenario", "keys and values"):
        return problem
    shown = "\n".join(f"    {line}" for line in EXAMPLE.splitlines())
    return replace(problem, allowed="a head file", fix=f"write one like this:\n{shown}")
