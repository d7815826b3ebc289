"""What came of a search for a size, in a builder's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flightsim.contact.fates import Flag
from flightsim.report.words.common_words import ESCAPE_WORDS, FLAG_WORDS, at_worst, one_in
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.bounds import at_worst_one_in
from flightsim.study.run.rates import ESCAPE
from flightsim.study.size.builds import Sizes
from flightsim.study.size.least_size import Answer
from flightsim.study.size.size_doubts import Doubt
from flightsim.study.size.size_look import Look
from flightsim.study.size.vary import Vary

_HOW = {"depth": "deep", "height": "high", "width": "wide", "length": "long", "thickness": "thick"}
_SIDES = ("left", "right")
_SAME = 1.0e-6
MOST_REASONS = 3
LUCK = (
    "The bounds cover the luck of the draw only: not how real players scatter, how real cloth and faces send balls "
    "back, or what else the model leaves out. Build larger where it costs little."
)


@dataclass(frozen=True)
class Told:
    """An answer with what it takes to tell it: the scenario at some size, and each varied size as it is now."""

    answer: Answer
    scenario: Scenario
    present: tuple[float | None, ...]

    @property
    def display(self) -> Display:
        """Units of the reader."""
        return Display(self.scenario.units)

    @property
    def off(self) -> str:
        """The build tolerance."""
        return self.display.length(self.answer.tolerance)


def shown(vary: Vary, value: float, display: Display) -> str:
    """A size for people, as fine as its step."""
    if vary.kind == "length" and display.units == "metric" and abs(value * 100.0 - round(value * 100.0)) > _SAME:
        return f"{value * 1000.0:.4g} mm" if value < 1.0 else f"{value:.4g} m"
    return vary.show(value, display)


def name_of(vary: Vary) -> str:
    """What a path is of: `right side nets` of side_nets.right.depth."""
    *steps, _ = (step.replace("_", " ") for step in vary.path.split(".") if not step.isdecimal())
    if len(steps) > 1 and steps[-1] in _SIDES:
        steps = [steps[-1], *steps[:-1]]
    return " ".join(steps)


def size_words(vary: Vary) -> str:
    """The size itself: `canopy: depth`."""
    return f"{name_of(vary)}: {_key(vary)}"


def _key(vary: Vary) -> str:
    return vary.path.rpartition(".")[2].replace("_", " ")


def orders(varies: Sequence[Vary], sizes: Sizes, display: Display) -> str:
    """Orders to a builder: `make the canopy 2.50 m high and 1.20 m deep`."""
    told: list[str] = []
    before = ""
    for vary, value in zip(varies, sizes, strict=True):
        how, name = _HOW.get(_key(vary)), name_of(vary)
        if how:
            told.append(f"{'' if name == before else f'make the {name} '}{shown(vary, value, display)} {how}")
        else:
            told.append(f"set the {name}'s {_key(vary)} to {shown(vary, value, display)}")
        before = name if how else ""
    return " and ".join(told)


def all_shown(told: Told, sizes: Sizes) -> str:
    """Sizes of all that is varied, in order."""
    pairs = zip(told.answer.varies, sizes, strict=True)
    return " and ".join(shown(vary, x, told.display) for vary, x in pairs)


def trouble_words(name: str) -> str:
    """What the target counts."""
    return ESCAPE_WORDS if name == ESCAPE else FLAG_WORDS[Flag[name.upper()]]


def headline(told: Told) -> str:
    """The answer in a few sentences."""
    answer = told.answer
    if answer.chosen is None:
        return " ".join([_none_will_do(told), *_why_not(told)])
    order = orders(answer.varies, answer.chosen, told.display)
    last = answer.confirmed[-1]
    did = trouble_words(answer.requirement.name)
    some = f"{last.hits:,} of them did" if last.hits else "none of them did"
    return (
        f"{order[0].upper()}{order[1:]}{_smaller(told)}. Built up to {told.off} off in every size, at worst "
        f"{at_worst_one_in(last.worst)} balls {did}, with {answer.confidence:.0%} confidence. Confirmed on "
        f"{answer.confirming:,} fresh shots, each followed through all that it bounces off: {some}."
        f"{_binding(told)}"
    )


def _smaller(told: Told) -> str:
    """What is said of the next size down, where it was looked at."""
    answer = told.answer
    assert answer.chosen is not None
    below = [
        look
        for look in (*answer.looks, *answer.confirmed)
        if look.sizes[:-1] == answer.chosen[:-1] and look.sizes[-1] < answer.chosen[-1] - _SAME and not look.met
    ]
    if below:
        value = max(look.sizes[-1] for look in below)
        return f" ({shown(answer.varies[-1], value, told.display)} does not do)"
    least = answer.varies[-1].values()[0]
    return " (the least of the range)" if abs(answer.chosen[-1] - least) < _SAME else ""


def _binding(told: Told) -> str:
    if len(told.answer.groups) < 2:
        return ""
    return (
        f" It holds for each of {len(told.answer.groups)} players and tee spots by itself; nearest to the limit: "
        f"{told.answer.binding}."
    )


def _none_will_do(told: Told) -> str:
    answer = told.answer
    spans = " and ".join(
        f"{size_words(vary)} from {shown(vary, vary.values()[0], told.display)} to "
        f"{shown(vary, vary.values()[-1], told.display)}"
        for vary in answer.varies
    )
    return f"No size will do: with {spans}, '{answer.requirement.text}' is not shown anywhere."


def _why_not(told: Told) -> list[str]:
    answer, best = told.answer, told.answer.best
    reasons = sorted({look.kept for look in answer.looks if look.kept})
    words = [f"{text}." for text in reasons[:MOST_REASONS]]
    if answer.confirmed:
        tried = ", ".join(all_shown(told, look.sizes) for look in answer.confirmed)
        words.append(f"Met in the search, but not on fresh shots: {tried}.")
    if best is None:
        first = next(look.refused for look in answer.looks)
        return [*words, f"None of the sizes can be built: {first}."]
    words.append(f"The best size looked at is {all_shown(told, best.sizes)}: {_seen(best)}, at worst {_worst(best)}.")
    if max(best.rates) < answer.requirement.limit and not best.kept:
        words.append(
            "What was seen there is within the target, but these shots do not show it: more may, --shots "
            f"{2 * (answer.searched + max(answer.confirming, 4 * answer.searched))}."
        )
    if answer.defeats:
        types = ", ".join(f"{label} ({count:,})" for label, count in answer.defeats)
        words.append(f"What defeats it there, of {answer.searched:,} shots: {types}; {_flags(best)}.")
    if answer.binding and len(answer.groups) > 1:
        words.append(f"Furthest from the target: {answer.binding}.")
    return words


def _flags(look: Look) -> str:
    """What the balls did that count: `12 left the room, 3 could hit a person`."""
    told = [f"{count:,} {FLAG_WORDS[flag]}" for flag, count in zip(Flag, look.flags, strict=True) if count]
    return ", ".join(told)


def _seen(look: Look) -> str:
    return f"{one_in(max(look.rates))} balls as seen" if look.hits else "none seen"


def _worst(look: Look) -> str:
    return at_worst(look.worst)


def looks_table(told: Told) -> Table:
    """Every size looked at, and those that were put to fresh shots; of several sizes, those beside the answer."""
    answer = told.answer
    held = answer.near
    beside = [look for look in answer.looks if look.sizes[:-1] == held]
    rows = [_look_row(told, look, answer.searched) for look in beside]
    rows += [_look_row(told, look, answer.confirming, "fresh shots: ") for look in answer.confirmed]
    head = (*(size_words(vary) for vary in answer.varies), "shots", "did", "as seen", "at worst", "does it")
    count = len(answer.varies)
    title = f"Sizes looked at: how many {trouble_words(answer.requirement.name)}"
    note = (
        f"Each built {told.off} short and long, the other sizes off to their worse side: the worse of these is shown, "
        "for the player and spot with the highest bound."
    )
    if len(beside) < len(answer.looks):
        note += f" {len(answer.looks) - len(beside)} more choices of the other sizes: see size.json."
    return Table(title, head, tuple(rows), frozenset({*range(count), count, count + 1}), note)


def _look_row(told: Told, look: Look, shots: int, where: str = "") -> tuple[str, ...]:
    sizes = (shown(vary, x, told.display) for vary, x in zip(told.answer.varies, look.sizes, strict=True))
    if look.refused:
        return (*sizes, "", "", "", "", f"{where}cannot be built: {look.refused}")
    said = "yes" if look.met else look.kept or "no"
    return (*sizes, f"{shots:,}", f"{look.hits:,}", _rate(look), _worst(look), f"{where}{said}")


def _rate(look: Look) -> str:
    return one_in(max(look.rates)) if look.hits else "none seen"


def worse_table(told: Told) -> Table:
    """The other sizes, off to the side that lets more past."""
    show = told.display.length
    rows = [(worse.words, show(worse.value - worse.off), show(worse.value)) for worse in told.answer.worse]
    note = "The side to which more of a few shots meet no protection first; where they do not tell, the usual one."
    title = f"Other sizes, taken up to {told.off} off to their worse side"
    return Table(title, ("size", "as drawn", "taken as"), tuple(rows), frozenset({1, 2}), note if rows else "")


def backward_words(told: Told) -> str:
    """What goes the other way than one would think; empty where nothing does."""
    answer, words = told.answer, []
    did = trouble_words(answer.requirement.name)
    for small, large in answer.backward:
        words.append(
            f"{all_shown(told, large)} is clearly worse than {all_shown(told, small)}: more balls {did}. "
            "Larger is not better here."
        )
    if answer.chosen is not None:
        bad = [
            look.sizes
            for look in answer.looks
            if look.sizes[:-1] == answer.chosen[:-1] and look.sizes[-1] > answer.chosen[-1] and not look.met
        ]
        if bad:
            sizes = ", ".join(shown(answer.varies[-1], x[-1], told.display) for x in bad)
            words.append(
                f"Larger sizes that the search did not show to meet the target: {sizes}. Do not build larger without "
                "looking at that size."
            )
    return " ".join(words)


def front_table(told: Told) -> Table:
    """Of several sizes: those that no other choice betters, cheapest first."""
    answer = told.answer
    several = len(answer.varies) > 1
    rows = []
    for look in answer.front if several else ():
        sizes = (shown(vary, x, told.display) for vary, x in zip(answer.varies, look.sizes, strict=True))
        cost = f"{answer.cost(look.sizes):,.2f}" if answer.prices else ""
        rows.append((*sizes, cost, _worst(look), "chosen" if look.sizes == answer.chosen else ""))
    head = (*(size_words(vary) for vary in answer.varies), "cost" if answer.prices else "", "at worst", "")
    numbers = frozenset(range(len(answer.varies) + 1))
    note = (
        "Each met the target in the search; the chosen one alone was confirmed on fresh shots. All but the last size "
        "were looked at in a few steps only."
    )
    return Table("Choices that no other betters", head, tuple(rows), numbers, note)


def doubts_table(told: Told) -> Table:
    """The chosen size under other models, then with one thing changed, what moves the answer most first."""
    answer = told.answer
    if not answer.doubts:
        return Table("", (), (), frozenset())
    first = answer.doubts[0]

    def moved(doubt: Doubt) -> tuple[float, float]:
        return (-abs(doubt.rate - first.rate), -doubt.upper)

    models = [first, *sorted((d for d in answer.doubts[1:] if d.kind == "model"), key=moved)]
    rows = [_doubt_row(told, doubt) for doubt in models]
    rows += [_doubt_row(told, doubt) for doubt in sorted((d for d in answer.doubts if d.kind == "change"), key=moved)]
    head = ("the chosen size", "as seen", "at worst", "does it")
    note = (
        f"As drawn, with nothing off, on {answer.searched:,} shots of the search's seed. These differences are beside "
        "the luck of the draw."
    )
    title = "How far the answer hangs on what nobody knows, what moves it most first"
    return Table(title, head, tuple(rows), frozenset(), note)


def _doubt_row(told: Told, doubt: Doubt) -> tuple[str, ...]:
    met = told.answer.requirement.met_by(doubt.upper)
    seen = one_in(doubt.rate) if doubt.rate > 0.0 else "none seen"
    return (doubt.words, seen, at_worst(doubt.upper), "yes" if met else "not shown")


def cost_words(told: Told) -> str:
    """What the chosen size costs, by the prices given."""
    answer = told.answer
    if answer.chosen is None or not answer.prices:
        return ""
    return f"Cost by the prices given: {answer.cost(answer.chosen):,.2f}."


def present_words(told: Told) -> str:
    """What the scenario has now."""
    pairs: Sequence[tuple[Vary, float | None]] = list(zip(told.answer.varies, told.present, strict=True))
    words = [f"{size_words(vary)} {vary.show(now, told.display)}" for vary, now in pairs if now is not None]
    return f"The scenario has now: {', '.join(words)}." if words else ""
