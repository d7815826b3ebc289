"""First contacts at many sizes from one batch are, shot by shot, those of a run at each size."""

from pathlib import Path

import numpy as np
import pytest
from size_bays import hall

from flightsim.bay.parts import Role
from flightsim.engine.follow_any import first_contacts
from flightsim.errors import BadInputError
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.same_shots import started_in
from flightsim.study.size.first_curve import alike, first_curve, missed_first

SCENARIOS = Path(__file__).parents[3] / "scenarios"
DEMOS = {"single_garage": "canopy", "lean_to": "canopy", "village_hall": "canopy.0"}
SHOTS = 500


def by_itself(bay, table):
    tests = bay.plugins.touch_tests(bay.bay)
    return first_contacts(bay.physics, table.launches(), bay.bay, tests)


def check(file, path, values):
    bays = [open_bay(file, [f"{path}={value}"]) for value in values]
    table = Flyer.of(bays[0], 3).draw(0, SHOTS)
    curve = first_curve([bay.bay for bay in bays], bays[0].plugins, bays[0].physics, table.launches())
    stopped = 0
    for k, bay in enumerate(bays):
        found = by_itself(bay, table)
        names = np.array([*(part.name for part in bay.bay.parts), ""])
        mine = np.array([*curve.names, ""])[curve.part[k]]
        assert np.array_equal(mine, names[found.part]), values[k]
        assert np.array_equal(curve.opening[k], found.opening)
        assert np.array_equal(curve.failed[k], found.failed)
        guard = np.array([*(part.role is Role.GUARD for part in bay.bay.parts), False])
        assert np.array_equal(curve.missed[k], ~guard[found.part])
        stopped += int((mine != np.array([*curve.names, ""])[curve.part[0]]).sum())
    return stopped


@pytest.mark.parametrize("demo", DEMOS)
def test_ten_canopy_depths_from_one_batch_are_those_of_ten_runs(demo):
    values = [f"{depth:.3f}m" for depth in np.linspace(0.3, 2.1, 10)]
    assert check(SCENARIOS / f"{demo}.yaml", f"{DEMOS[demo]}.depth", values) > 5  # the sizes do differ


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize(
    ("path", "values"),
    [
        ("side_nets.right.depth", ("0.6m", "1.3m", "2.4m")),
        ("screen.gap_behind", ("300mm", "420mm", "600mm")),
        ("{canopy}.slope", ("-3deg", "1deg", "6deg")),
    ],
)
def test_a_few_sizes_of_other_guards_from_one_batch_are_those_of_runs(demo, path, values):
    check(SCENARIOS / f"{demo}.yaml", path.format(canopy=DEMOS[demo]), values)


@pytest.mark.slow
@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize(
    ("path", "low", "high", "unit"),
    [("side_nets.right.depth", 0.4, 2.6, "m"), ("screen.gap_behind", 0.3, 0.75, "m"), ("{canopy}.slope", -4, 7, "deg")],
)
def test_ten_sizes_of_other_guards_from_one_batch_are_those_of_ten_runs(demo, path, low, high, unit):
    values = [f"{value:.4f}{unit}" for value in np.linspace(low, high, 10)]
    check(SCENARIOS / f"{demo}.yaml", path.format(canopy=DEMOS[demo]), values)


def test_bays_with_another_room_or_tee_are_flown_each_by_itself(tmp_path):
    file = hall(tmp_path)
    home = open_bay(file)
    others = [home, open_bay(file, ["tee.from_end_wall=3.6m"]), open_bay(file, ["room.roof.height=5m"])]
    assert not alike([bay.bay for bay in others])
    with pytest.raises(ValueError, match="differ"):
        first_curve([bay.bay for bay in others], home.plugins, home.physics, Flyer.of(home, 1).draw(0, 5).launches())
    table = Flyer.of(home, 1).draw(0, 500)
    missed = missed_first(others, home, table)
    for row, bay in zip(missed, others, strict=True):
        guard = np.array([*(part.role is Role.GUARD for part in bay.bay.parts), False])
        assert np.array_equal(row, ~guard[by_itself(bay, table).part])
    assert missed[1].sum() > missed[0].sum()  # further back, more go over the canopy


SPOTS = """  spots:
    - {name: near, share: 0.5, from_end_wall: 3.3 m, from_left_wall: 8 m}
    - {name: far, share: 0.5, from_end_wall: 4 m, from_left_wall: 7 m}
"""


def test_a_ball_starts_where_the_other_bay_has_its_tee(tmp_path):
    file = hall(tmp_path)
    text = Path(file).read_text().replace("tee: {from_end_wall: 3.3 m, from_left_wall: 8 m}\n",
                                          "tee:\n  from_end_wall: 3.3 m\n  from_left_wall: 8 m\n" + SPOTS)  # fmt: skip
    Path(file).write_text(text)
    home = open_bay(file)
    moved = open_bay(file, ["tee.spots.far.from_end_wall=4.5m", "tee.mat={height: 30mm}"])
    mine, theirs = (Flyer.of(bay, 9).draw(0, 40) for bay in (home, moved))
    assert np.allclose(started_in(mine, home, moved).start, theirs.start, atol=1e-12)
    assert not np.allclose(mine.start, theirs.start)


def test_other_shots_are_refused(tmp_path):
    file = hall(tmp_path)
    home, other = open_bay(file), open_bay(file, ["launches.types.0.ball_speed=30 m/s"])
    with pytest.raises(BadInputError, match="changes the shots"):
        started_in(Flyer.of(home, 1).draw(0, 5), home, other)
