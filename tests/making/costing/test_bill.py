"""Costs by hand, and that what has no price never counts as nought."""

from __future__ import annotations

from pathlib import Path

import pytest

from flightsim.errors import BadInputError
from flightsim.making.costing.bill import Bill, Need, bill_of
from flightsim.making.costing.price_list import PriceList, read_prices

ROOT = Path(__file__).parents[3]


def prices(text: str, tmp_path: Path) -> PriceList:
    path = tmp_path / "prices.yaml"
    path.write_text("currency: NOK\ndate: 2026-02-03\n" + text, encoding="utf-8")
    return read_prices(path)


LIST = """\
tax: 0.25
delivery: 100
consumables: 20
prices:
  tube: [{price: 40, per: bar, length: 6 m}, {price: 9, per: metre}]
  ply: {price: 50, per: sheet, sheet_length: 2440 mm, sheet_width: 1220 mm}
  cloth: {price: 10, per: square metre, waste: 0.1}
  bolt: {price: 7, per: pack, pack: 20}
  mat: {price: 200, per: piece}
"""
NEEDS = [
    Need("tube", 3, "bar", "frame", (6.0,)),
    Need("ply", 1.5, "sheet", "canopy", (2.44, 1.22)),
    Need("ply", 0.5, "sheet", "side nets", (2.44, 1.22)),
    Need("cloth", 7.0, "square metre", "screen"),
    Need("bolt", 15, "piece", "frame"),
    Need("bolt", 10, "piece", "canopy"),
    Need("mat", 1, "piece", "floor"),
]


def bill(needs: list[Need], tmp_path: Path) -> Bill:
    return bill_of(needs, prices(LIST, tmp_path))


def test_the_total_is_what_a_pencil_makes_it(tmp_path: Path) -> None:
    made = bill(NEEDS, tmp_path)
    goods = 3 * 40 + 2 * 50 + 7.7 * 10 + 2 * 7 + 200
    assert made.goods == pytest.approx(goods)
    assert made.tax == pytest.approx(0.25 * (goods + 120))
    assert made.total == pytest.approx(1.25 * (goods + 120))
    assert made.unpriced == ()


WEIGHED = """\
prices:
  screen cloth:
    - {price: 26, per: square metre, weight: 350 g/m2}
    - {price: 33, per: square metre, weight: 500 g/m2}
  net: [{price: 4, per: square metre}, {price: 3, per: square metre, weight: 60 g/m2}]
"""


@pytest.mark.parametrize(
    ("material", "weight", "cost"),
    [("screen cloth", 0.35, 52.0), ("screen cloth", 0.5, 66.0), ("screen cloth", 0.502, 66.0), ("net", 0.06, 6.0),
     ("net", 0.09, 8.0), ("net", None, 8.0)],
)  # fmt: skip
def test_cloth_costs_what_cloth_of_its_weight_costs(
    material: str, weight: float | None, cost: float, tmp_path: Path
) -> None:
    need = Need(material, 2.0, "square metre", "screen", weight=weight)
    assert bill_of([need], prices(WEIGHED, tmp_path)).goods == pytest.approx(cost)


def test_cloth_of_a_weight_that_is_not_listed_is_unpriced_and_says_which_weights_are(tmp_path: Path) -> None:
    needs = [Need("screen cloth", 2.0, "square metre", "screen", weight=weight) for weight in (0.6, None)]
    heavy, unsaid = bill_of(needs, prices(WEIGHED, tmp_path)).unpriced
    assert heavy.why == "listed for 350, 500 g/m2, and not for 600 g/m2"
    assert unsaid.why == "listed for 350, 500 g/m2, and its weight is not known"


def test_only_a_price_per_square_metre_is_for_cloth_of_a_weight(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="a price per piece has no weight"):
        prices("prices: {mat: {price: 1, per: piece, weight: 350 g/m2}}", tmp_path)


def test_a_pack_that_two_systems_share_is_bought_once_and_its_cost_shared(tmp_path: Path) -> None:
    made = bill([Need("bolt", 12, "piece", "frame"), Need("bolt", 6, "piece", "canopy")], tmp_path)
    assert made.goods == pytest.approx(7.0)
    assert made.by_system() == {"frame": (pytest.approx(14 / 3), 0), "canopy": (pytest.approx(7 / 3), 0)}


def test_a_system_costs_what_its_lines_do_and_all_systems_the_goods(tmp_path: Path) -> None:
    made = bill(NEEDS, tmp_path)
    assert sum(cost for cost, _ in made.by_system().values()) == pytest.approx(made.goods)
    assert made.by_system()["canopy"][0] == pytest.approx(75 + 2 * 7 * 10 / 25)


def test_a_bar_of_a_length_without_its_own_price_goes_by_the_metre(tmp_path: Path) -> None:
    assert bill([Need("tube", 2, "bar", "frame", (7.5,))], tmp_path).goods == pytest.approx(2 * 7.5 * 9)


def test_what_has_no_price_is_unpriced_and_never_nought(tmp_path: Path) -> None:
    made = bill([*NEEDS, Need("net", 4.0, "square metre", "side nets")], tmp_path)
    (missing,) = made.unpriced
    assert (missing.need.material, missing.cost, missing.why) == ("net", None, "not in the price list")
    assert made.by_system()["side nets"][1] == 1


def test_a_price_for_another_sheet_size_is_no_price(tmp_path: Path) -> None:
    (line,) = bill([Need("ply", 1, "sheet", "canopy", (2.5, 1.25))], tmp_path).lines
    assert line.cost is None
    assert "not for this sheet" in line.why


def test_the_invented_list_says_so_and_its_date() -> None:
    listed = read_prices(ROOT / "scenarios" / "prices" / "invented.yaml")
    assert listed.invented
    assert listed.date.year == 2026


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("prices: {tube: {price: 40, per: bar}}", "a price per bar needs length: 6 m"),
        ("prices: {tube: {price: 40, per: metre, length: 6 m}}", "a price per metre has no length"),
        ("prices: {tube: {price: -4, per: metre}}", "prices.tube"),
        ("prices: {tube: {price: 4, per: mile}}", "prices.tube.per"),
        ("prices: {tube: {price: 4, per: bar, length: 6}}", "has no unit"),
        ("prices: {a: {price: 1, per: piece}, a: {price: 2, per: piece}}", "written twice"),
        ("price: {}", "add prices:"),
        ("prices: [", "not YAML"),
    ],
)
def test_a_list_that_cannot_be_used_is_refused_with_its_key(text: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match=r"prices\.yaml") as refused:
        prices(text, tmp_path)
    assert words in str(refused.value)
