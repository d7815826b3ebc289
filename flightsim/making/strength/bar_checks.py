"""Stress, buckling, sag and sway of every bar, the worst of all load cases and of both kinds of joints.

Strength: EN 1993-1-1:2005, 6.2.1 (elastic, von Mises) and 6.3.1 (flexural buckling, curve c for cold-formed tubes).
Deflection: limits are agreed for each job (EN 1990:2002, A1.4.3); those here are the usual ones for light steelwork.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from flightsim.making.strength.actions import actions
from flightsim.making.strength.along import Along, along
from flightsim.making.strength.analysis import Answer, solve
from flightsim.making.strength.check_one import Check
from flightsim.making.strength.model import Model
from flightsim.making.strength.sections import HollowSection
from flightsim.making.strength.skeleton import E_STEEL
from flightsim.making.strength.sleeve_checks import brace_checks, sleeve_checks
from flightsim.making.structure import YIELD, Structure

Array = NDArray[np.float64]

SPAN_LIMIT, TIP_LIMIT, SWAY_LIMIT = 200.0, 180.0, 150.0  # length over deflection
CURVE_C = 0.49  # imperfection (EN 1993-1-1, table 6.1)
SWAYS, BETWEEN = 2.0, 1.0  # buckling length over length: foot turns and top sways; held at both ends
STRESS = "EN 1993-1-1:2005, 6.2.1(5): elastic, at 1.35 G + 1.5 Q (EN 1990, 6.10)"
BUCKLING = "EN 1993-1-1:2005, 6.3.1, curve c, bending added in full; at 1.35 G + 1.5 Q"
FIRST_ORDER, MANY = 10.0, 999.0
ORDER = "EN 1993-1-1:2005, 5.2.1(4): alpha_cr = H h / (V delta_H) at least 10, else its load adds to its sway"
SAG = "length / 200 at 1.0 (usual; EN 1990, A1.4.3 leaves it to be agreed)"
TIP = "length / 180 at 1.0 (usual for arms, from memory; EN 1990, A1.4.3 leaves it to be agreed)"
SWAY = "height / 150 at 1.0 (usual for light frames, from memory; EN 1990, A1.4.3 leaves it to be agreed)"


def bar_checks(model: Model) -> tuple[Check, ...]:
    """Every bar's checks with these joints, and the sleeves'. Raises Mechanism."""
    model.check_stands()
    acting = actions(model)
    strength = solve(model.skeleton, acting.strength())
    service = solve(model.skeleton, acting.service())
    found = [check for bar in model.pieces for check in _strength(model, bar, strength)]
    found += [_sag(model, bar, service) for bar in model.pieces]
    found += [*_sways(model, service), *_second_order(model, service, strength)]
    return (*found, *sleeve_checks(model, strength), *brace_checks(model, strength))


def worst_of(first: Iterable[Check], second: Iterable[Check]) -> tuple[Check, ...]:
    """The worse of each pair of the same name, as listed first."""
    other = {check.name: check for check in second}
    return tuple(_worse(check, other.get(check.name, check)) for check in first)


def _worse(first: Check, second: Check) -> Check:
    def used(check: Check) -> tuple[bool, float]:
        share = (check.value or 0.0) / (check.limit or 1.0)
        return not check.ok, -share if check.least else share

    return max((first, second), key=used)


def _why(model: Model, case: str) -> str:
    return f"{case}, {model.joints} joints"


def _strength(model: Model, bar: str, answers: Sequence[Answer]) -> Iterator[Check]:
    """Stress, and buckling of what is pushed along."""
    section, most = model.section(bar), YIELD[model.structure.grade]
    factor = BETWEEN if _held_both_ends(model, bar) else SWAYS
    carried = buckling_resistance(section, factor * model.structure.bar(bar).span, most)
    pieces = [along([answer.of(beam.name) for answer in answers]) for beam in model.pieces[bar]]
    stress = np.max([von_mises(section, piece).max(axis=1) for piece in pieces], axis=0)
    worst, limit = float(stress.max()) / 1e6, most / 1e6
    why = _why(model, answers[int(stress.argmax())].name)
    yield Check(f"stress of {bar}", worst, limit, "MPa", STRESS, worst <= limit, why=why)
    share = np.max([_buckling(section, piece, carried, most) for piece in pieces], axis=0)
    if share.max() > 0.0:
        used, why = float(share.max()), _why(model, answers[int(share.argmax())].name)
        yield Check(f"buckling of {bar}", used, 1.0, "of what it can", BUCKLING, used <= 1.0, why=why)


def _held_both_ends(model: Model, bar: str) -> bool:
    """Bars between bars; what stands on a foot may sway at its top."""
    return bar not in {hold.bar for hold in model.structure.holds}


def von_mises(section: HollowSection, piece: Along) -> Array:
    """Stress along a beam `(n, k)`, Pa: all parts at their largest, taken at one point."""
    my, mz = np.abs(piece.moment[..., 0]), np.abs(piece.moment[..., 1])
    bending = (my + mz if section.shape == "square" else np.hypot(my, mz)) / section.elastic_modulus
    shear = np.hypot(piece.shear[..., 0], piece.shear[..., 1]) / section.shear_area
    shear = shear + np.abs(piece.twist) / section.torsion_modulus
    return np.asarray(np.sqrt((np.abs(piece.axial) / section.area + bending) ** 2 + 3.0 * shear**2))


def buckling_resistance(section: HollowSection, length: float, stress: float) -> float:
    """N that a column of this buckling length, m, carries. EN 1993-1-1:2005, 6.3.1.2, curve c. stress: yield, Pa."""
    squash = section.area * stress
    slender = sqrt(squash / (pi**2 * E_STEEL * section.second_moment / length**2))
    phi = 0.5 * (1.0 + CURVE_C * (slender - 0.2) + slender**2)
    return squash * min(1.0, 1.0 / (phi + sqrt(phi**2 - slender**2)))


def _buckling(section: HollowSection, piece: Along, carried: float, stress: float) -> Array:
    """Of each case `(n,)`: part used of what it can; nought where nothing pushes."""
    push = np.maximum(-piece.axial.min(axis=1), 0.0)
    bending = np.abs(piece.moment).sum(axis=2).max(axis=1) / (section.elastic_modulus * stress)
    return np.asarray(np.where(push > 0.0, push / carried + bending, 0.0))


def _shape(model: Model, answers: Sequence[Answer], bar: str) -> tuple[Array, Array]:
    """Places along the bar `(k,)`, m, and its movements in each case `(n, k, 3)`, m, in the frame's axes."""
    distance, moved, start = [], [], 0.0
    for beam in model.pieces[bar]:
        ends = [answer.of(beam.name) for answer in answers]
        piece, length = along(ends), ends[0].length
        first = np.array([answer.movement(beam.start) for answer in answers])[:, None, :]
        last = np.array([answer.movement(beam.end) for answer in answers])[:, None, :]
        moved.append(first + (piece.distance / length)[:, None] * (last - first) + piece.sag @ ends[0].axes[1:])
        distance.append(piece.distance + start)
        start += length
    return np.concatenate(distance), np.concatenate(moved, axis=1)


