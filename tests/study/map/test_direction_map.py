"""Cells of launch directions, shares, ways out, envelopes and aims."""

import json
from dataclasses import replace

import numpy as np
import pytest
from aimed import aim_at, around, open_box, shooter
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay
from flightsim.bay.shapes import Box
from flightsim.errors import BadInputError
from flightsim.study.map.bay_map import MapOrder, map_bay
from flightsim.study.map.direction_cells import POINTS, cut_cells, make_lattice
from flightsim.study.map.direction_map import direction_map
from flightsim.study.map.directions import aims_of, angles, apart, chosen, unit
from flightsim.study.map.envelope import envelope, inside
from flightsim.study.map.map_files import map_facts
from flightsim.study.map.shooting import Meets
from flightsim.study.run.open_bay import open_bay

SHED = """name: Shed
room: {length: 6.2 m, width: 3.4 m, roof: {kind: flat, height: 2.7 m}}
tee: {from_end_wall: 3.7 m, from_left_wall: 1.65 m}
ceiling:
  pads: [{name: pad, from_end_wall: 600 mm, from_left_wall: 300 mm, length: 1.2 m, width: 2.8 m, thickness: 50 mm}]
  baffles: [{name: screen, from_end_wall: 500 mm, from_left_wall: 200 mm, width: 3 m, drop: 2.65 m}]
"""  # a hanging cloth stands for a screen: how far it gives is not worked out
COARSE = MapOrder((), (1.0,), 10.0, 1, 400)


@pytest.fixture(scope="module")
def shed(tmp_path_factory):
    path = tmp_path_factory.mktemp("shed") / "shed.yaml"
    path.write_text(SHED + "launches: {use: [mid_iron, wedge]}\n")
    return open_bay(path)


@pytest.fixture(scope="module")
def maps(shed):
    return map_bay(shed, replace(COARSE, clubs=("wedge",)))


@given(st.integers(0, 1000), st.integers(0, 3))
@settings(max_examples=20, deadline=None)
def test_cells_fill_the_sphere_once(seed, levels):
    rng = np.random.default_rng(seed)
    middle = unit(rng.uniform(-1.5, 1.5), rng.uniform(-3, 3))[:, None]
    cells = cut_cells(make_lattice(15.0, levels), lambda el, az: (apart(unit(el, az), middle) < 0.6).astype(int))
    assert cells.share.sum() == pytest.approx(1.0, abs=1e-12)
    found, least, most = cells.share_of(cells.code == 1)
    assert least <= found <= most
    assert least <= (1.0 - np.cos(0.6)) / 2.0 <= most  # a cap of 0.6 rad


def test_a_cell_is_cut_where_its_points_differ_and_nowhere_else():
    cells = cut_cells(make_lattice(15.0, 3), lambda el, az: (el > 0.4).astype(int))
    smallest = cells.size == cells.size.min()
    assert cells.mixed.any()
    assert smallest[cells.mixed].all()
    low = cells.lattice.elevation(cells.row[cells.size == cells.size.max()])
    assert (np.abs(low - 0.4) > 0.0).all()


def test_no_place_is_looked_at_twice():
    asked = []

    def look(el, az):
        asked.append(np.round(np.degrees([el, az]), 6).T)
        return (el + az > 0.3).astype(int)

    cut_cells(make_lattice(20.0, 2), look)
    places = np.concatenate(asked)
    assert len(np.unique(places, axis=0)) == len(places)


def test_shares_of_regions_add_to_1_and_lie_within_their_bounds(maps):
    for club in maps.clubs:
        rows = club.map.by_region()
        assert sum(row.share.found for row in rows) == pytest.approx(1.0, abs=1e-9)
        assert sum(row.reach.found for row in rows) == pytest.approx(club.map.reached, abs=1e-9)
        for row in rows:
            for share in (row.share, row.first, row.open, row.reach, row.reach_open):
                assert 0.0 <= share.least <= share.found + 1e-12
                assert share.found <= share.most + 1e-12
            assert row.first.found <= row.open.found + 1e-12 <= row.share.found + 2e-12


