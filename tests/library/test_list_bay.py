"""The page of a run tells what the bay takes to build, and a list that cannot be made takes nothing from the run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flightsim.errors import BadInputError
from flightsim.library.list_bay import NOT_CHECKED, bill_of_bay, build_sections, list_bay, settings_of
from flightsim.library.pair_bays import compare
from flightsim.library.search_sizes import find_size
from flightsim.making.costing.bill import Bill
from flightsim.report.words.build_words import two_costs_words
from flightsim.study.run.open_bay import open_bay

INVENTED = (Path(__file__).parents[2] / "scenarios" / "prices" / "invented.yaml").read_text(encoding="utf-8")
BAY = """\
name: Test
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.8 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m}
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, above_floor: 50 mm}
launches: {hand: right, use: [driver]}
"""
FRAME = "frame: {wall_bars: straight}\n"


def opened(tmp_path: Path, more: str) -> Path:
    path = tmp_path / "bay.yaml"
    path.write_text(BAY + more, encoding="utf-8")
    return path


def test_a_bay_without_frame_and_build_has_no_such_section(tmp_path: Path) -> None:
    assert build_sections(open_bay(opened(tmp_path, ""))) == []


def test_the_section_has_every_mark_and_says_that_nothing_was_checked_there(tmp_path: Path) -> None:
    bay = open_bay(opened(tmp_path, FRAME))
    words, table = build_sections(bay)
    assert NOT_CHECKED in words.paragraphs
    marks = {bar.mark for bar in list_bay(bay).bars}
    assert marks <= {row[0].split()[0] for row in table.table_rows}
    assert any(row[0] == "screen, as drawn" for row in table.table_rows)


def test_what_cannot_be_listed_is_told_in_the_section(tmp_path: Path) -> None:
    (section,) = build_sections(open_bay(opened(tmp_path, FRAME + "build: {stock: [2m]}\n")))
    assert "It could not be listed" in section.paragraphs[0]
    assert "build.stock" in section.paragraphs[0]
    (section,) = build_sections(open_bay(opened(tmp_path, FRAME + "build: {prices: none.yaml}\n")))
    assert "none.yaml" in section.paragraphs[0]


def test_what_is_said_of_building_is_found_under_whatever_key_its_plugin_has(tmp_path: Path) -> None:
    bay = open_bay(opened(tmp_path, "build: {kerf: 5 mm}\n"))
    sections = {"making" if key == "build" else key: entries for key, entries in bay.scenario.sections.items()}
    elsewhere = replace(bay, scenario=replace(bay.scenario, sections=sections))
    assert settings_of(elsewhere.scenario).kerf == settings_of(bay.scenario).kerf == 0.005
    titles = [[section.title for section in build_sections(opened)] for opened in (bay, elsewhere)]
    assert titles[0] == titles[1] != []


def bill(tmp_path: Path, more: str, prices: str = INVENTED) -> Bill:
    (tmp_path / "prices.yaml").write_text(prices, encoding="utf-8")
    found = bill_of_bay(open_bay(opened(tmp_path, more + "build: {prices: prices.yaml}\n")))
    assert found is not None
    return found


def test_two_bays_costs_are_told_with_what_differs(tmp_path: Path) -> None:
    first, second = bill(tmp_path, ""), bill(tmp_path, "side_nets: {left: {depth: 2 m, height: 2 m}}\n")
    words = two_costs_words(first, second)
    more = 1.2 * (2.2 * 2.2 * 4.20 + 1.5 * 8.0 * 1.10 * 0.45)  # net 10 % fuller, lacing, and tax on both
    assert second.total - first.total == pytest.approx(more)
    assert f"{more:.2f} more for the second (before tax: side nets +{more / 1.2:.2f})" in words
    assert ": the same." in two_costs_words(first, first)


def test_costs_that_cannot_be_compared_are_not(tmp_path: Path) -> None:
    whole = bill(tmp_path, "")
    short = bill(tmp_path, "", "currency: EUR\ndate: 2026-01-02\nprices: {mat: {price: 2, per: piece}}\n")
    other = bill(tmp_path, "", INVENTED.replace("currency: EUR", "currency: NOK"))
    assert "their difference is not known" in two_costs_words(whole, short)
    assert "two currencies" in two_costs_words(whole, other)
    assert "the second names no price list" in two_costs_words(whole, None)
    assert two_costs_words(None, None) == ""


def test_compare_has_the_costs_of_both_bays(tmp_path: Path) -> None:
    (tmp_path / "prices.yaml").write_text(INVENTED, encoding="utf-8")
    path = opened(tmp_path, "canopy: {depth: 1 m, height: 2.3 m}\nbuild: {prices: prices.yaml}\n")
    found = compare(path, changes={"canopy.depth": "1.4 m"}, shots=200)
    first, second = found.summary["cost"]
    assert second["by_system"]["canopy"]["cost"] > first["by_system"]["canopy"]["cost"]
    assert found.cost in " ".join(str(found).split())


def test_a_size_that_is_found_comes_with_what_the_whole_bay_costs_then(tmp_path: Path) -> None:
    (tmp_path / "prices.yaml").write_text(INVENTED, encoding="utf-8")
    path = opened(tmp_path, "canopy: {depth: 0.6 m, height: 2.3 m}\nbuild: {prices: prices.yaml}\n")
    found = find_size(path, "canopy.depth=1.0m..1.1m", "hit_unprotected < 1 in 2", shots=400)
    assert found.sizes is not None
    bay = open_bay(path, (f"canopy.depth={found.sizes['canopy.depth']}m",))
    assert bill_of_bay(bay) == found.bill
    assert found.summary["bill"]["currency"] == "EUR"
    assert " ".join(found.cost.split()) in " ".join(str(found).split())


def test_a_price_list_that_cannot_be_used_is_told_before_a_search(tmp_path: Path) -> None:
    path = opened(tmp_path, "canopy: {depth: 0.6 m, height: 2.3 m}\nbuild: {prices: none.yaml}\n")
    with pytest.raises(BadInputError, match=r"none\.yaml"):
        find_size(path, "canopy.depth=1.0m..1.1m", "hit_unprotected < 1 in 2", shots=400)
