"""What each picture of a run shows, said as its finding: for whoever cannot see it."""

from __future__ import annotations

from flightsim.contact.fates import Flag, Outcome
from flightsim.report.words.common_words import ESCAPE_WORDS, OUTCOME_WORDS, one_in, per_thousand, percent
from flightsim.report.words.tables import worst_first
from flightsim.report.words.trouble_words import trouble_title
from flightsim.scenario.reading.display import Display
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.result import RunResult

NONE = "no ball was seen to get past the protection"


def finding(name: str, title: str, result: RunResult) -> str:
    """The finding of a picture by its file name; its title where it is none of ours."""
    words_of = {
        "bay": _bay, "sheet": _bay, "overview": _paths, "paths": _paths, "people": _people, "escapes": _escapes,
        "resting": _resting, "launch_map": _launches, "bounce_back": _bounce_back,
    }.get(name)  # fmt: skip
    if words_of is not None:
        return f"{title}: {words_of(result)}."
    guard = next((label for label in result.bay.guard_labels() if title.endswith(f" the {label}")), "")
    return f"{title}: {_guard(result, guard)}." if guard else title


def _bounce_back(result: RunResult) -> str:
    show = Display(result.scenario.units).estimate
    lands = [(answer.club, answer.first_landing) for answer in result.bounce_back if answer.first_landing]
    return ", ".join(f"half of the balls of the {club} first land within {show(far.median)}" for club, far in lands)


def _bay(result: RunResult) -> str:
    show, size = Display(result.scenario.units).length, result.bay.upper - result.bay.lower
    tee = result.bay.upper[0]
    return (
        f"plan and elevations with sizes; the room is {show(size[0])} long, {show(size[1])} wide and {show(size[2])} "
        f"high at most, and the tee {show(float(tee))} from the end wall"
    )


def _paths(result: RunResult) -> str:
    shares = {outcome: float(result.weight[result.which(outcome)].sum()) for outcome in Outcome}
    seen = sorted((kind for kind in Outcome if shares[kind] > 0.0), key=lambda kind: -shares[kind])
    return ", ".join(f"{percent(shares[kind])} {OUTCOME_WORDS[kind]}" for kind in seen)


def _people(result: RunResult) -> str:
    hits = [hit for hit in result.troubles if hit.flag is Flag.PERSON_HIT]
    if not hits:
        rate = result.rates.total[Flag.PERSON_HIT.key].rate
        return f"{one_in(rate)} balls could hit a person" if rate > 0.0 else "no ball was seen to hit a person"
    worst = max(hits, key=lambda hit: hit.rate)
    show = Display(result.scenario.units).speed
    return (
        f"{worst.place} is hit most, by {one_in(worst.rate)} balls at up to {show(worst.fastest)}, most from "
        f"{worst.came_from or 'the tee'}"
    )


def _escapes(result: RunResult) -> str:
    if not result.troubles:
        return NONE
    worst = max(result.troubles, key=lambda hit: hit.rate)
    return f"most often {trouble_title(worst).lower()}, {one_in(worst.rate)} balls"


def _resting(result: RunResult) -> str:
    back = float(result.weight[result.fates.point[0] < 0.0].sum())
    return f"{percent(back)} of balls end behind the tee" if back > 0.0 else "no ball ends behind the tee"


def _launches(result: RunResult) -> str:
    past = result.rates.total[ESCAPE]
    if not past.count:
        return NONE
    worst = worst_first(result)[0]
    return f"most that {ESCAPE_WORDS} are {result.types[worst].label}"


def _guard(result: RunResult, label: str) -> str:
    parts = [k for k, part in enumerate(result.bay.parts) if part.label == label]
    shares = [float(result.weight[result.contacts.part == k].sum()) for k in parts]
    return (
        f"{per_thousand(1000.0 * sum(shares))} of 1,000 balls meet it first"
        if sum(shares) > 0.0
        else "no ball meets it"
    )


def never_met_words(result: RunResult) -> str:
    """Which protection no ball met first, and so has no picture; empty where each was met."""
    labels = {result.bay.parts[k].label for k in set(result.contacts.part[result.contacts.part >= 0].tolist())}
    never = [label for label in result.bay.guard_labels() if label not in labels]
    return f"No ball of {len(result.shots):,} met first, so not drawn: {', '.join(never)}." if never else ""
