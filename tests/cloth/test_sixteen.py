"""Sixteen hits at once in single numbers: bit for bit what a plain lattice of the same numbers gives."""

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from flightsim.cloth import square_hits
from flightsim.cloth.closed_form import BALL_MASS
from flightsim.cloth.fabric import SIDES, Cloth
from flightsim.cloth.lattice import Lattice
from flightsim.cloth.mesh import cell_counts, make_mesh
from flightsim.cloth.square_hits import QUICK_MARGIN, strike

CLOTH = Cloth(width=1.5, height=1.2, cord_stiffness=200.0)
SPACING = 0.1
KINDS = {
    "corded": CLOTH,
    "held fast": replace(CLOTH, cord_stiffness=float("inf")),
    "free foot": replace(CLOTH, corded=frozenset(SIDES) - {"foot"}),
    "no shear stiffness": replace(CLOTH, shear_ratio=0.0),
    "stiff in shear": replace(CLOTH, shear_ratio=0.2, pretension=0.0),
}


def places_of(count: int, seed: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Speeds, m/s, and nodes (across, up) off the rim and the middle lines, so that no mirror takes part."""
    draw = np.random.default_rng(seed)
    columns, rows = cell_counts(CLOTH, SPACING)
    across, up = draw.integers(1, columns // 2, count), draw.integers(1, rows // 2, count)
    return draw.uniform(5.0, 90.0, count), across, up


def sunk_by_plain_steps(
    cloth: Cloth, speeds: np.ndarray, across: np.ndarray, up: np.ndarray, mirrors: tuple[bool, bool] = (False, False)
) -> np.ndarray:
    """How deep each ball is before its node turns back, m, by steps of a lattice of single numbers."""
    mesh, hit = make_mesh(cloth, SPACING, mirrors), (up, across, np.arange(speeds.size))
    lattice, mass = Lattice(mesh, speeds.size, single=True), BALL_MASS * 0.5 ** sum(mirrors)
    lattice.speed[2][hit] = speeds * mass / lattice.add_mass(hit, mass)
    depth, sinks = np.zeros(speeds.size), np.ones(speeds.size, dtype=bool)
    for _ in range(4000):
        lattice.advance(QUICK_MARGIN * lattice.longest_step())
        depth = np.where(sinks, np.maximum(depth, lattice.moved[2][hit]), depth)
        sinks &= lattice.speed[2][hit] >= 0.0
        if not sinks.any():
            return depth
    raise AssertionError("a ball still sinks")


@pytest.mark.parametrize("kind", KINDS)
def test_more_hits_than_sixteen_sink_to_the_bit_as_in_plain_steps(kind):
    speeds, across, up = places_of(21)
    cell = CLOTH.width / cell_counts(CLOTH, SPACING)[0], CLOTH.height / cell_counts(CLOTH, SPACING)[1]
    done = strike(KINDS[kind], speeds, across * cell[0], up * cell[1], spacing=SPACING, quick=True, to_deepest=True)
    assert np.array_equal(done.depth, sunk_by_plain_steps(KINDS[kind], speeds, across, up))
    assert (done.depth > 0.0).all()


@pytest.mark.parametrize("mirrors", [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "free foot"])
def test_hits_on_a_middle_line_sink_to_the_bit_as_in_plain_steps_of_a_part_of_the_cloth(kind, mirrors):
    speeds, across, up = places_of(17, seed=4)
    columns, rows = cell_counts(CLOTH, SPACING)
    across, up = (np.full(17, columns // 2) if mirrors[0] else across), (np.full(17, rows // 2) if mirrors[1] else up)
    hits = speeds, across * CLOTH.width / columns, up * CLOTH.height / rows
    done = strike(KINDS[kind], *hits, spacing=SPACING, quick=True, to_deepest=True)
    assert np.array_equal(done.depth, sunk_by_plain_steps(KINDS[kind], speeds, across, up, mirrors))


@pytest.mark.parametrize("kind", KINDS)
def test_a_hit_is_the_same_alone_and_in_any_company(kind):
    speeds, across, up = places_of(21, seed=2)
    together = strike(KINDS[kind], speeds, across * 0.1, up * 0.1, spacing=SPACING, quick=True)
    turned = strike(KINDS[kind], speeds[::-1], across[::-1] * 0.1, up[::-1] * 0.1, spacing=SPACING, quick=True)
    alone = [strike(KINDS[kind], speeds[k], across[k] * 0.1, up[k] * 0.1, spacing=SPACING, quick=True) for k in (0, 20)]
    for name in ("depth", "depth_time", "return_speed", "return_time", "edge_moved", "left"):
        found = getattr(together, name)
        assert np.array_equal(found, getattr(turned, name)[::-1], equal_nan=True), name
        assert np.array_equal(found[[0, 20]], [getattr(each, name)[0] for each in alone], equal_nan=True), name


@pytest.mark.parametrize("pretension", [0.0, 1.0, 50.0, 300.0])
def test_what_moves_too_little_to_be_seen_changes_no_bit_where_cords_hold_all_sides(monkeypatch, pretension):
    cloth, (speeds, across, up) = replace(CLOTH, pretension=pretension), places_of(18, seed=3)
    hits = speeds, np.append(across[1:] * 0.1, 0.75), up * 0.1
    quick = strike(cloth, *hits, spacing=0.05, quick=True)
    monkeypatch.setattr(square_hits, "STILL", 0.0)
    whole = strike(cloth, *hits, spacing=0.05, quick=True)
    for name in ("depth", "depth_time", "return_speed", "return_time", "edge_moved", "left"):
        assert np.array_equal(getattr(quick, name), getattr(whole, name), equal_nan=True), name


def test_no_hits_are_no_answers():
    assert strike(CLOTH, [], [], [], spacing=SPACING, quick=True).depth.shape == (0,)


UNCOMPILED = """
import sys

import numpy as np

from flightsim.cloth.fabric import Cloth
from flightsim.cloth.square_hits import strike

cloth = Cloth(width=0.6, height=0.5, cord_stiffness=200.0)
done = strike(cloth, [20.0, 60.0, 30.0], [0.1, 0.25, 0.3], [0.2, 0.1, 0.25], spacing=0.1, quick=True, to_deepest=True)
np.save(sys.argv[1], [done.depth, done.depth_time])
"""


def test_uncompiled_they_do_the_same(tmp_path):
    found = []
    for number in ("0", "1"):
        answer_file, environment = tmp_path / f"{number}.npy", {**os.environ, "NUMBA_DISABLE_JIT": number}
        subprocess.run([sys.executable, "-c", UNCOMPILED, str(answer_file)], check=True, env=environment)
        found.append(np.load(answer_file))
    assert np.array_equal(*found)
    assert (found[0] > 0.0).all()
