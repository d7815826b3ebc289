"""Played shots: strata and their shares, stratified against plain sampling, bad days, swings, own data, thresholds."""

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from strikes import shots_of

from flightsim.flight.ball import LEGAL_BALL as BALL
from flightsim.scenario.reading.problems import Severity
from flightsim.shots.played_plan import LEAST_SHARE, all_strata, plan_played
from flightsim.shots.played_strata import DIMS, golfers_numbers, launch_numbers, strata
from flightsim.shots.players import dynamic_loft, player_names, shipped_player
from flightsim.shots.shot_table import ShotTable
from flightsim.shots.tails import Tails
from flightsim.strike.classes import StrikeClass, Thresholds, cells, strike
from flightsim.strike.clubs import club_names, shipped_club
from flightsim.strike.delivery import Delivery
from flightsim.strike.edges import mean_edge
from flightsim.strike.mat_bounce import bounce_off_mat
from flightsim.study.run.bounds import lower_bound, two_sided, upper_bound, weighted_bounds
from flightsim.study.run.open_bay import open_bay

LIMITS = Thresholds()
STUDENT = Tails()
TEE = [("tee", 1.0, 0.0, 0.0)]
GARAGE = (Path(__file__).parents[2] / "scenarios" / "single_garage.yaml").read_text(encoding="utf-8")


def shares(player: str, club: str, tails: Tails = STUDENT, limits: Thresholds = LIMITS, bad_day: float = 1.0):
    found = strata(shipped_player(player), shipped_club(club), "full", tails, limits, bad_day, BALL)
    return {stratum.cell.strike_class: stratum.share for stratum in found}


def stratum_of(player: str, club: str, kind: StrikeClass, tails: Tails = STUDENT):
    found = strata(shipped_player(player), shipped_club(club), "full", tails, LIMITS, 1.0, BALL)
    return next(stratum for stratum in found if stratum.cell.strike_class is kind)


def plain(player_name: str, club_name: str, n: int, seed: int) -> tuple[list[StrikeClass], np.ndarray]:
    """A plain sampler, written apart: strike point and delivery unconditional, each strike then put into its class.

    Returns the class and the azimuth, deg, of each shot. Independent Student's t; irons only.
    """
    player, club, rng = shipped_player(player_name), shipped_club(club_name), np.random.default_rng(seed)
    loft, nu = dynamic_loft(player, club), player.tail_nu

    def t() -> np.ndarray:
        return rng.standard_t(nu, n) * np.sqrt((nu - 2) / nu)

    path, face = rng.multivariate_normal([0, 0], [[1, 0.4], [0.4, 1]], n).T
    path, face = (stats.t.ppf(stats.norm.cdf(z), nu) * np.sqrt((nu - 2) / nu) for z in (path, face))
    delivery = Delivery(
        speed=player.driver_speed * club.speed_of_driver * (1 + player.speed_sd * rng.standard_normal(n)),
        attack=np.radians(-4.0) + player.attack_sd * t(),
        path=player.path_mean + player.path_sd * path,
        face=player.face_mean + player.face_sd * face,
        loft=np.clip(loft + player.loft_sd * t(), np.radians(1), np.radians(85)),
        toe=player.iron_toe_sd * t(),
        up=np.zeros(n),
        edge=float(mean_edge(loft)) + player.iron_edge_sd * t(),
    )
    kinds, azimuth = np.empty(n, dtype=object), np.empty(n)
    for cell in cells(club, loft, LIMITS):
        (a, b), (c, d) = cell.toe, cell.height
        of_cell = np.flatnonzero((a <= delivery.toe) & (delivery.toe < b) & (c <= delivery.edge) & (delivery.edge < d))
        blow = strike(cell.strike_class, club, delivery.take(of_cell), LIMITS)
        velocity, spin = bounce_off_mat(blow.velocity, blow.spin, BALL)
        kinds[of_cell], azimuth[of_cell] = cell.strike_class, np.degrees(golfers_numbers(velocity, spin)[2])
    return list(kinds), azimuth


