"""All that is ordered, cut and paid for to build a bay, from the pieces that its plugins give."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil
from types import MappingProxyType

from flightsim.errors import BadInputError
from flightsim.making.costing.bill import Bill, Need, bill_of
from flightsim.making.costing.price_list import PriceList
from flightsim.making.cutting.stock import NANO, CutOrder, Saw, Stock, in_nano
from flightsim.making.cutting.stock_plan import StockPlan, plan_stock
from flightsim.making.ordering.cloth_order import ClothOrder, drawn_opening, order_net, order_screen
from flightsim.making.ordering.floor import Laid, Standing, lay_floor, standing_on_slab
from flightsim.making.ordering.marks import mark_bars, mark_boards, mark_lengths
from flightsim.making.ordering.seams import base_of, level_seams_of, ribs_under, seam_notes, seams_of
from flightsim.making.ordering.sheets import SheetPlan, plan_sheets, seamed
from flightsim.making.pieces import Bar, Board, Fitting, Length, Marking, Pieces
from flightsim.making.settings import BuildSettings
from flightsim.making.structure import Structure
from flightsim.scenario.reading.display import Display

CORD = "elastic cord {:g} mm"
LACING = "lacing cord"
SCRAP = 1_000_000  # nm: nobody adds a millimetre of foam


@dataclass(frozen=True)
class StockList:
    """The bars or lengths of one material and their plan."""

    material: str
    plan: StockPlan
    marks: tuple[tuple[str, ...], ...]  # of the pieces of each bar of the plan


@dataclass(frozen=True)
class SheetList:
    """The boards of one material and their plan."""

    material: str
    plan: SheetPlan


@dataclass(frozen=True)
class BuildList:
    """What it takes to build a bay. bill: None without a price list."""

    bars: tuple[Bar, ...]
    stock: tuple[StockList, ...]
    boards: tuple[Board, ...]
    sheets: tuple[SheetList, ...]
    lengths: tuple[Length, ...]
    strips: tuple[StockList, ...]
    cloths: tuple[ClothOrder, ...]
    fittings: tuple[Fitting, ...]
    floor: tuple[Laid, ...]
    standing: tuple[Standing, ...]
    notes: tuple[str, ...]
    problems: tuple[str, ...]
    bill: Bill | None
    markings: tuple[Marking, ...] = ()

    @property
    def longest(self) -> Bar | None:
        """The longest bar."""
        return max(self.bars, key=lambda bar: bar.length, default=None)

    @property
    def heaviest(self) -> Bar | None:
        """The heaviest bar."""
        return max(self.bars, key=lambda bar: bar.mass, default=None)


def build_list(
    pieces: Sequence[Pieces],
    structures: Sequence[Structure],
    settings: BuildSettings,
    prices: PriceList | None,
    show: Display,
    areal_masses: Mapping[str, float] = MappingProxyType({}),
) -> BuildList:
    """Marks, plans, orders and cost. Raises BadInputError for a bar longer than any stock.

    areal_masses: of cloths by name, kg/m2, as they were flown.
    """
    bars = mark_bars(bar for group in pieces for bar in group.bars)
    stock = tuple(_bar_plans(bars, settings, prices, show))
    drawn = [board for group in pieces for board in group.boards]
    ribs = ribs_under(drawn, structures)
    boards = mark_boards(_seamed(drawn, settings, ribs))
    sheets = tuple(_sheet_plans(boards, settings))
    lengths = mark_lengths(length for group in pieces for length in group.lengths)
    strips = tuple(_strip_plans(lengths, settings))
    orders = _cloth_orders(pieces, structures, settings, show)
    cloths = tuple(order.weighing(areal_masses.get(order.name), show) for order in orders)
    fittings = tuple(fitting for group in pieces for fitting in group.fittings)
    floor = lay_floor([piece for group in pieces for piece in group.floor], settings.turf_width)
    needs = [*_stock_needs(stock, bars), *_stock_needs(strips, lengths), *_sheet_needs(sheets),
             *_cloth_needs(cloths, settings), *_other_needs(fittings, floor)]  # fmt: skip
    return BuildList(
        bars, stock, boards, sheets, lengths, strips, cloths, fittings, floor,
        standing_on_slab(
            bars, floor, [cloth for group in pieces for cloth in group.cloths], settings.wet_floor, settings.packers,
            show,
        ),
        (*seam_notes(drawn, boards, ribs, _bar_size(structures), show),
         *(note for group in pieces for note in group.notes)),
        tuple(problem for cloth in cloths for problem in cloth.problems),
        None if prices is None else bill_of(needs, prices),
        tuple(marking for group in pieces for marking in group.markings),
    )  # fmt: skip


def _bar_plans(
    bars: Sequence[Bar], settings: BuildSettings, prices: PriceList | None, show: Display
) -> Iterator[StockList]:
    saw = Saw(in_nano(settings.kerf), in_nano(settings.trim))
    for material in dict.fromkeys(bar.section.name for bar in bars):
        of_material = [bar for bar in bars if bar.section.name == material]
        stocks = settings.stocks() or _listed(material, prices)
        stocks = stocks or _by_the_metre(material, prices, of_material, saw, settings.plain_stock())
        longest = max(stock.length for stock in stocks)
        too_long = [bar for bar in of_material if in_nano(bar.length) > longest - saw.trim]
        if too_long:
            raise _needs_a_splice(too_long[0], longest, saw.trim, show)
        wanted = [(to_saw(bar.length), bar.mark) for bar in of_material]
        yield _marked(material, plan_stock(CutOrder(tuple(length for length, _ in wanted), stocks, saw)), wanted)


def to_saw(metres: float) -> int:
    """A length as the saw is set, to a tenth of a millimetre, in nm."""
    return in_nano(round(metres, 4))


def _marked(material: str, plan: StockPlan, wanted: Sequence[tuple[int, str]]) -> StockList:
    """The plan with a mark for each of its pieces."""
    left: dict[int, list[str]] = {}
    for length, mark in wanted:
        left.setdefault(length, []).append(mark)
    return StockList(material, plan, tuple(tuple(left[piece].pop(0) for piece in bar.pieces) for bar in plan.bars))


def _needs_a_splice(bar: Bar, longest: int, trim: int, show: Display) -> BadInputError:
    longer = "24 ft" if show.units == "imperial" else "7500mm"
    return BadInputError(
        f"{bar.name} ({bar.mark}) is {show.to_cut(bar.length)} long; the longest bar of {bar.section.name} is "
        f"{show.to_cut(longest / NANO)}, less {show.to_cut(trim / NANO)} of trim\n"
        "  allowed: bars of one piece; a splice is no part of the bay that was flown and checked\n"
        f"  try: a longer stock (build.stock: [{longer}]), or a frame with a post between"
    )


def _listed(material: str, prices: PriceList | None) -> tuple[Stock, ...]:
    """Bars that the price list has of this material."""
    listed = prices.of(material) if prices is not None else ()
    return tuple(
        Stock(in_nano(price.length), Decimal(str(price.price))) for price in listed if price.length is not None
    )


def _by_the_metre(
    material: str, prices: PriceList | None, bars: Sequence[Bar], saw: Saw, plain: Stock
) -> tuple[Stock, ...]:
    """A plain bar; or, where a shop sells by the metre and less will do, one of whole metres."""
    metre = in_nano(1.0)
    needed = sum(to_saw(bar.length) + saw.kerf for bar in bars) + saw.trim
    sold = any(price.per == "metre" for price in (prices.of(material) if prices is not None else ()))
    return (Stock(min(plain.length, ceil(needed / metre) * metre)),) if sold else (plain,)


def _seamed(
    boards: Sequence[Board], settings: BuildSettings, ribs: Mapping[str, Mapping[str, float]]
) -> tuple[Board, ...]:
    """The boards in parts that sheets have; foam after the boards that it lies on."""
    cut: list[Board] = []
    bars = {name: tuple(places.values()) for name, places in ribs.items()}
    drawn = {board.name: board for board in boards}
    for material in sorted(dict.fromkeys(board.material for board in boards), key=lambda of: "foam" in of):
        of_material = [board for board in boards if board.material == material]
        bases = {board.name: drawn.get(base_of(board.name)) for board in of_material}
        avoid = {name: seams_of(base, cut) for name, base in bases.items() if base is not None}
        level = {name: level_seams_of(base, cut) for name, base in bases.items() if base is not None}
        cut += seamed(of_material, settings.sheet(material), settings.sheet_kerf, bars, avoid, level)
    return tuple(cut)


def _bar_size(structures: Sequence[Structure]) -> float:
    """The narrowest bar, m."""
    return min((bar.section.size for structure in structures for bar in structure.bars), default=0.0)


def _sheet_plans(boards: Sequence[Board], settings: BuildSettings) -> Iterator[SheetList]:
    for material in dict.fromkeys(board.material for board in boards):
        of_material = [board for board in boards if board.material == material]
        yield SheetList(material, plan_sheets(of_material, settings.sheet(material), settings.sheet_kerf))


def _strip_plans(lengths: Sequence[Length], settings: BuildSettings) -> Iterator[StockList]:
    """Foam is cut with a knife: no kerf, no trim; a longer strip is made of whole ones and a rest."""
    stock = in_nano(settings.strip)
    for material in dict.fromkeys(length.material for length in lengths):
        wanted: list[tuple[int, str]] = []
        for length in lengths:
            if length.material == material:
                whole, rest = divmod(to_saw(length.length), stock)
                parts = [stock] * whole + ([rest] if rest > SCRAP else [])
                wanted += [(part, length.mark) for part in parts] * length.count
        plan = plan_stock(CutOrder(tuple(part for part, _ in wanted), (Stock(stock),)))
        yield _marked(material, plan, wanted)


def _cloth_orders(
    pieces: Sequence[Pieces], structures: Sequence[Structure], settings: BuildSettings, show: Display
) -> Iterator[ClothOrder]:
    allow, measured = settings.cloth.allowances(), {m.screen: m.opening() for m in settings.measured}
    for group in pieces:
        for cloth in group.cloths:
            if cloth.kind == "screen":
                yield order_screen(
                    cloth, drawn_opening(cloth.name, tuple(structures)), measured.get(cloth.name), allow, show
                )
            else:
                yield order_net(cloth, allow, show)


def _stock_needs(lists: Sequence[StockList], pieces: Sequence[Bar] | Sequence[Length]) -> Iterator[Need]:
    """Bars of each length; shared out to systems by the length that each takes."""
    for stock_list in lists:
        length_by_system: dict[str, float] = {}
        for piece in pieces:
            material = piece.section.name if isinstance(piece, Bar) else piece.material
            if material == stock_list.material:
                count = 1 if isinstance(piece, Bar) else piece.count
                length_by_system[piece.system] = length_by_system.get(piece.system, 0.0) + piece.length * count
        total = sum(length_by_system.values())
        for k, bought in sorted(stock_list.plan.bought().items()):
            size = (stock_list.plan.order.stocks[k].length / NANO,)
            for system, length in length_by_system.items():
                yield Need(stock_list.material, bought * length / total, "bar", system, size)


def _sheet_needs(lists: Sequence[SheetList]) -> Iterator[Need]:
    """Sheets, shared out to systems by area."""
    for sheet_list in lists:
        placed = [piece.board for sheet in sheet_list.plan.sheets for piece in sheet]
        total = sum(board.width * board.height for board in placed)
        for board in placed:
            share = board.width * board.height / total
            size = (sheet_list.plan.size.length, sheet_list.plan.size.width)
            yield Need(sheet_list.material, len(sheet_list.plan.sheets) * share, "sheet", board.system, size)


def _cloth_needs(cloths: Sequence[ClothOrder], settings: BuildSettings) -> Iterator[Need]:
    for cloth in cloths:
        area, weight = cloth.cut_width * cloth.cut_height, cloth.areal_mass
        yield Need(cloth.material, area, "square metre", cloth.system, weight=weight)
        cord = CORD.format(settings.cloth.cord_diameter * 1e3) if cloth.kind == "screen" else LACING
        yield Need(cord, cloth.cord_total, "metre", cloth.system)
        if cloth.eyelets:
            yield Need("eyelet", cloth.eyelets, "piece", cloth.system)


def _other_needs(fittings: Sequence[Fitting], floor: Sequence[Laid]) -> Iterator[Need]:
    for fitting in fittings:
        yield Need(fitting.material, fitting.count, "piece", fitting.system)
    for laid in floor:
        if laid.material == "turf":
            yield Need(laid.material, laid.length * laid.width, "square metre", laid.system)
        else:
            yield Need(laid.material, 1, "piece", laid.system)
