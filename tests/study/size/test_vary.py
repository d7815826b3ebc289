"""What may be varied: how it reads, what it refuses, and where a path leads in a scenario."""

from math import radians
from pathlib import Path

import pytest
from size_bays import HALL, LOFTED, hall

from flightsim.errors import BadInputError
from flightsim.study.run.open_bay import open_bay
from flightsim.study.size.vary import parse_varies, parse_vary

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def test_the_values_are_every_multiple_of_the_step_within_the_range():
    assert parse_vary("canopy.depth=0.42m..0.6m").values() == (0.45, 0.5, 0.55, 0.6)
    assert parse_vary("canopy.depth=300mm..0.6m", "100mm").values() == (0.3, 0.4, 0.5, 0.6)
    assert parse_vary("canopy.depth=1ft..2ft", "6in").values() == (0.3048, 0.4572, 0.6096)


def test_angles_go_in_degrees_and_numbers_in_twentieths_of_their_range():
    angle, number = parse_vary("canopy.slope=-2deg..3deg"), parse_vary("shots.bad_day=1..5")
    assert angle.values() == (-2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
    assert angle.set(-2.0) == "canopy.slope=-2deg"
    assert number.values()[:2] == (1.0, 1.2)
    assert number.set(1.2) == "shots.bad_day=1.2"


@pytest.mark.parametrize(
    ("text", "step", "words"),
    [
        ("canopy.depth=2m..1m", None, "the range is empty"),
        ("canopy.depth=1m..1m", None, "the range is empty"),
        ("canopy.depth=1m", None, "no range"),
        ("=1m..2m", None, "no range"),
        ("canopy.depth=0.4m..2.5deg", None, "not of one kind"),
        ("canopy.depth=0.4..2.5m", None, "not of one kind"),
        ("canopy.depth=0.4m..0.6m", "500mm", "does not fit the range"),
        ("canopy.depth=0.4m..0.6m", "0.05", "step='0.05'"),
        ("canopy.depth=0.41m..0.44m", None, "no multiple of the step"),
        ("canopy.slope=0.2deg..0.8deg", None, "no multiple of the step"),
    ],
)
def test_a_range_that_cannot_be_used_is_refused_with_a_way_out(text, step, words):
    with pytest.raises(BadInputError, match=words) as raised:
        parse_vary(text, step)
    assert "try: " in str(raised.value) or words.startswith("step=")


def test_a_path_is_varied_once():
    with pytest.raises(BadInputError, match="given twice"):
        parse_varies(["canopy.depth=1m..2m", "canopy.depth=0.5m..2m"], None)


@pytest.mark.parametrize(
    ("file", "path", "value"),
    [
        ("single_garage", "canopy.depth=1m..2m", 1.1),
        ("single_garage", "canopy.0.depth=1m..2m", 1.1),
        ("single_garage", "side_nets.right.depth=1m..2m", 2.2),
        ("single_garage", "canopy.slope=0deg..9deg", 4.0),
        ("single_garage", "ceiling.pads.0.width=1m..3m", 2.0),
        ("single_garage", "tee.from_end_wall=2m..4m", 3.5),
        ("single_garage", "obstacles.lamp.height=40mm..200mm", 0.07),
        ("village_hall", "canopy.upper net.depth=1m..2m", 6 * 0.3048),
        ("village_hall", "canopy.1.height=2m..4m", 10.25 * 0.3048),
        ("single_garage", "side_nets.right.mesh=10mm..90mm", None),
        ("single_garage", "nothing.here=1m..2m", None),
    ],
)
def test_what_a_path_has_now_is_found_by_name_index_and_key(file, path, value):
    now = parse_vary(path).present(open_bay(SCENARIOS / f"{file}.yaml").scenario)
    assert now == (None if value is None else pytest.approx(value))


def test_a_value_is_set_as_the_loader_reads_it(tmp_path):
    vary = parse_vary("canopy.slope=0deg..9deg")
    bay = open_bay(hall(tmp_path, LOFTED, HALL), [vary.set(7.0)])
    assert bay.scenario.entries("canopy")[0].slope == pytest.approx(radians(7.0))
    assert vary.present(bay.scenario) == pytest.approx(7.0)
