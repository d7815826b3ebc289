"""`flightsim strike` for a player's strikes, and the pages that `--out` writes."""

import json

import pytest

IRON = ["--club-speed", "36m/s", "--club", "7-iron", "--loft", "28deg", "--attack", "-4deg"]
DRIVE = ["--club-speed", "45m/s", "--club", "driver", "--loft", "12deg"]
MANY = ["--player", "mid", "--club", "7-iron", "--strikes", "1200"]

# A player and a club


def test_a_player_and_a_club_give_classes_with_shares_that_add_to_one_and_launch_medians(launch):
    data = launch(*MANY)
    classes = {row["strike_class"]: row for row in data["strike_classes"]}
    assert set(classes) == {"face", "fat", "thin", "shank", "top", "toe"}
    assert sum(row["share"] for row in classes.values()) == pytest.approx(1.0, abs=1e-12)
    assert [row["share"] for row in data["strike_classes"]] == sorted(
        (r["share"] for r in classes.values()), reverse=True
    )
    assert {row["strikes"] for row in classes.values()} == {200}
    assert classes["face"]["share"] > 0.5
    assert classes["shank"]["azimuth_deg"] > 10 > abs(classes["face"]["azimuth_deg"])
    assert data["seed"] == 1
    assert (data["player"], data["club"], data["tails"], data["bad_day"]) == ("mid", "7-iron", "independent", 1.0)


def test_a_left_handers_classes_are_the_mirror_and_a_seed_repeats_them(launch):
    right, left = launch(*MANY), launch(*MANY, "--hand", "left")
    for one, other in zip(right["strike_classes"], left["strike_classes"], strict=True):
        assert other["azimuth_deg"] == -one["azimuth_deg"]
        assert other["sidespin_rpm"] == -one["sidespin_rpm"]
        assert other["share"] == one["share"]
    assert launch(*MANY) == right
    assert launch(*MANY, "--seed", "2") != right


def test_a_bad_day_multiplies_the_odds_of_each_miss(launch):
    usual, bad = (
        {row["strike_class"]: row["share"] for row in launch(*MANY, *more)["strike_classes"]}
        for more in ([], ["--bad-day", "15"])
    )
    for kind in ("shank", "toe", "thin"):
        assert bad[kind] / bad["face"] == pytest.approx(15 * usual[kind] / usual["face"], rel=1e-9)


def test_tails_change_how_often_a_shank_comes_and_a_half_swing_how_fast(launch):
    shank = {
        tails: next(row for row in launch(*MANY, "--tails", tails)["strike_classes"] if row["strike_class"] == "shank")
        for tails in ("independent", "joint", "gaussian")
    }
    assert shank["gaussian"]["share"] < shank["independent"]["share"]
    half = launch(*MANY, "--swing", "half")["strike_classes"][0]
    assert half["ball_speed_m_s"] < 0.7 * launch(*MANY)["strike_classes"][0]["ball_speed_m_s"]


def test_the_table_of_a_player_has_shares_units_and_says_how_weak_they_are(strike):
    code, out, err = strike(*MANY, "--units", "imperial")
    assert code in (0, None), err
    assert "mid-handicap player with a 7-iron" in out
    assert "Medians of 200 strikes of each class, seed 1." in out
    assert "order of magnitude" in out
    assert "mph" in out
    assert "m/s" not in out
    rows = [line.split()[0] for line in out.splitlines()[3:9]]
    assert sorted(rows) == ["clean", "fat", "shank", "thin", "toe", "topped"]


def test_a_figure_is_drawn_into_the_file_that_is_named(strike, tmp_path):
    path = tmp_path / "strikes.png"
    code, out, err = strike(*MANY, "--figure", path)
    assert code in (0, None), err
    assert path.read_bytes().startswith(b"\x89PNG")
    assert f"Drew {path}." in out
    assert [file.name for file in tmp_path.iterdir()] == ["strikes.png"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--player", "mid"], ["--player: needs a --club", "--club 7-iron"]),
        (["--player", "tuor", "--club", "driver"], ["'tuor' is not known here", "junior", "--player tour"]),
        (["--player", "mid", "--club", "8iron"], ["'8iron' is not known here", "--club 8-iron"]),
        ([*MANY, "--toe", "3mm"], ["--toe: is for one strike", "without --player"]),
        ([*MANY, "--club-speed", "40m/s"], ["--club-speed: is for one strike"]),
        ([*MANY, "--bad-day", "0.5"], ["--bad-day: '0.5' is out of range", "from 1 to 100"]),
        ([*MANY, "--figure", "strikes.pdf"], ["is no PNG file", ".png"]),
        ([*MANY, "--figure", "no/such/folder/strikes.png"], ["cannot be written", "another name or folder"]),
    ],
)
def test_what_a_player_cannot_do_is_refused_with_a_way_out(strike, options, words):
    code, out, err = strike(*options)
    assert code == 2, err
    assert out == ""
    for word in ("allowed:" if "written" not in err else "try:", "try:", *words):
        assert word in err, err


# The page


def test_out_writes_a_page_a_picture_and_the_numbers_of_one_strike(strike, tmp_path):
    folder = tmp_path / "out"
    code, out, err = strike(*IRON, "--toe", "-30mm", "--out", folder)
    assert code in (0, None), err
    text = (folder / "strike.html").read_text(encoding="utf-8")
    for words in (
        "the hosel: a shank",
        "Stronge 2000",
        "Ball",
        "practice; levers judgement",
        "-30 mm",
        "data:image/png",
    ):
        assert words.lower() in text.lower(), words
    assert "24.6 deg to the right" in text
    assert json.loads((folder / "strike.json").read_text()) == json.loads(strike(*IRON, "--toe", "-30mm", "--json")[1])
    assert str(folder / "strike.html") in out.replace("\n", "")
    assert str(tmp_path) not in text


def test_out_writes_a_page_of_a_players_strikes_with_every_class_and_its_share(strike, tmp_path):
    code, out, err = strike(*MANY, "--out", tmp_path / "out")
    assert code in (0, None), err
    text = (tmp_path / "out" / "strike.html").read_text(encoding="utf-8")
    data = json.loads((tmp_path / "out" / "strike.json").read_text())
    assert text.count("<tr>") > len(data["strike_classes"]) > 4
    assert "Ko 2012" in text
    assert "an order of magnitude" in text
    for line in out.splitlines()[3:5]:
        assert line.split()[0] in text


def test_a_strike_with_the_face_is_told_between_what_it_leaves_and_one_off_an_edge_is_not(strike, tmp_path):
    strike(*DRIVE, "--out", tmp_path / "a")
    strike(*DRIVE, "--up", "40mm", "--out", tmp_path / "b")
    face, sky = ((tmp_path / name / "strike.html").read_text(encoding="utf-8") for name in "ab")
    assert "between the way of the head and where the face points" in face
    assert "between the way of the head" not in sky
    assert "skied" in sky
