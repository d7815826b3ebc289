"""How far an answer hangs on how lively the cloth is: the worst end, told beside what is likely."""

from __future__ import annotations

from flightsim.bay.parts import Role
from flightsim.cloth.closed_form import AS_LIVELY
from flightsim.contact.facings import shipped_facings
from flightsim.report.words.common_words import at_worst, one_in
from flightsim.study.run.result import RunResult


def lively_words(result: RunResult) -> str:
    """What the run says of cloth as lively as any; empty where nothing that protects is soft."""
    known = shipped_facings()
    facings = {part.facing for part in result.bay.parts if part.role is Role.GUARD}
    tried = [one for one in result.what_if if one.how == AS_LIVELY]
    likely = "All this is with cloth that gives back what is likely."
    if not tried:
        left = (
            "What cloth as lively as any would send back is left open: leave --quick out, and fly 2,000 shots or more."
        )
        return f"{likely} {left}" if any(known[name].soft for name in facings & set(known)) else ""
    worst = max(tried, key=lambda one: one.rate if one.upper is None else one.upper)
    bound = "" if worst.upper is None else f", at worst {at_worst(worst.upper)}"
    return (
        f"{likely} Were the {worst.guard} as lively as any cloth, {one_in(worst.rate)} balls would get past the "
        f"protection{bound} ({worst.shots:,} of the same shots; {worst.before:,} of these do as it is, "
        f"{worst.after:,} then)."
    )
