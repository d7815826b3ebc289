"""What came of a search for a size, in tables, and what was not varied."""

from __future__ import annotations

from flightsim.report.words.common_words import one_in
from flightsim.report.words.plain_table import Table
from flightsim.report.words.size_words import SizeReport, shown, size_words, target_words, worst_words
from flightsim.scenario.reading.models import Scenario
from flightsim.study.size.size_doubts import Doubt
from flightsim.study.size.size_look import Look
from flightsim.study.size.vary import parse_vary

_OF_SHOTS = ("shots", "launches", "measured", "air", "ball", "people", "build")  # sections that are no sizes of the bay


def looks_table(report: SizeReport) -> Table:
    """Every size looked at, and those that were put to fresh shots; of several sizes, those beside the answer."""
    answer = report.answer
    held = answer.near
    beside = [look for look in answer.looks if look.sizes[:-1] == held]
    rows = [_look_row(report, look, answer.searched) for look in beside]
    rows += [_look_row(report, look, answer.confirming, "fresh shots: ") for look in answer.confirmed]
    head = (*(size_words(vary) for vary in answer.varies), "shots", "did", "as seen", "at worst", "shown to do")
    count = len(answer.varies)
    title = f"Sizes looked at: how many {target_words(answer.requirement)}"
    note = (
        f"Each built {report.off} short and long, the other sizes off to their worse side: the worse of these is "
        "shown, for the player and spot with the highest bound."
    )
    if len(beside) < len(answer.looks):
        note += f" {len(answer.looks) - len(beside)} more choices of the other sizes: see size.json."
    return Table(title, head, tuple(rows), frozenset({*range(count), count, count + 1}), note)


def _look_row(report: SizeReport, look: Look, shots: int, where: str = "") -> tuple[str, ...]:
    sizes = (shown(vary, x, report.display) for vary, x in zip(report.answer.varies, look.sizes, strict=True))
    if look.refused:
        return (*sizes, "", "", "", "", f"{where}cannot be built: {look.refused}")
    said = "yes" if look.met else look.kept or "not shown"
    return (*sizes, f"{shots:,}", f"{look.hits:,}", _rate(look), worst_words(look), f"{where}{said}")


def _rate(look: Look) -> str:
    return one_in(max(look.rates)) if look.hits else "none seen"


def worse_table(report: SizeReport) -> Table:
    """The other sizes, off to the side that lets more past."""
    show = report.display.length
    rows = [
        (worse.words, worse.path, show(worse.value - worse.off), show(worse.value)) for worse in report.answer.worse
    ]
    note = "The side to which more of a few shots meet no protection first; where they do not tell, the usual one."
    title = f"Not varied: other sizes, taken up to {report.off} off to their worse side"
    return Table(title, ("size", "key", "as drawn", "taken as"), tuple(rows), frozenset({2, 3}), note if rows else "")


def not_varied_words(report: SizeReport) -> str:
    """Every other key of the file that could be varied; a section that has no sizes of the bay, as a whole."""
    answer, scenario = report.answer, report.scenario
    taken = {_plain(path) for path in (*(v.path for v in answer.varies), *(worse.path for worse in answer.worse))}
    keys = [
        key for key in scenario.lines
        if _is_number(scenario, key) and _plain(key) not in taken and key.partition(".")[0] not in _OF_SHOTS
    ]  # fmt: skip
    whole = [section for section in dict.fromkeys(key.partition(".")[0] for key in scenario.lines)
             if section in _OF_SHOTS]  # fmt: skip
    keys += [f"all of {' and '.join(whole)}"] if whole else []
    return f"Not varied either, as in the file: {', '.join(keys)}." if keys else ""


def _plain(path: str) -> str:
    return ".".join(step for step in path.split(".") if not step.isdecimal())


def _is_number(scenario: Scenario, key: str) -> bool:
    return "." in key and parse_vary(f"{key}=0..1").present(scenario) is not None


def front_table(report: SizeReport) -> Table:
    """The choices of several sizes that no other choice betters, cheapest first."""
    answer = report.answer
    several = len(answer.varies) > 1
    rows = []
    for look in answer.front if several else ():
        sizes = (shown(vary, x, report.display) for vary, x in zip(answer.varies, look.sizes, strict=True))
        cost = f"{answer.cost(look.sizes):,.2f}" if answer.prices else ""
        rows.append((*sizes, cost, worst_words(look), "chosen" if look.sizes == answer.chosen else ""))
    head = (*(size_words(vary) for vary in answer.varies), "cost" if answer.prices else "", "at worst", "")
    numbers = frozenset(range(len(answer.varies) + 1))
    note = (
        "Each met the target in the search; the chosen one alone was confirmed on fresh shots. All but the last size "
        "were looked at in a few steps only."
    )
    return Table("Choices that no other betters", head, tuple(rows), numbers, note)


def doubts_table(report: SizeReport) -> Table:
    """The chosen size under other models, then with one thing changed, what moves the answer most first."""
    answer = report.answer
    if not answer.doubts:
        return Table("", (), (), frozenset())
    first = answer.doubts[0]

    def moved(doubt: Doubt) -> tuple[float, float]:
        return (-abs(doubt.rate - first.rate), -doubt.upper)

    models = [first, *sorted((d for d in answer.doubts[1:] if d.kind == "model"), key=moved)]
    rows = [_doubt_row(report, doubt) for doubt in models]
    rows += [_doubt_row(report, doubt) for doubt in sorted((d for d in answer.doubts if d.kind == "change"), key=moved)]
    head = ("the chosen size", "as seen", "beside as drawn", "shown to do")
    note = (
        f"As drawn, with nothing off, on {answer.searched:,} shots of the search's seed; fewer than confirmed it, so "
        "that a row may not be shown to do for want of shots. These differences are beside the luck of the draw."
    )
    title = "How far the answer hangs on what nobody knows, what moves it most first"
    return Table(title, head, tuple(rows), frozenset(), note)


def _doubt_row(report: SizeReport, doubt: Doubt) -> tuple[str, ...]:
    met = report.answer.requirement.met_by(doubt.upper)
    first = report.answer.doubts[0].rate
    seen = one_in(doubt.rate) if doubt.rate > 0.0 else "none seen"
    times = f"{doubt.rate / first:.2g} times" if first > 0.0 else ""
    if doubt is report.answer.doubts[0] or doubt.rate == first:
        times = "" if doubt is report.answer.doubts[0] else "the same"
    return (doubt.words, seen, times, "yes" if met else "not shown")
