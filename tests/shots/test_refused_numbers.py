"""Numbers of a shot type that cannot be: refused by the real loader, each at its line and key, with a way out."""

from __future__ import annotations

import numpy as np
import pytest
from own_shots import line_of, one_type, plan, refused, strike

from flightsim.shots.distributions import ends_of

NORMAL = "{kind: normal, mean: 0 deg, sd: 2 deg}"
BOTH = {"azimuth": NORMAL, "elevation": NORMAL}
MIX = "{{kind: mixture, components: [{{weight: {0}, of: 3 deg}}, {{weight: {1}, of: 4 deg}}]}}"
WRONG = {
    "a standard deviation of nought": (
        {"azimuth": "{kind: normal, mean: 0 deg, sd: 0 deg}"},
        "azimuth.sd",
        "out of range",
        "more than 0 deg",
        "12 deg",
    ),
    "a negative standard deviation": (
        {"azimuth": "{kind: normal, mean: 0 deg, sd: -1 deg}"},
        "azimuth.sd",
        "out of range",
        "more than 0 deg",
        "12 deg",
    ),
    "low above high": (
        {"azimuth": "{kind: uniform, low: 3 deg, high: 1 deg}"},
        "azimuth.low",
        "not less than high",
        "low < high",
        "the other way round",
    ),
    "low equal to high": (
        {"azimuth": "{kind: triangular, low: 3 deg, mode: 3 deg, high: 3 deg}"},
        "azimuth.low",
        "not less than high",
        "low < high",
        "one number",
    ),
    "a cut with low above high": (
        {"azimuth": "{kind: truncated_normal, mean: 0 deg, sd: 1 deg, low: 3 deg, high: 1 deg}"},
        "azimuth.low",
        "not less than high",
        "low < high",
        "the other way round",
    ),
    "a cut that leaves nothing": (
        {"azimuth": "{kind: truncated_normal, mean: 0 deg, sd: 1 deg, low: 30 deg, high: 31 deg}"},
        "azimuth.mean",
        "nothing is left",
        "in or near low to high",
        "uniform",
    ),
    "a mode outside": (
        {"azimuth": "{kind: triangular, low: 0 deg, mode: 5 deg, high: 3 deg}"},
        "azimuth.mode",
        "not between low and high",
        "low <= mode <= high",
        "between",
    ),
    "weights that do not add to 1": (
        {"azimuth": MIX.format(0.5, 0.4)},
        "azimuth.components",
        "add to 0.9",
        "add to 1",
        "0.555556, 0.444444",
    ),
    "a mixture of nothing": (
        {"azimuth": "{kind: mixture, components: []}"},
        "azimuth.components",
        "empty list",
        "each with its weight",
        "weight",
    ),
    "a mixture of mixtures": (
        {"azimuth": f"{{kind: mixture, components: [{{weight: 1, of: {MIX.format(0.5, 0.5)}}}]}}"},
        "azimuth.components.0.of.kind",
        "'mixture' is not known here",
        "normal, truncated_normal",
        "",
    ),
    "a spread of nought inside a mixture": (
        {"azimuth": "{kind: mixture, components: [{weight: 1, of: {kind: normal, mean: 1 deg, sd: 0 deg}}]}"},
        "azimuth.components.0.of.sd",
        "out of range",
        "more than 0 deg",
        "12 deg",
    ),
    "a kind that nobody knows": (
        {"azimuth": "{kind: nrmal, mean: 0 deg, sd: 1 deg}"},
        "azimuth.kind",
        "not known",
        "triangular, mixture",
        "normal",
    ),
    "no kind": (
        {"azimuth": "{mean: 0 deg, sd: 1 deg}"},
        "azimuth.kind",
        "missing",
        "normal, truncated_normal",
        "kind:",
    ),
    "a missing key": ({"azimuth": "{kind: normal, mean: 0 deg}"}, "azimuth.sd", "missing", "standard deviation", "sd:"),
    "a key of another kind": (
        {"azimuth": "{kind: normal, mean: 0 deg, sd: 1 deg, hgh: 1 deg}"},
        "azimuth.hgh",
        "unknown key",
        "kind, mean, sd",
        "",
    ),
    "a bare number": (
        {"azimuth": "{kind: normal, mean: 0, sd: 1 deg}"},
        "azimuth.mean",
        "0 has no unit",
        "deg, rad",
        "0 deg",
    ),
    "a unit of something else": (
        {"azimuth": "{kind: normal, mean: 0 m/s, sd: 1 deg}"},
        "azimuth.mean",
        "'m/s' is not a unit of angle",
        "deg",
        "deg",
    ),
    "infinity": (
        {"azimuth": "{kind: normal, mean: .inf, sd: 1 deg}"},
        "azimuth.mean",
        "not a finite number",
        "finite",
        "",
    ),
    "a speed of nought": (
        {"ball_speed": "0 m/s"},
        "ball_speed",
        "0 m/s is out of range",
        "above 0 up to 200 m/s",
        "67 m/s",
    ),
    "a negative speed": ({"ball_speed": "-3 m/s"}, "ball_speed", "-3 m/s is out of range", "above 0", "67 m/s"),
    "an enormous speed": ({"ball_speed": "900 km/h"}, "ball_speed", "250 m/s is out of range", "200 m/s", "67 m/s"),
    "a normal speed that reaches below nought": (
        {"ball_speed": "{kind: normal, mean: 20 m/s, sd: 5 m/s}"},
        "ball_speed",
        "as low as -21.0477 m/s",
        "above 0",
        "truncated_normal",
    ),
    "a rare negative speed in the middle of a mixture": (
        {
            "ball_speed": "{kind: mixture, components: [{weight: 0.5, of: 50 m/s}, {weight: 1.0e-6, of: -5 m/s}, "
            "{weight: 0.499999, of: 60 m/s}]}"
        },
        "ball_speed",
        "as low as -5 m/s",
        "above 0",
        "truncated_normal",
    ),
    "a ball below the mat": (
        {"tee_height": "-1 mm"},
        "tee_height",
        "-1 mm is out of range",
        "from 0 up to 500 mm",
        "40 mm",
    ),
    "a ball that may be below the mat": (
        {"tee_height": "{kind: normal, mean: 30 mm, sd: 5 mm}"},
        "tee_height",
        "as low as -11.0477 mm",
        "from 0",
        "truncated_normal",
    ),
    "a tee in the wrong unit": ({"tee_height": "38 m"}, "tee_height", "38,000 mm is out of range", "500 mm", "40 mm"),
    "an angle that turns round": (
        {"elevation": "300 deg"},
        "elevation",
        "300 deg is out of range",
        "-180 up to 180",
        "12",
    ),
    "more spin than any ball has": ({"spin_rate": "90000 rpm"}, "spin_rate", "90,000 rpm", "30,000 rpm", "2700 rpm"),
    "a ball beside the bay": ({"forward": "40 m"}, "forward", "40 m is out of range", "10 m", "100 mm"),
    "correlations that cannot all hold": (
        {
            **BOTH,
            "spin_tilt": NORMAL,
            "correlations": "[{between: [azimuth, spin_tilt], value: 0.9}, "
            "{between: [azimuth, elevation], value: 0.9}, {between: [spin_tilt, elevation], value: -0.9}]",
        },
        "correlations",
        "cannot hold together",
        "true at once",
        "each of them times 0.55",
    ),
    "a correlation given twice": (
        {
            **BOTH,
            "correlations": "[{between: [azimuth, elevation], value: 0.9}, {between: [elevation, azimuth], value: 0}]",
        },
        "correlations",
        "between azimuth and elevation is given twice",
        "once",
        "keep one",
    ),
    "a correlation with a fixed number": (
        {"azimuth": NORMAL, "correlations": "[{between: [azimuth, spin_rate], value: 0.5}]"},
        "correlations",
        "spin_rate is one fixed number",
        "have a distribution",
        "a distribution of spin_rate",
    ),
    "a correlation of a number with itself": (
        {**BOTH, "correlations": "[{between: [azimuth, azimuth], value: 0.5}]"},
        "correlations.0.between",
        "azimuth stands twice",
        "two different",
        "ball_speed",
    ),
    "a correlation of one number": (
        {**BOTH, "correlations": "[{between: [azimuth], value: 0.5}]"},
        "correlations.0.between",
        "a list of 1",
        "two different",
        "ball_speed",
    ),
    "a correlation of a misspelt number": (
        {**BOTH, "correlations": "[{between: [azimuth, elevaton], value: 0.5}]"},
        "correlations.0.between.1",
        "'elevaton' is not known",
        "tee_height, forward, right",
        "elevation",
    ),
    "a correlation of 1": (
        {**BOTH, "correlations": "[{between: [azimuth, elevation], value: 1}]"},
        "correlations.0.value",
        "1 is out of range",
        "less than 1",
        "",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_cannot_be_is_refused_at_its_line_and_key_with_a_way_out(tmp_path, what):
    given, key, found, allowed, fix = WRONG[what]
    text = one_type(**given)
    (problem,) = refused(tmp_path, text)
    assert problem.file == str(tmp_path / "bay.yaml")
    assert problem.key == f"launches.types.0.{key}"
    assert problem.line == line_of(text, key.partition(".")[0])
    assert found in problem.found
    assert allowed in problem.allowed
    assert fix in problem.fix


def test_all_that_is_wrong_is_told_at_once(tmp_path):
    text = one_type(
        ball_speed="-3 m/s", azimuth="{kind: uniform, low: 3 deg, high: 1 deg}", tee_height="-1 mm", share="2"
    )
    keys = {problem.key.removeprefix("launches.types.0.") for problem in refused(tmp_path, text)}
    assert keys == {"ball_speed", "azimuth.low", "tee_height", "share"}


def test_correlations_made_smaller_as_told_are_read(tmp_path):
    pairs = [("azimuth", "spin_tilt", 0.9), ("azimuth", "elevation", 0.9), ("spin_tilt", "elevation", -0.9)]
    given = ", ".join(f"{{between: [{a}, {b}], value: {0.55 * value}}}" for a, b, value in pairs)
    found = strike(tmp_path, **BOTH, spin_tilt=NORMAL, correlations=f"[{given}]")
    assert np.allclose((found.mixing @ found.mixing.T).diagonal(), 1.0, atol=1e-12)


@pytest.mark.parametrize("elevation", ["110 deg", "{kind: uniform, low: 80 deg, high: 140 deg}", "-170 deg"])
def test_backward_launches_are_taken_as_they_are_given(tmp_path, elevation):
    found = strike(tmp_path, elevation=elevation)
    assert max(np.degrees(np.abs(ends_of(found.elevation)))) > 100.0


def test_a_wild_but_possible_normal_angle_is_read(tmp_path):
    # Eight standard deviations of it reach past half a turn; 2 in 1,000 may.
    assert plan(tmp_path, one_type(spin_tilt="{kind: normal, mean: 20 deg, sd: 40 deg}")).types