def test_stratified_and_plain_sampling_agree_within_their_bounds_on_a_common_rate():
    """How often a mid player's 7-iron starts more than 12 deg right: about 1 in 60, from shanks, toes and pushes."""
    n = 40_000
    _, azimuth = plain("mid", "7-iron", n, seed=4)
    low, high = two_sided(int((azimuth > 12.0).sum()), n, 1e-3)
    found = strata(shipped_player("mid"), shipped_club("7-iron"), "full", Tails(), LIMITS, 1.0, BALL)
    each, rng = 4000, np.random.default_rng(9)
    counts = np.array([
        (np.degrees(launch_numbers(s, Tails(), LIMITS, True, BALL, rng.uniform(size=(DIMS, each)))[2]) > 12.0).sum()
        for s in found
    ])  # fmt: skip
    weight = np.array([s.share for s in found])
    lower, upper = weighted_bounds(weight, counts, np.full(len(found), each), 1e-3)
    rate = float(weight @ counts / each)
    assert low < rate < high
    assert lower < (azimuth > 12.0).mean() < upper
    assert 0.005 < rate < 0.05


def test_shares_by_quadrature_are_the_frequencies_of_a_plain_sample():
    n = 40_000
    kinds, _ = plain("high", "sand wedge", n, seed=5)
    for kind, share in shares("high", "sand wedge").items():
        low, high = two_sided(kinds.count(kind), n, 1e-3)
        assert low <= share <= high, kind


def test_a_class_of_1_in_10_000_needs_at_least_50_times_fewer_shots_stratified():
    """Same width of the bound on how often a tour player's topped 7-iron leaves to the right of the line.

    All strata get as many shots as this one, and all are counted.
    """
    found = strata(shipped_player("tour"), shipped_club("7-iron"), "full", Tails(), LIMITS, 1.0, BALL)
    topped = next(s for s in found if s.cell.strike_class is StrikeClass.TOP)
    assert 5e-5 < topped.share < 2e-4
    each, rng = 300, np.random.default_rng(1)
    flown = each * len(found)
    u = rng.uniform(size=(DIMS, each))
    count = int((launch_numbers(topped, Tails(), LIMITS, True, BALL, u)[2] > 0.0).sum())
    width = topped.share * float(upper_bound(count, each, 0.025) - lower_bound(count, each, 0.025))
    rate = topped.share * count / each
    assert 0.2 < count / each < 0.8
    # Shots of a plain sample, at its expected count, until its bound is as narrow.
    needed = flown
    while np.diff(two_sided(round(rate * needed), needed, 0.05))[0] > width:
        needed *= 2
    low, high = needed // 2, needed
    while high - low > flown:
        middle = (low + high) // 2
        wide = np.diff(two_sided(round(rate * middle), middle, 0.05))[0] > width
        low, high = (middle, high) if wide else (low, middle)
    assert low / flown >= 50.0
    # And seen, not only reckoned: 50 times the shots, drawn plainly, leave the class with fewer than 300.
    kinds, _ = plain("tour", "7-iron", 50 * flown, seed=3)
    assert 0 < kinds.count(StrikeClass.TOP) < each / 5


@pytest.mark.parametrize("tails", [Tails(), Tails(axes="joint"), Tails(model="gaussian")], ids=repr)
@pytest.mark.parametrize("player", player_names())
def test_shares_of_the_strike_classes_add_to_one_for_every_club(tails, player):
    for club in club_names():
        assert sum(shares(player, club, tails).values()) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("bad_day", [1.0, 10.0, 15.0])
def test_a_bad_day_multiplies_the_odds_of_a_miss_and_leaves_misses_among_themselves_alike(bad_day):
    before, after = shares("mid", "7-iron"), shares("mid", "7-iron", bad_day=bad_day)
    miss, worse = 1.0 - before[StrikeClass.FACE], 1.0 - after[StrikeClass.FACE]
    assert worse / (1 - worse) == pytest.approx(bad_day * miss / (1 - miss))
    ratio = {kind: after[kind] / before[kind] for kind in before if kind is not StrikeClass.FACE}
    assert max(ratio.values()) == pytest.approx(min(ratio.values()))
    assert worse < 1.0


def test_a_player_who_never_misses_has_no_misses_on_a_bad_day_either():
    steady = shipped_player("tour").model_copy(update={"iron_toe_sd": 1e-4, "iron_edge_sd": 1e-4})
    found = strata(steady, shipped_club("7-iron"), "full", Tails(model="gaussian"), LIMITS, 15.0, BALL)
    assert [(s.cell.strike_class, s.share) for s in found] == [(StrikeClass.FACE, 1.0)]


