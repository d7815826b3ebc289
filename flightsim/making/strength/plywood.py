"""A canopy's board between the bars that carry it: strength and sag of a strip one metre wide.

EN 1995-1-1:2004, 2.4 (k_mod 0.8, gamma 1.2), as a beam on two supports. Bending strength and stiffness are those of
a weak softwood ply (EN 636 class F20/2 E60/10: 20 N/mm2 and 6000 N/mm2, from memory); density as read, its upper end.
"""

from __future__ import annotations

from math import ceil

from flightsim.making.strength.actions import ON_REST, ON_WEIGHT, G
from flightsim.making.strength.check_one import Check
from flightsim.making.structure import Overhead, Structure

STRENGTH, STIFFNESS = 20.0e6, 6.0e9  # Pa
K_MOD, GAMMA, CREEP = 0.8, 1.2, 1.0  # medium-term, service class 2; plywood; k_def
LIMIT = 200.0  # span over sag
SOURCE = "EN 1995-1-1:2004, 2.4 and 6.1.6; weak softwood ply from memory; span / 200 (usual)"
THICKNESSES = (9, 12, 15, 18, 21, 24)  # mm, as sold (common practice)


def board_stress(weight: float, stored: float, span: float, thickness: float) -> float:
    """Bending stress, Pa, at 1.35 G + 1.5 Q: 3 q L2 / 4 t2. weight, stored: kg/m2; span, thickness: m."""
    load = G * (ON_WEIGHT * weight + ON_REST * stored)
    return 0.75 * load * span**2 / thickness**2


def board_sag(weight: float, stored: float, span: float, thickness: float) -> float:
    """How far a board sags in the end, m: 5 q L4 / 384 E I, with creep. kg/m2, m."""
    load = G * (weight + stored) * (1.0 + CREEP)
    return 5.0 * load * span**4 / (384.0 * STIFFNESS * thickness**3 / 12.0)


def board_checks(structure: Structure) -> tuple[Check, ...]:
    """Of every canopy that is a board."""
    return tuple(check for canopy in structure.canopies if canopy.board > 0.0 for check in _board(structure, canopy))


def span_of(canopy: Overhead, ribs: int) -> float:
    """The board's span, m: across the canopy between its side bars and ribs, or front to back where both have bars."""
    across = canopy.width / (ribs + 1)
    return min(across, canopy.depth) if canopy.back else across


def _board(structure: Structure, canopy: Overhead) -> list[Check]:
    stored, span = structure.loads.stored, span_of(canopy, canopy.ribs)
    stress, most = board_stress(canopy.mass, stored, span, canopy.board), K_MOD * STRENGTH / GAMMA
    sag, limit = board_sag(canopy.mass, stored, span, canopy.board), span / LIMIT
    help_ = "" if stress <= most and sag <= limit else _passes(canopy, stored)
    why = f"a span of {span:.2f} m"
    return [
        Check(f"stress of the board of {canopy.name}", stress / 1e6, most / 1e6, "MPa", SOURCE, stress <= most,
              help_ if stress > most else "", why),
        Check(f"sag of the board of {canopy.name}", sag * 1e3, limit * 1e3, "mm", SOURCE, sag <= limit,
              help_ if sag > limit else "", why),
    ]  # fmt: skip


def _holds(canopy: Overhead, stored: float, ribs: int, thickness: float) -> bool:
    span, mass = span_of(canopy, ribs), canopy.mass * thickness / canopy.board
    return (
        board_stress(mass, stored, span, thickness) <= K_MOD * STRENGTH / GAMMA
        and board_sag(mass, stored, span, thickness) <= span / LIMIT
    )


def _passes(canopy: Overhead, stored: float) -> str:
    """Fewest ribs at this thickness, and the thinnest board with the ribs there are."""
    found = [ribs for ribs in range(canopy.ribs + 1, 20) if _holds(canopy, stored, ribs, canopy.board)][:1]
    words = [f"{found[0]} ribs from front to back, {canopy.width / (found[0] + 1):.2f} m apart "
             f"(canopy_bars: beside, back_bar: true, ribs: {found[0]})"] if found else []  # fmt: skip
    thick = [mm for mm in THICKNESSES if _holds(canopy, stored, canopy.ribs, mm / 1e3)][:1]
    return " or ".join([*words, *(f"a board of {ceil(mm)} mm" for mm in thick)])
