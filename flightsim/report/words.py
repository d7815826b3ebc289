"""The words that people read, each once: outcomes, the caution, the verdict, and numbers as a builder says them.

A rate is never "0 %" and never "100 %" unless every shot was counted: none seen of n is "below 3 in n".
"""

from __future__ import annotations

from math import ceil, floor, log10

from flightsim.contact.outcomes import Outcome
from flightsim.study.require import Judgement
from flightsim.study.result import Rate, RunResult
from flightsim.study.weights_spread import weight_models

OUTCOME_WORDS = {
    Outcome.MET_GUARD: "met a guard first",
    Outcome.HIT_UNPROTECTED: "hit something unprotected first",
    Outcome.GOT_OUT: "left through an opening or gap",
    Outcome.NOT_FOLLOWED: "met the floor first, or could not be followed",
}
SHORT_WORDS = {
    Outcome.MET_GUARD: "met a guard",
    Outcome.HIT_UNPROTECTED: "unprotected",
    Outcome.GOT_OUT: "left the bay",
    Outcome.NOT_FOLLOWED: "not followed",
}
WENT_BY_WORDS = {
    Outcome.HIT_UNPROTECTED: "went by it, and hit\nsomething unprotected",
    Outcome.GOT_OUT: "went by it, and left\nthe bay",
}
NOT_MET_WORDS = "did not meet a guard first"
NOT_MET = "not_met_guard"
TOO_WIDE = 0.5  # a bound above this says nothing that anybody could use
FAILED = "failed"

CAUTION = (
    "Golf balls blind and kill. This is a model, and it has limits: its results guide a design, they do not "
    "certify it.",
    "Follow your local building, electrical and fire codes, and have the structure and its fixings checked by a "
    "licensed professional.",
    "Never stand in front of a ball, and keep people clear of the swing.",
)
NOT_COMPUTED = (
    "Only first contacts are computed. What a ball does after it has met a guard, and what comes back at the "
    "player, is not computed."
)
FLOOR_COUNTS = "Balls that met the floor first are not followed further; they count against the bay."
GRID_VERDICT = "A grid is no sample of a player: no bound can be given."
GRID_WORDS = "The shots are a plain grid: the numbers count its points, and say nothing of how often a ball goes there."


def digits(value: float, keep: int = 2) -> str:
    """A positive number with `keep` significant digits, thousands set apart by commas."""
    places = keep - 1 - floor(log10(abs(value)))
    rounded = round(value, places)
    return f"{rounded:,.{max(places, 0)}f}"


def percent(rate: float) -> str:
    """A share for people. What is not all never rounds to 100 %, and what is not nothing never to 0 %."""
    if rate <= 0.0:
        return "none"
    if rate >= 1.0:
        return "all"
    if rate < 0.5:
        return f"{digits(100.0 * rate)} %"
    rest = 100.0 * (1.0 - rate)
    places = max(0, 1 - floor(log10(rest)))
    shown = floor((100.0 - rest) * 10**places + 1e-9) / 10**places
    return f"{shown:.{places}f} %"


def per_thousand(share: float) -> str:
    """How many of 1,000 balls, of a share that was seen, already times 1,000."""
    return f"{share:.0f}" if share >= 9.95 else digits(share)


def one_in(rate: float) -> str:
    """A rate as `1 in 240`, or `38 in 100` where it is more than one in ten."""
    if rate <= 0.0:
        return "none seen"
    if rate > 0.1:
        hundred = round(100.0 * rate)
        return "all" if rate >= 1.0 else f"{min(hundred, 99)} in 100"
    return f"1 in {_two_digits(1.0 / rate, down=False)}"


def at_worst(upper: float) -> str:
    """An upper bound in the same words, rounded to the worse side."""
    if upper > 0.1:
        hundred = ceil(100.0 * upper - 1e-9)
        return "all" if hundred >= 100 else f"{hundred} in 100"
    return f"1 in {_two_digits(1.0 / upper, down=True)}"


def _two_digits(number: float, down: bool) -> str:
    step = 10.0 ** max(0, floor(log10(number)) - 1)
    count = floor(number / step + 1e-9) if down else round(number / step)
    return f"{int(count * step):,}"


