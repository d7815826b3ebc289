"""A scenario's numbers reach the physics, with the right sign."""

from pathlib import Path

import numpy as np
import pytest

from flightsim.contact.facings import shipped_facings
from flightsim.flight.integrator import Physics
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.resolved import resolved
from flightsim.study.run.open_bay import open_bay, open_changed
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"


def physics(*sets: str) -> Physics:
    return open_bay(GARAGE, sets).physics


def test_wind_to_the_right_blows_along_minus_y():
    assert physics("air.wind_to_right=2 m/s", "air.wind_toward_screen=-1 m/s").wind == (-1.0, -2.0, 0.0)


def test_air_given_by_altitude_is_thinner_and_a_given_density_overrides_only_the_density():
    low, high = physics(), physics("air.altitude=1500 m")
    assert high.air.density == pytest.approx(low.air.density * 0.8345, rel=0.005)  # ISO 2533: 84.556 kPa at 1500 m
    given = physics("air.density=1.1 kg/m3")
    assert given.air.density == 1.1
    assert given.air.viscosity == low.air.viscosity


def test_a_practice_ball_keeps_the_numbers_that_are_not_given():
    ball = physics("ball.preset=foam", "ball.mass=8 g").ball
    assert (ball.mass, ball.diameter) == (0.008, 0.042)
    assert "as given" in ball.source


def test_the_ball_stands_on_the_mat():
    opened = open_bay(GARAGE)
    start = run(opened, 200).shots.start
    assert start[2].min() >= 0.045 + opened.physics.ball.radius


def test_a_tee_inside_a_part_is_an_error_that_names_the_part():
    with pytest.raises(ScenarioError, match=r"behind|inside") as refused:
        open_bay(GARAGE, ["tee.from_end_wall=350 mm"])
    assert "tee" in str(refused.value)


def test_a_left_hander_sends_shanks_to_the_left():
    right, left = (run(open_bay(GARAGE, [f"launches.hand={hand}"]), 200) for hand in ("right", "left"))
    assert np.array_equal(right.shots.azimuth, -left.shots.azimuth)
    assert np.array_equal(right.shots.spin_tilt, -left.shots.spin_tilt)
    shank = [k for k, kind in enumerate(left.types) if kind.strike == "shank"]
    assert (left.shots.launches().velocity[1, np.isin(left.shots.type, shank)] > 0.0).all()


def harm_of(*sets: str) -> tuple[float, float]:
    """Energy, J, and speed, m/s, from which on a ball of the garage counts as harm."""
    opened = open_bay(GARAGE, list(sets))
    speed = opened.surroundings().harm_speed
    return 0.5 * opened.physics.ball.mass * speed**2, speed


def test_the_harm_speed_of_the_file_is_that_of_a_legal_ball():
    assert harm_of() == pytest.approx((0.5 * 0.04593 * 25.0, 5.0))
    assert harm_of("harm_speed=9 m/s")[1] == pytest.approx(9.0)
    assert harm_of("harm_energy=1.2 J") == pytest.approx((1.2, np.sqrt(2.0 * 1.2 / 0.04593)))


def test_a_limit_of_harm_is_an_energy_whatever_the_ball_weighs():
    """A ball of half the mass is as much harm at a speed that is the root of two times as high."""
    for sets in ((), ("harm_speed=9 m/s",), ("harm_energy=1.2 J",)):
        legal, light = harm_of(*sets), harm_of(*sets, "ball.mass=22.965 g")
        assert light[0] == pytest.approx(legal[0])
        assert light[1] == pytest.approx(np.sqrt(2.0) * legal[1])


def test_harm_is_given_as_a_speed_or_as_an_energy_and_not_as_both():
    with pytest.raises(ScenarioError, match="harm_energy and harm_speed are both given"):
        open_bay(GARAGE, ["harm_speed=9 m/s", "harm_energy=1 J"])


def test_a_run_can_be_repeated_from_its_resolved_scenario_with_its_limit_of_harm():
    scenario = open_bay(GARAGE, ["harm_speed=9 m/s"]).scenario
    assert resolved(scenario)["harm_energy"] == f"{scenario.harm_energy!r} J"
    assert scenario.harm_energy == pytest.approx(0.5 * 0.04593 * 81.0)


@pytest.mark.parametrize("speed", ["0 m/s", "-5 m/s", "5", "200 m/s"])
def test_a_harm_speed_that_cannot_be_is_refused(speed):
    with pytest.raises(ScenarioError, match="harm_speed"):
        open_bay(GARAGE, [f"harm_speed={speed}"])


def test_an_unknown_facing_is_an_error_with_line_key_the_known_words_and_a_near_one(tmp_path):
    file = tmp_path / "bay.yaml"
    text = GARAGE.read_text(encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ScenarioError) as refused:
        open_bay(file, ["screen.facing=clothe"])
    (problem,) = refused.value.problems
    assert problem.key == "screen.facing"
    assert "'clothe' is not known" in problem.found
    assert set(shipped_facings()) <= set(problem.allowed.split(", "))
    assert problem.fix == "cloth"
    where = next(k for k, line in enumerate(text.splitlines()) if line.startswith("screen:"))
    lines = text.splitlines()
    lines.insert(where + 1, "  facing: brik")
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(ScenarioError) as refused:
        open_bay(file)
    (problem,) = refused.value.problems
    assert (problem.line, problem.key, problem.fix) == (where + 2, "screen.facing", "brick")


def test_a_facing_of_the_files_own_is_known(tmp_path):
    file = tmp_path / "bay.yaml"
    file.write_text(GARAGE.read_text(encoding="utf-8") + "facings: {name: horse mat, fixed: 0.35}\n", encoding="utf-8")
    opened = open_bay(file, ["screen.facing=horse mat"])
    around = opened.surroundings()
    (k,) = [k for k, part in enumerate(opened.bay.parts) if part.name == "screen"]
    assert around.facings[k].fixed == 0.35


def test_a_bay_changed_from_an_open_one_is_the_bay_opened_with_that_change():
    opened = open_bay(GARAGE, ("canopy.depth=1.2m",))
    changed, anew = (
        open_changed(opened, ("tee.from_end_wall=3.4m",)),
        open_bay(GARAGE, ("canopy.depth=1.2m", "tee.from_end_wall=3.4m")),
    )
    assert changed.scenario == anew.scenario
    assert [str(problem) for problem in changed.warnings] == [str(problem) for problem in anew.warnings]
    assert [part.name for part in changed.bay.parts] == [part.name for part in anew.bay.parts]
    for changed_part, anew_part in zip(changed.bay.parts, anew.bay.parts, strict=True):
        assert np.array_equal(changed_part.shape.bounds(), anew_part.shape.bounds())


def test_a_changed_bay_has_the_plan_of_its_shots_where_they_are_the_same_and_its_own_where_not():
    opened = open_bay(GARAGE)
    assert open_changed(opened, ("canopy.depth=1.2m",)).plan is opened.plan
    larger = open_changed(opened, ("ball.diameter=43mm",))
    assert larger.plan.ball_radius == pytest.approx(0.0215)
    assert opened.plan.ball_radius != larger.plan.ball_radius


def test_what_an_open_bay_has_around_a_ball_is_made_once():
    opened = open_bay(GARAGE)
    assert opened.surroundings() is opened.surroundings()
