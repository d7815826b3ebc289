"""What a search for changes found, in a builder's words."""

from __future__ import annotations

from collections.abc import Callable

from flightsim.report.words.common_words import at_worst, one_in
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display
from flightsim.study.improve.defeats import PEOPLE
from flightsim.study.improve.improve import Improved
from flightsim.study.improve.offers import Offer
from flightsim.study.improve.space import Tier
from flightsim.study.improve.unmeetable import Bound
from flightsim.study.run.find_troubles import FROM_TEE
from flightsim.study.run.target_result import TargetResult

HARDLY = 1.0e-7  # below it nothing was seen
SIGNS = {True: "met", False: "not yet", None: "not asked"}


def headline(found: Improved) -> str:
    """Whether all targets are met, and after how many changes."""
    asked = [target for target in found.after if target.asked]
    missed = [target for target in asked if not target.good]
    if found.stopped is not None:
        return f"Stopped. {_count(len(found.steps), 'change')} found so far; nothing is confirmed."
    after = f"after {_count(len(found.steps), 'change')}" if found.steps else "as it is"
    if not missed:
        return f"Meets the {_count(len(asked), 'target')} asked, {after}."
    ending = "nothing more was found that helps" if found.steps else "no change was found that helps"
    if found.out_of_time:
        ending = "the time was over, and a longer search may find more: --minutes"
    many = "is not met" if len(missed) == 1 else "are not met"
    return f"Not yet: {len(missed)} of the {_count(len(asked), 'target')} asked {many} {after}; {ending}."


def _count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def often(rate: float) -> str:
    """A rate on a search's shots."""
    return "none seen" if rate < HARDLY else one_in(rate)


def _named(target: TargetResult) -> str:
    words = target.words if not target.place else f"{target.words}, {target.place}"
    return words[:1].upper() + words[1:]


def targets_table(found: Improved) -> Table:
    """Every target that is asked, before and after: what is judged is its bound."""
    units = Display(found.found.scenario.units)
    show = units.estimate
    before = {target.name: target for target in found.before}
    rows = []
    for target in sorted(found.after or found.before, key=lambda one: one.good):
        if not target.asked:
            continue
        first = before.get(target.name, target)
        limit = f"{units.length(target.limit)} or more" if target.kind == "length" else one_in(target.limit)
        seen = [_seen(first, show), _seen(target, show) if found.after else ""]
        # As it is, the same bay was flown again: what differs is luck, and the fresh shots are more.
        seen = seen if found.steps or not found.after else seen[1:]
        rows.append((_named(target), limit, *seen, _worst(target, show), SIGNS[target.good]))
    of = ("as found", "changed") if found.steps or not found.after else ("as found",)
    head = ("target", "at most", *of, "at worst", "")
    note = ""
    if found.result is not None:
        note = (
            f"{of[-1].capitalize()}: {len(found.result.shots):,} fresh shots, which the search did not see. At worst: "
            f"the bound, for heads, children and bodies with the worst cloth and every size off. {_a_year(found)}"
        )
    return Table("Targets", head, tuple(rows), frozenset(), note)


def _a_year(found: Improved) -> str:
    """What a rate comes to in a year, as many balls as are hit here."""
    balls = found.found.scenario.targets.balls_a_year
    return f"At {balls:,} balls a year 1 in 1,000 is {balls / 1000:,.3g} a year."


def _seen(target: TargetResult, show: Callable[[float], str]) -> str:
    if target.rate is None:
        return ""
    return show(target.rate) if target.kind == "length" else one_in(target.rate)


def _worst(target: TargetResult, show: Callable[[float], str]) -> str:
    """The bound that it is judged by."""
    if target.kind == "length":
        return show(target.upper) if target.upper is not None else ""
    bounds = [target.upper, target.worst_upper if target.severe else None]
    known = [bound for bound in bounds if bound is not None]
    return at_worst(max(known)) if known else "not known"


def unmet_words(found: Improved) -> str:
    """What keeps each unmet target from being met, and whether it is shown that nothing meets it."""
    lines = [_unmet(target, found) for target in found.after if target.asked and not target.good]
    return "\n".join(["What stands in the way:", *(f"- {line}" for line in lines), ending(found)]) if lines else ""


