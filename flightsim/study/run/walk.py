"""The walk: scenario -> bay and shots -> flights -> contacts -> rebounds -> outcomes -> rates."""

from __future__ import annotations

from collections.abc import Callable

from flightsim.contact.fates import Fates
from flightsim.errors import Asked, BadInputError, PluginError
from flightsim.study.run.columns import columns_as_asked
from flightsim.study.run.crew import crew
from flightsim.study.run.fly import Tracking, fly_shots
from flightsim.study.run.on_disk import in_pieces
from flightsim.study.run.open_bay import OpenBay, shots_source
from flightsim.study.run.rates import make_rates, told_in_pieces
from flightsim.study.run.replay import contacts_of
from flightsim.study.run.result import RunResult
from flightsim.study.run.targets import with_targets

DEFAULT_SHOTS = 20_000
DEFAULT_SEED = 1


def run(
    opened: OpenBay,
    shots: int = DEFAULT_SHOTS,
    seed: int = DEFAULT_SEED,
    workers: int = 1,
    progress: Callable[[int], None] = lambda done: None,
    begun: RunResult | None = None,
    looks: int = 1,
    tracks: Tracking | None = None,
) -> RunResult:
    """Fly a bay's shots to their ends and count what became of them.

    shots: in all; a grid, and measured shots that are flown as they are, have their own number. The same seed gives
    the same shots, whatever the number of workers.
    progress is told how many shots are done. begun: a run of the same bay and seed, whose shots are the first of these;
    looks: as in RunResult; tracks: as in `fly_shots`.

    Raises BadInputError when there are too few shots for the shot types.
    """
    plan, bay = opened.plan, opened.bay
    n = plan.grid_size or shots
    if plan.sampled and n < len(plan.types):
        raise BadInputError(
            f"{n} shots cannot cover {len(plan.types)} shot types; allowed: at least one a type\n  try: ",
            Asked("shots", 1000 * len(plan.types)),
        )
    weight = plan.weights(n)
    flown = None if begun is None else (begun.shots, begun.contacts, begun.fates)
    with crew(workers):
        table, contacts, fates = fly_shots(opened, n, seed, progress, flown, tracks)
    outcome, flags = in_pieces(fates, Fates.outcomes), in_pieces(fates, lambda balls: balls.flags)
    harm = opened.surroundings().zone_harm
    cases = told_in_pieces(bay, fates, harm)
    rates = make_rates(flags, outcome, table.type, plan.types, plan.sampled, beside=cases, rank=table.rank)
    result = RunResult(
        opened.scenario, opened.physics, bay, plan.types, table, weight, contacts, fates, outcome, rates,
        seed, plan.sampled, opened.warnings, plugins=tuple(opened.plugins.describe()),
        shots_source=shots_source(opened.scenario, plan, opened.plugins), looks=looks,
    )  # fmt: skip
    if not opened.plugins.asks("flightsim_judge"):
        return with_targets(result)
    failed: list[PluginError] = []
    found = opened.plugins.judge(opened.scenario, bay, columns_as_asked(result), failed, contacts_of(opened, result))
    return with_targets(result.with_findings(found).without(failed))
