"""What the lines of the verdict say, each within so many columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.cells import cell_len, set_cell_size

from flightsim.contact.fates import Flag
from flightsim.report.words.common_words import FLAG_WORDS, MANY, at_worst, digits, one_in
from flightsim.scenario.reading.display import Display
from flightsim.study.run.beside_flags import above_default
from flightsim.study.run.rates import BEHIND_TEE, COMES_BACK, ESCAPE
from flightsim.study.run.result import RunResult
from flightsim.study.run.target_result import TargetResult
from flightsim.study.run.targets import BY_SCENARIO, EVENING
from flightsim.study.run.weights_spread import weight_models

NOT_TRIED = "not tried: leave --quick out, and fly 2,000 shots or more"
LEFT_OUT = "leave --quick out: the worst cloth and build decide"
NO_HELP = "no one change that was tried helps: several, or another bay"
HARDLY = 1.1  # times: so much more is no news (judgement)
SINGLE = {
    "lively": "livelier cloth",
    "deep": "deeper cloth",
    "soft_cords": "softer cords",
    "built_off": "sizes built off",
}
ASK_FIRST = "ask for targets: without them no build is judged"
NOTHING = "nothing: build it as drawn, then check it on the spot"


def listed(names: Sequence[str], room: int) -> str:
    """Names with commas, as many as there is room for, and how many more."""
    for shown in range(len(names), 0, -1):
        more = f" and {len(names) - shown} more" if shown < len(names) else ""
        if cell_len(words := f"{', '.join(names[:shown])}{more}") <= room:
            return words
    return f"{len(names)} of them"


def joined(pieces: Sequence[str], room: int) -> str:
    """The first piece, and as many of the others as there is room for. What is too long itself is cut, and shows it."""
    words = pieces[0]
    for piece in pieces[1:]:
        if cell_len(words) + cell_len(piece) <= room:
            words += piece
    return words if cell_len(words) <= room else f"{set_cell_size(words, room - 4).rstrip(' ,;:')} ..."


def word_of(target: TargetResult) -> str:
    """What stands before the line of a target that is not met."""
    if target.kind == "length":
        return target.words
    if target.met and target.worst_upper is not None:
        return "at worst"
    return "not shown" if (target.rate or 0.0) < target.limit else "not met"


def name_of(target: TargetResult) -> str:
    """What a target counts, with the part or person that it names."""
    return f"{target.words}, {target.place}" if target.place else target.words


def unmet_words(target: TargetResult, result: RunResult, room: int) -> str:
    """What stands against a target: what was seen at worst, how many of an evening's balls, and what is asked."""
    if target.kind == "length":
        return _length(target, result, room)
    name, asked = name_of(target), f"; asked {one_in(target.limit)}"
    upper, worst = target.upper or 1.0, target.worst_upper
    if target.met and worst is None:
        return joined([f"{name}: worst cloth and build not flown", asked], room)
    if target.met and worst is not None:
        return _first_that_fits([f"{name}: {at_worst(worst)} {target.worst_words}{asked}",
                                 f"{name}: {at_worst(worst)}{asked}"], room)  # fmt: skip
    if target.rate and target.rate >= target.limit:
        most = max(upper, worst or 0.0) if target.severe else upper
        seen = f"{name}: up to {at_worst(most)}"
        return _first_that_fits([f"{seen}, {evenings(most)}{asked}", f"{seen}{asked}"], room)
    seen = f"{name}: {'none seen' if not target.count else f'seen {one_in(target.rate or 0.0)}'}"
    if target.shots_needed is not None:
        return _first_that_fits([f"{seen}{asked}: takes {target.shots_needed:,} shots", f"{seen}{asked}"], room)
    return _first_that_fits([f"{seen}, shown below {at_worst(upper)}{asked}", f"{seen}{asked}"], room)


def _first_that_fits(ways: Sequence[str], room: int) -> str:
    """The first of several ways to say it that fits, or the last, cut."""
    return next((words for words in ways if cell_len(words) <= room), joined(ways[-1:], room))


def evenings(rate: float) -> str:
    """How often in evenings of 100 balls: `5.5 an evening`, `1 evening in 7`."""
    balls = EVENING * rate
    return f"{digits(balls)} an evening" if balls >= 0.95 else f"1 evening in {digits(1.0 / balls)}"


def _length(target: TargetResult, result: RunResult, room: int) -> str:
    units = Display(result.scenario.units)
    show = units.length
    if target.rate is None or target.upper is None:
        return joined([target.worst_words or "not measured", f"; asked {show(target.limit)}"], room)
    known = f" +-{units.estimate(round(target.rate - target.upper, 4))}"
    return joined([target.worst_words, known, f"; asked {show(target.limit)}"], room)


def met_names(result: RunResult) -> list[str]:
    """The targets that are met."""
    return [name_of(target) for target in result.targets if target.asked and target.good]


