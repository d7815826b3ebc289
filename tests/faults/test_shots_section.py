"""Impossible players, clubs and shares in a scenario's `shots`: refused at their line and key, with a way out."""

from pathlib import Path

import pytest

from flightsim.scenario.reading.problems import ScenarioError
from flightsim.study.run.open_bay import open_bay

HEAD = (
    (Path(__file__).parents[2] / "scenarios" / "single_garage.yaml").read_text(encoding="utf-8").split("launches:")[0]
)
SHOTS = """shots:
  players:
    - {player: mid, share: 0.6}
    - {player: mine, share: 0.4, hand: left}
  clubs:
    - {club: driver, share: 0.5}
    - {club: old iron, share: 0.5, swing: half}
  own_players:
    mine:
      driver_speed: 80 mph
      speed_sd: 0.02
      path_sd: 2 deg
      face_sd: 2 deg
      attack_sd: 1 deg
      loft_sd: 1 deg
      driver_toe_sd: 9 mm
      driver_up_sd: 7 mm
      iron_toe_sd: 8 mm
      iron_edge_sd: 5 mm
      iron_loft_taken: 4 deg
      tail_nu: 5
  own_clubs:
    old iron:
      kind: iron
      loft: 33 deg
      length: 37 in
      lie: 62 deg
      head_mass: 250 g
      cg_depth: 4 mm
      moi_vertical: 2600
      moi_heel_toe: 900
      third_moment: 3000
      speed_of_driver: 0.8
"""
FIRST = HEAD.count("\n") + 1  # line of `shots:`


def refused(tmp_path, old: str, new: str):
    """The one problem that a change of the section makes, with its line counted from `shots:`, which is 1."""
    assert SHOTS.count(old) == 1, old
    file = tmp_path / "bay.yaml"
    file.write_text(HEAD + SHOTS.replace(old, new), encoding="utf-8")
    with pytest.raises(ScenarioError) as error:
        open_bay(file)
    assert len(error.value.problems) == 1, error.value
    problem = error.value.problems[0]
    return problem, problem.line - FIRST + 1


def test_the_section_that_the_faults_are_made_in_is_sound(tmp_path):
    file = tmp_path / "bay.yaml"
    file.write_text(HEAD + SHOTS, encoding="utf-8")
    labels = {kind.label for kind in open_bay(file).plan.types}
    assert {"mid driver clean", "mine left old iron (half) shank"} <= labels


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "found", "allowed"),
    [
        ("loft: 33 deg", "loft: 200 deg", 25, "own_clubs.old iron.loft", "'200 deg' is out of range", "at most 80 deg"),
        ("loft: 33 deg", "loft: 0 deg", 25, "own_clubs.old iron.loft", "'0 deg' is out of range", "more than 0 deg"),
        ("loft: 33 deg", "loft: 33", 25, "own_clubs.old iron.loft", "33 has no unit", "a number and a unit: deg, rad"),
        ("head_mass: 250 g", "head_mass: 0 g", 28, "own_clubs.old iron.head_mass", "'0 g' is out of range",
         "at least 0.05 kg"),
        ("head_mass: 250 g", "head_mass: 250 kg", 28, "own_clubs.old iron.head_mass", "'250 kg' is out of range",
         "at most 0.6 kg"),
        ("length: 37 in", "length: 37 m", 26, "own_clubs.old iron.length", "'37 m' is out of range", "at most 1.5 m"),
        ("lie: 62 deg", "lie: 6 deg", 27, "own_clubs.old iron.lie", "'6 deg' is out of range", "at least 30 deg"),
        ("cg_depth: 4 mm", "cg_depth: 4 m", 29, "own_clubs.old iron.cg_depth", "'4 m' is out of range",
         "at most 0.1 m"),
        ("moi_heel_toe: 900", "moi_heel_toe: -900", 31, "own_clubs.old iron.moi_heel_toe", "-900 is out of range",
         "more than 0"),
        ("moi_heel_toe: 900", "moi_heel_toe: 90", 23, "own_clubs.old iron",
         "no body has these moments of inertia: 3000 is more than 90 and 2600",
         "the largest at most the other two together"),
        ("kind: iron", "kind: irons", 24, "own_clubs.old iron.kind", "'irons' is not known here",
         "driver, wood, iron, wedge"),
        ("driver_speed: 80 mph", "driver_speed: 800 mph", 10, "own_players.mine.driver_speed",
         "'800 mph' is out of range", "at most 90 m/s"),
        ("tail_nu: 5", "tail_nu: 2", 21, "own_players.mine.tail_nu", "2 is out of range", "more than 2"),
        ("iron_toe_sd: 8 mm", "iron_toe_sd: 8 cm", 18, "own_players.mine.iron_toe_sd", "'8 cm' is out of range",
         "at most 0.05 m"),
        ("path_sd: 2 deg", "path_sd: 0 deg", 12, "own_players.mine.path_sd", "'0 deg' is out of range",
         "more than 0 deg"),
    ],
)  # fmt: skip
def test_an_impossible_club_or_player_is_refused_at_its_key(tmp_path, old, new, line, key, found, allowed):
    problem, found_line = refused(tmp_path, old, new)
    assert (problem.key, problem.found) == (f"shots.{key}", found)
    assert (found_line, problem.allowed) == (line, allowed)


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "name", "near"),
    [
        ("player: mid,", "player: midd,", 3, "players.0.player", "midd", "player: mid"),
        ("player: mine,", "player: minne,", 4, "players.1.player", "minne", "player: mine"),
        ("club: driver,", "club: drivr,", 6, "clubs.0.club", "drivr", "club: driver"),
        ("club: old iron,", "club: 7 iron,", 7, "clubs.1.club", "7 iron", "club: 7-iron"),
    ],
)
def test_an_unknown_player_or_club_is_told_the_nearest_name(tmp_path, old, new, line, key, name, near):
    problem, found_line = refused(tmp_path, old, new)
    assert (problem.key, found_line) == (f"shots.{key}", line)
    assert problem.found == f"'{name}' is not known here"
    assert problem.fix == near
    assert near.split(": ")[1] in problem.allowed.split(", ")


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "found", "fix"),
    [
        ("mid, share: 0.6", "mid, share: 0.5", 2, "players", "the shares add to 0.9",
         "share: 0.555556, share: 0.444444"),
        ("driver, share: 0.5", "driver, share: 0.75", 5, "clubs", "the shares add to 1.25", "share: 0.6, share: 0.4"),
    ],
)  # fmt: skip
def test_shares_that_do_not_add_to_one_are_refused_with_shares_that_do(tmp_path, old, new, line, key, found, fix):
    problem, found_line = refused(tmp_path, old, new)
    assert (problem.key, found_line, problem.found) == (f"shots.{key}", line, found)
    assert problem.allowed == "shares that add to 1"
    assert problem.fix == fix


