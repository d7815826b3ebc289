"""Distributions of launch numbers: against scipy's, their order, their units, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from own_shots import grid_of_uniforms, strike
from pydantic import TypeAdapter
from scipy import stats
from scipy.optimize import brentq
from scipy.special import ndtri

from flightsim.shots.distributions import FIRST, LAST, SomeAngle, SomeLength, SomeSpeed, SomeSpin, ends_of, value_at
from flightsim.shots.strike_kind import VARIABLES
from flightsim.shots.typed_plan import strike_numbers
from flightsim.study.run.streams import uniforms

SPEED = TypeAdapter(SomeSpeed)
RANDOM = settings(deadline=None, max_examples=60)
DEEP = np.concatenate([[FIRST, 1e-12, 1e-6], grid_of_uniforms(500), [1.0 - 1e-6, 1.0 - 1e-12]])


def speed(**keys):
    """A distribution of speed, numbers in m/s."""
    return SPEED.validate_python({k: f"{v!r} m/s" if isinstance(v, float) else v for k, v in keys.items()})


def mixture(*components):
    """A mixture of (weight, distribution or m/s)."""
    parts = [{"weight": w, "of": of if isinstance(of, dict) else f"{of!r} m/s"} for w, of in components]
    return SPEED.validate_python({"kind": "mixture", "components": parts})


def in_m_s(**keys):
    return {k: f"{v!r} m/s" if isinstance(v, float) else v for k, v in keys.items()}


# Against scipy


def test_a_normal_is_scipys_to_both_far_tails():
    # Outside source: scipy.stats.norm.
    found = speed(kind="normal", mean=62.0, sd=2.5).inverse(DEEP)
    assert found == pytest.approx(stats.norm(62.0, 2.5).ppf(DEEP), rel=1e-13)


@pytest.mark.parametrize(
    ("mean", "sd", "low", "high"),
    [
        (40.0, 3.0, 30.0, 60.0),
        (40.0, 3.0, 39.5, 40.25),
        (40.0, 3.0, 10.0, 39.0),
        (40.0, 3.0, 55.0, 90.0),  # five standard deviations out, to the right
        (40.0, 3.0, 1.0, 18.0),  # seven to the left
        (40.0, 3.0, 60.0, 61.0),
        (40.0, 3.0, 40.0, 70.0),
        (40.0, 0.01, 1.0, 100.0),
    ],
)
def test_a_truncated_normal_is_scipys_far_outside_its_mean_too(mean, sd, low, high):
    # Outside source: scipy.stats.truncnorm.
    found = speed(kind="truncated_normal", mean=mean, sd=sd, low=low, high=high)
    there = stats.truncnorm((low - mean) / sd, (high - mean) / sd, mean, sd)
    assert found.inverse(DEEP) == pytest.approx(there.ppf(DEEP), rel=1e-9)
    values = np.linspace(low, high, 200)
    assert found.below(values) == pytest.approx(there.cdf(values), abs=1e-12)
    assert low <= found.ends[0] < found.ends[1] <= high


def test_a_uniform_is_scipys():
    # Outside source: scipy.stats.uniform.
    found, there = speed(kind="uniform", low=12.0, high=50.0), stats.uniform(12.0, 38.0)
    assert found.inverse(DEEP) == pytest.approx(there.ppf(DEEP), rel=1e-14)
    assert found.below(np.array([1.0, 30.0, 60.0])) == pytest.approx(there.cdf([1.0, 30.0, 60.0]), rel=1e-14)


@pytest.mark.parametrize("mode", [10.0, 13.0, 30.0, 50.0])
def test_a_triangular_is_scipys_with_its_mode_at_an_end_too(mode):
    # Outside source: scipy.stats.triang.
    found, there = speed(kind="triangular", low=10.0, mode=mode, high=50.0), stats.triang((mode - 10) / 40, 10, 40)
    assert found.inverse(DEEP) == pytest.approx(there.ppf(DEEP), rel=1e-12)
    values = np.linspace(5.0, 55.0, 101)
    assert found.below(values) == pytest.approx(there.cdf(values), abs=1e-14)


NORMALS = ((0.3, in_m_s(kind="normal", mean=30.0, sd=2.0)), (0.7, in_m_s(kind="normal", mean=50.0, sd=3.0)))


def test_a_mixture_is_the_weighted_sum_of_scipys_distributions():
    # Outside source: scipy.stats.norm and brentq on the weighted sum of distribution functions.
    found, slow, fast = mixture(*NORMALS), stats.norm(30.0, 2.0), stats.norm(50.0, 3.0)

    def below(value):
        return 0.3 * slow.cdf(value) + 0.7 * fast.cdf(value)

    values = np.linspace(20.0, 65.0, 91)
    assert found.below(values) == pytest.approx(below(values), abs=1e-14)
    u = np.concatenate([10.0 ** np.arange(-12.0, -2.0), grid_of_uniforms(60), 1.0 - 10.0 ** np.arange(-12.0, -2.0)])
    exact = [brentq(lambda value, part=part: below(value) - part, 0.0, 100.0, xtol=1e-12) for part in u]
    assert np.abs(found.inverse(u) - exact).max() < 2e-4 * 2.0  # as its docstring says, of the smaller sd


def test_a_mixture_has_the_moments_of_its_parts():
    # mean = sum w m, variance = sum w (s^2 + m^2) - mean^2: the law of total variance.
    values = mixture(*NORMALS).inverse(grid_of_uniforms(200_000))
    mean = 0.3 * 30.0 + 0.7 * 50.0
    assert values.mean() == pytest.approx(mean, rel=1e-6)
    assert values.var() == pytest.approx(0.3 * (4.0 + 900.0) + 0.7 * (9.0 + 2500.0) - mean**2, rel=1e-4)
    assert (values < 40.0).mean() == pytest.approx(0.3, abs=0.002)


def test_a_fixed_value_in_a_mixture_comes_as_often_as_its_weight_says():
    values = mixture((0.25, 33.0), (0.75, in_m_s(kind="uniform", low=20.0, high=60.0))).inverse(
        grid_of_uniforms(10_000)
    )
    assert (np.abs(values - 33.0) < 1e-9).mean() == pytest.approx(0.25, abs=0.001)


def test_the_ends_of_a_mixture_are_those_of_all_its_parts_in_whatever_order():
    parts = [
        (0.5, 50.0),
        (1e-6, in_m_s(kind="uniform", low=-9.0, high=-5.0)),
        (0.499999, in_m_s(kind="uniform", low=1.0, high=70.0)),
    ]
    for order in (parts, parts[::-1], [parts[1], parts[2], parts[0]]):
        low, high = mixture(*order).ends
        assert low == pytest.approx(-9.0, abs=1e-5)
        assert high == pytest.approx(70.0, abs=1e-5)


def test_a_mixture_of_one_value_is_that_value():
    assert mixture((1.0, 33.0)).inverse(grid_of_uniforms(5)) == pytest.approx(33.0, rel=1e-15)


# Order


numbers = st.floats(-1e4, 1e4)
widths = st.floats(1e-3, 1e3)


@st.composite
def spreads(draw, mixed=True):
    """Any distribution, in m/s, as the file would give it."""
    kind = draw(
        st.sampled_from(["normal", "truncated_normal", "uniform", "triangular", *(["mixture"] if mixed else [])])
    )
    if kind == "mixture":
        weights = draw(st.lists(st.integers(1, 100), min_size=1, max_size=4))
        parts = [draw(st.one_of(spreads(mixed=False), numbers.map(lambda v: f"{v!r} m/s"))) for _ in weights]
        return {
            "kind": kind,
            "components": [{"weight": w / sum(weights), "of": of} for w, of in zip(weights, parts, strict=True)],
        }
    low, width, inside = draw(numbers), draw(widths), draw(st.floats(0.0, 1.0))
    keys = {"kind": kind, "low": low, "high": low + width}
    if kind == "normal":
        keys = {"kind": kind, "mean": low, "sd": width}
    elif kind == "truncated_normal":
        sd = draw(widths)
        keys |= {"mean": low + width * inside + sd * draw(st.floats(-7.0, 7.0)), "sd": sd}
    elif kind == "triangular":
        keys |= {"mode": min(low + width * inside, low + width)}
    return in_m_s(**keys)


uniform_numbers = st.floats(FIRST, LAST)


@RANDOM
@given(spreads(), st.lists(uniform_numbers, min_size=2, max_size=20))
def test_a_larger_uniform_never_gives_a_smaller_value(keys, u):
    spread, u = SPEED.validate_python(keys), np.sort(u)
    values = spread.inverse(u)
    low, high = spread.ends
    slack = 1e-12 * (1.0 + abs(low) + abs(high))
    assert np.isfinite(values).all()
    assert (np.diff(values) >= -slack).all()
    assert (values >= low - slack).all()
    assert (values <= high + slack).all()


@RANDOM
@given(spreads(), st.lists(st.floats(1e-6, 1.0 - 1e-6), min_size=1, max_size=20))
def test_the_share_at_or_below_a_value_that_was_drawn_is_its_uniform(keys, u):
    spread, u = SPEED.validate_python(keys), np.array(u)
    values = spread.inverse(u)
    # A step (a fixed value in a mixture) takes all uniforms of its weight; rounding moves a value by a few digits.
    slack = 1e-9 * (1.0 + np.abs(values))
    assert (spread.below(values - slack) <= u + 1e-6).all()
    assert (spread.below(values + slack) >= u - 1e-6).all()


@RANDOM
@given(spreads(), st.integers(1, 40), st.integers(0, 2**32))
def test_a_value_does_not_depend_on_how_many_are_drawn_with_it(keys, count, seed):
    spread, u = SPEED.validate_python(keys), uniforms(seed, 0, 40, "launch", 1)[0]
    assert np.array_equal(spread.inverse(u)[:count], spread.inverse(u[:count]))
    strided = np.repeat(u, 3)[::3]
    assert np.array_equal(spread.inverse(strided), spread.inverse(u))


def test_a_plain_number_is_drawn_every_time():
    assert value_at(3.5, np.array([0.1, 0.9])).tolist() == [3.5, 3.5]
    assert ends_of(3.5) == (3.5, 3.5)


# Correlations


def correlated(folder, pairs, count=200_000, **numbers):
    """Launch numbers of a strike with these correlations."""
    given = ", ".join(f"{{between: [{a}, {b}], value: {value}}}" for a, b, value in pairs)
    found = strike(folder, **numbers, correlations=f"[{given}]")
    return dict(zip(VARIABLES, strike_numbers(found, uniforms(4, 0, count, "launch", len(VARIABLES))), strict=True))


def test_correlations_are_those_of_the_normal_scores(tmp_path):
    drawn = correlated(
        tmp_path,
        [("ball_speed", "azimuth", -0.8), ("elevation", "azimuth", 0.3), ("ball_speed", "elevation", -0.2)],
        ball_speed="{kind: truncated_normal, mean: 30 m/s, sd: 6 m/s, low: 14 m/s, high: 39 m/s}",
        azimuth="{kind: uniform, low: 8 deg, high: 75 deg}",
        elevation="{kind: triangular, low: 0 deg, mode: 3 deg, high: 20 deg}",
        spin_rate="{kind: normal, mean: 4000 rpm, sd: 300 rpm}",
    )

    def scores(name):
        return ndtri((stats.rankdata(drawn[name]) - 0.5) / len(drawn[name]))

    # 4 standard errors of a correlation of 200,000 pairs.
    near = 4.0 / np.sqrt(200_000)
    for a, b, value in (
        ("ball_speed", "azimuth", -0.8),
        ("elevation", "azimuth", 0.3),
        ("ball_speed", "elevation", -0.2),
    ):
        assert np.corrcoef(scores(a), scores(b))[0, 1] == pytest.approx(value, abs=near)
    assert np.corrcoef(scores("spin_rate"), scores("azimuth"))[0, 1] == pytest.approx(0.0, abs=near)


def test_the_rank_correlation_is_that_of_a_gaussian_copula(tmp_path):
    # Closed form: Spearman's rho = 6/pi asin(r/2) of a bivariate normal (Pearson 1907, from memory).
    spread = "{kind: uniform, low: 1 deg, high: 9 deg}"
    drawn = correlated(tmp_path, [("azimuth", "spin_tilt", 0.6)], azimuth=spread, spin_tilt=spread)
    found = stats.spearmanr(drawn["azimuth"], drawn["spin_tilt"]).statistic
    assert found == pytest.approx(6.0 / np.pi * np.arcsin(0.3), abs=4.0 / np.sqrt(200_000))


def test_correlations_hold_for_a_mixture_and_leave_its_values_as_they_are(tmp_path):
    keys = (
        "{kind: mixture, components: [{weight: 0.5, of: {kind: normal, mean: 7 deg, sd: 2 deg}}, "
        "{weight: 0.5, of: {kind: normal, mean: -7 deg, sd: 2 deg}}]}"
    )
    drawn = correlated(
        tmp_path,
        [("azimuth", "spin_tilt", 0.6)],
        azimuth=keys,
        spin_tilt="{kind: normal, mean: 0 deg, sd: 6 deg}",
    )
    found = stats.spearmanr(drawn["azimuth"], drawn["spin_tilt"]).statistic
    assert found == pytest.approx(6.0 / np.pi * np.arcsin(0.3), abs=4.0 / np.sqrt(200_000))
    right = np.degrees(drawn["azimuth"]) > 0.0
    # 4 standard errors of 100,000 each; outside source: normal tail of 3.5 sd.
    assert right.mean() == pytest.approx(0.5, abs=4.0 * 0.5 / np.sqrt(200_000))
    assert np.degrees(drawn["azimuth"][right]).mean() == pytest.approx(7.0, abs=0.05)


def test_correlations_leave_each_number_with_its_own_distribution(tmp_path):
    drawn = correlated(
        tmp_path,
        [("ball_speed", "elevation", -0.85), ("elevation", "spin_rate", 0.5)],
        ball_speed="{kind: uniform, low: 20 m/s, high: 30 m/s}",
        elevation="{kind: normal, mean: 12 deg, sd: 3 deg}",
        spin_rate="{kind: uniform, low: 1000 rpm, high: 2000 rpm}",
        count=50_000,
    )
    # Outside source: the Kolmogorov-Smirnov test of scipy; the seed is fixed.
    assert stats.kstest(drawn["ball_speed"], stats.uniform(20.0, 10.0).cdf).pvalue > 0.001
    assert stats.kstest(np.degrees(drawn["elevation"]), stats.norm(12.0, 3.0).cdf).pvalue > 0.001


def test_numbers_outside_a_correlation_are_drawn_as_without_it(tmp_path):
    spread = {
        "azimuth": "{kind: normal, mean: 0 deg, sd: 3 deg}",
        "spin_tilt": "{kind: normal, mean: 0 deg, sd: 3 deg}",
    }
    free = strike(tmp_path, **spread, ball_speed="{kind: uniform, low: 20 m/s, high: 30 m/s}")
    u = uniforms(1, 0, 1000, "launch", len(VARIABLES))
    tied = correlated(tmp_path, [("azimuth", "spin_tilt", 0.6)], 1000, **spread, ball_speed="30 m/s")
    assert np.array_equal(
        tied["azimuth"], correlated(tmp_path, [("azimuth", "spin_tilt", 0.1)], 1000, **spread)["azimuth"]
    )
    assert strike_numbers(free, u)[0].std() > 2.0


# Units


@pytest.mark.parametrize(
    ("adapter", "spellings"),
    [
        (SomeSpeed, ["67.056 m/s", "150 mph", "150mph", "241.4016 km/h", "241.4016 kph", "220 ft/s"]),
        (SomeAngle, ["12 deg", "12°", "12 degrees", "0.20943951023931956 rad"]),
        (SomeSpin, ["2700 rpm", "2700rpm", "282.7433388230814 rad/s"]),
        (SomeLength, ["381 mm", "38.1 cm", "15 in", '15"', "1 ft 3 in", "0.381 m"]),
    ],
)
def test_units_may_be_spelt_in_any_way_inside_a_distribution_too(adapter, spellings):
    found = TypeAdapter(adapter)
    fixed = [found.validate_python(text) for text in spellings]
    assert fixed == pytest.approx([fixed[0]] * len(spellings), rel=1e-12)
    means = [found.validate_python({"kind": "normal", "mean": text, "sd": spellings[0]}).mean for text in spellings]
    assert means == pytest.approx([fixed[0]] * len(spellings), rel=1e-12)


def test_a_mean_and_its_spread_may_have_different_units(tmp_path):
    found = strike(tmp_path, ball_speed="{kind: normal, mean: 118 mph, sd: 2 m/s}")
    assert found.ball_speed.mean == pytest.approx(118 * 0.44704, rel=1e-12)
    assert found.ball_speed.sd == 2.0
