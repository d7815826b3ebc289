"""The words that people read, each once: outcomes, flags, bands at a person, the caution, the verdict, and numbers.

A rate is never "0 %" and never "100 %" unless every shot was counted: none seen of n is "below 3 in n".
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag, Outcome
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.harm import BLUNT_ENERGY, HARM_ENERGY, LEGAL_MASS, STRUCK_ENERGY, speed_at
from flightsim.study.run.beside_flags import above_default, struck_above_default
from flightsim.study.run.rates import ESCAPE, HEAD_HIT
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import Rate, RunResult
from flightsim.study.run.weights_spread import weight_models

ESCAPE_WORDS = "got past the protection"  # any flag
FLAG_WORDS = {
    Flag.UNRESOLVED: "could not be followed to an end",
    Flag.PERSON_HIT: "could hit a person",
    Flag.GOT_OUT: "left the room",
    Flag.BROKE_THROUGH: "broke through something",
    Flag.PAST_EDGE: "got past an edge of the cloth",
    Flag.STRUCK_THROUGH: "struck something through the cloth",
    Flag.HIT_UNPROTECTED: "hit something unprotected hard",
}
OUTCOME_WORDS = {Outcome(flag): words for flag, words in FLAG_WORDS.items()} | {
    Outcome.ROLLED_DEAD: "ended slow",
    Outcome.HELD: "held",
}
SHORT_WORDS = {
    Outcome.UNRESOLVED: "not followed",
    Outcome.PERSON_HIT: "person",
    Outcome.GOT_OUT: "left",
    Outcome.BROKE_THROUGH: "broke",
    Outcome.PAST_EDGE: "past an edge",
    Outcome.STRUCK_THROUGH: "struck through",
    Outcome.HIT_UNPROTECTED: "unprotected",
    Outcome.ROLLED_DEAD: "slow",
    Outcome.HELD: "held",
}
MANY = 0.1  # a rate above this is told in 100
TOO_WIDE, TOO_FAR = 0.5, 0.2  # a bound above this, and this far above what was seen, is of no use to anybody


@dataclass(frozen=True)
class Band:
    """What a ball may do to a person from this speed on, m/s. Ours, cut at published figures."""

    least: float
    words: str


# For a ball of 45.93 g. 5: our cut, by the 0.5 J of toys with a soft tip, 4.67 m/s (EN 71, read in a summary); 12.5:
# 2500 J/m2 of toys (ASTM F963, read in a summary); 25.5 and 38.4: 11 and 25 ft-lb (14 CFR 107, read); 58.5: 58 ft-lb
# of fragments (memory). Eye, 50 % risk, beside them: abrasion 9.67, hyphema 35.5, rupture 38.5 m/s (Duma et al. 2005,
# J Trauma, read).
BANDS = (
    Band(0.0, "minor"),
    Band(5.0, "eye injury possible"),
    Band(12.5, "eye injury likely"),
    Band(25.5, "serious"),
    Band(38.4, "severe"),
    Band(58.5, "life-threatening"),
)
# Below the head of anybody but a small child: by energy as well, ours, cut at the same figures. Energy says little of a
# chest: blows by a baseball at 11 to 18 m/s, 9 to 23 J, stopped hearts of swine (Link et al. 2003, J. Am. Coll.
# Cardiol. 41:99, memory).
BODY_BANDS = (
    Band(0.0, "felt"),
    Band(speed_at(BLUNT_ENERGY), "bruise"),
    Band(25.5, "serious"),
    Band(38.4, "severe"),
    Band(58.5, "life-threatening"),
)
RISKS = "These are 50 % risks, not safe limits; energy alone is a weak predictor."

CAUTION = (
    "Golf balls blind and kill. This is a model, and it has limits: its results guide a design, they do not "
    "certify it.",
    "Follow your local building, electrical and fire codes, and have the structure and its fixings checked by a "
    "licensed professional.",
    "Never stand in front of a ball, and keep people clear of the swing.",
)
NOT_COMPUTED = (
    "Wear, fatigue, and how people move: a person is a zone, and stands still. A ball that has broken through "
    "something is not followed further."
)
GRID_VERDICT = "A grid is no sample of a player: no bound can be given."
GRID_WORDS = "The shots are a plain grid: the numbers count its points, and say nothing of how often a ball goes there."
NOBODY = "Nobody is in this scenario: whom a ball could hit is not counted."
ONLY_HITTERS = "Only who hits is in this scenario: anybody else in the room is not counted."


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
    if rate > MANY:
        hundred = round(100.0 * rate)
        return "all" if rate >= 1.0 else f"{min(hundred, 99)} in 100"
    return f"1 in {_two_digits(1.0 / rate, down=False)}"


def at_worst(upper: float) -> str:
    """An upper bound in the same words, rounded to the worse side."""
    if upper > MANY:
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
    """The answer in a few sentences: how many got past the protection, then what they did, people first; and whether
    the limit of harm was raised.
    """
    return " ".join([*_in_all(result), *_people_hit(result), *_others(result), *_raised(result)])


def _raised(result: RunResult) -> list[str]:
    """Words that this run's limits of harm, or of what strikes through cloth, are above the default ones."""
    energy, blunt, struck = (
        result.scenario.harm_energy, result.scenario.blunt_harm_energy, result.scenario.struck_energy
    )  # fmt: skip
    show, found = Display(result.scenario.units).energy, []
    if above_default(result):
        found.append(
            f"This run counts a ball as harm only from {show(energy)} on at a head, a small child and out of the room, "
            f"and from {show(blunt)} on elsewhere; the defaults are {show(HARM_ENERGY)} and {show(BLUNT_ENERGY)}. What "
            "softer balls do is not in these numbers."
        )
    if struck_above_default(result):
        found.append(
            f"This run counts what is struck through cloth only from {show(struck)} on; the default is "
            f"{show(STRUCK_ENERGY)}."
        )
    return found