def test_one_player_or_club_given_twice_is_refused_since_results_could_not_tell_them_apart(tmp_path):
    problem, line = refused(tmp_path, "player: mine, share: 0.4, hand: left", "player: mid, share: 0.4")
    assert (problem.key, line) == ("shots.players.1.player", 4)
    assert "given twice" in problem.found
    problem, line = refused(tmp_path, "club: old iron, share: 0.5, swing: half", "club: driver, share: 0.5")
    assert (problem.key, line) == ("shots.clubs.1.club", 7)


def test_every_fault_of_a_section_is_told_at_once(tmp_path):
    file = tmp_path / "bay.yaml"
    broken = SHOTS.replace("player: mid,", "player: tuor,").replace("club: driver,", "club: drier,")
    file.write_text(HEAD + broken, encoding="utf-8")
    with pytest.raises(ScenarioError) as error:
        open_bay(file)
    assert [problem.key for problem in error.value.problems] == ["shots.players.0.player", "shots.clubs.0.club"]


def test_shots_and_launches_together_are_refused(tmp_path):
    file = tmp_path / "bay.yaml"
    file.write_text(HEAD + SHOTS + "launches: {use: [driver]}\n", encoding="utf-8")
    with pytest.raises(ScenarioError, match="shots and launches are given"):
        open_bay(file)


@pytest.mark.parametrize(
    ("change", "words"),
    [("shots.bad_day=0.5", "at least 1"), ("shots.bad_day=1000", "at most 100"),
     ("shots.thresholds={toe: 0 mm}", "more than 0 m"), ("shots.thresholds={toe: 3.8 m}", "at most 0.1 m"),
     ("shots.tails={model: cauchy}", "student_t, gaussian"), ("shots.clubs.0.tee_height=4 m", "at most 0.15 m"),
     ("shots.clubs.0.swing=quarter", "full, half, chip")],
)  # fmt: skip
def test_a_change_from_the_command_line_is_judged_alike(tmp_path, change, words):
    file = tmp_path / "bay.yaml"
    file.write_text(HEAD + SHOTS, encoding="utf-8")
    with pytest.raises(ScenarioError) as error:
        open_bay(file, [change])
    assert words in str(error.value)
    assert f"change {change.split('=')[0]}" in str(error.value)