def test_what_gets_out_in_its_first_flight_met_no_guard(maps):
    found = maps.clubs[0].map
    met = found.shooter.meets[found.region]
    assert not (found.first & np.isin(met, (Meets.GUARD, Meets.FLOOR))).any()
    assert (found.open | ~found.first).all()


def mirrored(bay: Bay) -> Bay:
    flip = np.array([1.0, -1.0, 1.0])

    def over(shape: Box) -> Box:
        return Box(shape.centre * flip, shape.axes * flip, shape.half, shape.corner_radius)

    parts = tuple(replace(part, shape=over(part.shape)) for part in bay.parts)
    return Bay(parts, (), bay.lower, bay.upper)


def test_a_bay_mirrored_left_to_right_has_the_mirrored_map():
    bay = open_box(
        ("screen", (3, -1, 0), (0, 2.5, 0), (0, 0, 2)), ("net", (1, 1.6, 0), (2, 0.3, 0), (0, 0, 1.8)), floor=True
    )
    aim, lattice = aim_at(15.0, 0.0), make_lattice(6.0, 2)
    one = direction_map(shooter(bay, aim), aim, 1.0, lattice)
    other = direction_map(shooter(mirrored(bay), aim), aim, 1.0, lattice)
    for a, b in zip(one.by_region(), other.by_region(), strict=True):
        assert a.region == b.region
        assert a.share.found == pytest.approx(b.share.found, abs=1e-12)
        assert a.open.found == pytest.approx(b.open.found, abs=0.01)  # followed from other cells' middles
    wide = lattice.shape[1]
    place = {(r, c, s): k for k, (r, c, s) in enumerate(zip(other.cells.row, other.cells.column, other.cells.size,
                                                            strict=True))}  # fmt: skip
    here = zip(one.cells.row, one.cells.column, one.cells.size, strict=True)
    there = [place[(r, wide - c - s, s)] for r, c, s in here]
    assert (one.region[0] == other.region[0][there]).all()


def test_the_envelope_holds_every_launch_drawn_and_is_wider(shed):
    lattice = make_lattice()
    for aim in aims_of(shed, 300):
        reached = envelope(aim, lattice)
        el, az = angles(aim.drawn)
        row = np.minimum(((el + np.pi / 2) / lattice.step).astype(int), lattice.rows - 1)
        column = ((az + np.pi) / lattice.step).astype(int) % (2 * lattice.rows)
        assert reached[row, column].all()
        assert reached.sum() > len(np.unique(row * 2 * lattice.rows + column))
        cells = cut_cells(lattice, lambda el, az: np.zeros(el.size, dtype=int), reached)
        assert inside(cells, reached).sum() == 4 * reached.sum()


def test_every_kind_of_strike_is_drawn_alike_in_the_envelope(shed):
    aim = next(aim for aim in aims_of(shed, 200) if aim.club == "wedge")
    assert aim.drawn.shape[1] == 200 * len(aim.strikes)
    assert "shank" in aim.strikes


def test_the_normal_shot_is_the_mean_of_the_clean_strike(shed):
    aim = next(aim for aim in aims_of(shed, 1000) if aim.club == "wedge")
    assert shed.plan.types[aim.kind].strike == "clean"
    assert 30.0 < aim.ball_speed < 38.0
    assert 24.0 < np.degrees(aim.elevation) < 32.0


def test_each_club_spot_and_hand_is_an_aim_of_its_own():
    from pathlib import Path

    scenarios = Path(__file__).parents[3] / "scenarios"
    hall = aims_of(open_bay(scenarios / "village_hall.yaml"), 8)
    assert {(aim.club, aim.spot) for aim in hall} == {
        (club, spot) for club in ("driver", "mid iron", "wedge") for spot in ("right-hand tee", "forward tee")
    }
    lean_to = aims_of(open_bay(scenarios / "lean_to.yaml"), 8)
    assert len(lean_to) == 8  # two players, four clubs
    assert {aim.hand for aim in lean_to} == {"left"}


