"""What came of a search for a size, in a builder's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pydantic.fields import FieldInfo

from flightsim.contact.fates import Flag
from flightsim.report.words.common_words import ESCAPE_WORDS, FLAG_WORDS, at_worst, one_in
from flightsim.scenario.reading.declared import GuardLength, field_at, one_of
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.bounds import at_worst_one_in
from flightsim.study.run.rates import ESCAPE, HEAD_HIT
from flightsim.study.run.require import Requirement
from flightsim.study.run.target_kinds import KINDS
from flightsim.study.size.builds import Sizes
from flightsim.study.size.least_size import Answer
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
class SizeReport:
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
    """What a path is of: `right side net` of side_nets.right.depth."""
    *steps, _ = (step.replace("_", " ") for step in vary.path.split(".") if not step.isdecimal())
    if len(steps) > 1 and steps[-1] in _SIDES:
        return one_of(steps[-1], " ".join(steps[:-1]))
    return " ".join(steps)


def size_words(vary: Vary) -> str:
    """The size itself: `canopy: depth`."""
    return f"{name_of(vary)}: {_key(vary)}"


def _key(vary: Vary) -> str:
    return vary.path.rpartition(".")[2].replace("_", " ")


def orders(varies: Sequence[Vary], sizes: Sizes, display: Display, scenario: Scenario | None = None) -> str:
    """Orders to a builder: `make the canopy 2.50 m high and 1.20 m deep`, in the words that the fields say."""
    orders: list[str] = []
    before = ""
    for vary, value in zip(varies, sizes, strict=True):
        field = None if scenario is None else field_at(scenario, vary.path)
        how, name = how_words(vary, field), name_of(vary)
        if how:
            orders.append(f"{'' if name == before else f'make the {name} '}{shown(vary, value, display)} {how}")
        elif (place := _key(vary)).startswith("from "):
            orders.append(f"put the {name} {shown(vary, value, display)} from the {place.removeprefix('from ')}")
        else:
            orders.append(f"set the {name}'s {noun_words(vary, field)} to {shown(vary, value, display)}")
        before = name if how else ""
    return " and ".join(orders)


def how_words(vary: Vary, field: FieldInfo | None) -> str:
    """What is said after a value, by the field itself: `deep`, `from the end wall`; empty where it says nothing."""
    if field is None:
        return _HOW.get(_key(vary), "")
    return next((said.how for said in field.metadata if isinstance(said, GuardLength)), "")


def noun_words(vary: Vary, field: FieldInfo | None) -> str:
    """A size by name, with what its field says it is: `gap behind (cloth to the end wall)`."""
    said = "" if field is None else next((s.words for s in field.metadata if isinstance(s, GuardLength)), "")
    meant = "" if field is None else (field.description or "").partition(";")[0].strip()
    return f"{said or _key(vary)} ({meant})" if meant else said or _key(vary)


def all_shown(report: SizeReport, sizes: Sizes) -> str:
    """Sizes of all that is varied, in order; each with its name where there are several."""
    pairs = list(zip(report.answer.varies, sizes, strict=True))
    if len(pairs) == 1:
        return shown(*pairs[0], report.display)
    return " and ".join(f"{name_of(vary)} {_key(vary)} {shown(vary, x, report.display)}" for vary, x in pairs)


def trouble_words(name: str) -> str:
    """What the target counts."""
    if name == ESCAPE:
        return ESCAPE_WORDS
    flags = {flag.key: words for flag, words in FLAG_WORDS.items()}
    return flags[name] if name in flags else "could hit a head" if name == HEAD_HIT else KINDS[name].words


def target_words(requirement: Requirement) -> str:
    """What is counted for a target, with the thing that it names: `broke through something (board)`."""
    where = getattr(requirement, "where", "")
    return trouble_words(requirement.name) + (f" ({where})" if where else "")


def flat_words(report: SizeReport) -> str:
    """Words that the size decides nothing here; empty where it decides something."""
    answer = report.answer
    if answer.flat is None:
        return ""
    vary, (least, most) = answer.varies[-1], answer.flat
    span = f"{shown(vary, vary.values()[0], report.display)} to {shown(vary, vary.values()[-1], report.display)}"
    count = f"{least:,}" if least == most else f"{least:,} to {most:,}"
    seen = f"{count} of {answer.searched:,} balls did, which differs by luck only" if most else "no ball did"
    return f"The {_key(vary)} of the {name_of(vary)} decides nothing here: at every size from {span} {seen}. "


def headline(report: SizeReport) -> str:
    """The answer in a few sentences."""
    answer = report.answer
    if answer.chosen is None:
        return " ".join([_none_will_do(report), *_why_not(report)])
    order = orders(answer.varies, answer.chosen, report.display, report.scenario)
    last = answer.confirmed[-1]
    did = target_words(answer.requirement)
    seen = f"{last.hits:,} of them did" if last.hits else "none of them did"
    return (
        f"{flat_words(report)}{order[0].upper()}{order[1:]}{_smaller(report)}. Built up to {report.off} off in every "
        f"size, at worst {at_worst_one_in(last.worst)} balls {did}, with {answer.confidence:.0%} confidence. Confirmed "
        f"on {answer.confirming:,} fresh shots, each followed through all that it bounces off: {seen}."
        f"{_binding(report)}"
    )


def _smaller(report: SizeReport) -> str:
    """What is said of the next size down, where it was looked at."""
    answer = report.answer
    assert answer.chosen is not None
    below = [
        look
        for look in (*answer.looks, *answer.confirmed)
        if look.sizes[:-1] == answer.chosen[:-1] and look.sizes[-1] < answer.chosen[-1] - _SAME and not look.met
    ]
    if below:
        value = max(look.sizes[-1] for look in below)
        return f" ({shown(answer.varies[-1], value, report.display)} is not shown to do)"
    least = answer.varies[-1].values()[0]
    return " (the least of the range)" if abs(answer.chosen[-1] - least) < _SAME else ""


def _binding(report: SizeReport) -> str:
    if len(report.answer.groups) < 2:
        return ""
    return (
        f" It holds for each of {len(report.answer.groups)} players and tee spots by itself; nearest to the limit: "
        f"{report.answer.binding}."
    )


def _none_will_do(report: SizeReport) -> str:
    answer = report.answer
    spans = " and ".join(
        f"{size_words(vary)} from {shown(vary, vary.values()[0], report.display)} to "
        f"{shown(vary, vary.values()[-1], report.display)}"
        for vary in answer.varies
    )
    if answer.needed:
        return (
            f"These shots are too few to show '{answer.requirement.text}', even if no ball were seen: "
            f"{answer.searched:,} were flown at each size, and it takes some {answer.needed:,} in all "
            f"(--shots {answer.needed})."
            f"{_least_seen(report)}"
        )
    if all(look.kept or look.refused for look in answer.looks):
        return f"No size will do: with {spans} none keeps what must hold."
    return (
        f"{flat_words(report)}No size is shown to do: with {spans}, '{answer.requirement.text}' is not shown anywhere."
    )


def _least_seen(report: SizeReport) -> str:
    """The least size at which what was seen is within the target."""
    answer = report.answer
    within = [
        look for look in answer.looks
        if not look.refused and not look.kept and max(look.rates) < answer.requirement.limit
    ]  # fmt: skip
    if not within:
        return " At no size is what was seen within it."
    return (
        f" The least at which what was seen is within it: {all_shown(report, within[0].sizes)}. That shows nothing yet."
    )


def _why_not(report: SizeReport) -> list[str]:
    answer, best = report.answer, report.answer.best
    reasons = sorted({look.kept for look in answer.looks if look.kept})
    words = [f"{text}." for text in reasons[:MOST_REASONS]]
    if answer.confirmed:
        tried = ", ".join(all_shown(report, look.sizes) for look in answer.confirmed)
        words.append(f"Met in the search, but not on fresh shots: {tried}.")
    if best is None:
        first = next(look.refused for look in answer.looks)
        return [*words, f"None of the sizes can be built: {first}."]
    words.append(
        f"The best size looked at is {all_shown(report, best.sizes)}: {_seen(best)}, at worst {worst_words(best)}."
    )
    if max(best.rates) < answer.requirement.limit and not best.kept and not answer.needed:
        more = 2 * (answer.searched + max(answer.confirming, 4 * answer.searched))
        words.append(
            "What was seen there is within the target, but these shots do not show it: more may, some "
            f"{more:,} in all (--shots {more})."
        )
    if answer.defeats:
        types = ", ".join(f"{label} ({count:,})" for label, count in answer.defeats)
        words.append(f"What defeats it there, of {answer.searched:,} shots: {types}; {_flags(best)}.")
    if answer.binding and len(answer.groups) > 1:
        words.append(f"Furthest from the target: {answer.binding}.")
    return words


def _flags(look: Look) -> str:
    """What the balls did that count: `12 left the room, 3 could hit a person`."""
    counts = [f"{count:,} {FLAG_WORDS[flag]}" for flag, count in zip(Flag, look.flags, strict=True) if count]
    return ", ".join(counts)


def _seen(look: Look) -> str:
    return f"{one_in(max(look.rates))} balls as seen" if look.hits else "none seen"


def worst_words(look: Look) -> str:
    """The highest bound of a look."""
    return at_worst(look.worst)


def backward_words(report: SizeReport) -> str:
    """What goes the other way than one would think; empty where nothing does."""
    answer, words = report.answer, []
    did = target_words(answer.requirement)
    for small, large in answer.backward:
        words.append(
            f"{all_shown(report, large)} is clearly worse than {all_shown(report, small)}: more balls {did}. "
            "Larger is not better here."
        )
    if answer.chosen is not None:
        bad = [
            look.sizes
            for look in answer.looks
            if look.sizes[:-1] == answer.chosen[:-1] and look.sizes[-1] > answer.chosen[-1] and not look.met
        ]
        if bad:
            sizes = ", ".join(shown(answer.varies[-1], x[-1], report.display) for x in bad)
            words.append(
                f"Larger sizes that the search did not show to meet the target: {sizes}. Do not build larger without "
                "looking at that size."
            )
    return " ".join(words)


def cost_words(report: SizeReport) -> str:
    """What the chosen size costs, by the prices given."""
    answer = report.answer
    if answer.chosen is None or not answer.prices:
        return ""
    return f"Cost by the prices given: {answer.cost(answer.chosen):,.2f}."


def present_words(report: SizeReport) -> str:
    """What the scenario has now."""
    pairs: Sequence[tuple[Vary, float | None]] = list(zip(report.answer.varies, report.present, strict=True))
    words = [f"{size_words(vary)} {vary.show(now, report.display)}" for vary, now in pairs if now is not None]
    return f"The scenario has now: {', '.join(words)}." if words else ""
