"""The shot types that are shipped: their shares, their sources, and what they send into the bay."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from math import fsum

import numpy as np
import pytest

from flightsim.flight.ball import LEGAL_BALL
from flightsim.shots.launches_section import Launches
from flightsim.shots.shipped_types import CLUBS, shipped_clubs, shipped_strikes
from flightsim.shots.strike_kind import VARIABLES, Strike
from flightsim.shots.typed_plan import plan_shots, strike_numbers
from flightsim.study.run.streams import uniforms

ALL = [(club, strike) for club in CLUBS for strike in shipped_strikes(club)]
EVERY = pytest.mark.parametrize(("club", "strike"), ALL, ids=[f"{club}-{strike.strike}" for club, strike in ALL])
KINDS = {"clean", "pulled", "pushed", "skied", "thin", "topped", "toe", "shank"}
N = 20_000


@cache
def drawn(club: str, kind: str) -> dict[str, np.ndarray]:
    """Launch numbers of 20,000 shots of a type, by name, SI, as a right-hander's."""
    (strike,) = (shipped for shipped in shipped_strikes(club) if shipped.strike == kind)
    return dict(zip(VARIABLES, strike_numbers(strike, uniforms(1, 0, N, "launch", len(VARIABLES))), strict=True))


def degrees(club: str, kind: str, name: str) -> np.ndarray:
    return np.degrees(drawn(club, kind)[name])


def test_every_club_has_every_kind_of_strike_and_the_wedge_has_a_lob():
    kinds = {club: [strike.strike for strike in shipped_strikes(club)] for club in CLUBS}
    assert {club: set(names) - {"lob"} for club, names in kinds.items()} == dict.fromkeys(CLUBS, KINDS)
    assert [club for club, names in kinds.items() if "lob" in names] == ["wedge"]
    assert sum(len(names) for names in kinds.values()) == 25


def test_the_clubs_that_can_be_used_are_those_of_the_table():
    assert tuple(shipped_clubs()) == CLUBS


def test_shares_add_to_1_within_each_club_and_over_the_clubs():
    assert fsum(shipped_clubs().values()) == pytest.approx(1.0, abs=1e-12)
    for club in CLUBS:
        assert fsum(strike.share for strike in shipped_strikes(club)) == pytest.approx(1.0, abs=1e-12)


def test_clean_strikes_are_most_common_and_no_shank_is_left_out():
    for club in CLUBS:
        shares = {strike.strike: strike.share for strike in shipped_strikes(club)}
        assert max(shares, key=shares.__getitem__) == "clean"
        assert 0.0 < shares["shank"] < 0.05


@EVERY
def test_every_type_says_what_it_leans_on(club, strike):
    assert strike.source.startswith(("judgement", "strike mechanics"))


def test_the_table_says_that_its_rates_are_order_of_magnitude():
    head = files("flightsim.shots").joinpath("shot_types.yaml").read_text(encoding="utf-8")[:800]
    comment = " ".join(line.lstrip("# ") for line in head.splitlines())
    assert "order-of-magnitude: no published rates of miss-hits exist" in comment


# What they send. Worked cases: rigid-body impacts of [miss-hits] (full inertia, grip or slide), each
# at one strike point: angle in degrees, ball speed over head speed.

WORKED = [
    ("driver", "skied", "elevation", 45.0, [(23, 1.05), (36, 0.77), (56, 0.34)]),
    ("mid_iron", "shank", "azimuth", 36.0, [(14, 1.06), (28, 0.87), (46, 0.58)]),
    ("wedge", "shank", "azimuth", 36.0, [(14, 1.06), (28, 0.87), (46, 0.58)]),
    ("wedge", "thin", "elevation", 36.0, [(16, 1.17), (4, 1.30)]),
    ("wedge", "lob", "elevation", 25.0, [(38, 0.87), (48, 0.62), (58, 0.34)]),
]


@pytest.mark.parametrize(("club", "kind", "angle", "head", "cases"), WORKED)
def test_a_miss_hit_is_as_hard_at_its_angle_as_the_worked_impacts(club, kind, angle, head, cases):
    # Never softer by more than a tenth; harder is the careful side where a bay is to stand it.
    angles, speeds = degrees(club, kind, angle), drawn(club, kind)["ball_speed"]
    for middle, ratio in cases:
        near = np.abs(angles - middle) < 2.0
        assert near.sum() > 200
        assert 0.9 * ratio * head < np.median(speeds[near]) < 1.8 * ratio * head


