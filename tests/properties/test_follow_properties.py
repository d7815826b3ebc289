"""What holds for every ball in every bay, from its launch to its end."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from bays import RPM, Followed, around, follow, garage, vector, wild_launches
from hypothesis import given, settings
from hypothesis import strategies as st
from random_bays import LOWER, UPPER, R, flipped_bay, random_launches, thin_sheets, walled

from flightsim.bay.parts import Bay, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import block
from flightsim.contact.facings import Facing
from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.engine.follow import first_contacts
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.shots.shot_table import ShotType
from flightsim.study.run.rates import ESCAPE, make_rates

SEEDS = st.integers(0, 1_000_000)
FEW = settings(max_examples=2, deadline=None)  # whole runs take their time: many more among the slow tests
MANY = settings(max_examples=100, deadline=None)
TURNING = LEGAL_BALL.inertia_factor * LEGAL_BALL.radius**2
G = 9.80665
AIR = Physics()


def scene(seed: int, n: int = 30, closed: bool = True) -> tuple[Bay, Launches]:
    """A random room, with shots in it."""
    rng = np.random.default_rng(seed)
    bay, loose = walled(rng, closed)
    return bay, random_launches(rng, loose, n)


def energy(velocity: np.ndarray, spin: np.ndarray, height: np.ndarray) -> np.ndarray:
    """Of a ball, per mass, J/kg: of its flight, its turning and its height."""
    return 0.5 * (velocity**2).sum(axis=0) + 0.5 * TURNING * (spin**2).sum(axis=0) + G * height


def same_fates(one: Fates, other: Fates, chosen: np.ndarray | slice = slice(None), but: tuple[str, ...] = ()) -> None:
    """Every column bit for bit."""
    for column in fields(Fates):
        if column.name not in but:
            first, second = getattr(one, column.name)[..., chosen], getattr(other, column.name)[..., chosen]
            assert np.array_equal(first, second, equal_nan=first.dtype.kind == "f"), column.name


# Energy


@settings(max_examples=4, deadline=None)
@given(seed=SEEDS)
def test_energy_never_rises_from_touch_to_touch_over_a_whole_run(seed: int) -> None:
    """Flight, turning and height together. Air only takes: lift is square to the path and gives nothing."""
    bay, launches = scene(seed)
    log = follow(bay, launches, AIR).contacts
    came = energy(log.arriving, log.spin, log.point[2])
    left = energy(log.leaving, log.leaving_spin, log.left[2])  # where it leaves: cloth may have carried it up
    started = energy(launches.velocity, launches.spin, launches.start[2])
    first = np.diff(log.shot, prepend=-1) != 0
    before = np.where(first, started[log.shot], np.roll(left, 1))
    # An arc is good to 1e-6 m: in its shortest use, 1e-4 s, to about 1e-2 m/s in principle, in fact to far less.
    assert (came <= before * (1.0 + 1e-6) + 1e-5).all()
    gone = np.isnan(left)
    # A face only takes; a ball that begins to roll is lifted by half a micrometre.
    assert (left <= came * (1.0 + 1e-9) + 1e-5)[~gone].all()
    assert not gone[np.flatnonzero(~first) - 1].any()  # what went through touches nothing afterwards


# Symmetry


@FEW
@given(seed=SEEDS)
def test_a_mirrored_or_half_turned_bay_gives_the_same_fates_to_the_last_bit(seed: int) -> None:
    """Velocities turn round as true vectors, spins as axial ones."""
    signs = ((1, -1, 1), (-1, 1, 1), (-1, -1, 1))[seed % 3]
    bay, launches = scene(seed)
    flip = np.array(signs, dtype=float)
    axial = flip * flip.prod()
    other = Launches(launches.start * flip[:, None], launches.velocity * flip[:, None], launches.spin * axial[:, None])
    as_it_is, flipped = follow(bay, launches, AIR), follow(flipped_bay(bay, flip), other, AIR)
    same_fates(as_it_is.fates, flipped.fates, but=("point", *(() if flip[0] > 0 else ("behind_tee",))))
    assert np.array_equal(as_it_is.fates.point * flip[:, None], flipped.fates.point, equal_nan=True)
    assert np.array_equal(as_it_is.contacts.part, flipped.contacts.part)
    assert np.array_equal(as_it_is.contacts.leaving_spin * axial[:, None], flipped.contacts.leaving_spin)


def turned_a_quarter(bay: Bay) -> Bay:
    """x becomes y, and y becomes -x. Only for boxes."""
    turn = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])

    def shape(box):
        return replace(box, centre=turn @ box.centre, axes=box.axes @ turn.T)

    corners = np.stack([turn @ bay.lower, turn @ bay.upper])
    return Bay(
        tuple(replace(one, shape=shape(one.shape)) for one in bay.parts), (), corners.min(axis=0), corners.max(axis=0)
    )


@FEW
@given(seed=SEEDS)
def test_a_bay_turned_by_a_quarter_gives_the_same_fates_as_far_as_rounding_lets_one_say(seed: int) -> None:
    """Off edges and corners rounding grows from touch to touch, so the later touches of a few balls differ."""
    rng = np.random.default_rng(seed)
    bay = thin_sheets(rng)
    launches = random_launches(rng, bay, 30)
    turn = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])
    other = Launches(*(turn @ column for column in (launches.start, launches.velocity, launches.spin)))
    as_it_is, turned = follow(bay, launches, AIR), follow(turned_a_quarter(bay), other, AIR)
    early, late = (np.flatnonzero(run.contacts.number < 3) for run in (as_it_is, turned))
    agree = np.abs(turn @ as_it_is.contacts.point[:, early] - turned.contacts.point[:, late]).max(axis=0) < 1e-5
    assert early.size == late.size
    assert agree.mean() > 0.99
    assert (as_it_is.fates.flags == turned.fates.flags).all(axis=0).mean() > 0.9


# No tunnelling


@FEW
@given(seed=SEEDS)
def test_no_ball_of_90_m_s_is_ever_outside_a_closed_room_however_often_it_bounces(seed: int) -> None:
    """Through sheets as thin as nothing, at any angle, to the last touch."""
    rng = np.random.default_rng(seed)
    bay = thin_sheets(rng)
    launches = random_launches(rng, bay, 20)
    fast = launches.velocity / np.linalg.norm(launches.velocity, axis=0) * 90.0
    hard = around(bay, test=Facing("test", fixed=0.75, friction=0.4, damage=1e9))
    ended = follow(hard, Launches(launches.start, fast, launches.spin), AIR)
    log = ended.contacts
    points = np.concatenate([log.point, ended.fates.point], axis=1)
    assert (points >= LOWER[:, None] + R - 1e-4).all()
    assert (points <= UPPER[:, None] - R + 1e-4).all()
    assert not ended.fates.flags.any()
    assert (ended.fates.contacts >= 5).mean() > 0.8
    assert ((log.arriving * log.normal).sum(axis=0) <= 1e-9).all()
    assert ((log.leaving * log.normal).sum(axis=0) >= -1e-9).all()  # each leaves to the side that it came from
    assert (np.diff(log.time)[np.diff(log.shot) == 0] >= 0.0).all()


# When a ball can do no more harm


@FEW
@given(seed=SEEDS)
def test_balls_followed_until_they_lie_still_carry_the_flags_of_those_followed_until_harmless(seed: int) -> None:
    bay, launches = scene(seed)
    short, long = follow(bay, launches, AIR), follow(bay, launches, AIR, to_rest=True)
    for flag in Flag:
        assert np.array_equal(short.fates.worst[flag], long.fates.worst[flag], equal_nan=True), flag
        assert np.array_equal(short.fates.place[flag], long.fates.place[flag]), flag
    assert np.array_equal(short.fates.came_from, long.fates.came_from)
    assert (short.fates.contacts <= long.fates.contacts).all()


@FEW
@given(seed=SEEDS)
def test_a_balls_fate_hangs_on_no_other_ball(seed: int) -> None:
    bay, launches = scene(seed)
    n = len(launches)
    cut = 1 + seed % (n - 1)
    own = np.tile(np.arange(n) % 2 == 0, (len(bay.zones), 1))
    whole = follow(bay, launches, AIR, own=own)
    order = np.random.default_rng(seed).permutation(n)
    mixed = follow(bay, launches.take(order), AIR, own=own[:, order])
    same_fates(whole.fates, _back(mixed.fates, order))
    left, right = (follow(bay, launches.take(s), AIR, own=own[:, s]) for s in (np.arange(cut), np.arange(cut, n)))
    for column in fields(Fates):
        pieces = np.concatenate([getattr(run.fates, column.name) for run in (left, right)], axis=-1)
        both = getattr(whole.fates, column.name)
        assert np.array_equal(pieces, both, equal_nan=both.dtype.kind == "f"), column.name


def _back(fates: Fates, order: np.ndarray) -> Fates:
    back = np.argsort(order)
    return Fates(*(getattr(fates, column.name)[..., back] for column in fields(Fates)))


@FEW
@given(seed=SEEDS)
def test_the_order_of_parts_changes_no_fate(seed: int) -> None:
    bay, launches = scene(seed)
    other = Bay(bay.parts[::-1], (), bay.lower, bay.upper, bay.zones)
    one, two = follow(bay, launches, AIR), follow(other, launches, AIR)
    same_fates(one.fates, two.fates, but=("place", "came_from", "zone_from"))
    names, others = ([*(p.name for p in in_order.parts), ""] for in_order in (bay, other))
    for flag in (Flag.BROKE_THROUGH, Flag.PAST_EDGE, Flag.STRUCK_THROUGH, Flag.HIT_UNPROTECTED):
        assert [names[k] for k in one.fates.place[flag]] == [others[k] for k in two.fates.place[flag]]


@FEW
@given(seed=SEEDS)
def test_balls_that_are_followed_meet_first_what_first_contacts_says(seed: int) -> None:
    bay, launches = scene(seed, closed=False)
    first = first_contacts(AIR, launches, bay, ())
    followed = follow(bay, launches, AIR).first
    assert np.array_equal(followed.part, first.part)
    assert np.array_equal(followed.opening, first.opening)
    np.testing.assert_allclose(followed.point, first.point, rtol=0, atol=1e-9)


# What is said of a ball


@MANY
@given(seed=SEEDS)
def test_no_label_and_no_rate_calls_a_ball_held_or_slow_that_has_a_flag(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = 60
    fates = Fates.empty(n)
    for flag in Flag:
        balls = np.flatnonzero(rng.random(n) < rng.choice([0.0, 0.05, 0.5]))
        fates.note(flag, balls, rng.choice([0.0, 5.0, 40.0, 90.0], balls.size), np.zeros(balls.size, dtype=np.intp))
    fates.kept[:], fates.rests[:] = rng.random((2, n)) < 0.5
    outcome = fates.outcomes()
    flagged = ~np.isnan(fates.worst).all(axis=0)
    assert np.array_equal(fates.escaped, flagged)
    for ball in range(n):
        label = Outcome(outcome[ball])
        assert label.escape == flagged[ball]
        if flagged[ball]:
            assert label.key == min(flag for flag in Flag if not np.isnan(fates.worst[flag, ball])).key
        else:
            assert label is (Outcome.HELD if fates.kept[ball] else Outcome.ROLLED_DEAD)
    kinds = (ShotType("a", "a", "clean", "tee", 0.5), ShotType("b", "b", "clean", "tee", 0.5))
    rates = make_rates(fates.flags, outcome, np.arange(n) % 2, kinds, True).total
    assert rates[ESCAPE].count == flagged.sum()
    assert rates["held"].count + rates["rolled_dead"].count == n - flagged.sum()


@FEW
@given(seed=SEEDS)
def test_flags_tell_what_the_contacts_say(seed: int) -> None:
    """Held against a second reading of the flags, from the list of contacts alone."""
    bay, launches = scene(seed)
    made = around(bay)
    ended = follow(made, launches, AIR)
    log = ended.contacts
    square = -(log.arriving * log.normal).sum(axis=0)
    joules = 0.5 * LEGAL_BALL.mass * square**2
    speed = np.linalg.norm(log.arriving, axis=0)
    bare = np.array([one.role is Role.UNPROTECTED for one in bay.parts])[log.part]
    damage = np.array(made.damage)[log.part]
    broken = np.array([facing.broken for facing in made.facings])[log.part]
    hard = np.full(len(launches), np.nan)
    np.fmax.at(hard, log.shot[bare & (joules >= damage)], speed[bare & (joules >= damage)])
    np.testing.assert_allclose(ended.fates.worst[Flag.HIT_UNPROTECTED], hard, rtol=1e-12)
    assert np.array_equal(np.unique(log.shot[joules >= broken]), np.flatnonzero(ended.fates.flags[Flag.BROKE_THROUGH]))
    assert np.array_equal(np.bincount(log.shot, minlength=len(launches)), ended.fates.contacts)
    assert (ended.fates.worst[Flag.PERSON_HIT][ended.fates.flags[Flag.PERSON_HIT]] >= 5.0).all()


# What must get worse, and what better


BALLS = wild_launches(70, seed=11)
HITTER = Zone("hitter", "hitter", block(vector(-0.9, 0.2, 0), vector(0.3, 1.2, 1.8)), "test", own_spot="tee",
              own_hand="right")  # fmt: skip


def made_of(guards: str | None, others: str = "brick", walls: bool = True) -> Followed:
    """The garage with its guards of one facing, or none, and everything else of another."""
    bay = garage()
    parts = [replace(one, facing=guards if one.role is Role.GUARD else others) for one in bay.parts
             if (one.role is not Role.GUARD or guards)]  # fmt: skip
    made = Bay(tuple(parts) if walls else (), bay.openings, bay.lower, bay.upper, (HITTER,))
    return follow(made, BALLS, AIR)


@pytest.fixture(scope="module")
def bays() -> dict[str, Followed]:
    return {
        "nothing": made_of(None, walls=False), "no guards": made_of(None), "cloth": made_of("cloth"),
        "all soft": made_of("cloth", "cloth"), "all padded": made_of("foam on steel", "foam on steel"),
        "all steel": made_of("steel", "steel"),
    }  # fmt: skip


def test_where_there_is_nothing_every_ball_gets_out_and_none_is_held(bays) -> None:
    # Nothing can slow a ball but the air, or the slab that is not there: all leave, and as fast as that lets them.
    fates = bays["nothing"].fates
    assert (fates.contacts == 0).all()
    assert not fates.flags[Flag.UNRESOLVED].any()
    fast = np.linalg.norm(BALLS.velocity, axis=0) > 12.0
    assert fates.flags[Flag.GOT_OUT, fast].all()
    assert Outcome.HELD not in bays["nothing"].outcomes


def test_without_guards_no_ball_is_held_and_those_that_touched_none_fare_as_before(bays) -> None:
    # Held is what a guard did; and a guard that a ball never touched was not there for it, to the last bit.
    with_them, without = bays["cloth"], bays["no guards"]
    assert Outcome.HELD not in without.outcomes
    assert Outcome.HELD in with_them.outcomes
    spared = ~with_them.fates.touched.any(axis=0)
    assert 5 < spared.sum() < 65
    same_fates(with_them.fates, without.fates, spared, but=("place", "came_from", "zone_from"))
    assert without.fates.escaped.sum() > with_them.fates.escaped.sum()
    assert without.fates.flags[Flag.HIT_UNPROTECTED].sum() > with_them.fates.flags[Flag.HIT_UNPROTECTED].sum()


def test_the_harder_the_faces_the_more_comes_back_at_the_hitter(bays) -> None:
    # Restitution off bare steel is at least that of foam on it at every speed, and off cloth less than of either: so
    # the first touch sends every ball back at least as fast, and more of them reach the hitter at 5 m/s.
    soft, padded, bare = (bays[name] for name in ("all soft", "all padded", "all steel"))
    hits = [run.fates.flags[Flag.PERSON_HIT].sum() for run in (soft, padded, bare)]
    assert hits[0] < hits[1] <= hits[2]
    assert bays["no guards"].fates.flags[Flag.PERSON_HIT].sum() > bays["cloth"].fates.flags[Flag.PERSON_HIT].sum()
    back = [_first_return(run) for run in (soft, padded, bare)]
    assert (back[0] <= back[1] + 1e-9).all()
    assert (back[1] <= back[2] + 1e-9).all()
    assert (back[0] < 0.5 * back[2]).mean() > 0.5


def _first_return(run: Followed) -> np.ndarray:
    """How fast each ball leaves its first touch, square to the face; those that touch nothing 0."""
    first = run.contacts.number == 0
    out = np.zeros(len(BALLS))
    out[run.contacts.shot[first]] = (run.contacts.leaving * run.contacts.normal).sum(axis=0)[first]
    return out


def test_padding_takes_no_damage_away_and_hardly_anything_from_a_fast_square_hit(bays) -> None:
    # What a ball brings to its first touch is the same whatever the face is made of; and foam is solid after a few J.
    bare, padded = bays["all steel"], bays["all padded"]
    first_bare, first_padded = (run.contacts.number == 0 for run in (bare, padded))
    assert np.array_equal(bare.contacts.part[first_bare], padded.contacts.part[first_padded])
    assert padded.fates.flags[Flag.HIT_UNPROTECTED].sum() <= bare.fates.flags[Flag.HIT_UNPROTECTED].sum()
    assert padded.fates.flags[Flag.HIT_UNPROTECTED].sum() > 0.5 * bare.fates.flags[Flag.HIT_UNPROTECTED].sum()
    inward = -(bare.contacts.arriving * bare.contacts.normal).sum(axis=0)[first_bare]
    fast, slow = inward > 45.0, (inward > 8.0) & (inward < 15.0)
    share = (_first_return(padded) / np.maximum(_first_return(bare), 1e-9))[bare.contacts.shot[first_bare]]
    assert fast.sum() > 5
    assert slow.sum() > 3
    assert share[fast].min() > 0.9
    assert share[slow].max() < 0.75


def test_in_a_closed_room_of_bare_steel_every_ball_comes_to_an_end_that_is_known() -> None:
    bay = garage(openings=False)
    made = Bay(tuple(replace(one, facing="steel") for one in bay.parts), (), bay.lower, bay.upper)
    spun = Launches(BALLS.start, BALLS.velocity, BALLS.spin + 9000 * RPM * np.array([[0.0], [0.0], [1.0]]))
    ended = follow(made, spun.take(np.arange(40)), AIR)
    assert not ended.fates.flags[[Flag.UNRESOLVED, Flag.GOT_OUT]].any()


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 60, 10))
@pytest.mark.parametrize(
    "rule",
    [
        test_energy_never_rises_from_touch_to_touch_over_a_whole_run,
        test_a_mirrored_or_half_turned_bay_gives_the_same_fates_to_the_last_bit,
        test_a_bay_turned_by_a_quarter_gives_the_same_fates_as_far_as_rounding_lets_one_say,
        test_no_ball_of_90_m_s_is_ever_outside_a_closed_room_however_often_it_bounces,
        test_balls_followed_until_they_lie_still_carry_the_flags_of_those_followed_until_harmless,
        test_a_balls_fate_hangs_on_no_other_ball,
        test_the_order_of_parts_changes_no_fate,
        test_balls_that_are_followed_meet_first_what_first_contacts_says,
        test_flags_tell_what_the_contacts_say,
    ],
    ids=lambda rule: rule.__name__[5:40],
)
def test_the_same_in_many_more_bays(rule, first: int) -> None:
    for seed in range(first, first + 10):
        rule.hypothesis.inner_test(seed=seed)
