"""The table of one cloth: true to the lattice between its points, symmetric, made once, and wide in its band."""

from dataclasses import replace

import numpy as np
import pytest

from flightsim.cloth import ball_in_cloth
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.gap import BALL_RADIUS, recommended_gap
from flightsim.cloth.square_hits import strike
from flightsim.cloth.table import depth_band, depth_table, table_spacing

SMALL = Cloth(width=2.0, height=1.6, shear_ratio=0.02, stiffness=50e3)


def test_a_table_is_the_lattice_at_its_own_points():
    table = depth_table(SMALL)
    hit = 40.0, table.across[2], table.up[2]
    done = strike(SMALL, *hit, spacing=table_spacing(SMALL), quick=True)
    assert table.depth(*hit) == pytest.approx(done.depth[0], rel=1e-6)
    assert table.edge_moved(*hit) == pytest.approx(done.edge_moved[0], rel=1e-6)
    assert table.restitution(*hit) == pytest.approx(done.return_speed[0] / 40.0, rel=1e-6)


# How near a table is to the lattice on the finest mesh used here, at places and speeds that are none of its own: in the
# mean and as a root of the mean square. Single hits differ by some hundredths from one step of time to another. The
# heavy cloth's table sends back 6.3 % more in the mean.
@pytest.mark.slow
@pytest.mark.parametrize(
    "cloth", [Cloth(), Cloth(areal_mass=0.6), Cloth(width=2.5, height=1.8)], ids=["usual", "heavy", "small"]
)
def test_a_table_is_near_a_mesh_more_than_twice_as_fine_at_any_speed_and_place(cloth):
    draw = np.random.default_rng(5)
    speed, n = np.exp(draw.uniform(np.log(10.0), np.log(80.0), 60)), 72
    across, up = (draw.integers(6, n - 5, 60) * side / n for side in (cloth.width, cloth.height))
    fine = strike(cloth, speed, across, up, spacing=cloth.height / n, quick=True)
    table = depth_table(cloth)
    for read, lattice, mean, square in (
        (table.depth, fine.depth, 0.05, 0.08),
        (table.restitution, fine.return_speed / speed, 0.07, 0.16),  # of 60 hits the mean itself is known to .02
    ):
        off = read(speed, across, up) / lattice - 1.0
        assert abs(off.mean()) < mean
        assert np.sqrt((off**2).mean()) < square


def test_what_is_read_between_hits_lies_between_them():
    table = depth_table(SMALL)
    for read, worked in ((table.restitution, table.restitutions), (table.depth, table.depths)):
        found = read(np.linspace(10.0, 80.0, 31)[:, None, None], *np.meshgrid(table.across, table.up))
        assert worked.min() * (1.0 - 1e-9) <= found.min()
        assert found.max() <= worked.max() * (1.0 + 1e-9)
        worked_at = worked[::2, ::2, ::2]  # hits: all others were read between two of them
        assert worked.max() == pytest.approx(worked_at.max())
        assert worked.min() == pytest.approx(worked_at.min())


def test_between_its_points_a_table_is_the_lattice_within_a_tenth():
    # Half of these are no points of the table; judgement: a tenth is little beside the band's x0.6-1.6.
    speed, across, up = [20.0, 50.0, 70.0], [0.5, 0.7, 1.1], [0.5, 0.8, 0.55]
    fine = strike(SMALL, speed, across, up, spacing=0.05)
    assert depth_table(SMALL).depth(speed, across, up) == pytest.approx(fine.depth, rel=0.15)


def test_a_table_is_the_same_from_both_sides():
    table = depth_table(SMALL)
    across, up = np.meshgrid(np.linspace(0.0, 2.0, 9), np.linspace(0.0, 1.6, 9))
    for read in (table.depth, table.restitution, table.edge_moved):
        assert read(50.0, across, up) == pytest.approx(read(50.0, 2.0 - across, 1.6 - up), rel=1e-9)


def test_a_table_to_the_deepest_has_the_same_depths_and_tells_neither_returns_nor_edges():
    whole, short = depth_table(SMALL), depth_table(SMALL, to_deepest=True)
    assert np.array_equal(whole.depths, short.depths)
    assert np.isnan(short.edges).all()
    assert np.isnan(short.restitutions).all()
    assert np.isfinite(whole.edges).all()
    assert (whole.restitutions > 0.0).all()


