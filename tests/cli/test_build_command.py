"""`flightsim build` from a bay to its files: lists that agree with each other and with the bay."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from flightsim.cli import cli
from flightsim.errors import BadInputError
from flightsim.making.build_list import BuildList, build_list
from flightsim.making.costing.bill import Bill
from flightsim.making.costing.price_list import read_prices
from flightsim.making.pieces import Bar, TubeSection
from flightsim.making.settings import BuildSettings
from flightsim.making.strength.check import Checks
from flightsim.making.strength.check_one import Check
from flightsim.report.words.build_words import build_words
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import open_bay

ROOT = Path(__file__).parents[2]
DEMOS = ("single_garage", "lean_to", "village_hall", "common_bay", "common_bay_improved")
OTHERS = [
    pytest.param(f"{name}_improved", marks=pytest.mark.slow) for name in ("lean_to", "single_garage", "village_hall")
]
PRICES = str(ROOT / "scenarios" / "prices" / "invented.yaml")
BAY = """\
name: Test
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.8 m}, turf_height: 20 mm}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m, mat: {height: 45 mm, length: 1.5 m, width: 1.5 m}}
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, above_floor: 50 mm, bottom_flap: 200 mm,
  covers: [{side: left, reach: 60 mm}]}
canopy: {depth: 1 m, height: 2.3 m, thickness: 12 mm}
side_nets: {left: {depth: 1.6 m, height: 2.2 m}}
frame: {wall_bars: braced, front_support: legs, braces: [front], canopy_bars: above, back_bar: true, ribs: 3}
launches: {hand: right, use: [driver]}
"""
NO_FRAME = "\n".join(line for line in BAY.splitlines() if not line.startswith("frame:")) + "\n"


def build(tmp_path: Path, *more: str, bay: str = BAY) -> Result:
    (tmp_path / "bay.yaml").write_text(bay, encoding="utf-8")
    return CliRunner().invoke(
        cli, ["build", str(tmp_path / "bay.yaml"), "--out", str(tmp_path / "out"), *more], standalone_mode=False
    )


def facts(tmp_path: Path, *more: str, bay: str = BAY) -> dict[str, Any]:
    result = build(tmp_path, *more, bay=bay)
    assert result.exception is None, result.output
    data: dict[str, Any] = json.loads((tmp_path / "out" / "build.json").read_text())
    return data


def rows(tmp_path: Path, name: str) -> list[dict[str, str]]:
    with (tmp_path / "out" / f"{name}.csv").open(newline="") as file:
        return list(csv.DictReader(file))


@dataclass(frozen=True)
class Built:
    """The bay with its frame, built once for several tests."""

    folder: Path
    result: Result
    data: dict[str, Any]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("built")
    result = build(folder, "--prices", PRICES)
    return Built(folder, result, json.loads((folder / "out" / "build.json").read_text()))


def test_every_list_is_a_csv_with_the_rows_of_build_json(built: Built) -> None:
    data, tmp_path = built.data, built.folder
    for name in ("cut_list", "stock_plan", "boards", "sheet_plan", "strips", "cloth", "fittings", "floor", "costs"):
        listed = rows(tmp_path, name)
        assert listed
        assert all(row.pop("not_a_certificate").startswith("Not a structural certificate") for row in listed)
        assert [dict(zip(row, map(str, row.values()), strict=True)) for row in data[name]] == listed
    assert {"members", "checks", "anchors"} <= set(data)
    assert all({"name", "value", "limit", "unit", "source", "ok"} <= set(check) for check in data["checks"])


def test_every_bar_of_the_frame_is_in_the_stock_plan_and_nothing_else(built: Built) -> None:
    data = built.data
    wanted = sorted((bar["section"], bar["length_mm"]) for bar in data["cut_list"])
    cut = sorted(
        (bar["material"], round(float(piece), 1))
        for bar in data["stock_plan"]
        if "tube" in bar["material"]
        for piece in bar["pieces_mm"].split(" + ")
    )
    assert cut == wanted
    lengths = {bar["mark"]: bar["length_mm"] for bar in data["cut_list"]}
    for bar in data["stock_plan"]:
        if "tube" in bar["material"]:
            pieces, marks = bar["pieces_mm"].split(" + "), bar["marks"].split(" + ")
            assert [lengths[mark] for mark in marks] == [float(piece) for piece in pieces]
    assert all(bar["mark"] for bar in data["cut_list"])


def listed(tmp_path: Path, *sets: str) -> tuple[BuildList, Bill]:
    """The lists without the checks, which take their time."""
    (tmp_path / "bay.yaml").write_text(BAY, encoding="utf-8")
    opened = open_bay(tmp_path / "bay.yaml", sets)
    pieces, structures = opened.plugins.pieces(opened.scenario), opened.plugins.structures(opened.scenario)
    made = build_list(pieces, structures, BuildSettings(), read_prices(Path(PRICES)), Display())
    assert made.bill is not None
    return made, made.bill


def test_a_deeper_canopy_changes_every_list_that_it_is_in(tmp_path: Path) -> None:
    (before, cost), (after, later) = listed(tmp_path), listed(tmp_path, "canopy.depth=1.25m")
    longest = [max(b.length for b in made.bars if b.role == "side bar") for made in (before, after)]
    assert longest[1] - longest[0] == pytest.approx(0.25, abs=1e-4)
    areas = [sum(b.width * b.height for b in made.boards if b.material == "plywood 12 mm") for made in (before, after)]
    assert areas[1] - areas[0] == pytest.approx(0.25 * 2.8)
    sheets = [sum(len(each.plan.sheets) for each in made.sheets) for made in (before, after)]
    assert sheets[1] > sheets[0]
    assert later.by_system()["canopy"][0] > cost.by_system()["canopy"][0]


def test_the_screen_is_ordered_as_flown_until_the_frame_is_measured(tmp_path: Path) -> None:
    (screen,) = [c for c in facts(tmp_path, bay=NO_FRAME)["cloth"] if c["kind"] == "screen"]
    assert (screen["basis"], screen["finished_width_mm"], screen["finished_height_mm"]) == ("as drawn", 2800.0, 2400.0)
    bay = NO_FRAME + "build: {measured: [{screen: screen, width: 2.88 m, height: 2.3 m}]}\n"
    result = build(tmp_path, bay=bay)
    assert result.return_value == 1
    assert "width 2800 mm was flown; 2780 mm fits" in " ".join(result.output.split())
    assert rows(tmp_path, "cloth")[0]["finished_width_mm"] == "2780.0"


def test_what_no_longer_fits_is_told_before_all_else_and_never_after_a_bare_all_pass() -> None:
    bar = Bar("A1", "top bar", "top bar", TubeSection("square", 0.05, 0.004, 0.008), 1.0, (0, 0, 0), (0, 1, 0))
    made = BuildList((bar,), (), (), (), (), (), (), (), (), (), (), ("screen: it no longer fits.",), None)
    first, second, *_ = build_words("Shed", made, Checks((), (), (), ("A post is not needed.",)), Display("metric"))
    assert first.endswith("What was measured does not fit: order nothing yet.")
    assert second == "screen: it no longer fits."
    unknown = Check("tube 37x37x1.7", None, None, "", "a table", False, "one of 40x40x3", "it has no row")
    said = " ".join(build_words("Shed", made, Checks((), (unknown,), (), ()), Display("metric")))
    assert "tube 37x37x1.7 (it has no row: one of 40x40x3)" in said


def test_a_frame_whose_anchors_nobody_knows_ends_with_one_and_still_gives_the_lists(built: Built) -> None:
    assert built.result.return_value == 1
    assert "Not passed because a limit is not known" in built.result.output
    assert "Not a structural certificate" in built.result.output
    assert "sleeves; of which bar: cut_list.csv" in " ".join(built.result.output.split())
    assert "Not a structural certificate" in (built.folder / "out" / "order_of_work.txt").read_text()
    page = (built.folder / "out" / "build.html").read_text()
    assert "Not a structural certificate" in page
    assert page.count('<div class="scroll"') >= 4
    for title in ("What to cut from each bar", "Where to weld and drill", "Order of work", "Tools", "Take care"):
        assert title in page


def test_a_missing_price_makes_the_total_a_least_and_is_named(tmp_path: Path) -> None:
    short = tmp_path / "short.yaml"
    short.write_text("currency: EUR\ndate: 2026-01-02\nprices: {mat: {price: 200, per: piece}}\n")
    result = build(tmp_path, "--prices", str(short), bay=NO_FRAME)
    assert "Cost: at least 200.00 EUR" in result.output
    assert "Unpriced, and not in that sum:" in result.output
    cost = json.loads((tmp_path / "out" / "build.json").read_text())["cost"]
    assert (cost["complete"], cost["by_system"]["screen"]) == (False, {"cost": 0.0, "unpriced": 4})
    assert {row["cost"] for row in rows(tmp_path, "costs")} == {"unpriced", "200.0"}


def test_prices_may_stand_in_the_bays_file_and_are_found_beside_it(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text(Path(PRICES).read_text())
    assert facts(tmp_path, bay=NO_FRAME + "build: {prices: mine.yaml}\n")["cost"]["currency"] == "EUR"


def test_a_bar_longer_than_any_stock_is_refused_by_its_name_with_a_way_out(tmp_path: Path) -> None:
    error = build(tmp_path, bay=BAY + "build: {stock: [2500mm]}\n").exception
    assert isinstance(error, BadInputError)
    assert "frame top bar" in str(error) or "frame front bar" in str(error)
    assert "build.stock" in str(error)
    assert not (tmp_path / "out").exists()


def test_a_measure_of_a_screen_that_there_is_not_is_refused_with_its_key(tmp_path: Path) -> None:
    error = build(tmp_path, bay=BAY + "build: {measured: [{screen: big, width: 3 m, height: 2 m}]}\n").exception
    assert isinstance(error, BadInputError)
    assert "build.measured.0.screen: no screen is called 'big'" in str(error)


def test_a_stock_that_cannot_be_read_is_refused_with_its_key(tmp_path: Path) -> None:
    error = build(tmp_path, bay=BAY + "build: {stock: ['6000']}\n").exception
    assert isinstance(error, BadInputError)
    assert "build.stock" in str(error)
    assert "no unit" in str(error)


def test_feet_and_inches_are_told_as_the_tape_reads(tmp_path: Path) -> None:
    facts(tmp_path, "--set", "units=imperial", bay=NO_FRAME)
    assert "9 ft 2 1/4 in" in {row["finished_width"] for row in rows(tmp_path, "cloth")}
    assert all(row["width"].endswith((" in", " ft")) for row in rows(tmp_path, "boards"))
    for name in ("boards", "sheet_plan", "cloth", "floor"):
        for row in rows(tmp_path, name):
            lengths = {column.removesuffix("_mm") for column in row if column.endswith("_mm")}
            lengths -= {"x", "y", "cut_out", "sheet"}  # the bay's axes; what has columns of its own
            assert lengths
            assert all(row[column] == "" or row[column].endswith((" in", " ft")) for column in lengths), name


def test_a_bay_without_a_frame_has_its_cloth_and_boards_listed_and_says_that_nothing_was_checked(
    tmp_path: Path,
) -> None:
    result = build(tmp_path, bay=NO_FRAME)
    assert result.return_value == 0
    assert "nothing to cut, and nothing was checked" in " ".join(result.output.split())
    assert [row["kind"] for row in rows(tmp_path, "cloth")] == ["screen", "net"]


def test_lines_texts_and_dimensions_of_the_frame_are_data_with_the_marks_of_the_cut_list(built: Built) -> None:
    (drawing,) = built.data["drawing"]
    marks = {row["name"]: row["mark"] for row in built.data["cut_list"]}
    assert {line["name"] for line in drawing["lines"]} == {name for name in marks if not name.startswith("sleeve")}
    for label in drawing["labels"]:
        mark, rest = label["text"].split(" ", 1)
        assert marks[rest.split(",")[0]] == mark
    by_name = {each["name"]: each["value_m"] for each in drawing["dimensions"]}
    assert by_name["clear opening, width"] == pytest.approx(2.9)
    assert drawing["note"].startswith("Not a structural certificate")
    assert {joint["kind"] for joint in built.data["joints"]} >= {"tee", "three-way"}


def test_tube_sold_by_the_metre_is_bought_in_whole_metres_where_a_bar_is_too_much(built: Built) -> None:
    """Sleeves take a metre or two of a tube that comes by the metre in the price list."""
    (stock,) = {row["stock_mm"] for row in built.data["stock_plan"] if row["material"] == "40x40x4 square tube"}
    stubs = [row["length_mm"] for row in built.data["cut_list"] if row["section"] == "40x40x4 square tube"]
    assert sum(stubs) < stock <= sum(stubs) + 1000.0 + 3.0 * len(stubs) + 5.0
    assert stock % 1000 == 0


def test_each_hole_says_what_it_is_for_and_which_walls_it_goes_through(built: Built) -> None:
    bars = [row for row in built.data["cut_list"] if row["holes_from_start_mm"]]
    assert bars
    assert all(re.search("through (both sides|top and underside)", row["holes_for"]) for row in bars)
    assert all(row["start_is"] for row in bars)


def test_screws_and_bolts_say_for_what_and_how_long(built: Built) -> None:
    fittings = built.data["fittings"]
    names = [row["name"] for row in fittings if "screw" in row["material"]]
    assert len(set(names)) == len(names) > 0
    assert any("canopy" in name for name in names)
    bolts = [row["note"] for row in fittings if row["material"] == "bolt M8"]
    assert any(note.startswith("through 50 mm, at least 65 mm long") for note in bolts)  # 50 + nut, washers, 2 threads


def test_checks_and_anchors_are_csv_files_too_and_say_where_each_plate_is(built: Built) -> None:
    listed = rows(built.folder, "checks")
    assert [row["name"] for row in listed] == [check["name"] for check in built.data["checks"]]
    assert all(row["note"].startswith("Not a structural certificate") for row in listed)
    plates = {row["name"]: row for row in rows(built.folder, "anchors")}
    assert set(plates) == {each["name"] for each in built.data["anchors"]}
    feet = {row["name"]: row for row in built.data["on_the_slab"]}
    for name, row in plates.items():
        if row["into"] == "floor" and name.removesuffix(" foot") in feet:
            foot = feet[name.removesuffix(" foot")]
            for along in ("from_end_wall_mm", "from_left_wall_mm"):
                assert float(row[along]) == foot[along]
        if row["into"] == "wall":
            assert abs(float(row["from_end_wall_mm"])) < 60.0


@pytest.mark.parametrize("bay", [*DEMOS, *OTHERS])
def test_each_demo_gives_whole_lists_that_pass_with_everything_priced(bay: str, tmp_path: Path) -> None:
    """Their frames, prices and the anchors' figures are invented; nothing is left unpriced, loose or in two places."""
    out = tmp_path / "out"
    words = ["build", str(ROOT / "scenarios" / f"{bay}.yaml"), "--out", str(out)]
    result = CliRunner().invoke(cli, words, standalone_mode=False)
    assert result.return_value == 0, result.output
    data = json.loads((out / "build.json").read_text())
    assert data["ok"]
    assert data["cost"]["complete"]
    assert data["cost"]["invented"]
    assert not data["problems"]
    for name in ("cut_list", "stock_plan", "cloth", "fittings", "floor", "costs"):
        assert data[name], name
    through = [each for each in open_bay(ROOT / "scenarios" / f"{bay}.yaml").bay.parts if each.owner == "frame"]
    assert {part.name for part in through} <= {row["name"] for row in data["cut_list"]}


@pytest.mark.parametrize("bay", [*DEMOS, *OTHERS])
def test_no_bar_of_a_demo_goes_through_anything(bay: str) -> None:
    output = CliRunner().invoke(cli, ["check", str(ROOT / "scenarios" / f"{bay}.yaml")], standalone_mode=False).output
    assert "through one another" not in " ".join(output.split())