@EVERY
def test_no_type_spins_faster_than_one_impulse_can(club, strike):
    # One impulse: sin(angle between face normal and ball velocity) = 0.4 r w/v, so 0.4 r w cannot pass v.
    numbers = drawn(club, strike.strike)
    sine = 0.4 * LEGAL_BALL.radius * np.abs(numbers["spin_rate"]) / numbers["ball_speed"]
    assert np.quantile(sine, 0.999) < 1.0


@EVERY
def test_every_number_is_one_that_a_ball_can_have(club, strike):
    numbers = drawn(club, strike.strike)
    assert numbers["ball_speed"].min() > 5.0
    assert numbers["ball_speed"].max() < 80.0
    assert np.abs(numbers["azimuth"]).max() < np.radians(75.0)
    assert np.radians(-15.0) < numbers["elevation"].min()
    assert numbers["elevation"].max() < np.radians(76.0)
    assert numbers["tee_height"].min() >= 0.0
    assert numbers["tee_height"].max() <= 0.06
    assert np.abs(numbers["spin_rate"]).max() < 12_500 * 2.0 * np.pi / 60.0 * (1.0 + 1e-9)
    assert not numbers["forward"].any()
    assert not numbers["right"].any()


@pytest.mark.parametrize("club", CLUBS)
def test_shots_go_the_way_that_their_names_say(club):
    assert degrees(club, "pulled", "azimuth").max() < 0.0
    assert degrees(club, "pushed", "azimuth").min() > 0.0
    assert degrees(club, "shank", "azimuth").min() > 0.0
    assert degrees(club, "shank", "azimuth").max() > 70.0
    assert np.median(degrees(club, "toe", "azimuth")) > 0.0
    assert np.median(degrees(club, "thin", "elevation")) < np.median(degrees(club, "clean", "elevation"))
    assert degrees(club, "skied", "elevation").min() > 20.0
    assert np.median(degrees(club, "topped", "elevation")) < 0.0
    assert np.median(drawn(club, "topped")["spin_rate"]) < 0.0


def test_the_driver_starts_lower_and_faster_than_the_iron_and_that_than_the_wedge():
    speeds = [np.median(drawn(club, "clean")["ball_speed"]) for club in CLUBS]
    angles = [np.median(drawn(club, "clean")["elevation"]) for club in CLUBS]
    spins = [np.median(drawn(club, "clean")["spin_rate"]) for club in CLUBS]
    assert speeds == sorted(speeds, reverse=True)
    assert angles == sorted(angles)
    assert spins == sorted(spins)


@EVERY
def test_correlations_are_those_of_the_normal_scores(club, strike: Strike):
    # Spearman's rho of a Gaussian copula: (6/pi) asin(r/2) (Kruskal 1958, J. Am. Stat. Assoc. 53:814; from memory).
    numbers = drawn(club, strike.strike)
    for correlation in strike.correlations:
        one, other = (np.argsort(np.argsort(numbers[name])) for name in correlation.between)
        rho = 6.0 / np.pi * np.arcsin(correlation.value / 2.0)
        assert np.corrcoef(one, other)[0, 1] == pytest.approx(rho, abs=0.02)


# Shares of a session


def shares_by_club(**launches: object) -> dict[str, float]:
    plan = plan_shots(Launches.model_validate(launches), [("tee", 1.0, 0.0, 0.0)], 0.0, LEGAL_BALL.radius)
    clubs = {kind.club for kind in plan.types}
    return {club: fsum(kind.share for kind in plan.types if kind.club == club) for club in clubs}


def test_used_without_shares_clubs_come_as_often_as_usual_among_themselves():
    shares = shares_by_club(use=("driver", "wedge"))
    assert shares == pytest.approx({"driver": 0.4 / 0.65, "wedge": 0.25 / 0.65})
    assert shares_by_club(use=("mid_iron",)) == pytest.approx({"mid iron": 1.0})


def test_used_with_shares_clubs_come_as_often_as_those_say():
    shares = shares_by_club(use={"driver": 0.1, "mid_iron": 0.6, "wedge": 0.3})
    assert shares == pytest.approx({"driver": 0.1, "mid iron": 0.6, "wedge": 0.3})
