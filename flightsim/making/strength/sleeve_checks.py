"""Whether the sleeves and their bolts carry what bars bring to their joints.

EN 1993-1-1:2005, 6.2.1 (the sleeve as a tube), EN 1993-1-8:2005, table 3.4 (bolts of class 4.6 in double shear).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import pi

import numpy as np
from numpy.typing import NDArray

from flightsim.making.strength.analysis import Answer
from flightsim.making.strength.check_one import Check
from flightsim.making.strength.model import Model
from flightsim.making.strength.sections import hollow_section
from flightsim.making.structure import BRACE_BOLT, YIELD

STRESS = "EN 1993-1-1:2005, 6.2.1: the largest bending at a joint, on the sleeve alone; at 1.35 G + 1.5 Q"
SHEAR = "EN 1993-1-8:2005, table 3.4: class 4.6, thread in the shear plane (0.78 of the shank), two planes a bolt"
BRACE_SHEAR = "EN 1993-1-8:2005, table 3.4: class 4.6, thread in the shear plane, one plane"
ULTIMATE, FACTOR, GAMMA, THREAD = 400.0e6, 0.6, 1.25, 0.78  # Pa, alpha_v, gamma M2; M6 to M12 (ISO 898-1, memory)


def sleeve_checks(model: Model, answers: Sequence[Answer]) -> Iterator[Check]:
    """Of the most loaded joint of all."""
    sleeves, structure = model.structure.sleeves, model.structure
    if structure.joining != "sleeve" or sleeves is None:
        return
    ends = [(_brought(model, answer, meeting.bar, meeting.end), answer.name, meeting.bar)
            for answer in answers for meeting in model.meetings
            if not structure.bar(meeting.bar).role.startswith("brace")]  # fmt: skip
    if not ends:
        return
    section = hollow_section(sleeves.section(structure.bars[0].section.shape))
    moment, case, bar = max((float(np.abs(force[4:]).sum()), case, bar) for force, case, bar in ends)
    stress, limit = moment / section.elastic_modulus / 1e6, YIELD[structure.grade] / 1e6
    why = f"{case}, at an end of {bar}, {model.joints} joints"
    help_ = "" if stress <= limit else "welded joints, a thicker sleeve, or something that carries the arms' front ends"
    yield Check("stress of the sleeves", stress, limit, "MPa", STRESS, stress <= limit, help_, why)
    pull, case, bar = max((float(abs(force[0])), case, bar) for force, case, bar in ends)
    carries = sleeves.bolts * 2.0 * FACTOR * ULTIMATE * bolt_area(sleeves.bolt) / GAMMA
    help_ = "" if pull <= carries else "thicker bolts, or more of them"
    why = f"{case}, at an end of {bar}, {model.joints} joints"
    yield Check("shear of the sleeves' bolts", pull, carries, "N", SHEAR, pull <= carries, help_, why)


def bolt_area(bolt: float) -> float:
    """Stress area of one bolt of this diameter, m; m2."""
    return THREAD * pi / 4.0 * bolt**2


def brace_checks(model: Model, answers: Sequence[Answer]) -> Iterator[Check]:
    """The one bolt at each end of a brace, in one shear plane where it lies on a bar, as where it has a lug."""
    structure = model.structure
    braces = [bar.name for bar in structure.bars if bar.role.startswith("brace")]
    if not braces:
        return
    along = [(abs(float(_brought(model, answer, bar, end)[0])), answer.name, bar)
             for answer in answers for bar in braces for end in ("start", "end")]  # fmt: skip
    pull, case, bar = max(along)
    bolt = structure.sleeves.bolt if structure.sleeves is not None else BRACE_BOLT
    carries = FACTOR * ULTIMATE * bolt_area(bolt) / GAMMA
    help_, why = "" if pull <= carries else "thicker bolts", f"{case}, along {bar}, {model.joints} joints"
    yield Check("shear of the braces' bolts", pull, carries, "N", BRACE_SHEAR, pull <= carries, help_, why)


def _brought(model: Model, answer: Answer, bar: str, end: str) -> NDArray[np.float64]:
    """Forces and moments `(6,)` at one end of a bar, in its own axes, N and N m."""
    beams = model.pieces[bar]
    forces = answer.of((beams[0] if end == "start" else beams[-1]).name).forces
    return forces[:6] if end == "start" else forces[6:]
