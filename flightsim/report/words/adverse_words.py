"""How far an answer hangs on what is not known of cloth: adverse cloth, told beside what is likely."""

from __future__ import annotations

from flightsim.bay.parts import Role
from flightsim.contact.facings import shipped_facings
from flightsim.report.words.common_words import at_worst, seen_in_all
from flightsim.study.run.rates import ESCAPE, HEAD_HIT
from flightsim.study.run.result import AdverseFlight, Rate, RunResult

LIKELY = "All this is with likely cloth, the middle of what is known of it."


def adverse_words(result: RunResult) -> str:
    """What the run says of adverse cloth, or that it was left out; empty where nothing that protects is soft."""
    if result.adverse:
        return f"{LIKELY} {_same_shots(result)} {'; '.join(_one(flight) for flight in result.adverse)}.{_heads(result)}"
    known = shipped_facings()
    facings = {part.facing for part in result.bay.parts if part.role is Role.GUARD}
    if not any(known[name].soft for name in facings & set(known)):
        return ""
    if not result.sampled:
        return f"{LIKELY} A grid is no sample: what adverse cloth would do is left out."
    return f"{LIKELY} What adverse cloth would do (livelier, deeper, softer cords) is left out: leave --quick out."


def _same_shots(result: RunResult) -> str:
    flown = result.adverse[0].shots
    which = "The same shots" if flown == len(result.shots) else f"The first {flown:,} of the same shots"
    return f"{which} with adverse cloth, balls past the protection:"


def _one(flight: AdverseFlight) -> str:
    return f"{flight.words}, {_rate(flight.rates.total[ESCAPE])}"


def _rate(rate: Rate) -> str:
    assert rate.upper is not None
    return f"{seen_in_all(rate)}, at worst {at_worst(rate.upper)}"


def _heads(result: RunResult) -> str:
    rate, whose = result.worst(HEAD_HIT)
    return "" if whose is None or not rate.count else f" A head: {_rate(rate)}, {whose.words}."