def test_a_grid_has_an_envelope_of_its_own_directions(tmp_path):
    path = tmp_path / "grid.yaml"
    grid = "{ball_speed: 40 m/s, elevation: {from: 5 deg, to: 25 deg, steps: 5}, azimuth: 0 deg, spin_rate: 3000 rpm}"
    path.write_text(SHED + f"launches: {{grid: {grid}}}\n")
    (aim,) = aims_of(open_bay(path))
    assert np.degrees(aim.elevation) == pytest.approx(15.0)
    assert aim.drawn.shape[1] == 5


@pytest.mark.parametrize("name", ["wedge", "Wedge", "mid_iron"])
def test_a_club_is_found_by_its_name(shed, name):
    assert len(chosen(aims_of(shed, 8), (name,))) == 1


def test_an_unknown_club_is_refused_with_a_near_one(shed):
    with pytest.raises(BadInputError, match="try: clubs='wedge'"):
        chosen(aims_of(shed, 8), ("wegde",))


def test_the_normal_shot_meets_the_screen_and_the_escapes_are_flown_both_ways(maps):
    (club,) = maps.clubs
    assert club.normal.meets == "screen"
    assert club.escapes
    ways = set()
    for escape in club.escapes:
        assert escape.shot.gets_out
        assert escape.shot.way is escape.way
        if escape.factor == 1.0:
            edge = escape.closer is None or not escape.closer.gets_out
            assert edge or escape.way not in ways
            ways.add(escape.way)
    nearest = next(escape for escape in club.escapes if escape.factor == 1.0)
    assert nearest.closer is not None
    assert not nearest.closer.gets_out


def test_map_json_is_plain_data_and_says_what_is_not_shown(maps):
    facts = json.loads(json.dumps(map_facts(maps), allow_nan=False))
    assert "meets a guard first" in facts["what_is_not_shown"]
    (club,) = facts["maps"]
    shares = [row["share"]["found"] for row in club["regions"]]
    assert sum(shares) == pytest.approx(1.0)
    assert club["envelope"]["nothing_open"] is False
    shown = club["envelope"]["shown"]
    parts = ("closed", "guard_or_floor_first", "bare", "undecided")
    assert sum(shown[part] for part in parts) == pytest.approx(1.0)


def test_a_slower_map_is_told_apart_and_has_no_other_speeds_beside_it(shed):
    found = map_bay(shed, replace(COARSE, clubs=("wedge",), factors=(0.7,)))
    (club,) = found.clubs
    assert club.map.shooter.ball_speed == pytest.approx(0.7 * club.aim.ball_speed)
    assert {escape.factor for escape in club.escapes} <= {1.0}


def test_people_are_whose_turn_it_is(shed):
    from flightsim.study.map.bay_map import shooter_of

    first_shooter = shooter_of(shed, shed.surroundings(), aims_of(shed, 8)[0])
    zones = shed.bay.zones
    assert [own for own, zone in zip(first_shooter.own, zones, strict=True) if zone.own_hand == "left"] == [
        False
    ] * sum(zone.own_hand == "left" for zone in zones)
    assert first_shooter.own.any()


def test_the_middle_of_a_cell_comes_first_of_its_points():
    cells = cut_cells(make_lattice(30.0, 0), lambda el, az: np.round(np.degrees(el) + 90).astype(int))
    assert cells.code.shape == (POINTS, len(cells))
    assert (cells.code[0] == np.round(np.degrees(cells.middle[0]) + 90).astype(int)).all()


def test_a_ball_too_slow_to_do_harm_gets_past_nothing():
    aim = replace(aim_at(), ball_speed=3.0)
    slow = shooter(open_box(), aim)
    first = slow.first(np.array([0.1]), np.array([0.0]))
    assert not slow.at_once(first)[0]
    fast = replace(slow, ball_speed=30.0)
    assert fast.at_once(fast.first(np.array([0.1]), np.array([0.0])))[0]
    assert around(open_box()).harm_speed == 5.0