def not_asked_words(result: RunResult, room: int) -> str:
    """Who and what no target was judged for; empty where all were."""
    unasked = [target for target in result.targets if not target.asked]
    why = list(dict.fromkeys(target.why for target in unasked if target.why != BY_SCENARIO))
    why += [name_of(target) for target in unasked if target.why == BY_SCENARIO]
    tail = ": ask"
    people = any(target.why != BY_SCENARIO for target in unasked)
    return listed(why, room - len(tail)) + (tail if people else "") if why else ""


def do_first_words(result: RunResult, room: int) -> str:
    """The one change to begin with: what clears the swing, then the best that was flown against the worst trouble."""
    swing = next((target for target in result.targets if target.kind == "length" and not target.good), None)
    if swing is not None:
        way = next((item.way for item in result.findings if item.target == swing.key and item.way), "")
        first, *others = (way or "make room to swing").split(", or ")
        return joined([first, ": no ball before that", *(f", or {other}" for other in others)], room)
    if not any(target.asked for target in result.targets):
        return ASK_FIRST
    unmet = [target for target in result.targets if not target.good]
    if not unmet:
        return NOTHING
    if all(target.met and target.worst_upper is None for target in unmet):
        return LEFT_OUT
    if all(target.shots_needed is not None and (target.rate or 0.0) < target.limit for target in unmet):
        return joined([f"fly more: {max(target.shots_needed or 0 for target in unmet):,} shots may show it"], room)
    if (step := result.first_step) is not None:
        target = next(item for item in result.targets if item.name == step.target)
        gain = f"; {name_of(target)} {one_in(step.after)}, not {one_in(step.before)}"
        return joined([step.words[:1].lower() + step.words[1:], gain], room)
    tried = [trouble.tried[0] for trouble in result.troubles if trouble.tried]
    best = next((item for item in tried if item.helps), None)
    if best is None:
        return NO_HELP if tried else NOT_TRIED
    return joined([best.words, f": {one_in(best.escape_rate_after)}, not {one_in(best.escape_rate_before)} get past"],
                  room)  # fmt: skip


def comes_back_words(result: RunResult, room: int) -> str:
    """How many balls come back to somebody and harm nobody, and how many pass behind the tee."""
    back, behind = result.rates.total[COMES_BACK], result.rates.total[BEHIND_TEE]
    of = "balls" if result.sampled else "grid shots"
    somebody = f"{one_in(back.rate)} {of} to somebody, no harm" if back.count else "none seen at anybody"
    return joined([somebody, f"; {one_in(behind.rate)} behind the tee" if behind.count else ""], room)


def guess_words(result: RunResult, room: int) -> str:
    """The assumption that the answer hangs on most, and what it would be then."""
    if above_default(result):
        energy = Display(result.scenario.units).energy(result.scenario.harm_energy)
        return joined([f"harm counts from {energy} on, above the default: softer is not told"], room)
    rate = result.rates.total[ESCAPE].rate
    found = [(then / rate if rate else float(then > 0.0), words, then) for words, then in _guesses(result)]
    if not found:
        return joined(["how the shots scatter; no other assumption was flown"], room)
    times, words, then = max(found)
    if times <= 1.0:
        return joined(["where people are: no other assumption that was flown is worse"], room)
    return joined([_guess(words, then, rate)], room)


def _guess(words: str, then: float, rate: float) -> str:
    """What an assumption makes of a rate; a tenth more is no news."""
    if then <= HARDLY * rate or one_in(then) == one_in(rate):
        return f"{words}: hardly more than {one_in(rate)} get past"
    return f"{words}: {one_in(then)} get past, not {_beside(rate, then)}"


def _beside(rate: float, then: float) -> str:
    """A rate in the words of the larger one that it is held against: `3 in 100` beside `32 in 100`."""
    hundred = round(100.0 * rate)
    return f"{hundred} in 100" if then > MANY >= rate and hundred else one_in(rate)


def _guesses(result: RunResult) -> Iterator[tuple[str, float]]:
    """Other assumptions that were flown or weighed, and how many balls get past the protection then."""
    for flight in (*result.adverse, *(result.built_off or ())):
        if flight.name in SINGLE:
            yield SINGLE[flight.name], flight.rates.total[ESCAPE].rate
    if models := weight_models(result):
        worst = max(models, key=lambda model: model.rate[ESCAPE])
        yield "misses that scatter otherwise", worst.rate[ESCAPE]
    other = result.other_air
    if other is not None and other.before:
        yield f"drag and lift of {other.model}", result.rates.total[ESCAPE].rate * other.after / other.before


def grid_words(result: RunResult) -> str:
    """What a grid's shots did, by flag; counts, since a grid has no rates."""
    total = result.rates.total
    seen = [f"{total[flag.key].count:,} {FLAG_WORDS[flag]}" for flag in Flag if total[flag.key].count]
    return f"of {len(result.shots):,}: {'; '.join(seen) or 'none got past the protection'}"
