"""Spreads around measured shots: a smoothed bootstrap, and a fitted Student's t."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from shot_tables import HEAD, MPH, WEDGE_SPIN, bay, drawn, plan, rows, two_clubs, write_table

from flightsim.scenario.reading.problems import ScenarioError
from flightsim.shots.measured_spread import fit_kernel, fit_student_t
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.run_files import run_facts
from flightsim.study.run.streams import uniforms
from flightsim.study.run.walk import run


@pytest.mark.parametrize("spread", ["kernel", "t"])
def test_a_spread_says_in_a_warning_and_in_run_json_what_its_bounds_do_not_cover(tmp_path: Path, spread: str) -> None:
    write_table(tmp_path / "shots.csv", rows(60))
    result = run(open_bay(bay(tmp_path, spread=spread)), 400)
    assert len(result.shots) == 400
    (warning,) = [str(problem) for problem in result.warnings if problem.key.startswith("measured")]
    assert "around 60 measured shots: the bounds cover the luck of the draw only" in warning
    assert ("bandwidth 0.5" if spread == "kernel" else "nu 4") in warning
    (club,) = run_facts(result)["shots_source"]["clubs"]
    assert club["spread"] == spread


@pytest.mark.parametrize("spread", ["none", "kernel", "t"])
def test_a_shot_is_the_same_in_any_chunk_process_and_length(tmp_path: Path, spread: str) -> None:
    write_table(tmp_path / "shots.csv", two_clubs()[:-1] + rows(20, "Pitching wedge", 7, 95.0))
    measured = plan(tmp_path, spread=spread, **WEDGE_SPIN)
    (tmp_path / "shots.csv").unlink()  # read once: worker processes get the rows, not the file
    n = measured.grid_size or 3000
    whole, again = drawn(measured, n), drawn(pickle.loads(pickle.dumps(measured)), n)
    assert np.array_equal(whole.azimuth, again.azimuth)
    for first, count in ((0, 7), (11, 31), (n - 5, 5)):
        piece = drawn(measured, count, first)
        for name in ("type", "ball_speed", "elevation", "azimuth", "spin_rate", "spin_tilt", "start"):
            assert np.array_equal(getattr(piece, name), getattr(whole, name)[..., first : first + count])


def cloud(n: int = 400, seed: int = 3) -> np.ndarray:
    rng = np.random.default_rng(seed)
    mixing = rng.normal(size=(5, 5)) + 2.0 * np.eye(5)
    scale = np.array([[3.0], [0.03], [0.05], [20.0], [10.0]])
    return np.array([[60.0], [0.2], [0.01], [280.0], [5.0]]) + scale * (mixing @ rng.standard_t(6, (5, n))) * 0.3


def test_a_kernel_has_the_rows_mean_and_their_covariance_widened_by_its_bandwidth() -> None:
    points = cloud()
    kernel = fit_kernel(points, 0.5)
    many = kernel.draw(uniforms(1, 0, 200_000, "test", 6))
    sd = points.std(axis=1)
    assert np.allclose((many.mean(axis=1) - points.mean(axis=1)) / sd, 0.0, atol=0.02)
    assert np.allclose(np.cov(many) / np.outer(sd, sd), 1.25 * np.cov(points) / np.outer(sd, sd), atol=0.03)


def test_a_narrow_kernel_gives_back_the_rows_each_as_often() -> None:
    points = cloud(25)
    many = fit_kernel(points, 1e-9).draw(uniforms(1, 0, 50_000, "test", 6))
    nearest = np.abs(many[:1].T - points[0]).argmin(axis=1)
    assert np.allclose(many, points[:, nearest], rtol=1e-6, atol=1e-6)
    count = np.bincount(nearest, minlength=25)
    assert stats.chisquare(count).pvalue > 1e-3


def test_the_default_bandwidth_is_silverman_s() -> None:
    assert fit_kernel(cloud(100), None).bandwidth == pytest.approx((4 / 7 / 100) ** (1 / 9), rel=1e-12)
    flat = cloud(100)
    flat[4] = 0.0  # no sidespin was measured: four numbers move
    assert fit_kernel(flat, None).bandwidth == pytest.approx((4 / 6 / 100) ** (1 / 8), rel=1e-12)


@pytest.mark.parametrize("nu", [3.0, 8.0])
def test_the_fitted_t_is_the_likeliest_by_scipy_s_density(nu: float) -> None:
    points = cloud(80)
    fit = fit_student_t(points, nu)
    scatter = fit.factor @ fit.factor.T

    def likelihood(centre: np.ndarray, shape: np.ndarray) -> float:
        return float(stats.multivariate_t(centre[:, 0], shape, df=nu).logpdf(points.T).sum())

    best, sd, rng = likelihood(fit.centre, scatter), points.std(axis=1, keepdims=True), np.random.default_rng(1)
    for _ in range(40):
        other = fit.factor @ (np.eye(5) + 0.01 * rng.normal(size=(5, 5)))
        assert likelihood(fit.centre, other @ other.T) < best
        assert likelihood(fit.centre + 0.02 * sd * rng.normal(size=(5, 1)), scatter) < best


def test_draws_of_the_t_have_its_distances() -> None:
    fit = fit_student_t(cloud(), 5.0)
    many = fit.draw(uniforms(1, 0, 50_000, "test", 6))
    away = np.linalg.solve(fit.factor, many - fit.centre)
    # d^2 / 5 of a five-dimensional t with nu degrees is F(5, nu); limits bring far ones back, so only below them.
    distance = (away**2).sum(axis=0) / 5.0
    for share in (0.1, 0.5, 0.9, 0.99):
        assert (distance < stats.f(5, 5.0).ppf(share)).mean() == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("spread", ["kernel", "t"])
def test_draws_stay_within_what_a_ball_does_and_a_number_that_never_moves_stays(tmp_path: Path, spread: str) -> None:
    lines = rows(40)
    for k, line in enumerate(lines):
        line[HEAD.index("axis")] = "0"
        line[HEAD.index("side")] = str(-80 + 4 * k)
    write_table(tmp_path / "shots.csv", lines)
    shots = drawn(plan(tmp_path, spread=spread, accept_units=True), 20_000)
    assert (np.abs(shots.azimuth) <= np.pi / 2 + 1e-12).all()
    assert (np.abs(shots.azimuth) > np.pi / 2 - 1e-9).any()
    assert shots.ball_speed.min() >= 3.0
    assert shots.ball_speed.max() <= 100.0
    assert np.allclose(np.sin(shots.spin_tilt), 0.0, atol=1e-9)


@pytest.mark.parametrize(("spread", "least"), [("kernel", 10), ("t", 20)])
def test_too_few_rows_of_a_club_for_a_spread_are_told_with_the_club(tmp_path: Path, spread: str, least: int) -> None:
    write_table(tmp_path / "shots.csv", [*rows(30), *rows(least - 1, "3-wood", 2)])
    with pytest.raises(ScenarioError, match=f"3-wood: it has {least - 1} rows; at least {least} are due"):
        plan(tmp_path, spread=spread)


@pytest.mark.parametrize("spread", ["kernel", "t"])
def test_rows_that_do_not_differ_or_go_together_exactly_have_no_such_spread(tmp_path: Path, spread: str) -> None:
    same = [[str(k), *rows(1)[0][1:]] for k in range(30)]
    write_table(tmp_path / "shots.csv", same)
    with pytest.raises(ScenarioError, match="all its rows are the same"):
        plan(tmp_path, spread=spread)
    lines = [[*row[:2], row[1], *row[3:]] for row in rows(30)]
    for line in lines:
        line[HEAD.index("launch")] = str(float(line[1]) / 10.0)
    write_table(tmp_path / "shots.csv", lines)
    if spread == "t":
        with pytest.raises(ScenarioError, match="its numbers go together exactly"):
            plan(tmp_path, spread="t")
    else:
        shots = drawn(plan(tmp_path, spread="kernel"), 500)
        assert np.allclose(shots.elevation, np.radians(shots.ball_speed / MPH / 10.0), rtol=1e-6)
