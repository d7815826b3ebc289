"""Which shots meet no guard first at many sizes: shot by shot, those of a run at each size."""

from pathlib import Path

import numpy as np
import pytest
from size_bays import hall

from flightsim.bay.parts import Role
from flightsim.engine.follow import first_contacts
from flightsim.errors import BadInputError
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.same_shots import started_in
from flightsim.study.size import missed_first as missed_first_file
from flightsim.study.size.missed_first import missed_first, missed_in


def by_itself(bay, table):
    tests = bay.plugins.touch_tests(bay.bay)
    return first_contacts(bay.physics, table.launches(), bay.bay, tests)


def test_bays_with_another_size_room_or_tee_are_each_told_as_a_run_tells_them(tmp_path):
    file = hall(tmp_path)
    home = open_bay(file)
    changes = ("canopy.depth=1.1m", "tee.from_end_wall=3.6m", "room.roof.height=5m")
    others = [home, *(open_bay(file, [change]) for change in changes)]
    table = Flyer.of(home, 1).draw(0, 500)
    missed = missed_first(others, home, table)
    for row, bay in zip(missed, others, strict=True):
        guard = np.array([*(part.role is Role.GUARD for part in bay.bay.parts), False])
        assert np.array_equal(row, ~guard[by_itself(bay, table).part])
    assert missed[2].sum() > missed[0].sum()  # further back, more go over the canopy


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
    at_home, elsewhere = (Flyer.of(bay, 9).draw(0, 40) for bay in (home, moved))
    assert np.allclose(started_in(at_home, home, moved).start, elsewhere.start, atol=1e-12)
    assert not np.allclose(at_home.start, elsewhere.start)


def test_other_shots_are_refused(tmp_path):
    file = hall(tmp_path)
    home, other = open_bay(file), open_bay(file, ["launches.types.0.ball_speed=30 m/s"])
    with pytest.raises(BadInputError, match="changes the shots"):
        started_in(Flyer.of(home, 1).draw(0, 5), home, other)


def test_sizes_in_one_batch_are_to_the_ball_what_each_gives_by_itself(tmp_path, monkeypatch):
    file = hall(tmp_path)
    home = open_bay(file)
    bays = [open_bay(file, [f"canopy.depth={depth}m"]) for depth in (0.1, 0.3, 0.8, 0.81, 1.4, 2.0)]
    table = Flyer.of(home, 2).draw(0, 3000)
    batch = missed_first(bays, home, table)
    alone = np.stack([missed_in(bay, table.launches()) for bay in bays])
    assert np.array_equal(batch, alone)
    assert len({int(row.sum()) for row in alone}) > 3  # or nothing was shown
    monkeypatch.setattr(missed_first_file, "missed_in", None)  # so they were one batch
    assert np.array_equal(missed_first(bays, home, table), alone)


def test_a_ball_that_nobody_is_sure_of_is_flown_in_each_bay_by_itself(tmp_path, monkeypatch):
    file = hall(tmp_path)
    home = open_bay(file)
    bays = [home, open_bay(file, ["canopy.depth=1.4m"])]
    table = Flyer.of(home, 2).draw(0, 300)
    alone = np.stack([missed_in(bay, table.launches()) for bay in bays])

    def unsure(physics, launches, bays, shared):
        return np.zeros((len(bays), 300), dtype=bool), np.ones(300, dtype=bool)

    monkeypatch.setattr(missed_first_file, "guard_first", unsure)
    assert np.array_equal(missed_first(bays, home, table), alone)
