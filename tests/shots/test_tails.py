"""Laws of a player's scatter: weights of rectangles, draws within them, and how the three laws differ."""

import numpy as np
import pytest
from scipy import stats

from flightsim.shots.tails import Gaussian, IndependentT, JointT, Law, Tails
from flightsim.strike.classes import Thresholds, cells
from flightsim.strike.clubs import shipped_club

INF = float("inf")
WHOLE = (-INF, INF)
LAWS = [Gaussian(), IndependentT(4.0), IndependentT(6.0), JointT(4.0), JointT(6.0), JointT(2.5), IndependentT(150.0)]
T_LAWS = [law for law in LAWS if not isinstance(law, Gaussian)]
RECTANGLES = [
    (WHOLE, WHOLE), ((-INF, -2.4), WHOLE), ((3.0, INF), WHOLE), ((-2.0, 3.0), (2.5, INF)), ((-1.0, 1.0), (-0.5, 0.2)),
    ((4.0, 4.5), (-INF, -3.0)), ((-6.0, -5.0), (5.0, 7.0)), ((0.0, INF), (0.0, INF)),
]  # fmt: skip
ids = repr


def one_axis(law: Law):
    """scipy's distribution of one score."""
    if isinstance(law, Gaussian):
        return stats.norm()
    return stats.t(law.nu, scale=np.sqrt((law.nu - 2) / law.nu))


def span(distribution, low: float, high: float) -> float:
    """Probability of low..high, in the tail that keeps its digits."""
    if low > 0:
        return distribution.sf(low) - distribution.sf(high)
    return distribution.cdf(high) - distribution.cdf(low)


@pytest.mark.parametrize("law", LAWS, ids=ids)
@pytest.mark.parametrize("club", ["driver", "7-iron", "lob wedge"])
def test_weights_of_a_clubs_cells_add_to_one(law, club):
    found = cells(shipped_club(club), np.radians(40.0), Thresholds())
    scores = [(tuple(v / 0.010 for v in c.toe), tuple(v / 0.006 for v in c.height)) for c in found]
    assert sum(law.weight(toe, height) for toe, height in scores) == pytest.approx(1.0, abs=1e-9)
    assert all(law.weight(toe, height) > 0.0 for toe, height in scores)


@pytest.mark.parametrize("law", [law for law in LAWS if not isinstance(law, JointT)], ids=ids)
@pytest.mark.parametrize("rectangle", RECTANGLES, ids=ids)
def test_independent_weights_are_products_of_scipys_probabilities(law, rectangle):
    expected = span(one_axis(law), *rectangle[0]) * span(one_axis(law), *rectangle[1])
    assert law.weight(*rectangle) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("law", [law for law in LAWS if isinstance(law, JointT)], ids=ids)
@pytest.mark.parametrize("rectangle", RECTANGLES, ids=ids)
def test_joint_weights_are_those_of_scipys_multivariate_t(law, rectangle):
    shape = np.eye(2) * (law.nu - 2) / law.nu
    low, high = ([side[k] for side in rectangle] for k in (0, 1))
    # scipy integrates by quasi-random lattice points: about 1e-7 absolute with as many.
    expected = stats.multivariate_t(shape=shape, df=law.nu, seed=1).cdf(high, lower_limit=low, maxpts=200_000)
    assert law.weight(*rectangle) == pytest.approx(float(expected), rel=2e-3, abs=1e-7)


@pytest.mark.parametrize("law", T_LAWS, ids=ids)
def test_one_axis_of_every_t_law_is_scipys_t_scaled_to_standard_deviation_one(law):
    assert one_axis(law).std() == pytest.approx(1.0)
    for low, high in [(-INF, -4.0), (-1.0, 0.5), (2.0, 8.0), (12.0, INF)]:
        assert law.weight((low, high), WHOLE) == pytest.approx(span(one_axis(law), low, high), rel=1e-6)
        assert law.weight(WHOLE, (low, high)) == pytest.approx(span(one_axis(law), low, high), rel=1e-6)


