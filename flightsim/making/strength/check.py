"""All checks of the frames of a bay, with what would pass. Not a structural certificate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from flightsim.making.pieces import TubeSection
from flightsim.making.strength.analysis import Mechanism
from flightsim.making.strength.anchors import AnchorForce, anchor_checks, anchor_forces, lift_checks, slide_checks
from flightsim.making.strength.bar_checks import bar_checks, worst_of
from flightsim.making.strength.check_one import Check
from flightsim.making.strength.joint_checks import joint_checks
from flightsim.making.strength.model import Joints, Model, model_of, stiffness_of
from flightsim.making.strength.plywood import board_checks
from flightsim.making.strength.sizes import heavier, in_table, nearest
from flightsim.making.strength.tipping import tipping_check
from flightsim.making.structure import YIELD, Structure

NOT_A_CERTIFICATE = (
    "Not a structural certificate: a calculation of this drawing under these loads, to be checked by somebody "
    "licensed to, against the code where it stands."
)
STANDS = "each joint pinned: no bar may move without another resisting it"
TABLE = "EN 10219-2, or AISC's table of ASTM A500 tube: size, wall and corners as tabled, or the corner radius given"
CLASS = "EN 1993-1-1:2005, table 5.2: flat width / wall at most 42 epsilon (round: diameter / wall 90 epsilon2)"


@dataclass(frozen=True)
class Checks:
    """What was checked. members: each bar as analysed; advice: in words, what was found needed or not."""

    members: tuple[dict[str, object], ...]
    checks: tuple[Check, ...]
    anchors: tuple[AnchorForce, ...]
    advice: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether all of it passes."""
        return all(check.ok for check in self.checks)

    def as_data(self) -> dict[str, object]:
        """For build.json."""
        return {
            "members": list(self.members),
            "checks": [check.as_data() for check in self.checks],
            "anchors": [anchor.as_data() for anchor in self.anchors],
            "advice": list(self.advice),
            "not_a_certificate": NOT_A_CERTIFICATE,
        }


def checked(structures: Sequence[Structure]) -> Checks:
    """Every frame's checks; names say which frame where there are several."""
    parts = [_frame(structure) for structure in structures]
    return Checks(
        tuple(item for part in parts for item in part.members), tuple(item for part in parts for item in part.checks),
        tuple(item for part in parts for item in part.anchors), tuple(item for part in parts for item in part.advice),
    )  # fmt: skip


def _frame(structure: Structure) -> Checks:
    fixed = [*tube_checks(structure), *joint_checks(structure), *board_checks(structure)]
    if any(not check.ok and check.name.startswith("joint of") for check in fixed):
        later = f"{structure.name}: its bars do not all meet; stress and sag are worked out when they do"
        unknown = Check(f"strength of {structure.name}", None, None, "", STANDS, False, "bars that meet", later)
        return Checks(_members(structure), (*fixed, unknown), (), (later,))
    models = {joints: model_of(structure, joints) for joints in _BOTH}
    bars, standing, firm = _both(models)
    anchors = anchor_forces(firm) if firm else ()
    rest = [*anchor_checks(models["rigid"], anchors), *(_of_first(firm))]
    found = [*fixed, *standing, *_with_sizes(models, bars), *rest]
    advice = (*_post_advice(structure, bars), *_bracing_advice(structure, (*standing, *bars)))
    return Checks(_members(structure), tuple(found), anchors, advice)


_BOTH: tuple[Joints, Joints] = ("rigid", "pinned")


def _of_first(firm: tuple[Model, ...]) -> tuple[Check, ...]:
    if not firm:
        return ()
    lifts, slides = [[check(model) for model in firm] for check in (lift_checks, slide_checks)]
    return (*tipping_check(firm[0]), *worst_of(lifts[0], lifts[-1]), *worst_of(slides[0], slides[-1]))


def _both(models: dict[Joints, Model]) -> tuple[tuple[Check, ...], tuple[Check, ...], tuple[Model, ...]]:
    """Bars' checks, the worse of both kinds of joints; whether it stands with each; the models that stand."""
    found: dict[Joints, tuple[Check, ...]] = {}
    standing = []
    for joints, model in models.items():
        name = f"{model.structure.name} stands with {joints} joints"
        try:
            found[joints] = bar_checks(model)
            standing.append(Check(name, 0.0, 0.0, "ways to move", STANDS, True))
        except Mechanism as moves:
            standing.append(Check(name, 1.0, 0.0, "ways to move", STANDS, False, "a brace", str(moves)))
    firm = tuple(models[joints] for joints in found)
    bars = worst_of(*found.values()) if len(found) == 2 else next(iter(found.values()), ())
    return bars, tuple(standing), firm