def seen(rate: Rate, sampled: bool = True) -> str:
    """One shot type's rate as seen: `1 in 240`; none of n is `below 3 in n`, never nought."""
    if rate.count == 0:  # the rule of three says nothing of three shots or fewer
        return f"below 3 in {rate.shots:,}" if sampled and rate.shots > 3 else f"none of {rate.shots:,}"
    return f"all of {rate.shots:,}" if rate.count == rate.shots else one_in(rate.rate)


def seen_in_all(rate: Rate) -> str:
    """A weighted total as seen. None seen of n says nothing by itself there: only the bound does."""
    if rate.count == 0:
        return "none seen"
    return "all" if rate.count == rate.shots else one_in(rate.rate)


def bound(rate: Rate) -> str:
    """`at worst 1 in N`, or that there is no bound."""
    return "no bound" if rate.upper is None else f"at worst {at_worst(rate.upper)}"


def verdict(result: RunResult) -> str:
    """The answer in a few sentences."""
    n, total = len(result.shots), result.rates.total
    met, past = total[Outcome.MET_GUARD.key], total[NOT_MET]
    first = (
        f"Of {n:,} {'shots' if result.sampled else 'grid shots'}, {met.count:,} met a guard first; "
        "what comes back is not computed."
    )
    if not result.sampled:
        return f"{first} {past.count:,} {NOT_MET_WORDS}. {GRID_VERDICT}"
    if past.count == 0:
        rest = f"None of the shots flown went anywhere else, which proves no more than this: {bound(past)} balls does."
    else:
        rest = (
            f"Of all balls, with each shot type counted as often as it is played, {one_in(past.rate)} {NOT_MET_WORDS}, "
            f"{bound(past)} ({confidence(result)} confidence)."
        )
    if past.upper is not None and past.upper > TOO_WIDE:
        rest = f"{n:,} shots are too few to say more: {bound(past)} balls do not meet a guard first. Fly more."
        return f"{first} {rest}"
    return " ".join([first, rest, *_where(result)])


def _where(result: RunResult) -> list[str]:
    """What the balls that did not meet a guard did instead."""
    total = result.rates.total
    kinds = [outcome for outcome in Outcome if outcome is not Outcome.MET_GUARD]
    some = [f"{one_in(total[kind.key].rate)} {OUTCOME_WORDS[kind]}" for kind in kinds if total[kind.key].count]
    none = [f"{OUTCOME_WORDS[kind]} ({bound(total[kind.key])})" for kind in kinds if not total[kind.key].count]
    if not some:
        return []
    told = [f"That is: {'; '.join(some)}."]
    return [*told, f"None was seen that {', or that '.join(none)}."] if none else told


def confidence(result: RunResult) -> str:
    """The confidence of the bounds: `95%`."""
    return f"{100.0 * result.rates.confidence:g}%"


def failed_words(result: RunResult) -> str:
    """What to say of flights that could not be followed to an end; empty where all were."""
    count = result.rates.total[FAILED].count
    if not count:
        return ""
    return f"{count:,} of {len(result.shots):,} flights could not be followed to an end; they count against the bay."


def requirement_words(judgement: Judgement) -> str:
    """A requirement with its verdict."""
    return f"Required: {judgement.sentence}"


def bounds_words(result: RunResult) -> str:
    """How the bounds are to be read."""
    if not result.sampled:
        return GRID_WORDS
    return (
        f"At worst: the one-sided {confidence(result)} bound for these shots, exact (Clopper-Pearson) for one shot "
        f"type; for all together the weighted sum of the bounds of the {len(result.types)} shot types, each at its "
        "share of the error. It covers the luck of the draw only, not what the model leaves out."
    )


def weights_words(result: RunResult) -> str:
    """What the total would be under other assumptions of how misses are distributed; empty where none are made."""
    models = weight_models(result)
    if not models:
        return ""
    rates = sorted(model.rate[NOT_MET] for model in models)
    uppers = sorted(model.upper[NOT_MET] for model in models)
    told = f"{one_in(rates[-1])} to {one_in(rates[0])}" if rates[0] > 0.0 else "none seen"
    return (
        "How often each kind of strike comes is itself an assumption. Under other assumptions of how misses are "
        "distributed (normal tails; Student's t with a tail for each axis, or one for all; every threshold between "
        f"kinds of strike 2 mm nearer or further) the total would be {told}, at worst {at_worst(uppers[-1])} to "
        f"{at_worst(uppers[0])}. That is beside the luck of the draw, and the true shares may lie further off."
    )
