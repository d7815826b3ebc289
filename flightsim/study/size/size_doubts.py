"""How far an answer hangs on what nobody knows: the chosen size under other models, and with one thing changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flightsim.errors import BadInputError
from flightsim.scenario.reading.declared import WhoPlays, declared, declared_by_default
from flightsim.scenario.reading.display import Display
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.proportional import draw_sample, groups_of
from flightsim.study.run.require import Requirement
from flightsim.study.run.what_if import failures
from flightsim.study.size.builds import Builds, Sizes
from flightsim.study.size.size_target import hits_of

NUDGE = 0.3  # m: of the tee
BAD_DAY = 15.0  # misses cluster: 10 to 20
HOSELS = ("hosel_iron", "hosel_wedge", "hosel_driver")
THRESHOLD = 0.004  # m: of where the face ends and the hosel begins


@dataclass(frozen=True)
class Doubt:
    """One other assumption. kind: "model" or "change"; rate, upper: of the worst group, as the answer's own."""

    kind: str
    words: str
    rate: float
    upper: float


def doubts(
    builds: Builds, sizes: Sizes, target: Requirement, reach: float, alpha: float, seed: int
) -> tuple[Doubt, ...]:
    """The answer's rate (of the target) as drawn, under each other assumption, on shots of the same seed.

    What cannot be built, or is not in the scenario, is left out.
    """
    drawn = builds.drawn(sizes)
    found = [_doubt("model", "as drawn", drawn, target, reach, alpha, seed)]
    varied = {vary.path for vary in builds.varies}
    for kind, words, sets in _changes(drawn):
        if any(change.partition("=")[0] in varied for change in sets):
            continue
        try:
            bay = replace(builds, sets=(*builds.sets, *sets)).drawn(sizes)
        except BadInputError:
            continue
        found.append(_doubt(kind, words, bay, target, reach, alpha, seed))
    crushed = [(guard, bay) for guard, how, bay in failures(drawn) if "foam" in how]
    found += [
        _doubt("change", f"foam of the {guard} crushed", bay, target, reach, alpha, seed) for guard, bay in crushed
    ]
    return tuple(found)


def _doubt(kind: str, words: str, bay: OpenBay, target: Requirement, reach: float, alpha: float, seed: int) -> Doubt:
    flyer = Flyer.of(bay, seed)
    sample = draw_sample(flyer.draw, flyer.plan.types, groups_of(flyer.plan.types), reach)
    hits = hits_of(flyer.follow(sample.table)[1], target, bay)
    return Doubt(kind, words, max(sample.rates(hits)), max(sample.upper(hits, alpha)))


def _changes(drawn: OpenBay) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    scenario = drawn.scenario
    show = Display(scenario.units).estimate
    other = "ferguson2022" if scenario.aero != "ferguson2022" else "naruo2004"
    yield "model", f"aerodynamics of {other}", (f"aero={other}",)
    if scenario.entries("shots"):
        shots = scenario.entries("shots")[0]
        tails = "student_t" if shots.tails.model == "gaussian" else "gaussian"
        yield "model", f"misses with {tails.replace('_', ' ')} tails", (f"shots.tails.model={tails}",)
        for sign in (-1.0, 1.0):
            words = f"the hosel {show(THRESHOLD)} {'nearer' if sign < 0 else 'further'}"
            yield (
                "change",
                words,
                tuple(
                    f"shots.thresholds.{name}={getattr(shots.thresholds, name) + sign * THRESHOLD:.6f}m"
                    for name in HOSELS
                ),
            )
        yield "change", f"everybody on a bad day (odds of a miss x{BAD_DAY:g})", (f"shots.bad_day={BAD_DAY:g}",)
    if not scenario.tee.spots:
        for sign in (-1.0, 1.0):
            words = f"the tee {show(NUDGE)} {'nearer the screen' if sign < 0 else 'further back'}"
            yield "change", words, (f"tee.from_end_wall={scenario.tee.from_end_wall + sign * NUDGE:.6f}m",)
    models = {section.key: section.model for section in drawn.plugins.section_of.values()}
    for person in (*declared(scenario, WhoPlays), *declared_by_default(models, scenario, WhoPlays)):
        for value in person.said.values:
            yield "change", person.said.words.format(show(value)), (f"{person.path}={value}m",)
