"""What a bay needs, line by line, and what it costs: a missing price leaves a line unpriced and a total incomplete."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil, isclose

from flightsim.making.costing.price_list import Price, PriceList

UNPRICED = "unpriced"
NOT_LISTED = "not in the price list"
SAME_WEIGHT = 0.02  # share: 17.7 oz/yd2 is 600 g/m2 (judgement)
_SNUG = 1e-9


@dataclass(frozen=True)
class Need:
    """So much of a material for one system. unit: metre, bar, sheet, square metre, piece.

    size: of the bar (length,) or sheet (length, width), m, where it decides the price; weight: of cloth, kg/m2.
    """

    material: str
    quantity: float
    unit: str
    system: str
    size: tuple[float, ...] = ()
    weight: float | None = None


@dataclass(frozen=True)
class BillLine:
    """One line. bought: of what the price is for, waste included; cost None: unpriced, and why says what is missing.

    shares: of each system in it, where several need the same: a pack is opened once.
    """

    need: Need
    bought: float | None
    price: Price | None
    cost: float | None
    why: str = ""
    shares: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Bill:
    """All lines and what comes on top. total: of what is priced; complete: nothing is unpriced."""

    prices: PriceList
    lines: tuple[BillLine, ...]

    @property
    def unpriced(self) -> tuple[BillLine, ...]:
        """Lines without a price."""
        return tuple(line for line in self.lines if line.cost is None)

    @property
    def goods(self) -> float:
        """The sum of all priced lines."""
        return sum(line.cost for line in self.lines if line.cost is not None)

    @property
    def before_tax(self) -> float:
        """Goods, delivery, consumables."""
        return self.goods + self.prices.delivery + self.prices.consumables

    @property
    def tax(self) -> float:
        """Tax on goods, delivery and consumables."""
        return self.before_tax * self.prices.tax

    @property
    def total(self) -> float:
        """Of all that is priced: at least this, where anything is unpriced."""
        return self.before_tax + self.tax

    def by_system(self) -> dict[str, tuple[float, int]]:
        """Cost of the priced lines of each system, before tax, and how many of its lines are unpriced."""
        found: dict[str, tuple[float, int]] = {}
        for line in self.lines:
            for system, share in line.shares:
                cost, missing = found.get(system, (0.0, 0))
                found[system] = (cost + share * (line.cost or 0.0), missing + (line.cost is None))
        return found


def bill_of(needs: Iterable[Need], prices: PriceList) -> Bill:
    """The bill: needs of one material and size are one line, so that bars, sheets and packs are rounded up once."""
    alike: dict[tuple[str, str, tuple[float, ...], float | None], dict[str, float]] = {}
    for need in needs:
        size, weight = tuple(round(size, 6) for size in need.size), need.weight
        systems = alike.setdefault((need.material, need.unit, size, weight), {})
        systems[need.system] = systems.get(need.system, 0.0) + need.quantity
    lines = []
    for (material, unit, size, weight), systems in alike.items():
        quantity = sum(systems.values())
        line = _line(Need(material, quantity, unit, ", ".join(systems), size, weight), prices)
        shares = tuple((system, part / quantity if quantity else 0.0) for system, part in systems.items())
        lines.append(replace(line, shares=shares))
    return Bill(prices, tuple(lines))


def _line(need: Need, prices: PriceList) -> BillLine:
    listed = prices.of(need.material)
    if not listed:
        return BillLine(need, None, None, None, NOT_LISTED)
    weighed = sorted({price.weight for price in listed if price.weight is not None})
    listed = _of_weight(listed, need.weight)
    if not listed:
        known = "its weight is not known" if need.weight is None else f"not for {_grams(need.weight)} g/m2"
        why = f"listed for {', '.join(map(_grams, weighed))} g/m2, and {known}"
        return BillLine(need, None, None, None, why)
    fitting = [(bought, price) for price in listed if (bought := _bought(need, price)) is not None]
    if not fitting:
        units_priced = ", ".join(sorted({f"per {price.per}" for price in listed}))
        return BillLine(need, None, None, None, f"listed {units_priced}, and not for this {need.unit}")
    bought, price = min(fitting, key=lambda fit: fit[0] * fit[1].price)
    return BillLine(need, bought, price, bought * price.price)


def _of_weight(listed: Sequence[Price], weight: float | None) -> tuple[Price, ...]:
    """The prices of cloth of this weight, kg/m2; else those that are for any."""
    same = (
        price
        for price in listed
        if price.weight is not None and weight is not None and isclose(price.weight, weight, rel_tol=SAME_WEIGHT)
    )
    return tuple(same) or tuple(price for price in listed if price.weight is None)


def _grams(weight: float) -> str:
    return f"{round(weight * 1e3, 1):g}"


def _bought(need: Need, price: Price) -> float | None:
    """How many of what the price is for; None where the price is for something else."""
    quantity = need.quantity * (1.0 + price.waste)
    if price.per == "pack":
        return None if need.unit != "piece" or price.pack is None else ceil(quantity / price.pack - _SNUG)
    if price.per == need.unit:
        same = price.per not in ("bar", "sheet") or _same(need.size, price)
        whole = price.per in ("bar", "sheet", "piece")
        return None if not same else ceil(quantity - _SNUG) if whole else quantity
    if price.per == "metre" and need.unit == "bar" and need.size:
        return quantity * need.size[0]
    if price.per == "square metre" and need.unit == "sheet" and len(need.size) == 2:
        return quantity * need.size[0] * need.size[1]
    return None


def _same(size: Sequence[float], price: Price) -> bool:
    """Whether the price is for this bar or sheet."""
    wanted = (price.length,) if price.per == "bar" else (price.sheet_length, price.sheet_width)
    return len(size) == len(wanted) and all(
        b is not None and abs(a - b) < 1e-4 for a, b in zip(size, wanted, strict=True)
    )