def test_near_a_hit_that_was_not_over_a_table_and_its_gap_have_no_numbers(monkeypatch):
    monkeypatch.setattr(ball_in_cloth, "LONGEST", 0.05)
    slow = replace(SMALL, pretension=1.0, cord_stiffness=20.0)
    table = depth_table(slow)
    unknown = np.isnan(table.restitutions)
    assert unknown.any()
    speed, across, up = (each[unknown][0] for each in np.meshgrid(table.speeds, table.across, table.up, indexing="ij"))
    assert np.isnan(table.restitution(1.01 * speed, across, up))
    assert np.isnan(table.edge_moved(speed, across, up))
    monkeypatch.setattr(ball_in_cloth, "LONGEST", 0.001)
    assert np.isnan(recommended_gap(replace(slow, pretension=2.0), 60.0).far)


def test_a_table_is_worked_out_once():
    assert depth_table(SMALL) is depth_table(replace(SMALL))


def test_a_free_foot_makes_a_table_of_its_own_below():
    table = depth_table(replace(SMALL, corded=frozenset({"left", "right", "top"})))
    assert table.depth(50.0, 1.0, 0.2) > 1.1 * table.depth(50.0, 1.0, 1.4)


def test_restitution_stays_between_nothing_and_all():
    returned = depth_table(SMALL).restitution([0.1, 5.0, 90.0, 200.0], 0.0, 0.0)
    assert np.all((returned >= 0.0) & (returned < 1.0))


def test_a_speed_that_is_none_is_refused():
    with pytest.raises(ValueError, match="above 0 m/s"):
        depth_table(SMALL).depth([10.0, 0.0], 1.0, 0.8)


def test_a_band_at_a_known_shear_runs_from_six_tenths_to_one_and_six_tenths():
    band = depth_band(SMALL, 60.0, 1.0, 0.8, shear_known=True)
    assert [band.near / band.centre, band.far / band.centre] == pytest.approx([0.6, 1.6])


def test_a_band_of_an_unknown_weave_reaches_a_cloth_without_shear_stiffness():
    known, unknown = (depth_band(SMALL, 60.0, 1.0, 0.8, shear_known=each) for each in (True, False))
    slack = depth_table(replace(SMALL, shear_ratio=0.0)).depth(60.0, 1.0, 0.8)
    assert unknown.far >= max(slack, known.far)
    assert unknown.near <= known.near
    assert unknown.centre == known.centre


def test_a_gap_is_the_depth_and_a_ball_and_most_where_the_cloth_sinks_deepest():
    middle = recommended_gap(SMALL, 60.0, (1.0, 0.8), shear_known=True)
    anywhere = recommended_gap(SMALL, 60.0, shear_known=True)
    assert middle.centre == pytest.approx(float(depth_table(SMALL).depth(60.0, 1.0, 0.8)) + BALL_RADIUS)
    assert middle.near < middle.centre < middle.far
    assert anywhere.centre > middle.centre
    assert recommended_gap(SMALL, 60.0).far >= anywhere.far


def test_gaps_for_faster_balls_are_wider():
    gaps = [recommended_gap(SMALL, speed, shear_known=True).far for speed in (10.0, 30.0, 50.0, 70.0, 90.0, 120.0)]
    assert np.all(np.diff(gaps) > 0.0)


@pytest.mark.parametrize(
    ("speed", "place", "words"),
    [(0.0, None, "a ball of 0 m/s"), (-70.0, None, "-70 m/s"), (60.0, (2.1, 0.8), "misses the cloth")],
)
def test_gaps_for_nonsense_are_refused(speed, place, words):
    with pytest.raises(ValueError) as refused:
        recommended_gap(SMALL, speed, place)
    assert words in str(refused.value)


def test_a_long_strip_keeps_a_small_mesh():
    strip = Cloth(width=20.0, height=1.0)
    assert 20.0 * 1.0 / table_spacing(strip) ** 2 < 2100
    assert table_spacing(strip) <= 1.0 / 6.0 + 1e-12
