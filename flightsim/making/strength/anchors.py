"""What pulls and shears each foot and bracket, beside what its maker says it carries. Unknown is not passed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flightsim.making.strength.actions import ON_REST, actions
from flightsim.making.strength.analysis import solve
from flightsim.making.strength.check_one import Check
from flightsim.making.strength.model import Model
from flightsim.making.strength.skeleton import LoadCase
from flightsim.making.structure import Hold

CARRYING = 0.5  # of the anchors of a plate are taken to carry its pull: play and prying (judgement)
NOTHING = 1.0  # N
OUT = {"floor": (0.0, 0.0, 1.0), "roof": (0.0, 0.0, -1.0)}
SOURCE = "design pull and shear at 1.5 Q against its weight at 1.0 and at 1.35; capacity, base and edge: its maker's"
LIFT = "a foot that only stands cannot pull: at 1.0"
FRICTION = 0.3  # of a painted plate on a dusty slab (judgement; steel on concrete is commonly given as 0.3 to 0.6)
SLIDE = "friction 0.3 of what stands on the foot (judgement), at 1.0; a person hanging and a ball left out"


@dataclass(frozen=True)
class AnchorForce:
    """Of one plate at design loads: pull out of what it is fixed to and shear along it, N; the same of each anchor."""

    name: str
    to: str
    count: int
    pull: float
    shear: float
    pull_each: float
    shear_each: float
    case: str  # of the pull
    shear_case: str

    def as_data(self) -> dict[str, object]:
        """For build.json."""
        return {
            "name": self.name, "into": self.to, "anchors": self.count, "pull_n": self.pull, "shear_n": self.shear,
            "pull_each_n": self.pull_each, "shear_each_n": self.shear_each, "why": self.case,
            "why_shear": self.shear_case,
        }  # fmt: skip


def _design(model: Model) -> tuple[LoadCase, ...]:
    acting = actions(model)
    return (*acting.strength(), *acting.lifting(ON_REST))


def _pull_shear(model: Model, hold: Hold, reaction: np.ndarray) -> tuple[float, float]:
    """What the frame does to what holds it: pull away from it, and along it, N."""
    out = np.array(OUT.get(hold.to, _from_wall(model, hold)))
    force = -reaction[:3]
    pull = float(force @ out)
    return max(0.0, pull), float(np.linalg.norm(force - pull * out))


def _from_wall(model: Model, hold: Hold) -> tuple[float, float, float]:
    """Square out of the wall: along the axis that the held bar leans to most."""
    bar = model.structure.bar(hold.bar)
    line = np.array(bar.end) - np.array(bar.start)
    line = line if hold.end == "start" else -line
    way = int(np.abs(line[:2]).argmax())
    if abs(abs(line[0]) - abs(line[1])) < 0.5 * np.abs(line[:2]).max():
        way = 0  # a brace to the end wall
    out = [0.0, 0.0, 0.0]
    out[way] = float(np.sign(line[way]))
    return out[0], out[1], out[2]


def anchor_forces(models: tuple[Model, ...]) -> tuple[AnchorForce, ...]:
    """Of every anchored foot and bracket: the largest of all cases and of the given models. Raises Mechanism."""
    found = []
    structure = models[0].structure
    answers = [(model, answer) for model in models for answer in solve(model.skeleton, _design(model))]
    for hold in structure.holds:
        if not hold.anchored:
            continue
        forces = [
            (*_pull_shear(m, hold, a.reaction(m.held[hold.name])), f"{a.name}, {m.joints} joints") for m, a in answers
        ]
        pull, _, case = max(forces)
        _, shear, other = max(forces, key=lambda force: force[1])
        n = structure.anchors.count
        found.append(
            AnchorForce(hold.name, hold.to, n, pull, shear, pull / max(1.0, CARRYING * n), shear / n, case, other)
        )
    return tuple(found)


def anchor_checks(model: Model, forces: tuple[AnchorForce, ...]) -> tuple[Check, ...]:
    """Pull, shear and both together against the maker's figures; base and edge as they are against those needed."""
    has, found = model.structure.anchors, []
    for force in forces:
        pull = (force.pull_each, has.pull_capacity, force.case)
        shear = (force.shear_each, has.shear_capacity, force.shear_case)
        found += [_at_most(f"{kind} on each anchor of {force.name}", *largest)
                  for kind, largest in (("pull", pull), ("shear", shear))]  # fmt: skip
        if has.pull_capacity and has.shear_capacity:
            both = force.pull_each / has.pull_capacity + force.shear_each / has.shear_capacity
            found.append(Check(f"pull and shear together on {force.name}", both, 1.0, "of what it can",
                               "straight line: on the safe side of EN 1992-4, 7.2.3", both <= 1.0,
                               "" if both <= 1.0 else "more anchors, or stronger ones"))  # fmt: skip
    if forces:
        found += [_at_least("base under the anchors", has.base, has.base_needed),
                  _at_least("anchors to the edge", has.edge, has.edge_needed)]  # fmt: skip
    return tuple(found)


def _at_most(name: str, value: float, limit: float | None, why: str) -> Check:
    need = f"an anchor for {np.ceil(value / 100.0) / 10.0:g} kN by its maker's table, in this base"
    if value < NOTHING:
        return Check(name, value, limit, "N", SOURCE, True, why="nothing that an anchor is needed for")
    if limit is None:
        return Check(name, value, None, "N", SOURCE, False, need, f"{why}; its capacity is not known")
    return Check(name, value, limit, "N", SOURCE, value <= limit, "" if value <= limit else need, why)


def _at_least(name: str, value: float | None, limit: float | None) -> Check:
    known = value is not None and limit is not None
    ok = known and value >= limit  # type: ignore[operator]
    why = "" if known else "not known: measure it, and take the least from the anchor's maker"
    show = [None if number is None else number * 1e3 for number in (value, limit)]
    return Check(name, show[0], show[1], "mm", SOURCE, ok, "" if ok else "as the maker asks", why, least=True)


def lift_checks(model: Model) -> tuple[Check, ...]:
    """Feet that only stand must stay down, at 1.0. Raises Mechanism."""
    standing = [hold for hold in model.structure.holds if not hold.anchored]
    answers = solve(model.skeleton, actions(model).lifting(1.0)) if standing else ()
    found = []
    for hold in standing:
        lift, case = max((float(-a.reaction(model.held[hold.name])[2]), a.name) for a in answers)
        ok, lift = lift <= 1e-6, max(lift, 0.0)
        found.append(
            Check(f"lift of {hold.name}", lift, 0.0, "N", LIFT, ok, "" if ok else "anchor it", case if lift else "")
        )
    return tuple(found)


def slide_checks(model: Model) -> tuple[Check, ...]:
    """Feet that only stand must not slide under what the frame carries and a push, at 1.0. Raises Mechanism."""
    standing = [hold for hold in model.structure.holds if not hold.anchored]
    answers = solve(model.skeleton, actions(model).service()) if standing else ()
    found = []
    for hold in standing:
        forces = [(a.reaction(model.held[hold.name])[:3], a.name) for a in answers]
        slides = [(float(np.hypot(f[0], f[1])), FRICTION * max(0.0, float(f[2])), name) for f, name in forces]
        push, most, case = max(slides, key=lambda slide: slide[0] - slide[1])
        ok = push <= most + 1e-6
        help_ = "" if ok else "anchor it, or a bar on the floor between the feet"
        found.append(
            Check(f"slide of {hold.name}", push, most, "N", SLIDE, ok, help_, f"{case}, {model.joints} joints")
        )
    return tuple(found)