def _in_all(result: RunResult) -> list[str]:
    n, past = len(result.shots), result.rates.total[ESCAPE]
    shots = f"{n:,} {'shots' if result.sampled else 'grid shots'}"
    past_words = f"Of {shots}, {'all' if past.count == n else f'{past.count:,}'} {ESCAPE_WORDS}."
    counted = past_words if past.count else f"None of {shots} was seen to get past the protection."
    if past.upper is None:
        return [counted, GRID_VERDICT]
    worst = f"at worst {at_worst(past.upper)} ({confidence(result)} confidence)"
    if past.count:
        seen_rate = f"that is {one_in(past.rate)} balls as seen"
        rate = f"Each shot type counted as often as it is played, {seen_rate}, and {worst}{_adverse(result)}."
    else:
        rate = f"That proves no more than this: of all balls {worst}{_adverse(result)}."
    too_few = [f"{n:,} shots are too few to say more: fly more."]
    return [counted, rate, *(too_few if past.upper > max(TOO_WIDE, past.rate + TOO_FAR) else [])]


def _adverse(result: RunResult) -> str:
    """The worst of adverse cloth, named; empty where none is worse than likely cloth, or none was flown."""
    rate, whose = result.worst(ESCAPE)
    if whose is None or rate.upper is None:
        return ""
    return f"; with adverse cloth at worst {at_worst(rate.upper)}, {whose.words}"


def _people_hit(result: RunResult) -> list[str]:
    """Who could be hit, how fast, and at what height."""
    if not result.bay.zones:
        return [NOBODY]
    rate = result.rates.total[Flag.PERSON_HIT.key]
    if not rate.count:
        return []
    counted = f"{rate.count:,} {FLAG_WORDS[Flag.PERSON_HIT]}{rate_words(rate)}"
    everybody = np.ones(len(result.bay.zones), dtype=bool)
    worst = harm(person_speeds(result).max(), result, is_delicate(result, everybody))
    sentences = [f"Of these, {counted}, {worst}."]
    heads, speed = result.rates.total.get(HEAD_HIT), head_speeds(result)
    if heads is not None and heads.count:
        sentences.append(
            f"A head could be hit by {heads.count:,}{rate_words(heads)}, {harm(float(speed.max()), result)}."
        )
    return [*sentences, RISKS]


def head_speeds(result: RunResult) -> NDArray[np.float64]:
    """The speed at its worst, m/s, of each ball that could hit a head, in the order of the shots."""
    speed = result.hits(np.array([zone.head for zone in result.bay.zones], dtype=bool))
    return np.asarray(speed[~np.isnan(speed)])


def _others(result: RunResult) -> list[str]:
    """What else went wrong. What was never seen is not named: the bound of all stands for it."""
    total = result.rates.total
    flags = [
        f"{total[flag.key].count:,} {FLAG_WORDS[flag]}{rate_words(total[flag.key])}, "
        f"{up_to(fastest(result, flag), result)}"
        for flag in Flag
        if total[flag.key].count and flag is not Flag.PERSON_HIT
    ]
    several = sum(total[flag.key].count for flag in Flag) > total[ESCAPE].count
    return [*([f"{'; '.join(flags)}."] if flags else []), *(["A ball may do several of these."] if several else [])]


def rate_words(rate: Rate) -> str:
    """A rate in brackets, behind a count; nothing for a grid."""
    return "" if rate.upper is None else f" ({seen_in_all(rate)} balls, {bound(rate)})"


def fastest(result: RunResult, flag: Flag) -> float:
    """The speed at its worst of all shots that carry a flag, m/s. Raises ValueError where none does."""
    worst = result.fates.worst[flag]
    return float(worst[~np.isnan(worst)].max())


def person_speeds(result: RunResult) -> NDArray[np.float64]:
    """The speed at its worst, m/s, of each ball that could hit a person, in the order of the shots."""
    worst = result.fates.worst[Flag.PERSON_HIT]
    return np.asarray(worst[~np.isnan(worst)])


def up_to(speed: float, result: RunResult) -> str:
    """`at up to 20.6 m/s`, in the scenario's units."""
    return f"at up to {Display(result.scenario.units).speed(speed)}"