def ending(found: Improved) -> str:
    """How the search ended, of those that are not met and of which nothing is shown; empty where there are none."""
    beyond = {bound.target for bound in found.bounds}
    if all(target.name in beyond for target in found.after if target.asked and not target.good):
        return ""
    if found.out_of_time:
        return "- The search was ended by time. That these cannot be met is not shown, but where it is said."
    if found.tries > 1:
        return (
            "- The search found no further change that helps these on its own shots, and fresh shots did not bear out "
            "all that it had found. That they cannot be met is not shown, but where it is said."
        )
    return "- Each change that is left was tried alone, and the best by twos: none helped. Three or more together may."


def _unmet(target: TargetResult, found: Improved) -> str:
    name, show = _named(target), Display(found.found.scenario.units).length
    defeat = next((one for one in found.defeats if one.target == target.name), None)
    if target.kind == "length":
        bound = next((one for one in found.bounds if one.target == target.name), None)
        if bound is not None:
            return f"{name}: {target.worst_words}. {beyond_words(bound, show)}"
        return f"{name}: {target.worst_words}. No change was found that mends it; a shorter club would."
    if defeat is None:
        if target.met and target.worst_words:
            return f"{name}: met with likely cloth, as drawn; not {target.worst_words}."
        return f"{name}: too few balls were flown to show it."
    worst = f" Met with likely cloth, as drawn; not {target.worst_words}." if target.met and target.worst_words else ""
    came = _came(target.name, defeat.where)
    return f"{name}: {_share(defeat.part)} of these balls {came}, most of them {defeat.shot}.{worst}"


def _came(target: str, where: str) -> str:
    """What the balls do that count against a target, and where; of people, what they come off."""
    if not where:
        return "could not be followed to their end"
    article = "" if where.startswith("the ") else "the "
    if not target.startswith(PEOPLE):
        return f"reach {article}{where}"
    return f"come straight from {where}" if where == FROM_TEE else f"come off {article}{where}"


def beyond_words(bound: Bound, show: Callable[[float], str]) -> str:
    """What defeats a length that no change can meet, and how that is known."""
    things = " and ".join(f"the {name}" for name in bound.things)
    leave = "leaves" if len(bound.things) == 1 else "leave"
    most = f"at most {show(bound.most)}" if bound.most > 0.0 else "none at all"
    return (
        f"Cannot be met: wherever the tee may be, {things} {leave} {most} of the {show(bound.limit)} asked "
        f"(measured at {bound.places} places). A shorter club, or a larger room."
    )


def _share(part: float) -> str:
    return "all" if part > 0.995 else f"{100.0 * part:.0f} in 100"


def offers_words(found: Improved) -> str:
    """What is no change of the protection, and would help: never counted."""
    if not found.offers:
        return ""
    lines = [f"- {_offer(offer, found)}" for offer in found.offers]
    return "This would help too. It changes the room or the play, so it is not counted as met:\n" + "\n".join(lines)


def _offer(offer: Offer, found: Improved) -> str:
    words = {target.name: _named(target).lower() for target in found.before}
    rates = [f"{words[name]} {often(offer.before[name])} becomes {often(offer.after[name])}" for name in offer.before]
    return f"{offer.words}: {'; '.join(rates[:2])}." if rates else f"{offer.words}."


def cost_words(found: Improved, currency: str) -> str:
    """What the changes cost by the bay's own price list; empty without one."""
    if found.costs is None:
        return ""
    before, after = found.costs
    words = f"By the price list the bay costs {after:,.0f} {currency}, {before:,.0f} as it was: {after - before:+,.0f}."
    other = any(step.tier is Tier.RESIZE and step.words.startswith("Have the") for step in found.steps)
    return f"{words} A heavier cloth is priced as the one before: ask what it costs." if other else words


def not_judged_words(found: Improved) -> str:
    """What the search could not see to, since nothing says how it is."""
    return "\n".join(["Not looked at:", *(f"- {words}" for words in found.not_judged)]) if found.not_judged else ""