def is_arm(structure: Structure, bar: str, model: Model) -> bool:
    """A canopy's side bar whose front end nothing carries."""
    if not any(bar in canopy.sides for canopy in structure.canopies):
        return False
    span = structure.bar(bar).span
    carrying = [m for m in model.meetings if structure.bar(m.bar).role in ("leg", "hanger") and m.on == bar]
    return not any(m.along > 0.6 * span for m in carrying)


def _sag(model: Model, bar: str, answers: Sequence[Answer]) -> Check:
    """Across the bar from the line between its ends; of an arm, how far its tip drops below its root."""
    arm = is_arm(model.structure, bar, model)
    span = sum(model.skeleton.length(beam) for beam in model.pieces[bar])
    distance, moved = _shape(model, answers, bar)
    if arm:
        sizes = np.abs(moved[:, -1, 2] - moved[:, 0, 2])
    else:
        first, last = moved[:, :1], moved[:, -1:]
        sizes = np.linalg.norm(moved - first - (distance / distance[-1])[:, None] * (last - first), axis=2).max(axis=1)
    worst, case = float(sizes.max()), answers[int(sizes.argmax())].name
    limit = span / (TIP_LIMIT if arm else SPAN_LIMIT)
    name, source = (f"drop of the tip of {bar}", TIP) if arm else (f"sag of {bar}", SAG)
    return Check(name, worst * 1e3, limit * 1e3, "mm", source, worst <= limit, why=_why(model, case))


def _sways(model: Model, answers: Sequence[Answer]) -> Iterator[Check]:
    """How far the tops of the bars beside the screen, and the canopies' front corners, move over the floor."""
    hung, structure = model.structure.screen, model.structure
    tops = [(f"sway of {side}", model.ends[side][1]) for side in (hung.sides if hung else ())]
    arms = [side for canopy in structure.canopies for side in canopy.sides]
    tops += [(f"sway of the front end of {side}", model.ends[side][1]) for side in arms]
    for name, top in tops:
        limit = model.skeleton.nodes[model.skeleton.number(top)].place[2] / SWAY_LIMIT
        size, case = max((float(np.hypot(*a.movement(top)[:2])), a.name) for a in answers)
        yield Check(name, size * 1e3, limit * 1e3, "mm", SWAY, size <= limit, why=_why(model, case))


def _second_order(model: Model, service: Sequence[Answer], strength: Sequence[Answer]) -> Iterator[Check]:
    """Whether what it carries adds to its sway: H h / V times the movement of a push H alone, of the worst top."""
    hung, push = model.structure.screen, model.structure.loads.sideways
    if hung is None or push == 0.0 or len(service) < 2:
        return
    weight = max(float(answer.reactions[:, 2].sum()) for answer in strength)
    found = []
    for side in hung.sides:
        top, height = model.ends[side][1], model.structure.bar(side).span
        for answer in service[1:]:
            moved = float(np.hypot(*(answer.movement(top) - service[0].movement(top))[:2]))
            if moved > 0.0 and weight > 0.0:
                found.append((push * height / (weight * moved), answer.name))
    if found:
        factor, case = min(found)
        value, ok = min(factor, MANY), factor >= FIRST_ORDER
        yield Check("second-order effects", value, FIRST_ORDER, "", ORDER, ok, "", _why(model, case), least=True)