@pytest.mark.parametrize(("swing", "part"), [("full", 1.0), ("half", 0.6), ("chip", 0.3)])
def test_a_partial_swing_is_slower_in_proportion(swing, part):
    clubs = [{"club": "sand wedge", "share": 1.0, "swing": swing}]
    plan = plan_played(shots_of("mid", "sand wedge", clubs=clubs), TEE, 0.0, BALL)
    found = next(place.stratum for place in plan.places if place.stratum.cell.strike_class is StrikeClass.FACE)
    u = np.full((DIMS, 1), 0.5)
    speed = launch_numbers(found, plan.tails, LIMITS, True, BALL, u)[0][0]
    full = launch_numbers(stratum_of("mid", "sand wedge", StrikeClass.FACE), Tails(), LIMITS, True, BALL, u)[0][0]
    assert speed == pytest.approx(part * full, rel=0.03)  # restitution rises a little as speed falls
    assert (swing == "full") or f"({swing})" in plan.types[0].label


@pytest.mark.parametrize(
    ("name", "kind", "club"),
    [("hosel_iron", StrikeClass.HOSEL, "7-iron"), ("hosel_wedge", StrikeClass.HOSEL, "lob wedge"),
     ("hosel_driver", StrikeClass.HOSEL, "driver"), ("toe", StrikeClass.TOE, "7-iron"),
     ("sky", StrikeClass.SKY, "driver"), ("driver_top", StrikeClass.TOP, "driver")],
)  # fmt: skip
def test_the_further_off_a_threshold_the_rarer_its_class(name, kind, club):
    seen = [
        shares("mid", club, limits=LIMITS.model_copy(update={name: value}))[kind]
        for value in np.array([-4, -2, 0, 2, 4]) * 1e-3 + getattr(LIMITS, name)
    ]
    assert (np.diff(seen) < 0.0).all()


@pytest.mark.parametrize("tails", [STUDENT, Tails(model="gaussian")], ids=repr)
def test_2_mm_of_the_hosel_threshold_change_a_rate_as_the_reference_says(tails):
    # [strike-thresholds]: 1.3-1.7 times for a mid player, and a better player's far more.
    def ratio(player: str) -> float:
        near, far = (
            shares(player, "7-iron", tails, LIMITS.model_copy(update={"hosel_iron": x})) for x in (0.022, 0.024)
        )
        return near[StrikeClass.HOSEL] / far[StrikeClass.HOSEL]

    assert 1.3 < ratio("mid") < 1.7
    assert ratio("tour") > ratio("low") > ratio("mid")


def test_worse_players_miss_more_often():
    order = [1.0 - shares(player, "7-iron")[StrikeClass.FACE] for player in ("tour", "low", "mid", "high")]
    assert (np.diff(order) > 0.0).all()


def test_own_players_and_clubs_stand_beside_and_before_the_shipped_ones():
    own = {
        "driver_speed": "50 mph", "speed_sd": 0.02, "path_sd": "2 deg", "face_sd": "2 deg", "attack_sd": "1 deg",
        "loft_sd": "1 deg", "driver_toe_sd": "9 mm", "driver_up_sd": "7 mm", "iron_toe_sd": "8 mm",
        "iron_edge_sd": "5 mm", "iron_loft_taken": "2 deg", "tail_nu": 5.0,
    }  # fmt: skip
    iron = {
        "kind": "iron", "loft": "33 deg", "length": "37 in", "lie": "62 deg", "head_mass": "250 g", "cg_depth": "4 mm",
        "moi_vertical": 2600.0, "moi_heel_toe": 900.0, "third_moment": 3000.0, "speed_of_driver": 0.8,
    }  # fmt: skip
    shots = shots_of("tour", "old 7-iron", own_players={"tour": own}, own_clubs={"old 7-iron": iron})
    assert shots.player("tour").driver_speed == pytest.approx(50 * 0.44704)
    assert shots.player("mid") == shipped_player("mid")
    assert shots.club("old 7-iron").head_mass == pytest.approx(0.25)
    assert shots.club("7-iron") == shipped_club("7-iron")
    plan = plan_played(shots, TEE, 0.0, BALL)
    assert {place.stratum.player.driver_speed for place in plan.places} == {shots.player("tour").driver_speed}
    assert {kind.club for kind in plan.types} == {"old 7-iron"}