@pytest.mark.parametrize("law", LAWS, ids=ids)
@pytest.mark.parametrize("rectangle", RECTANGLES, ids=ids)
def test_draws_fall_inside_their_rectangle_and_follow_the_conditional_law(law, rectangle):
    """Kolmogorov-Smirnov on each axis; the conditional distribution function from the weights tested above."""
    n, whole = 4000, law.weight(*rectangle)
    x, y, factor = law.draw(*rectangle, np.random.default_rng(11).uniform(size=(3, n)))
    for drawn, (low, high), k in ((x, rectangle[0], 0), (y, rectangle[1], 1)):
        assert ((low <= drawn) & (drawn <= high)).all()
        grid = np.quantile(drawn, np.linspace(0.01, 0.99, 60))
        spans = [((low, edge), rectangle[1]) if k == 0 else (rectangle[0], (low, edge)) for edge in grid]
        exact = np.array([law.weight(*each) / whole for each in spans])
        seen = np.searchsorted(np.sort(drawn), grid, side="right") / n
        assert np.abs(seen - exact).max() < 1.95 / np.sqrt(n)  # p = 0.001 of the KS statistic
    assert (factor > 0.0).all()


@pytest.mark.parametrize("law", LAWS, ids=ids)
def test_the_ends_of_the_uniforms_give_finite_scores(law):
    ends = np.array([[2.0**-53, 1.0 - 2.0**-53, 0.5]] * 3)
    for rectangle in RECTANGLES:
        assert all(np.isfinite(drawn).all() for drawn in law.draw(*rectangle, ends))


def test_the_joint_factor_is_inverse_chi_and_grows_far_out():
    law = JointT(4.0)
    u = np.random.default_rng(2).uniform(size=(3, 4000))
    _, _, factor = law.draw(WHOLE, WHOLE, u)
    assert stats.kstest((law.nu - 2) / factor**2, stats.chi2(law.nu).cdf).pvalue > 1e-3
    _, _, far = law.draw((-INF, -4.0), WHOLE, u)
    assert np.median(far) > 2.0 * np.median(factor)
    normal = np.array([-1.0, 0.0, 2.0])
    assert law.other(normal, np.full(3, 1.7)) == pytest.approx(1.7 * normal)


def test_independent_scores_of_other_axes_are_t_whatever_the_strike_point():
    law, normal = IndependentT(4.0), stats.norm.ppf(np.linspace(0.001, 0.999, 999))
    scores = law.other(normal, np.full(999, 9.0))
    assert scores == pytest.approx(one_axis(law).ppf(np.linspace(0.001, 0.999, 999)), rel=1e-9)
    assert Gaussian().other(normal, np.full(999, 9.0)) is normal


@pytest.mark.parametrize("nu", [4.0, 6.0])
def test_joint_tails_meet_in_the_corner_where_independent_ones_do_not(nu):
    """One axis alone is the same under both; both at once beyond 4 sd come far more often together."""
    corner, side = ((4.0, INF), (4.0, INF)), ((4.0, INF), WHOLE)
    gauss, independent, joint = Gaussian(), IndependentT(nu), JointT(nu)
    assert joint.weight(*side) == pytest.approx(independent.weight(*side), rel=1e-6)
    assert independent.weight(*side) > 20 * gauss.weight(*side)
    assert joint.weight(*corner) > 20 * independent.weight(*corner)
    assert independent.weight(*corner) > 400 * gauss.weight(*corner)


def test_the_model_of_a_scenario_chooses_the_law():
    assert Tails().law(5.0) == IndependentT(5.0)
    assert Tails(axes="joint").law(5.0) == JointT(5.0)
    assert Tails(model="gaussian", axes="joint").law(5.0) == Gaussian()


def test_a_t_with_very_many_degrees_is_the_gaussian():
    rectangle = ((1.0, 2.0), (-0.5, INF))
    for law in (IndependentT(1e6), JointT(2000.0)):
        assert law.weight(*rectangle) == pytest.approx(Gaussian().weight(*rectangle), rel=2e-3)