def band(speed: float, delicate: bool = True) -> Band:
    """The band of a speed in m/s at a head or small child, or elsewhere. One that is not known is the worst."""
    bands = BANDS if delicate else BODY_BANDS
    return next((one for one in reversed(bands) if not speed < one.least), bands[0])


def harm(speed: float, result: RunResult, delicate: bool = True) -> str:
    """`at up to 20.6 m/s: eye injury likely`, or `bruise` where no head nor small child is."""
    return f"{up_to(speed, result)}: {band(as_legal(speed, result), delicate).words}"


def is_delicate(result: RunResult, zones: NDArray[np.bool_]) -> bool:
    """Whether the fastest hit in these zones `(zones,)` is at a head or a small child."""
    each = [(float(np.nan_to_num(result.fates.at_zone[k]).max(initial=0.0)), zone.delicate)
            for k, zone in enumerate(result.bay.zones) if zones[k]]  # fmt: skip
    return max(each)[1] if each else True


def as_legal(speed: float, result: RunResult) -> float:
    """The speed, m/s, at which a ball of 45.93 g has the energy that the run's ball has at this speed."""
    return float(speed * np.sqrt(result.physics.ball.mass / LEGAL_MASS))


def band_index(speed: NDArray[np.float64], result: RunResult) -> NDArray[np.intp]:
    """Which of BANDS each speed `(k,)`, m/s, of the run's ball is in, by its energy."""
    legal = as_legal(1.0, result) * speed
    return np.asarray(np.searchsorted([one.least for one in BANDS], legal, side="right") - 1)


def bands_words(result: RunResult) -> str:
    """All bands with their speeds, and how they are to be read."""
    show = Display(result.scenario.units).speed
    head, body = (
        ", ".join(f"from {show(one.least)} {one.words}" for one in bands[1:]) for bands in (BANDS, BODY_BANDS)
    )
    ball = Display(result.scenario.units).mass(LEGAL_MASS)
    return f"A ball of {ball} at a head, or anywhere at a small child: {head}; elsewhere: {body}. {RISKS}"


def confidence(result: RunResult) -> str:
    """The confidence of the bounds: `95%`."""
    return f"{100.0 * result.rates.confidence:g}%"


def requirement_words(judgement: Judgement) -> str:
    """A requirement with its verdict."""
    return f"Required: {judgement.sentence}"


def bounds_words(result: RunResult) -> str:
    """How the bounds are to be read."""
    if not result.sampled:
        return GRID_WORDS
    return (
        f"At worst: the one-sided {confidence(result)} bound for these shots, exact (Clopper-Pearson) for one shot "
        "type; for all together the better of two: shots in proportion to their shares, counted together, at nine "
        f"tenths of the error (Hoeffding 1956), or the weighted sum of the bounds of {len(result.types)} shot types. "
        "It covers the luck of the draw only, not what the model leaves out."
    )


def stands_on_words(result: RunResult) -> str:
    """What the numbers stand on, in short."""
    show = Display(result.scenario.units)
    speed, energy = show.speed(result.harm_speed), show.energy(result.scenario.harm_energy)
    return (
        f"At a person or out of the room a ball counts from {energy} on, {speed} of this "
        f"ball; out of the room as it lands. Where people are, many faces and all energies "
        f"that mark one are judgements: see report.html. Not computed: {NOT_COMPUTED[0].lower()}{NOT_COMPUTED[1:]}"
    )


def air_words(result: RunResult) -> str:
    """The headline under another published model of drag and lift; empty where that was not flown."""
    other = result.other_air
    if other is None:
        return ""
    return (
        f"Models of drag and lift differ. {_as_played(other.rate_before, other.upper_before)} got past the protection "
        f"as flown, {_as_played(other.rate, other.upper)} with {other.model} ({other.before:,} and {other.after:,} of "
        f"the same {other.shots:,} shots). That is beside the luck of the draw as well."
    )


def _as_played(rate: float, upper: float | None) -> str:
    """`1 in 30 balls (at worst 1 in 28)`."""
    words = f"{one_in(rate)} balls" if rate > 0.0 else "No ball"
    return words if upper is None else f"{words} (at worst {at_worst(upper)})"


def weights_words(result: RunResult) -> str:
    """What the total would be under other assumptions of how misses are distributed; empty where none are made."""
    models = weight_models(result)
    if not models:
        return ""
    rates = sorted(model.rate[ESCAPE] for model in models)
    uppers = sorted(model.upper[ESCAPE] for model in models)
    total = f"{one_in(rates[-1])} to {one_in(rates[0])}" if rates[-1] > 0.0 else "none seen"
    return (
        "How often each kind of strike comes is itself an assumption. Under other assumptions of how misses are "
        "distributed (normal tails; Student's t with a tail for each axis, or one for all; every threshold between "
        f"kinds of strike 2 mm nearer or further) the total would be {total}, at worst {at_worst(uppers[-1])} to "
        f"{at_worst(uppers[0])}. That is beside the luck of the draw, and the true shares may lie further off."
    )
