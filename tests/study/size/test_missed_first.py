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
from flightsim.study.size.missed_first import missed_first


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
    mine, theirs = (Flyer.of(bay, 9).draw(0, 40) for bay in (home, moved))
    assert np.allclose(started_in(mine, home, moved).start, theirs.start, atol=1e-12)
    assert not np.allclose(mine.start, theirs.start)


def test_other_shots_are_refused(tmp_path):
    file = hall(tmp_path)
    home, other = open_bay(file), open_bay(file, ["launches.types.0.ball_speed=30 m/s"])
    with pytest.raises(BadInputError, match="changes the shots"):
        started_in(Flyer.of(home, 1).draw(0, 5), home, other)
