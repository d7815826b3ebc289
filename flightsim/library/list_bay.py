"""What it takes to build an open bay: its lists, and the section of the page that tells them."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from flightsim.contact.giving import Give
from flightsim.errors import BadInputError, PluginError
from flightsim.making.build_list import BuildList, build_list
from flightsim.making.costing.bill import Bill
from flightsim.making.costing.price_list import PriceList, read_prices
from flightsim.making.cutting.stock import NANO
from flightsim.making.settings import BuildSettings
from flightsim.plugin.hookspecs import ReportSection
from flightsim.report.words.build_words import cost_words
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.open_bay import OpenBay

NOT_CHECKED = "Strength, stiffness and tipping are not checked here: flightsim build does, and writes every list."


def list_bay(opened: OpenBay, prices: PriceList | None = None) -> BuildList:
    """All lists of a bay. Raises BadInputError for a bar longer than any stock, or a price list that cannot be used."""
    scenario, settings = opened.scenario, settings_of(opened.scenario)
    return build_list(
        opened.plugins.pieces(scenario), opened.plugins.structures(scenario), settings,
        prices_of(scenario) if prices is None else prices, Display(scenario.units), _areal_masses(opened),
    )  # fmt: skip


def _areal_masses(opened: OpenBay) -> dict[str, float]:
    """Of every cloth whose give was flown, by name, kg/m2."""
    laws = {name: getattr(rebound.law, "law", rebound.law) for name, rebound in opened.rebounds.items()}
    return {name: law.cloth.areal_mass for name, law in laws.items() if isinstance(law, Give)}


def settings_of(scenario: Scenario) -> BuildSettings:
    """What the bay's file says of building, or what goes without saying: the way in is then the largest door."""
    settings = _said(scenario) or BuildSettings()
    settings = settings.in_feet() if scenario.units == "imperial" else settings
    doors = [door for door in getattr(scenario.room, "openings", ()) if door.sill == 0.0]
    if settings.door_width is None and settings.door_height is None and doors:
        widest = max(doors, key=lambda door: door.width * door.height)
        return settings.model_copy(update={"door_width": widest.width, "door_height": widest.height})
    return settings


def _said(scenario: Scenario) -> BuildSettings | None:
    """The section that holds build settings, whatever its key; None where the file has none."""
    entries = (entry for section in scenario.sections.values() for entry in section)
    return next((entry for entry in entries if isinstance(entry, BuildSettings)), None)


def prices_of(scenario: Scenario) -> PriceList | None:
    """The price list that the bay's file names, from its own folder; None where it names none."""
    named = settings_of(scenario).prices
    return None if named is None else read_prices(Path(scenario.file).parent / named)


def cost_facts(bill: Bill) -> dict[str, Any]:
    """Totals; `complete` is false where anything is unpriced: then the total is a lower bound."""
    return {
        "currency": bill.prices.currency, "date": bill.prices.date.isoformat(), "invented": bill.prices.invented,
        "goods": round(bill.goods, 2), "delivery": bill.prices.delivery, "consumables": bill.prices.consumables,
        "tax": round(bill.tax, 2), "total": round(bill.total, 2), "complete": not bill.unpriced,
        "unpriced": [line.need.material for line in bill.unpriced],
        "by_system": {
            system: {"cost": round(cost, 2), "unpriced": missing}
            for system, (cost, missing) in bill.by_system().items()
        },
    }  # fmt: skip


def bill_of_bay(opened: OpenBay) -> Bill | None:
    """What a bay costs by the price list that its file names; None where it names none. Raises BadInputError."""
    return None if settings_of(opened.scenario).prices is None else list_bay(opened).bill


def build_sections(opened: OpenBay) -> list[ReportSection]:
    """For the page of a bay with a frame or build settings; what cannot be listed is told there, and nothing fails."""
    title = "What it takes to build it"
    try:
        if _said(opened.scenario) is None and not opened.plugins.structures(opened.scenario):
            return []
        made = list_bay(opened)
    except (BadInputError, PluginError) as error:
        return [ReportSection(title, (f"It could not be listed: {error}",))]
    show, paragraphs = Display(opened.scenario.units), [*made.problems, NOT_CHECKED]
    if made.bill is not None:
        paragraphs.insert(0, cost_words(made.bill))
    head = ("what", "how many", "size", "of")
    return [ReportSection(title, paragraphs), ReportSection("To order and cut", (), head, _rows(made, show))]


def _rows(made: BuildList, show: Display) -> list[tuple[str, ...]]:
    """Bars by mark, then what they are cut from, cloth, sheets."""

    def by(width: float, height: float) -> str:
        return f"{show.to_cut(width)} x {show.to_cut(height)}"

    alike, first = Counter(bar.mark for bar in made.bars), {bar.mark: bar for bar in reversed(made.bars)}
    rows: list[tuple[str, ...]] = [
        (f"{mark} {first[mark].role}", str(n), show.to_cut(first[mark].length), first[mark].section.name)
        for mark, n in alike.items()
    ]
    for stock_list in (*made.stock, *made.strips):
        for k, n in sorted(stock_list.plan.bought().items()):
            rows.append(
                ("bar to buy", str(n), show.to_cut(stock_list.plan.order.stocks[k].length / NANO), stock_list.material)
            )
    for cloth in made.cloths:
        size = by(cloth.finished_width, cloth.finished_height)
        rows.append((f"{cloth.name}, {cloth.basis}", "1", size, cloth.material))
    for listed in made.sheets:
        size = by(listed.plan.size.length, listed.plan.size.width)
        rows.append(("sheet to buy", str(len(listed.plan.sheets)), size, listed.material))
    return rows
