"""The files of a run: as docs/outputs.md says, complete, and exact."""

import csv
import json
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from flightsim.contact.fates import EDGES, Flag, Outcome
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.run_files import write_data
from flightsim.study.run.walk import run

ROOT = Path(__file__).parents[3]
DOCS = (ROOT / "docs" / "outputs.md").read_text(encoding="utf-8")
SHOTS = 1200


@pytest.fixture(scope="module")
def result():
    return run(open_bay(ROOT / "scenarios" / "single_garage.yaml"), SHOTS, seed=3)


@pytest.fixture(scope="module")
def folder(result, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    write_data(result, (), folder)
    return folder


@pytest.fixture(scope="module")
def rows(folder):
    with (folder / "shots.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def documented(section: str) -> list[str]:
    """Names in backticks in the first cell of each table row of a section."""
    text = DOCS.split(f"## {section}\n")[1].split("\n## ")[0]
    cells = re.findall(r"^\| (`.*?) \|", text, re.M)
    return [name for cell in cells for name in re.findall(r"`([^`]+)`", cell)]


def test_every_column_is_documented_in_order(rows):
    assert list(rows[0]) == documented("shots.csv")


@pytest.mark.parametrize("name", ["run.json", "summary.json"])
def test_every_key_is_documented_in_order(folder, name):
    assert list(json.loads((folder / name).read_text(encoding="utf-8"))) == documented(name)


def test_one_row_a_shot_and_weights_that_add_to_one(rows):
    assert [int(row["shot"]) for row in rows] == list(range(SHOTS))
    assert sum(float(row["weight"]) for row in rows) == pytest.approx(1.0, abs=1e-12)


def test_floats_read_back_exactly(result, rows):
    assert [float(row["ball_speed_m_s"]) for row in rows] == result.shots.ball_speed.tolist()
    met = result.contacts.part >= 0
    assert [float(row["first_z_m"]) for row, hit in zip(rows, met, strict=True) if hit] == result.contacts.point[
        2, met
    ].tolist()


def test_a_cell_is_blank_exactly_where_there_is_no_contact(result, rows):
    names = {part.name for part in result.bay.parts}
    for row in rows:
        touched = row["first_part"] != ""
        assert (row["first_part"] in names) is touched
        for key in ("first_t_s", "first_x_m", "first_y_m", "first_z_m", "first_speed_m_s", "first_angle_deg"):
            assert (row[key] != "") is touched
        ways = [row[f"{flag.key}_m_s"] != "" for flag in Flag]
        assert (row["got_out_through"] != "") is ways[Flag.GOT_OUT]
        assert (row["hit_unprotected_part"] in names) is ways[Flag.HIT_UNPROTECTED]
        assert (row["broke_through_part"] in names) is ways[Flag.BROKE_THROUGH]
        assert (row["past_edge_of"] in names) is ways[Flag.PAST_EDGE]
        assert (row["past_edge_side"] in EDGES) is ways[Flag.PAST_EDGE]
        assert (row["struck_through_part"] in names) is ways[Flag.STRUCK_THROUGH]
        for key in ("person", "person_height_m", "person_head"):
            assert (row[key] != "") is ways[Flag.PERSON_HIT]
        assert row["end_t_s"] != ""


def test_an_outcome_is_the_worst_flag_of_its_row_and_only_a_row_without_any_was_held_or_ended_slow(rows):
    seen = set()
    for row in rows:
        flags = [flag.key for flag in Flag if row[f"{flag.key}_m_s"] != ""]
        quiet = "held" if row["kept"] == "yes" else "rolled_dead"
        assert row["outcome"] == (flags[0] if flags else quiet)
        assert 0.0 <= float(row["first_angle_deg"] or 0.0) <= 90.0
        seen.add(row["outcome"])
    assert {"held", "person_hit"} <= seen <= {outcome.key for outcome in Outcome}


def test_the_summary_counts_what_the_rows_say(folder, rows):
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    weight = np.array([float(row["weight"]) for row in rows])
    flagged = {flag.key: np.array([row[f"{flag.key}_m_s"] != "" for row in rows]) for flag in Flag}
    cases = flagged | {"escape": np.any(list(flagged.values()), axis=0)}
    cases |= {key: np.array([row["outcome"] == key for row in rows]) for key in ("rolled_dead", "held")}
    columns = {"head_hit": "head_hit_m_s", "left_slowly": "left_slowly_through", "behind_tee": "behind_tee_m_s",
               "comes_back": "comes_back_m_s"}  # fmt: skip
    cases |= {key: np.array([row[column] != "" for row in rows]) for key, column in columns.items()}
    assert list(summary["total"]) == list(cases)
    for key, of_case in cases.items():
        total = summary["total"][key]
        assert total["count"] == of_case.sum()
        assert total["rate"] == pytest.approx(weight[of_case].sum(), abs=1e-12)
        assert total["lower"] <= total["rate"] <= total["upper"]
        assert total["upper"] > 0.0
    for kind in summary["by_type"]:
        own = [row for row in rows if row["shot_type"] == kind["shot_type"]]
        assert kind["got_out"]["shots"] == len(own)
        assert kind["got_out"]["count"] == sum(row["got_out_m_s"] != "" for row in own)
    for flag in Flag:
        places = [place for place in summary["places"] if place["flag"] == flag.key]
        counted = sum(place["shots"] for place in places)  # a ball that hits two people counts for both
        assert counted == flagged[flag.key].sum() or (flag is Flag.PERSON_HIT and counted > flagged[flag.key].sum())
        speeds = [float(row[f"{flag.key}_m_s"]) for row in rows if row[f"{flag.key}_m_s"]]
        assert max((place["fastest_m_s"] for place in places), default=None) == max(speeds, default=None)
    for opening in summary["left_slowly"]:
        assert opening["shots"] == sum(row["left_slowly_through"] == opening["opening"] for row in rows)
    for row in rows:
        hits = [float(row[key]) for key in ("head_hit_m_s", "body_hit_m_s") if row[key]]
        assert max(hits, default=None) == (float(row["person_hit_m_s"]) if row["person_hit_m_s"] else None)
    behind = [float(row["behind_tee_m_s"]) for row in rows if row["behind_tee_m_s"]]
    assert summary["behind_tee"]["fastest_m_s"] == max(behind)
    assert 5.0 <= summary["behind_tee"]["median_m_s"] <= max(behind)
    assert summary["harm"]["above_default"] is False
    for opening in summary["left_through"]:
        assert opening["shots"] == sum(row["got_out_through"] == opening["opening"] for row in rows)
    for part in summary["first_contacts"]:
        assert part["shots"] == sum(row["first_part"] == part["part"] for row in rows)


def test_run_json_carries_what_repeats_the_run(folder):
    facts = json.loads((folder / "run.json").read_text(encoding="utf-8"))
    assert facts["aero"] == "naruo2004"
    assert facts["ball_mass_kg"] == 0.04593
    assert facts["ball_diameter_m"] == 0.04267
    assert 1.2 < facts["air_density_kg_m3"] < 1.25
    assert facts["seed"] == 3
    assert len(facts["scenario_sha256"]) == 64


def test_the_resolved_scenario_is_a_scenario_that_gives_the_same_shots(folder, tmp_path, result):
    facts = json.loads((folder / "run.json").read_text(encoding="utf-8"))
    again = tmp_path / "again.yaml"
    again.write_text(json.dumps(facts["scenario"]), encoding="utf-8")
    repeated = run(open_bay(again), 200, seed=3)
    first = result.shots.take(slice(0, 200))
    assert repeated.shots.ball_speed == pytest.approx(first.ball_speed, rel=1e-12)
    assert np.array_equal(repeated.contacts.part, result.contacts.part[:200])
    assert np.array_equal(repeated.outcome, result.outcome[:200])


def test_how_often_heads_and_bodies_are_reached_is_told_at_several_speeds_each_no_oftener_than_the_one_before(folder):
    rows = json.loads((folder / "summary.json").read_text())["at_speeds"]
    assert [row["speed_m_s"] for row in rows] == pytest.approx([5.0, 7.5, 9.7, 12.5, 25.5])
    assert rows[0]["energy_j"] == pytest.approx(0.574, abs=1e-3)
    for slower, faster in pairwise(rows):
        for height in ("head", "body"):
            assert faster[height]["rate"] <= slower[height]["rate"] <= slower[height]["upper"]
    assert rows[0]["head"]["count"] == json.loads((folder / "summary.json").read_text())["total"]["head_hit"]["count"]
