"""Where a ball leaves cloth: along it, after its time in it, and at an edge or seam that it comes to before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bays import STRAIGHT, Followed, around, follow, part, room, shots, vector
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.cloth.fabric import Cloth
from flightsim.contact.facings import shipped_facings
from flightsim.contact.fates import Flag
from flightsim.contact.giving import Give, hung
from flightsim.contact.rebound import Hits
from flightsim.engine.one_cloth import carried_by, left_by
from flightsim.flight.ball import LEGAL_BALL

RPM = 2.0 * np.pi / 60.0
WIDTH, HEIGHT = 2.88, 2.30  # m: the cloth of [cloth-oblique]
SCREEN = Part(
    "screen",
    rectangle(np.array([3.0, 0.5 * WIDTH, 0.0]), np.array([0.0, -WIDTH, 0.0]), np.array([0.0, 0.0, HEIGHT])),
    Role.GUARD,
    "cloth",
    "screen",
)
FLAP = replace(
    SCREEN,
    name="flap",
    shape=rectangle(np.array([3.0, 0.5 * WIDTH, -0.4]), np.array([0.0, -WIDTH, 0.0]), np.array([0.0, 0.0, 0.4])),
)


def give(others: tuple[Part, ...] = (), **made: object) -> Give:
    frame = hung(SCREEN)
    assert frame is not None
    cloth = Cloth(width=WIDTH, height=HEIGHT, **made)  # type: ignore[arg-type]
    return Give(SCREEN, (SCREEN, *others), frame, cloth, True, LEGAL_BALL.radius, 5.0)


LAW = give()
HELD = replace(LAW, edges_open=False)  # no hit opens its sides


def hits(speed: float, angle: float, backspin: float = 0.0, side: float = 0.0, up: float = 0.5 * HEIGHT) -> Hits:
    """One hit: m/s, degrees upward from square (the spin as of a shot), rpm, m to the left of the middle, m up."""
    slant = np.radians(angle)
    column = (lambda *each: np.array(each)[:, None]) if np.ndim(speed) == 0 else None
    assert column is not None
    velocity = column(speed * np.cos(slant), 0.0, speed * np.sin(slant))
    point = column(3.0 - LEGAL_BALL.radius, side, up)
    normal, spin = column(-1.0, 0.0, 0.0), column(0.0, -backspin * RPM, 0.0)
    return Hits(SCREEN, shipped_facings()["cloth"], LEGAL_BALL, point, velocity, normal, spin)


@pytest.mark.parametrize(
    ("speed", "angle", "backspin", "along"),
    # Another computed cloth, hit in its middle: how far along it the ball was in touch [cloth-oblique]. 15 %, as of the
    # speeds along: it is a fit to these.
    [(70.0, 11.0, 2700.0, 0.21), (70.0, 11.0, 0.0, 0.26), (50.0, 20.0, 6000.0, 0.23), (70.0, 45.0, 0.0, 1.06)],
)
def test_a_ball_leaves_the_cloth_as_far_along_it_as_the_rolling_ball_of_the_reference(speed, angle, backspin, along):
    # The sign of backspin on a face that looks at the tee: it lifts, so its axis is to the right, which is -y.
    way, stay = carried_by(give(), hits(speed, angle, backspin))
    assert np.linalg.norm(way) == pytest.approx(along, rel=0.15)
    assert way[2, 0] > 0.0
    assert 0.02 < stay[0] < 0.06


def test_a_square_hit_leaves_where_it_came():
    way, _ = carried_by(LAW, hits(60.0, 0.0))
    assert np.abs(way).max() < 1e-12


@settings(max_examples=40, deadline=None)
@given(st.floats(3.0, 80.0), st.floats(-80.0, 80.0), st.floats(-6000.0, 6000.0), st.floats(0.3, 1.2))
def test_a_mirrored_hit_is_carried_to_the_mirrored_place(speed, angle, backspin, side):
    one, other = (carried_by(LAW, hits(speed, angle, backspin, each))[0] for each in (side, -side))
    assert one[2] == pytest.approx(other[2], rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("along", [5.0, 30.0, 60.0])
def test_what_hardly_goes_into_the_cloth_is_hardly_carried(along):
    ways = [
        np.linalg.norm(carried_by(LAW, hits(np.hypot(into, along), np.degrees(np.arctan2(along, into)), up=0.3))[0])
        for into in (8.0, 4.0, 2.0, 1.01)
    ]
    assert ways[3] < ways[2] < 1.2 * ways[1]
    assert ways[-1] < 0.08  # the fastest would have gone 2 m by itself


def turned(law: Give, one: Hits, up: float) -> float:
    """The share of its way that a ball has gone at most when it is deepest: the rest it goes as fast as it leaves."""
    table, hit_at = law.table(LEGAL_BALL.mass), (one.normal_speed, 0.5 * WIDTH, up)
    deepest = np.exp(table._between(np.log(table.turns))((np.log(hit_at[0]), hit_at[1], hit_at[2])))[0]
    return float(1.0 - (1.0 - deepest / table.stay(*hit_at)[0]) / 1.2)


def test_a_way_that_crosses_an_edge_before_the_ball_turns_goes_on_into_what_is_behind():
    law, beside = HELD, 0.06
    near = hits(70.0, 45.0, up=HEIGHT - beside)  # it would be carried 1 m upward
    (way, stay), after = carried_by(law, near), left_by(law, near)
    assert way[2, 0] == pytest.approx(beside)
    assert after.edge is not None
    assert after.past.all()
    assert after.edge[0] == 3  # the top
    assert 0.0 < stay[0] < 0.004
    # Straight on while it sinks, at 45 deg: it has gone as far in as up, V (1 - (z/d)^1.5) [cloth-form].
    depth = law.reach(near.normal_speed, np.array([0.5 * WIDTH]), np.array([HEIGHT - beside]), LEGAL_BALL.mass)[0]
    assert after.velocity[0, 0] == pytest.approx(70.0 * np.sqrt(0.5) * (1.0 - (beside / depth) ** 1.5), rel=1e-6)
    assert after.velocity[2, 0] > 0.0


def test_a_ball_that_comes_to_an_edge_after_it_has_turned_comes_back():
    """It moves toward the tee then, in front of the cloth: it was told past the edge, 42 % of all that were."""
    for law in (LAW, HELD):
        along = np.linalg.norm(carried_by(law, hits(70.0, 45.0, up=1.0))[0])
        for share, past in ((0.95, False), (0.3, True)):
            up = HEIGHT - share * along
            one = hits(70.0, 45.0, up=up)
            assert past is (share < turned(law, one, up))
            after = left_by(law, one)
            assert bool(after.past[0]) is past
            assert (after.velocity[0, 0] < 0.0) is not past
            if not past:
                assert carried_by(law, one)[0][2, 0] == pytest.approx(share * along, rel=0.1)


def test_an_edge_that_comes_in_only_after_the_ball_has_turned_lets_nothing_past():
    up = HEIGHT - 0.95 * np.linalg.norm(carried_by(LAW, hits(70.0, 30.0, up=1.0))[0]) - 0.1
    assert turned(LAW, hits(70.0, 30.0, up=up), up) < 0.8
    assert not left_by(LAW, hits(70.0, 30.0, up=up)).past.any()


@settings(max_examples=60, deadline=None)
@given(
    st.floats(2.0, 80.0), st.floats(-85.0, 85.0), st.floats(-9000.0, 9000.0), st.floats(0.0, 1.44), st.floats(0.0, 2.3)
)
def test_a_ball_gains_no_energy_from_cloth_or_its_edges_and_a_mirrored_hit_leaves_mirrored(
    speed, angle, backspin, side, up
):
    for law in (LAW, HELD):
        one, other = (left_by(law, hits(speed, angle, backspin, each, up)) for each in (side, -side))
        share = LEGAL_BALL.inertia_factor * LEGAL_BALL.radius**2
        before = speed**2 + share * (backspin * RPM) ** 2
        after = (one.velocity**2).sum() + share * (one.spin**2).sum()
        assert after <= before * (1.0 + 1e-9) or one.velocity[0, 0] == pytest.approx(-0.02)
        assert one.velocity[[0, 2], 0] == pytest.approx(other.velocity[[0, 2], 0], rel=1e-6, abs=1e-9)
        assert one.past[0] == other.past[0]


@pytest.mark.parametrize(("speed", "past_edge"), [(30.0, True), (9.0, False)])
def test_past_an_edge_that_the_hit_did_not_open_a_soft_ball_goes_on_untold(speed, past_edge):
    """It clips the end of a net and goes by, as one a hand further out would."""
    bay = Bay((SCREEN, *room((-1.0, -2.0, -1.0), (6.0, 2.0, 5.0))), (), vector(-1, -2, -1), vector(6, 2, 5))
    slant = speed * np.sqrt(0.5)
    clips = shots(((2.9, 0.0, HEIGHT - 0.1), (slant, 0.0, slant)))
    fates = follow(around(bay, {"screen": HELD}), clips, STRAIGHT).fates
    assert fates.flags[Flag.PAST_EDGE, 0] is np.bool_(past_edge)
    assert not fates.flags[Flag.UNRESOLVED, 0]
    assert fates.point[0, 0] > 3.0 or fates.contacts[0] > 1  # it went on, to the wall behind


@pytest.mark.parametrize(("speed", "angle", "beside"), [(20.79, 36.37, 0.1724), (26.12, 30.30, 0.2277)])
def test_the_cloth_that_a_ball_got_past_does_not_keep_it_in_when_it_falls_on_its_top_or_down_its_back(
    speed, angle, beside
):
    """It leaves straight up over the top, and comes down behind: it was told as kept in by what it had passed."""
    bay = Bay((SCREEN, *room((-3.0, -3.0, -1.0), (7.0, 3.0, 6.0))), (), vector(-3, -3, -1), vector(7, 3, 6))
    slant = np.radians(angle)
    over = shots(((2.9, 0.0, HEIGHT - beside), (speed * np.cos(slant), 0.0, speed * np.sin(slant))))
    followed = follow(around(bay, {"screen": LAW}), over)
    touched = [bay.parts[k].name for k in followed.contacts.part[followed.contacts.of(0)]]
    assert touched[:2] == ["screen", "screen"]
    assert followed.contacts.point[0, 1] > 3.0 - LEGAL_BALL.radius  # over it, or behind
    assert followed.fates.flags[Flag.PAST_EDGE, 0]
    assert followed.fates.point[0, 0] > 4.0


def test_a_way_that_crosses_a_seam_ends_there_and_gets_past_nothing():
    law = give((FLAP,))
    assert law.seams == ("foot",)
    low = hits(70.0, -45.0, up=0.5)
    way, _ = carried_by(law, low)
    assert way[2, 0] == pytest.approx(-0.5)
    assert not left_by(law, low).past.any()


def test_an_edge_that_comes_in_to_where_the_ball_is_carried_lets_it_past():
    law = give()
    toward = hits(70.0, 30.0, up=HEIGHT - 0.55)
    square = hits(70.0, 0.0, up=HEIGHT - 0.55)
    assert left_by(law, toward).past.all()
    assert not left_by(law, square).past.any()


def test_slack_cloth_keeps_a_ball_longer_and_carries_it_further():
    tight, slack = give(), give(pretension=10.0, cord_stiffness=100.0)
    one, other = (carried_by(each, hits(70.0, 11.0, up=0.8)) for each in (tight, slack))
    assert other[1][0] > 1.3 * one[1][0]
    assert np.linalg.norm(other[0]) > 1.3 * np.linalg.norm(one[0])


def test_a_ball_that_pays_all_its_speed_for_a_climb_falls_off_upright_cloth():
    """It left with 0 m/s, in touch; 40 touches of nothing later it was told to rest there, or not followed."""
    bay = Bay((SCREEN, *room((-1.0, -2.0, -1.0), (4.0, 2.0, 3.0))), (), vector(-1, -2, -1), vector(4, 2, 3))
    going_up = shots(((2.5, 0.0, 1.0), (3.0, 0.0, 3.0)))
    followed = follow(around(bay, {"screen": LAW}), going_up, to_rest=True)
    contacts = followed.contacts
    assert [bay.parts[k].name for k in contacts.part[:2]] == ["screen", "slab"]
    assert contacts.left[2, 0] > contacts.point[2, 0] + 0.02
    assert np.linalg.norm(contacts.leaving[:, 0]) == pytest.approx(0.02)  # what parts a ball from a face


# Cloth without a lattice: canopies, covers, flaps, baffles


def under_a_canopy(facing: str, ends: float):
    """A ball that goes up at 20 m/s and forward at 20 to a canopy that ends so far beyond where it is hit, m."""
    radius = LEGAL_BALL.radius
    canopy = part(
        "canopy", rectangle(vector(ends, -1, 2.0 + radius), vector(-3, 0, 0), vector(0, 2, 0)), Role.GUARD, facing
    )
    bay = Bay((canopy, *room((-4.0, -3.0, -0.1), (6.0, 3.0, 4.0))), (), vector(-4, -3, -0.1), vector(6, 3, 4))
    contacts = follow(around(bay), shots(((-1.0, 0.0, 1.0), (20.0, 0.0, 20.0))), STRAIGHT).contacts
    return contacts, contacts.left[:, 0] - contacts.point[:, 0], contacts.left_time[0] - contacts.time[0]


@pytest.mark.parametrize("facing", ["net", "cloth", "curtain"])
def test_all_cloth_carries_a_ball_along_itself_for_its_time_in_it(facing):
    """.46 of its speed along, for .037 s, 1.2 times as far [cloth-oblique]: docs/cloth.md."""
    contacts, way, stayed = under_a_canopy(facing, 2.0)
    assert contacts.leaving[0, 0] == pytest.approx(0.46 * 20.0, rel=1e-9)
    assert way == pytest.approx([1.2 * 0.037 * 0.46 * 20.0, 0.0, 0.0], abs=1e-9)
    assert stayed == pytest.approx(0.037)


def test_cloth_that_ends_lets_go_of_the_ball_there():
    _, way, stayed = under_a_canopy("net", 0.1)
    # 1 mm off it, past the corner: sqrt((R + 1 mm)^2 - R^2).
    assert way[0] == pytest.approx(0.1 + 0.0066, abs=2e-4)
    assert stayed == pytest.approx(0.037 * way[0] / (1.2 * 0.037 * 0.46 * 20.0), rel=1e-9)


def test_what_is_not_cloth_lets_go_of_the_ball_where_it_was_hit():
    _, way, stayed = under_a_canopy("foam", 2.0)
    assert (way == 0.0).all()
    assert stayed == 0.0


# Creases


@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_a_ball_that_a_net_stops_while_it_touches_the_screen_falls_down_the_crease(hand):
    """It touched the screen every 2 ms, as fast as it came, until its 200 touches were used up."""
    net = part(
        "net", rectangle(vector(1.0, 0.5 * WIDTH, 0.0), vector(2.0, 0, 0), vector(0, 0, HEIGHT)), Role.GUARD, "net"
    )
    other = part(
        "other", rectangle(vector(1.0, -0.5 * WIDTH, 0.0), vector(2.0, 0, 0), vector(0, 0, HEIGHT)), Role.GUARD, "net"
    )
    walls = room((-1.0, -3.0, -0.1), (6.0, 3.0, 4.0))
    bay = Bay((SCREEN, net, other, *walls), (), vector(-1, -3, -0.1), vector(6, 3, 4))
    aside = 0.5 * WIDTH - LEGAL_BALL.radius
    # Carried along the screen to the net, with which it then parts from neither.
    starts = [((2.5, hand * (aside - 0.3 - near), 1.0), (11.5, hand * 7.2, 5.0)) for near in np.linspace(0.02, 0.1, 9)]
    followed = follow(around(bay, {"screen": LAW}), shots(*starts))
    assert not followed.fates.flags[Flag.UNRESOLVED].any()
    assert followed.fates.contacts.max() < 20
    grazes = followed.contacts.number == 2
    wedged = grazes & (followed.contacts.part == 0) & (np.abs(followed.contacts.arriving[0]) < 1e-6)
    assert wedged.any()
    assert followed.contacts.leaving[0, wedged] == pytest.approx(-0.02, rel=0.2)  # what parts a ball from a face


def test_a_ball_that_rolls_down_a_sloping_net_to_the_screen_rests_there():
    """Where a canopy falls toward the screen: lifted off the one it was pushed into the other, and lost."""
    sloping = part(
        "canopy", rectangle(vector(1.0, -1.0, 1.4), vector(2.0, 0.0, -0.21), vector(0.0, 2.0, 0.0)), Role.GUARD, "cloth"
    )
    bay = Bay((SCREEN, sloping, *room((-1.0, -3.0, -0.1), (6.0, 3.0, 4.0))), (), vector(-1, -3, -0.1), vector(6, 3, 4))
    rng = np.random.default_rng(4)
    many = shots(
        *(
            ((2.0, y, 1.6), (v, 0.3 * y, 0.0))
            for y, v in zip(rng.uniform(-0.8, 0.8, 40), rng.uniform(0.5, 6.0, 40), strict=True)
        )
    )
    followed = follow(around(bay, {"screen": LAW}), many, to_rest=True)
    assert not followed.fates.flags[Flag.UNRESOLVED].any()
    resting = followed.fates.rests & (followed.fates.point[2] > 0.8)
    assert resting.sum() > 30
    assert np.abs(followed.fates.point[0, resting] - (3.0 - LEGAL_BALL.radius)).max() < 0.01


def between_cloth_and_pad(slope: float) -> Bay:
    """A canopy whose top rises toward the tee and closes on a pad overhead, 4 cm before it ends."""
    rise, radius = np.tan(slope), LEGAL_BALL.radius
    low = 2.5 - 2.0 * radius - 2.0 * rise  # the ball just fits between at x = .3
    canopy = part(
        "canopy", rectangle(vector(0.0, -1.0, low + 2.3 * rise), vector(2.3, 0, -2.3 * rise), vector(0, 2, 0)),
        Role.GUARD, "net",
    )  # fmt: skip
    pad = part("pad", rectangle(vector(-0.5, -1.0, 2.5), vector(3.0, 0, 0), vector(0, 2, 0)), Role.GUARD, "cloth")
    walls = room((-1.0, -3.0, -0.1), (6.0, 3.0, 4.0))
    return Bay((canopy, pad, *walls), (), vector(-1, -3, -0.1), vector(6, 3, 4))


def into_the_gap(slope: float) -> Followed:
    """40 balls, 3 to 18 m/s, that fly into it between canopy and pad."""
    rng = np.random.default_rng(5)
    sides, speeds = rng.uniform(-0.5, 0.5, 40), rng.uniform(3.0, 18.0, 40)
    fast = shots(*(((2.0, y, 2.46), (-v, 0.2 * y, 0.5)) for y, v in zip(sides, speeds, strict=True)))
    return follow(around(between_cloth_and_pad(np.radians(slope))), fast)


@pytest.mark.parametrize("slope", [1.0, 2.0, 4.0])
def test_a_ball_that_flies_into_a_closing_gap_and_jams_comes_to_rest_there(slope):
    """It was lost after a dozen touches at one place, at 5 m/s, and told as not followed to its end."""
    followed = into_the_gap(slope)
    assert not followed.fates.flags[Flag.UNRESOLVED].any()
    jammed = followed.fates.rests & (followed.fates.point[2] > 2.4) & (followed.fates.contacts >= 40)
    assert jammed.sum() >= 20
    for ball in np.flatnonzero(jammed):
        its = followed.contacts.shot == ball
        assert np.ptp(followed.contacts.point[:, its][:, -30:], axis=1).max() < 1e-4  # at one place, not on its way
        speeds = np.linalg.norm(followed.contacts.leaving[:, its], axis=0)
        assert (np.diff(speeds[-30:]) < 0.0).all()
        assert speeds[-1] < 5.0  # if it did come out, it would harm nobody


@pytest.mark.parametrize("slope", [8.0, 12.0])
def test_a_ball_that_a_wider_gap_throws_back_out_is_followed_on(slope):
    followed = into_the_gap(slope)
    assert not followed.fates.flags[Flag.UNRESOLVED].any()
    its_last = np.append(np.diff(followed.contacts.shot) > 0, True)
    assert np.isin(followed.contacts.part[its_last & (followed.contacts.number > 5)], [0, 1], invert=True).all()


def test_a_ball_that_creeps_along_the_corner_of_a_canopy_and_a_bar_rests_there():
    """Its count of slow touches began 6 mm before and more: it trembled there until 200 touches were used up."""
    slope = np.radians(4.0)
    along, up = vector(np.cos(slope), 0.0, -np.sin(slope)), vector(np.sin(slope), 0.0, np.cos(slope))
    top = vector(0.0, -1.0, 2.4)
    canopy = part("canopy", rectangle(top, 2.0 * along, vector(0, 2, 0)), Role.GUARD, "plywood")
    bar = part("bar", rectangle(top + 1.9 * along, vector(0, 2, 0), 0.1 * up), Role.GUARD, "foam on steel")
    bay = Bay((canopy, bar, *room((-1.0, -3.0, -0.1), (6.0, 3.0, 4.0))), (), vector(-1, -3, -0.1), vector(6, 3, 4))
    rng = np.random.default_rng(8)
    ways, sideways = 1.9 - LEGAL_BALL.radius - rng.uniform(0.006, 0.2, 400), rng.uniform(0.02, 0.8, 400)
    lies = (top + vector(0, 0.5, 0) + way * along + (LEGAL_BALL.radius + 1e-4) * up for way in ways)
    followed = follow(around(bay), shots(*((tuple(p), (0.3, v, 0.0)) for p, v in zip(lies, sideways, strict=True))))
    assert not followed.fates.flags[Flag.UNRESOLVED].any()
    assert followed.fates.rests.all()