def tube_checks(structure: Structure) -> list[Check]:
    """Check that each tube is one whose values are known, and that its walls do not buckle before it yields."""
    found = []
    for section in dict.fromkeys(bar.section for bar in structure.bars):
        known = in_table(section) or section.corner_radius not in (0.0, 2.0 * section.wall)
        names = ", ".join(size.name for size in nearest(section))
        found.append(Check(f"tube {section.name}", None, None, "", TABLE, known, "" if known else f"one of {names}; or "
                           "give its corner_radius as its maker has it", "" if known else "it has no row"))  # fmt: skip
        epsilon = (235e6 / YIELD[structure.grade]) ** 0.5
        flat, limit = (section.size - 3.0 * section.wall) / section.wall, 42.0 * epsilon
        if section.shape == "round":
            flat, limit = section.size / section.wall, 90.0 * epsilon**2
        found.append(Check(f"wall of {section.name}", flat, limit, "widths", CLASS, flat <= limit,
                           "" if flat <= limit else "a thicker wall"))  # fmt: skip
    return found


def _members(structure: Structure) -> tuple[dict[str, object], ...]:
    """Each bar as it was analysed."""
    return tuple(
        {
            "mark": bar.mark, "name": bar.name, "role": bar.role, "section": bar.section.name,
            "length_m": bar.length, "start_m": list(bar.start), "end_m": list(bar.end), "mass_kg": bar.mass,
            "grade": structure.grade, "frame": structure.name,
        }
        for bar in structure.bars
    )  # fmt: skip


def resized(model: Model, section: TubeSection) -> Model:
    """The structure with all its bars of another tube."""
    bars = tuple(replace(bar, section=section) for bar in model.structure.bars)
    stiff = stiffness_of(section, model.joints)
    pieces = {name: tuple(replace(beam, stiffness=stiff) for beam in beams) for name, beams in model.pieces.items()}
    beams = tuple(beam for beams in pieces.values() for beam in beams)
    skeleton = replace(model.skeleton, beams=beams)
    return replace(model, structure=replace(model.structure, bars=bars), skeleton=skeleton, pieces=pieces)


def _with_sizes(models: dict[Joints, Model], bars: Sequence[Check]) -> list[Check]:
    """The bars' checks, those that fail with the lightest tabled tube (for all bars) that passes them."""
    failing = {check.name for check in bars if not check.ok and not check.passes}
    passes: dict[str, str] = {}
    structure = models["rigid"].structure
    for section in heavier(structure.bars[0].section) if failing else ():
        again, _, _ = _both({joints: resized(model, section) for joints, model in models.items()})
        good = {check.name for check in again if check.ok}
        passes |= {name: section.name for name in failing & good if name not in passes}
        if failing <= set(passes):
            break
    remedy = "no tabled tube: legs, hangers or a brace"
    return [
        check if check.ok or check.passes else replace(check, passes=passes.get(check.name, remedy)) for check in bars
    ]


def _post_advice(structure: Structure, bars: Iterable[Check]) -> tuple[str, ...]:
    """Whether the bars across need a post at mid-span."""
    names = [*([structure.screen.top] if structure.screen else ()), *(canopy.front for canopy in structure.canopies)]
    advice = []
    for name in names:
        of_bar = [check for check in bars if check.name in (f"sag of {name}", f"stress of {name}")]
        failing = [check for check in of_bar if not check.ok]
        words = "; ".join(f"{c.name} {c.value:.1f} of {c.limit:.1f} {c.unit}" for c in failing or of_bar)
        if not of_bar:
            advice.append(f"A post under the middle of {name}: not known, the frame does not stand")
        elif failing:
            advice.append(f"A post under the middle of {name} is recommended, or a heavier tube ({words})")
        else:
            advice.append(f"A post under the middle of {name} is not needed ({words})")
    return tuple(advice)


def _bracing_advice(structure: Structure, checks: Sequence[Check]) -> tuple[str, ...]:
    """The first of the frame's own remedies with which it stands and its bars pass, whatever its joints."""
    if all(check.ok for check in checks):
        return ()
    for remedy, other in structure.remedies():
        if _bars_pass(other):
            return (f"{structure.name} stands and its bars pass with {remedy}",)
    return (f"{structure.name}: no single addition that was tried makes it pass; ask an engineer",)


def _bars_pass(structure: Structure) -> bool:
    """Whether its bars meet, stand and pass with pinned and with rigid joints."""
    if any(check.name.startswith("joint of") for check in joint_checks(structure)):
        return False
    for joints in reversed(_BOTH):  # pinned first: a mechanism is found at once
        try:
            if not all(check.ok for check in bar_checks(model_of(structure, joints))):
                return False
        except Mechanism:
            return False
    return True
