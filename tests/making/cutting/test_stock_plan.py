"""Stock plans against every plan there is, and against what can be reckoned by hand."""

import random
from collections import Counter
from decimal import Decimal

import pytest
from all_cuttings import Stocks, best_by_trying, offcut
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from flightsim.errors import BadInputError
from flightsim.making.cutting.cutting_program import CuttingProgram
from flightsim.making.cutting.greedy_cuts import greedy_cuts
from flightsim.making.cutting.stock import CutOrder, Saw, Stock, in_nano
from flightsim.making.cutting.stock_plan import StockPlan, plan_stock

MM = 1_000_000  # nm


def order_of(pieces: list[int], stocks: Stocks, kerf: int = 0, trim: int = 0) -> CutOrder:
    """All in mm."""
    bought = tuple(Stock(length * MM, None if p is None else Decimal(p), n) for length, p, n in stocks)
    return CutOrder(tuple(piece * MM for piece in pieces), bought, Saw(kerf * MM, trim * MM))


def outcome(plan: StockPlan) -> tuple[int, int, int]:
    """Cost or length bought, bars, longest offcut: as the exhaustive search tells it, mm."""
    length = sum(plan.order.stocks[bar.stock].length for bar in plan.bars) // MM
    cost = length if plan.price is None else int(plan.price)
    return cost, len(plan.bars), max(bar.offcut for bar in plan.bars) // MM


