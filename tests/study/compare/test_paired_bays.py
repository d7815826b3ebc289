"""Two bays on the same shots: the counts are those of two runs, and the test weighs shots as they are played."""

import numpy as np
import pytest
from scipy.stats import binomtest
from size_bays import LOFTED, hall

from flightsim.contact.fates import Flag
from flightsim.errors import BadInputError
from flightsim.study.compare.paired_bays import MOST_TOSSES, compare, split_chance
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run

N = 400


def pair(folder, *sets, shots=LOFTED):
    file = hall(folder, shots)
    return open_bay(file), open_bay(file, sets)


def test_a_bay_beside_itself_changes_no_ball(tmp_path):
    bays = pair(tmp_path)
    found = compare(*bays, ("a", "b"), N)
    assert found.moved.sum() == np.trace(found.moved) == N
    assert all(one.chance == 1.0 and one.only_first == one.only_second == 0 for one in found.changed)
    assert found.worse.size == found.better.size == 0


def test_the_counts_are_those_of_two_runs_of_the_same_seed(tmp_path):
    first, second = pair(tmp_path, "canopy.depth=0.5m")
    found = compare(first, second, ("a", "b"), N, seed=4)
    one, two = run(first, N, 4), run(second, N, 4)
    assert found.moved.sum() == N
    for changed in found.changed:
        flag = [flag.key for flag in Flag].index(changed.key) if changed.key != "escape" else None
        a, b = (r.fates.escaped if flag is None else r.fates.flags[flag] for r in (one, two))
        assert (changed.first.count, changed.second.count) == (a.sum(), b.sum())
        assert (changed.only_first, changed.only_second) == ((a & ~b).sum(), (b & ~a).sum())
    assert np.array_equal(found.worse, np.flatnonzero(two.fates.escaped & ~one.fates.escaped))
    escape = found.changed[0]
    assert escape.only_second > escape.only_first
    assert escape.chance < 0.01
    assert escape.only_second_upper > escape.only_first_upper > 0.0


def test_the_tee_may_be_elsewhere(tmp_path):
    found = compare(*pair(tmp_path, "tee.from_end_wall=3.8m"), ("a", "b"), N)
    assert found.changed[0].second.count > found.changed[0].first.count


TWO_TYPES = LOFTED.replace("share: 1\n", "share: 0.5\n") + LOFTED.partition("types:\n")[2].replace(
    "share: 1\n", "share: 0.5\n"
).replace("strike: clean", "strike: thin")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("launches.types.0.ball_speed=30 m/s", "strike the ball differently"),
        ("launches.types.0.strike=thin", "do not play the same shot types"),
        ("launches.hand=left", None),  # straight ahead, without tilt: the mirror image is the same ball
    ],
)
def test_bays_of_other_players_are_refused(tmp_path, change, words):
    bays = pair(tmp_path, change)
    if words is None:
        assert compare(*bays, ("a", "b"), 50).moved.sum() == 50
        return
    with pytest.raises(BadInputError, match=words) as raised:
        compare(*bays, ("a", "b"), N)
    assert "allowed: " in str(raised.value)


def test_too_few_shots_for_the_types_are_refused(tmp_path):
    with pytest.raises(BadInputError, match="2 shot types"):
        compare(*pair(tmp_path, "canopy.depth=2m", shots=TWO_TYPES), ("a", "b"), 1)


GRID = """launches:
  grid: {ball_speed: [30 m/s], elevation: {from: 10 deg, to: 70 deg, steps: 9}, azimuth: 0 deg, spin_rate: 3000 rpm}
"""


def test_a_grid_has_counts_and_no_bounds(tmp_path):
    found = compare(*pair(tmp_path, "canopy.depth=2.4m", shots=GRID), ("a", "b"), N)
    assert len(found.shots) == 9
    assert not found.sampled
    assert found.changed[0].only_first_upper is None
    assert found.changed[0].only_first > 0


def test_one_shot_type_alone_has_the_exact_sign_test():
    found = split_chance(np.array([3, 0]), np.array([12, 0]), np.array([0.1, 0.4]))
    assert found == pytest.approx(binomtest(3, 15, 0.5).pvalue)


def test_types_of_one_weight_are_as_one_type_to_the_error_of_tossing():
    found = split_chance(np.array([3, 5, 2]), np.array([8, 9, 6]), np.full(3, 0.01))
    exact = binomtest(10, 33, 0.5).pvalue
    assert found == pytest.approx(exact, abs=4.0 * (exact / MOST_TOSSES) ** 0.5)


def test_a_type_that_is_hardly_played_tips_nothing():
    """Twenty balls of a type that is 1 in 10,000 went one way; three of a common type the other way."""
    rare_first, common_second = np.array([20, 0]), np.array([0, 3])
    found = split_chance(rare_first, common_second, np.array([1e-7, 1e-3]))
    assert found == pytest.approx(2 * 0.5**3, abs=0.01)


def test_no_split_is_no_evidence_and_no_chance_is_told_below_one_toss():
    assert split_chance(np.zeros(3, dtype=int), np.zeros(3, dtype=int), np.ones(3)) == 1.0
    sure = split_chance(np.array([400, 300]), np.array([0, 0]), np.array([0.1, 0.1]))
    assert sure == pytest.approx(1.0 / (1 + MOST_TOSSES))