def test_shots_do_not_depend_on_where_a_chunk_begins_and_weights_add_to_one():
    plan = plan_played(shots_of("mid", "7-iron"), TEE, 0.03, BALL)
    u = np.random.default_rng(0).uniform(size=(DIMS, 700))

    def drawn(first: int, count: int) -> ShotTable:
        return plan.draw(lambda purpose, dims: u[:dims, first : first + count], first, count)

    whole, tail = drawn(0, 700), drawn(123, 400)
    for column in fields(ShotTable):
        assert np.array_equal(getattr(whole, column.name)[..., 123:523], getattr(tail, column.name))
    weight = plan.weights(700)
    assert weight.sum() == pytest.approx(1.0, abs=1e-12)
    for k, kind in enumerate(plan.types):
        assert weight[whole.type == k].sum() == pytest.approx(kind.share, abs=1e-12)


def test_a_ball_on_the_mat_never_starts_downward_and_one_on_a_tee_may():
    u = np.random.default_rng(1).uniform(size=(DIMS, 3000))
    on_mat = plan_played(
        shots_of("high", "5-wood", clubs=[{"club": "5-wood", "share": 1.0, "tee_height": "0 mm"}]), TEE, 0, BALL
    )
    teed = plan_played(shots_of("high", "5-wood"), TEE, 0.0, BALL)
    low, high = (plan.draw(lambda purpose, dims: u[:dims], 0, 3000) for plan in (on_mat, teed))
    assert low.elevation.min() >= 0.0
    assert high.elevation.min() < 0.0
    assert low.start[2, 0] == pytest.approx(BALL.radius)
    assert high.start[2, 0] == pytest.approx(BALL.radius + 0.010)


@pytest.mark.parametrize("tails", [STUDENT, Tails(axes="joint")], ids=repr)
@pytest.mark.parametrize("club", ["driver", "5-wood", "4-iron", "lob wedge"])
def test_every_swing_is_a_shot_those_that_would_miss_the_ball_graze_it(club, tails):
    """However far the strike point and the delivery lie out: a ball that stays on its tee would be no shot."""
    rng = np.random.default_rng(8)
    for stratum in strata(shipped_player("junior"), shipped_club(club), "full", tails, LIMITS, 1.0, BALL):
        u = rng.uniform(size=(DIMS, 2000))
        u[:, :200] = np.where(u[:, :200] < 0.5, 1e-12, 1 - 1e-12)
        numbers = launch_numbers(stratum, tails, LIMITS, True, BALL, u)
        assert all(np.isfinite(column).all() for column in numbers)
        assert (numbers[0] > 0.0).all()
        assert numbers[0].max() < 2.0 * shipped_player("junior").driver_speed


def test_strikes_too_rare_to_fly_are_told_with_what_they_come_to(tmp_path):
    file = tmp_path / "rare.yaml"
    section = "shots:\n  players: [{player: tour}]\n  clubs: [{club: 7-iron, share: 1}]\n  tails: {model: gaussian}\n"
    file.write_text(GARAGE.split("launches:")[0] + section, encoding="utf-8")
    opened = open_bay(file)
    every = all_strata(opened.scenario.entries("shots")[0], opened.plan.spots, opened.physics.ball)
    rare = {kind.label: kind.share for kind, _ in every if kind.share < LEAST_SHARE}
    assert set(rare) == {"7-iron toe", "7-iron topped"}
    warnings = [problem for problem in opened.warnings if problem.key == "shots"]
    assert len(warnings) == 1
    assert warnings[0].severity is Severity.WARNING
    assert "7-iron topped" in warnings[0].found
    assert "7-iron toe" in warnings[0].found
    assert f"{sum(rare.values()):.1e}" in warnings[0].found
    assert warnings[0].line == 1 + (GARAGE.split("launches:")[0]).count("\n")
    assert not any(problem.key == "shots" for problem in open_bay(file, ["shots.tails.model=student_t"]).warnings)
