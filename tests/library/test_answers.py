"""Answers in Python: the same numbers as the command line's, as arrays, tables, pictures, words and files."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure
from size_bays import hall

import flightsim
from flightsim.cli import cli
from flightsim.contact.fates import Flag
from flightsim.flight.ball import LEGAL_BALL
from flightsim.library import looks

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
SHOTS = 300
pytestmark = pytest.mark.usefixtures("no_pictures")  # what is in them is looked at elsewhere


@pytest.fixture(scope="module")
def garage():
    return flightsim.run(GARAGE, SHOTS, require=["escape < 0.9"])


def test_a_run_saves_what_the_command_writes_byte_by_byte(garage, tmp_path):
    command = CliRunner().invoke(
        cli,
        ["run", str(GARAGE), "--shots", str(SHOTS), "--quick", "--require", "escape < 0.9", "--out", f"{tmp_path}/a"],
    )
    assert command.exit_code == 0, command.output
    out = garage.save(tmp_path / "b")
    for name in ("run.json", "summary.json", "shots.csv"):
        assert (out / name).read_bytes() == (tmp_path / "a" / name).read_bytes()


def test_arrays_rates_and_table_tell_the_same(garage):
    outcome = garage.arrays["outcome"]
    assert outcome.shape == (SHOTS,)
    flags = [flag.key for flag in Flag]
    assert garage.rate("escape").count == np.isin(outcome.astype(str), flags).sum()
    names = list(np.asarray(garage.table["name"]))
    assert garage.table["rate"][names.index("escape")] == garage.rate().rate
    assert garage.summary["total"]["escape"]["count"] == garage.rate().count
    assert garage.met
    with pytest.raises(KeyError, match="got_out"):
        garage.rate("got_away")


def test_a_requirement_that_is_not_met_is_told(garage):
    strict = flightsim.run(garage.bay, SHOTS, require=["escape < 1 in 100000"])
    assert not strict.met
    assert strict.judgements[0].bound >= 1e-5


def test_words_are_those_of_the_terminal_and_end_with_the_caution(garage):
    assert garage.bay.scenario.name in str(garage)
    assert "licensed" in str(garage)
    html = garage._repr_html_()
    assert "licensed" in html
    assert "<table>" in html


def test_names_stay_text_in_a_notebook():
    named = flightsim.load(GARAGE).with_changes({"name": "<script>alert(1)</script>"})
    html = flightsim.run(named, SHOTS)._repr_html_() + named._repr_html_()
    assert "<script>" not in html


def test_pictures_are_drawn_by_name_and_an_unknown_one_is_told(garage):
    assert "bay" in garage.pictures
    assert isinstance(garage.figure("bay"), Figure)
    with pytest.raises(flightsim.BadInputError, match="launch_map"):
        garage.figure("hologram")


def test_a_table_is_a_data_frame_where_pandas_is_there(monkeypatch):
    class Pandas:
        DataFrame = staticmethod(lambda columns: ("frame", columns))

    monkeypatch.setattr(looks, "find_spec", lambda name: name)
    monkeypatch.setattr(looks, "import_module", lambda name: Pandas)
    assert looks.frame({"a": [1]}) == ("frame", {"a": [1]})
    monkeypatch.setattr(looks, "find_spec", lambda name: None)
    assert looks.frame({"a": [1]})["a"].tolist() == [1]


def test_comparing_a_bay_with_itself_changes_nothing(garage):
    found = flightsim.compare(garage.bay, GARAGE, shots=60)
    assert not any(found.table["only_first"])
    assert not any(found.table["only_second"])
    with pytest.raises(flightsim.BadInputError, match="allowed: one of them"):
        flightsim.compare(garage.bay)


def test_comparing_saves_what_the_command_writes(tmp_path):
    bay = hall(tmp_path)
    command = CliRunner().invoke(
        cli, ["compare", bay, "--set", "canopy.depth=1.4 m", "--shots", str(SHOTS), "--out", f"{tmp_path}/a"]
    )
    assert command.exit_code == 0, command.output
    found = flightsim.compare(bay, changes={"canopy.depth": "1.4 m"}, shots=SHOTS)
    out = found.save(tmp_path / "b")
    assert (out / "compare.json").read_bytes() == (tmp_path / "a" / "compare.json").read_bytes()
    assert found.result.names[1] == "with canopy.depth=1.4 m"


def test_a_size_that_is_found_is_told_in_words_table_picture_and_file(tmp_path):
    found = flightsim.find_size(hall(tmp_path), "canopy.depth=1.0m..1.2m", "hit_unprotected < 1 in 20")
    saved = json.loads((found.save(tmp_path / "out") / "size.json").read_text(encoding="utf-8"))
    assert saved == json.loads(json.dumps(found.summary))
    assert saved["found"] == found.found
    assert (found.sizes is None) == (not found.found)
    assert len(found.table["upper"]) == len(saved["looks"])
    assert "canopy" in str(found)


@pytest.mark.parametrize("ask", [
    {"vary": "canopy.depth", "target": "escape < 1 in 20"},
    {"vary": "canopy.depth=1m..2m", "target": "escape below few"},
    {"vary": "canopy.depth=1m..2m", "target": "escape < 1 in 20", "prices": {"screen.height": 3.0}},
])  # fmt: skip
def test_a_search_that_cannot_be_read_is_refused_before_any_work(ask):
    with pytest.raises(flightsim.BadInputError, match="try: "):
        flightsim.find_size(GARAGE, **ask)


def test_one_ball_is_that_of_the_command_and_of_the_reference():
    ball = flightsim.fly_ball("75 m/s", "11 deg", "2700 rpm", air_density="1.2 kg/m3")
    command = CliRunner().invoke(cli, ["fly", "--ball-speed", "75m/s", "--elevation", "11deg", "--spin-rate", "2700rpm",
                                       "--air-density", "1.2kg/m3", "--json"])  # fmt: skip
    assert dict(ball) == json.loads(command.output)
    assert ball["carry_m"] == pytest.approx(251.136015, abs=1e-4)  # [flight-set]
    si = flightsim.fly_ball(75.0, np.radians(11.0), 2700.0 * np.pi / 30.0, air_density=1.2)
    assert si["carry_m"] == pytest.approx(ball["carry_m"], abs=1e-9)


def test_one_strike_obeys_the_identity_of_spin_and_direction():
    """sin(angle between face normal and ball) = 0.4 r w/v for a point head [stronge-2000], closed form."""
    struck = flightsim.strike_ball("45 m/s", loft="12 deg")
    spin = struck["backspin_rpm"] * np.pi / 30.0
    angle = np.radians(12.0 - struck["elevation_deg"])
    assert np.sin(angle) == pytest.approx(0.4 * LEGAL_BALL.radius * spin / struck["ball_speed_m_s"], rel=1e-9)


def test_a_number_without_sense_is_told_with_its_name():
    with pytest.raises(flightsim.BadInputError, match=r"ball_speed: .*furlongs"):
        flightsim.fly_ball("75 furlongs", "11 deg", "2700 rpm")


def test_every_direction_is_mapped_with_words_table_and_picture(tmp_path):
    found = flightsim.map_directions(hall(tmp_path), clubs=["iron"])
    assert found.summary["maps"]
    assert "escape" in str(found).lower()
    assert isinstance(found.figure(), Figure)
    with pytest.raises(flightsim.BadInputError, match="allowed"):
        found.figure("putter")
    assert len(np.asarray(found.table["club"])) >= 1