def check_it_can_be_cut(plan: StockPlan, pieces: list[int], stocks: Stocks, kerf: int, trim: int) -> None:
    assert Counter(p for bar in plan.bars for p in bar.pieces) == Counter(p * MM for p in pieces)
    for bar in plan.bars:
        assert offcut(stocks[bar.stock][0], [p // MM for p in bar.pieces], kerf, trim) == bar.offcut // MM
    for k, n in plan.bought().items():
        assert stocks[k][2] is None or n <= stocks[k][2]


lists = st.lists(st.integers(1, 12).map(lambda n: n * 7), min_size=1, max_size=6)
prices = st.one_of(st.none(), st.integers(0, 9))


@settings(max_examples=30, deadline=None)
@given(pieces=lists, stock=st.integers(84, 140), kerf=st.integers(0, 8), trim=st.integers(0, 9))
def test_one_stock_length_takes_as_few_bars_as_any_plan_and_leaves_the_longest_offcut(
    pieces: list[int], stock: int, kerf: int, trim: int
) -> None:
    assume(max(pieces) <= stock - trim)
    plan = plan_stock(order_of(pieces, [(stock, None, None)], kerf, trim))
    check_it_can_be_cut(plan, pieces, [(stock, None, None)], kerf, trim)
    assert plan.optimal
    assert plan.longest_proved
    assert outcome(plan) == best_by_trying(pieces, [(stock, None, None)], kerf, trim)


@settings(max_examples=60, deadline=None)
@given(
    pieces=st.lists(st.integers(1, 12).map(lambda n: n * 7), min_size=1, max_size=5),
    lengths=st.lists(st.integers(84, 200), min_size=2, max_size=3),
    given_prices=st.one_of(st.none(), st.lists(st.integers(0, 9), min_size=3, max_size=3)),
    counts=st.lists(st.one_of(st.none(), st.integers(1, 3)), min_size=3, max_size=3),
    kerf=st.integers(0, 8),
    trim=st.integers(0, 9),
)
def test_several_stocks_cost_as_little_as_any_plan_or_are_refused_where_there_is_none(
    pieces: list[int],
    lengths: list[int],
    given_prices: list[int] | None,
    counts: list[int | None],
    kerf: int,
    trim: int,
) -> None:
    assume(max(pieces) <= max(lengths) - trim)
    stocks: Stocks = [(n, given_prices[k] if given_prices else None, counts[k]) for k, n in enumerate(lengths)]
    best = best_by_trying(pieces, stocks, kerf, trim)
    if best is None:
        with pytest.raises(BadInputError, match="the stock does not suffice"):
            plan_stock(order_of(pieces, stocks, kerf, trim))
        return
    plan = plan_stock(order_of(pieces, stocks, kerf, trim))
    check_it_can_be_cut(plan, pieces, stocks, kerf, trim)
    assert plan.optimal
    assert plan.longest_proved
    assert outcome(plan) == best


def test_pieces_that_fill_a_bar_but_for_less_than_a_kerf_fit() -> None:
    plan = plan_stock(order_of([1000, 997], [(2000, None, None)], kerf=3))
    assert outcome(plan) == (2000, 1, 0)
    assert len(plan_stock(order_of([1000, 998], [(2000, None, None)], kerf=3)).bars) == 2


def test_a_remainder_less_than_the_kerf_is_sawdust_and_one_more_is_an_offcut_after_its_cut() -> None:
    assert outcome(plan_stock(order_of([1000, 994], [(2000, None, None)], kerf=3)))[2] == 0
    assert outcome(plan_stock(order_of([1000, 993], [(2000, None, None)], kerf=3)))[2] == 1


def test_inches_are_exact_eight_pieces_of_seven_and_a_half_inches_fill_five_feet() -> None:
    piece, stock = round(7.5 * 25.4 * MM), round(60 * 25.4 * MM)
    assert len(plan_stock(CutOrder((piece,) * 8, (Stock(stock),))).bars) == 1


def test_thirds_of_an_inch_whose_sum_is_a_rounding_over_the_bar_still_fit() -> None:
    third = round(25.4 * MM / 3)
    assert len(plan_stock(CutOrder((third,) * 3, (Stock(3 * third - 1),))).bars) == 1


def test_a_list_made_of_bars_cut_in_three_is_put_together_again_where_longest_first_needs_more() -> None:
    """As Falkenauer's triplets (1996, J. Heuristics 2, 5) are made: three to a bar, nothing left."""
    pairs = [(380 + 7 * k, 310 - 3 * k) for k in range(8)]
    pieces = [piece for a, b in pairs for piece in (a, b, 1000 - a - b)]
    order = order_of(pieces, [(1000, None, None)])
    assert outcome(plan_stock(order)) == (8000, 8, 0)
    assert len(greedy_cuts(order) or ()) > 8


def test_what_is_there_already_is_used_before_anything_is_bought() -> None:
    stocks: Stocks = [(6000, 40, None), (2100, 0, 1)]
    plan = plan_stock(order_of([4000, 1900, 2000], stocks, kerf=3))
    assert plan.price == 40
    assert plan.bought() == {0: 1, 1: 1}


def test_a_dearer_bar_that_saves_another_is_bought() -> None:
    plan = plan_stock(order_of([3100, 3100], [(6000, 40, None), (6500, 50, None)], kerf=3))
    assert (plan.price, plan.bought()) == (50, {1: 1})


def test_a_piece_longer_than_any_stock_less_the_trim_is_refused_with_a_splice_as_way_out() -> None:
    with pytest.raises(BadInputError, match=r"6000 mm is longer than any stock \(longest: 6000 mm less 5 mm of trim\)"):
        order_of([6000], [(6000, None, None)], trim=5)


def test_a_price_for_one_stock_only_is_refused() -> None:
    with pytest.raises(BadInputError, match="5000 mm has no price and others have"):
        order_of([400], [(6000, 40, None), (5000, None, None)])


@pytest.mark.slow
def test_a_builders_list_of_sixty_pieces_of_twelve_lengths_from_three_stocks_is_solved_to_the_end() -> None:
    lengths = [4250, 3100, 2980, 2450, 2210, 1905, 1500, 1240, 980, 760, 655, 420]
    pieces = [length for length in lengths for _ in range(5)]
    plan = plan_stock(order_of(pieces, [(6000, None, None), (6500, None, None), (7500, None, None)], kerf=3, trim=5))
    assert plan.optimal
    # All pieces in a row with their kerfs and the trims take 112.5 m and more; stocks come in steps of 500 mm.
    assert outcome(plan)[0] == 113_000


def test_where_time_runs_out_a_plan_that_can_be_cut_comes_with_its_gap_and_is_not_called_optimal() -> None:
    pieces = [1000 + (k * 7919) % 1777 for k in range(60)]
    stocks: Stocks = [(6000, 401, None), (6500, 443, None), (7500, 521, None)]
    plan = plan_stock(order_of(pieces, stocks, kerf=3), seconds=0.0)
    check_it_can_be_cut(plan, pieces, stocks, 3, 0)
    assert not plan.optimal
    assert 0.0 <= plan.gap < 0.2


@pytest.mark.parametrize("seed", range(3))
def test_once_the_time_is_over_no_other_mix_of_bars_is_tried(seed, monkeypatch) -> None:
    """Each mix was given its least time all the same: 30 pieces went on for minutes."""
    tried: list[object] = []
    of_mix = CuttingProgram.of_mix
    monkeypatch.setattr(CuttingProgram, "of_mix", lambda *given: tried.append(given[1]) or of_mix(*given))
    draw = random.Random(seed)
    pieces = [draw.randint(300, 3000) for _ in range(30)]
    stocks: Stocks = [(6000, 32, None), (4000, 23, None), (3000, 18, None)]
    plan = plan_stock(order_of(pieces, stocks, kerf=3), seconds=0.0)
    check_it_can_be_cut(plan, pieces, stocks, 3, 0)
    assert len(tried) <= 1
    assert not plan.optimal
    assert plan.gap > 0.0


def test_a_tie_that_is_not_proved_in_time_says_how_much_longer_an_offcut_may_be(monkeypatch) -> None:
    """60 pieces of 12 lengths, three priced stocks: cost and bars are proved, and the tie is given no time."""
    monkeypatch.setattr("flightsim.making.cutting.stock_plan.SECONDS_OF_A_TIE", 0.3)
    draw = random.Random(1)
    lengths = [draw.randrange(300, 3200) for _ in range(12)]
    pieces = tuple(in_nano(draw.choice(lengths) / 1e3) for _ in range(60))
    stocks = tuple(Stock(in_nano(m), Decimal(p)) for m, p in ((6.0, "38.5"), (6.5, "42.9"), (7.5, "49.4")))
    plan = plan_stock(CutOrder(pieces, stocks, Saw(in_nano(0.003), in_nano(0.005))))
    assert plan.optimal
    assert plan.price == Decimal("614.6")
    best = max(bar.offcut for bar in plan.bars)
    assert plan.longest_proved or plan.longer is None or 0 <= plan.longer <= in_nano(7.5) - best
