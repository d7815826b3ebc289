"""What faces are made of: one law each, numbers that a face can have, and what the shipped ones do."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.contact.facings import Facing, Foam, Plate, facing_from, shipped_facings
from flightsim.flight.ball import BALLS, LEGAL_BALL
from flightsim.flight.bounce import ball_restitution, foam_on_board, plate_share, turf_restitution

SPEEDS = np.array([0.0, 0.02, 1.0, 5.0, 14.9, 15.1, 30.0, 60.0, 100.0])
PLY = Plate(8e9, 0.012, 650.0)
LAWS = {"own": 0.9, "plate": PLY, "fixed": 0.3, "table": ((0.0, 0.5), (50.0, 0.1)), "turf": True}


def returned(facing, speeds=SPEEDS, ball=LEGAL_BALL):
    return facing.restitution(np.asarray(speeds, dtype=float), ball)


@pytest.mark.parametrize("law", LAWS)
def test_one_law_is_enough(law):
    e = returned(Facing("one", **{law: LAWS[law]}))
    assert e.shape == SPEEDS.shape
    assert ((e >= 0.0) & (e <= 1.0)).all()


def test_no_law_is_refused_by_the_facings_name():
    with pytest.raises(ValueError, match=r"facing bare: give one of own, plate, fixed, table and turf"):
        Facing("bare")


@pytest.mark.parametrize("first", LAWS)
@pytest.mark.parametrize("second", LAWS)
def test_two_laws_are_refused(first, second):
    if first == second:
        return
    with pytest.raises(ValueError, match="facing both: give one of"):
        Facing("both", **{first: LAWS[first], second: LAWS[second]})


@pytest.mark.parametrize("value", [1.0001, -0.001, float("nan"), float("inf")])
@pytest.mark.parametrize("key", ["own", "fixed", "tangential", "table"])
def test_a_restitution_below_nought_or_over_one_is_refused(key, value):
    given_ones = {key: ((0.0, 0.5), (9.0, value))} if key == "table" else {key: value}
    with pytest.raises(ValueError, match=r"facing odd: a (tangential )?restitution must lie between 0 and 1, found"):
        Facing("odd", **({"fixed": 0.5} if key == "tangential" else {}), **given_ones)


@pytest.mark.parametrize("key", ["own", "fixed"])
@pytest.mark.parametrize("value", [0.0, 1.0])
def test_nought_and_one_are_restitutions(key, value):
    assert getattr(Facing("edge", **{key: value}), key) == value


@pytest.mark.parametrize("value", [-1e-9, float("nan"), float("inf")])
@pytest.mark.parametrize("key", ["friction", "hold", "rolling"])
def test_numbers_below_nought_or_without_end_are_refused(key, value):
    with pytest.raises(ValueError, match="facing odd: its numbers must be finite, and none below nought"):
        Facing("odd", fixed=0.5, **{key: value})


@pytest.mark.parametrize("field", ["stiffness", "thickness", "density", "poisson"])
@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
def test_plates_that_cannot_be_are_refused(field, value):
    with pytest.raises(ValueError, match="facing odd"):
        Facing("odd", plate=replace(PLY, **{field: value}))


@pytest.mark.parametrize("foam", [Foam(-0.01, 1e5), Foam(0.05, -1.0), Foam(float("nan"), 1e5)])
def test_foam_that_cannot_be_is_refused(foam):
    with pytest.raises(ValueError, match="facing odd"):
        Facing("odd", own=1.0, foam=foam)


@pytest.mark.parametrize("key", ["damage", "broken"])
@pytest.mark.parametrize("value", [0.0, -2.0, float("nan")])
def test_a_face_that_breaks_at_no_energy_is_refused(key, value):
    with pytest.raises(ValueError, match="facing odd: damage and broken must be more than 0 J"):
        Facing("odd", fixed=0.5, **{key: value})


@pytest.mark.parametrize("table", [((10.0, 0.5), (5.0, 0.4)), ((5.0, 0.5), (5.0, 0.4))])
def test_a_table_whose_speeds_do_not_rise_is_refused(table):
    with pytest.raises(ValueError, match="facing odd: the speeds of its table must rise"):
        Facing("odd", table=table)


def test_a_table_of_negative_speeds_is_refused():
    with pytest.raises(ValueError, match="facing odd"):
        Facing("odd", table=((-1.0, 0.5), (5.0, 0.4)))


def test_a_table_is_straight_between_its_rows_and_level_beyond_them():
    facing = Facing("measured", table=((10.0, 0.5), (30.0, 0.3), (50.0, 0.2)))
    assert returned(facing, [0.0, 10.0, 20.0, 45.0, 90.0]) == pytest.approx([0.5, 0.5, 0.4, 0.225, 0.2])


def test_each_law_gives_its_own_restitution():
    own, mass = ball_restitution(SPEEDS), LEGAL_BALL.mass
    assert returned(Facing("a", own=0.9)) == pytest.approx(0.9 * own)
    assert returned(Facing("b", fixed=0.3)) == pytest.approx(np.full(SPEEDS.size, 0.3))
    assert returned(Facing("c", turf=True)) == pytest.approx(turf_restitution(SPEEDS))
    assert returned(Facing("d", plate=PLY)) == pytest.approx(own * plate_share(8e9, 0.012, 650.0, 0.3, mass))


def test_a_lighter_ball_keeps_more_on_a_plate_and_bottoms_foam_out_later():
    heavy, light = BALLS["legal"], BALLS["foam"]
    assert (returned(Facing("a", plate=PLY), ball=light) > returned(Facing("a", plate=PLY), ball=heavy)).all()
    foam = Facing("b", own=1.0, foam=Foam(0.05, 1.2e5))
    assert returned(foam, [30.0], light) == pytest.approx([0.35])
    assert returned(foam, [30.0], heavy) > 0.5


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(sorted(LAWS)), st.floats(0.0, 0.2), st.floats(1e4, 5e5), st.sampled_from(sorted(BALLS)))
def test_foam_lies_in_front_of_whatever_law_the_face_has(law, thickness, stress, ball):
    ball, foam = BALLS[ball], Foam(thickness, stress)
    board = returned(Facing("board", **{law: LAWS[law]}), ball=ball)
    padded = returned(Facing("padded", **{law: LAWS[law]}, foam=foam), ball=ball)
    capacity = stress * np.pi * (ball.diameter / 2) ** 2 * 0.7 * thickness
    assert padded == pytest.approx(foam_on_board(SPEEDS, ball.mass, capacity, board), rel=1e-12)
    assert (padded <= np.maximum(board, 0.35) + 1e-12).all()


def test_facings_are_read_from_words_of_a_data_file():
    found = facing_from("panel", {
        "plate": {"stiffness": 8e9, "thickness": 0.012, "density": 650.0},
        "foam": {"thickness": 0.02, "crush_stress": 1e5},
        "friction": 0.4, "broken": 150.0, "source": "a test",
    })  # fmt: skip
    assert found == Facing("panel", plate=PLY, foam=Foam(0.02, 1e5), friction=0.4, broken=150.0, source="a test")


def test_a_word_that_no_facing_has_is_refused_with_those_that_it_may_have():
    with pytest.raises(ValueError, match=r"facing panel: frction is unknown; known: .*friction.*turf"):
        facing_from("panel", {"fixed": 0.3, "frction": 0.4})


def test_the_name_is_no_word_of_a_facing():
    with pytest.raises(ValueError, match="facing panel: name is unknown"):
        facing_from("panel", {"name": "other", "fixed": 0.3})


@pytest.mark.parametrize("name", sorted(shipped_facings()))
def test_every_shipped_facing_has_a_source_and_returns_less_than_it_is_given(name):
    facing = shipped_facings()[name]
    assert facing.name == name
    assert facing.source
    assert ((returned(facing) >= 0.0) & (returned(facing) <= 0.9)).all()
    assert facing.damage <= facing.broken or facing.soft  # cloth is not marked by what it stops
    assert 0.0 <= facing.tangential <= 0.4  # range of [cross-2002]
    assert 0.0 < facing.rolling < 1.0


def test_only_cloth_and_nets_hold_a_ball_and_give_way():
    holding = {name for name, facing in shipped_facings().items() if facing.hold > 0.0}
    soft = {name for name, facing in shipped_facings().items() if facing.soft}
    assert holding == soft == {"cloth", "net", "curtain"}


def test_what_hits_hard_things_comes_back_faster_than_from_padding_and_from_cloth():
    at_40 = {name: float(returned(facing, [40.0])[0]) for name, facing in shipped_facings().items()}
    for hard, padded in (("steel", "foam on steel"), ("concrete", "foam"), ("plywood", "foam on plywood")):
        assert at_40[hard] > at_40[padded] > at_40["cloth"]
    assert at_40["thick plywood"] > at_40["plywood"] > at_40["gypsum"]


def test_where_nothing_is_said_friction_is_that_of_wood_and_walls_and_nothing_breaks():
    # [friction]: .35 for concrete, wood, gypsum (memory); e_t .2, range 0-.4.
    plain = Facing("plain", fixed=0.5)
    assert (plain.friction, plain.tangential) == (0.35, 0.2)
    assert (plain.damage, plain.broken, plain.hold) == (np.inf, np.inf, 0.0)
