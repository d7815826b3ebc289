"""`flightsim strike`: one strike, told and refused."""

import numpy as np
import pytest

from flightsim.strike.clubs import club_names, shipped_club
from flightsim.strike.head_file import EXAMPLE

KEYS = ["ball_speed_m_s", "elevation_deg", "azimuth_deg", "backspin_rpm", "sidespin_rpm", "strike_class"]
R1 = [
    *("--club-speed", "45m/s", "--loft", "12deg", "--head-mass", "200g"),
    *("--restitution", "0.83", "--tangential-restitution", "0", "--friction", "0.35"),
]
R2 = [
    *("--club-speed", "38m/s", "--loft", "26deg", "--attack", "-4deg", "--face", "2deg", "--path", "-2deg"),
    *("--head-mass", "272g", "--restitution", "0.78", "--tangential-restitution", "0.2", "--friction", "0.35"),
]
R3 = [
    *("--club-speed", "25m/s", "--loft", "65deg", "--attack", "-3deg"),
    *("--head-mass", "300g", "--restitution", "0.80", "--tangential-restitution", "0.2", "--friction", "0.30"),
]
R6 = ["--club-speed", "40m/s", "--loft", "30deg", "--head-mass", "270g", "--restitution", "0.78", "--friction", "0"]
IRON = ["--club-speed", "36m/s", "--club", "7-iron", "--loft", "28deg", "--attack", "-4deg"]
DRIVE = ["--club-speed", "45m/s", "--club", "driver", "--loft", "12deg"]
POINT = ["--club-speed", "45m/s", "--loft", "12deg"]


# One strike


def test_json_has_these_keys_in_this_order_and_nothing_else(launch):
    assert list(launch(*R1)) == KEYS
    assert launch(*R1)["strike_class"] == "face"
    assert list(launch(*IRON)) == KEYS


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        pytest.param(R1, {"ball_speed_m_s": 65.555, "elevation_deg": 9.807, "backspin_rpm": 2806.3, "azimuth_deg": 0,
                          "sidespin_rpm": 0}, id="R1"),
        pytest.param(R2, {"ball_speed_m_s": 50.380, "azimuth_deg": 0.960, "elevation_deg": 18.926,
                          "backspin_rpm": 6943.9, "sidespin_rpm": 919.3}, id="R2"),
        pytest.param(R3, {"ball_speed_m_s": 15.263, "elevation_deg": 48.301, "backspin_rpm": 4906.4}, id="R3"),
        pytest.param(R6, {"ball_speed_m_s": 52.697, "elevation_deg": 30, "backspin_rpm": 0}, id="R6"),
    ],
)  # fmt: skip
def test_reference_strikes_come_out_to_a_thousandth(launch, options, expected):
    # [strike-set], computed apart from this code; tolerance 1e-3 relative as stated there. It had a radius of
    # 21.34 mm, the legal ball has 21.335: that turns it 2.3e-4 faster.
    numbers = launch(*options)
    for key, value in expected.items():
        assert numbers[key] == pytest.approx(value, rel=1e-3, abs=1e-6), key


def test_the_ball_test_of_the_rules_comes_out_with_a_head_file(launch, head):
    # Read, the 2023 ball rule: 120 mph gives 176 mph (+-3), 10 deg (+-1), 2520 rpm (+-600). The head: Proceedings 2020,
    # 49(1), 47, with 3 g of shaft. Loft 12, e_t -0.2 and mu 0.30 are assumptions of [ball-test].
    numbers = launch("--club-speed", "120mph", "--loft", "12deg", "--head", head(), "--tangential-restitution", "-0.2",
                     "--friction", "0.30")  # fmt: skip
    assert numbers["ball_speed_m_s"] / 0.44704 == pytest.approx(176, abs=3)
    assert numbers["elevation_deg"] == pytest.approx(10, abs=1)
    assert numbers["backspin_rpm"] == pytest.approx(2520, abs=600)
    assert numbers["strike_class"] == "face"


def test_the_default_point_head_is_200_g_with_restitution_83_and_friction_30(launch):
    numbers = launch("--club-speed", "50m/s", "--loft", "0deg")
    # Closed form V (1 + e)/(1 + m/M).
    assert numbers["ball_speed_m_s"] == pytest.approx(50 * (1 + 0.83) / (1 + 0.04593 / 0.200), rel=1e-12)
    with_defaults = launch("--club-speed", "25m/s", "--loft", "70deg", "--restitution", "0.8")
    written = launch("--club-speed", "25m/s", "--loft", "70deg", "--restitution", "0.8", "--head-mass", "200g",
                     "--tangential-restitution", "0", "--friction", "0.30")  # fmt: skip
    assert with_defaults == written
    assert launch("--club-speed", "25m/s", "--loft", "70deg", "--restitution", "0.8", "--friction", "0.4") != written


def test_a_point_head_does_not_turn_and_says_so(launch, strike):
    assert launch(*R1, "--toe", "20mm", "--up", "5mm") == launch(*R1)
    assert "where on the face it meets the ball changes nothing" in strike(*R1, "--toe", "20mm")[1]
    assert "changes nothing" not in strike(*R1)[1]


def test_a_head_that_turns_loses_speed_off_the_middle_and_its_bulge_sends_the_ball_right_off_the_toe(launch, head):
    base = ["--club-speed", "50m/s", "--loft", "12deg", "--head", head()]
    middle, toe = launch(*base), launch(*base, "--toe", "20mm")
    assert toe["ball_speed_m_s"] < middle["ball_speed_m_s"]
    assert toe["azimuth_deg"] > middle["azimuth_deg"] + 1
    assert toe["sidespin_rpm"] < middle["sidespin_rpm"]  # it curves back: gear effect
    low, high = launch(*base, "--up", "-10mm"), launch(*base, "--up", "10mm")
    assert high["elevation_deg"] > low["elevation_deg"]
    assert high["backspin_rpm"] < low["backspin_rpm"]


def test_a_head_file_has_a_drivers_restitution_by_the_speed_along_the_faces_normal(launch, head):
    base = ["--club-speed", "40m/s", "--loft", "12deg", "--head", head()]
    e = 0.83 - 0.0015 * (40 * np.cos(np.radians(12)) - 48.8)  # [face-values]
    assert launch(*base)["ball_speed_m_s"] == pytest.approx(launch(*base, "--restitution", e)["ball_speed_m_s"])


def test_the_shaft_adds_three_grams_to_a_shipped_club_and_nothing_to_a_head_file(launch, tmp_path):
    club = shipped_club("7-iron")
    assert club.head_mass == pytest.approx(0.270)
    file = tmp_path / "iron.yaml"
    file.write_text(
        "mass: 273 g\ncentre: {out: -4 mm, heel: 0 mm, up: 0 mm}\n"
        f"inertia: [[{club.third_moment}, 0, 0], [0, {club.moi_heel_toe}, 0], [0, 0, {club.moi_vertical}]]\n",
        encoding="utf-8",
    )
    base = ["--club-speed", "38m/s", "--loft", "28deg", "--restitution", "0.77", "--tangential-restitution", "0.2"]
    shipped, own = launch(*base, "--club", "7-iron", "--toe", "8mm"), launch(*base, "--head", file, "--toe", "8mm")
    for key in KEYS[:-1]:
        assert own[key] == pytest.approx(shipped[key], rel=1e-9), key


@pytest.mark.parametrize("name", club_names())
def test_every_club_needs_no_loft_and_meets_the_ball_with_its_face(launch, name):
    numbers = launch("--club-speed", "35m/s", "--club", name)
    assert numbers["strike_class"] == "face"
    assert numbers == launch(
        "--club-speed", "35m/s", "--club", name, "--loft", f"{np.degrees(shipped_club(name).loft)}deg"
    )


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (["--toe", "-24.1mm"], "shank"),
        (["--toe", "-23.9mm"], "face"),
        (["--toe", "38.1mm"], "toe"),
        (["--toe", "37.9mm"], "face"),
        (["--edge-height", "3mm"], "face"),
        (["--edge-height", "-3.1mm"], "fat"),
        (["--edge-height", "12mm"], "thin"),
        (["--edge-height", "22mm"], "top"),
        (["--up", "-10mm"], "thin"),
        (["--up", "8mm"], "fat"),
    ],
)
def test_the_strike_point_decides_an_irons_class(launch, options, expected):
    # The project's default thresholds: hosel 24 mm, toe 38 mm, fat 6 mm under the mean edge height of 3 mm, thin above
    # r - (r + 3 mm) sin 28 deg = 9.9 mm, top above r.
    assert launch(*IRON, *options)["strike_class"] == expected


@pytest.mark.parametrize(
    ("options", "expected"),
    [(["--toe", "-36.1mm"], "shank"), (["--toe", "38.1mm"], "toe"), (["--up", "25.1mm"], "sky"),
     (["--up", "-29.1mm"], "top"), (["--up", "24.9mm"], "face")],
)  # fmt: skip
def test_the_strike_point_decides_a_drivers_class(launch, options, expected):
    # The project's default thresholds: hosel 36, toe 38, sky 25 above, top 29 below, mm.
    assert launch(*DRIVE, *options)["strike_class"] == expected


def test_an_irons_height_on_the_face_is_another_way_to_write_its_edge_height(launch):
    # At the mean edge height of 3 mm the ball is met at the sweet spot; 5 mm up the face is 5 cos 28 deg lower an edge.
    assert launch(*IRON, "--edge-height", "3mm") == launch(*IRON)
    higher = launch(*IRON, "--up", "5mm")
    edge = launch(*IRON, "--edge-height", f"{3 - 5 * np.cos(np.radians(28)):.12f}mm")
    for key in KEYS[:-1]:
        assert higher[key] == pytest.approx(edge[key], rel=1e-9), key


def test_a_shank_goes_right_and_a_skied_ball_up_and_a_topped_one_off_the_mat(launch, strike):
    assert launch(*IRON, "--toe", "-28mm")["azimuth_deg"] > 10
    assert launch(*DRIVE, "--up", "40mm")["elevation_deg"] > 25
    topped = launch(*IRON, "--edge-height", "24mm")
    assert topped["elevation_deg"] > 0
    assert topped["backspin_rpm"] < 0
    assert "went down into the mat, and bounced" in strike(*IRON, "--edge-height", "24mm")[1]
    teed = launch(*DRIVE, "--up", "-33mm", "--attack", "-4deg")
    assert teed["elevation_deg"] < 0


def test_what_is_given_stands_in_place_of_the_clubs_own_whatever_meets_the_ball(launch):
    for place in ([], ["--toe", "-30mm"], ["--toe", "45mm"], ["--edge-height", "12mm"]):
        own = launch(*IRON, *place)
        assert launch(*IRON, *place, "--restitution", "0.4")["ball_speed_m_s"] < own["ball_speed_m_s"]
        smooth = launch(*IRON, *place, "--friction", "0")
        assert (smooth["backspin_rpm"], smooth["sidespin_rpm"]) == pytest.approx((0.0, 0.0), abs=1e-6)
        assert launch(*IRON, *place, "--head-mass", "400g")["ball_speed_m_s"] > own["ball_speed_m_s"]
    assert launch(*IRON, "--tangential-restitution", "0.2") == launch(*IRON)


@pytest.mark.parametrize(
    "options", [R2, [*IRON, "--toe", "-28mm"], [*IRON, "--edge-height", "24mm"], [*DRIVE, "--toe", "20mm"]], ids=str
)
def test_a_left_handers_launch_is_the_mirror(launch, options):
    right, left = launch(*options), launch(*options, "--hand", "left")
    for key in KEYS[:-1]:
        sign = -1 if key in ("azimuth_deg", "sidespin_rpm") else 1
        assert left[key] == pytest.approx(sign * right[key], rel=1e-12, abs=1e-12)
    assert left["strike_class"] == right["strike_class"]


def test_straight_is_nought_without_a_minus(strike):
    out = strike(*R1, "--hand", "left", "--json")[1]
    assert '"azimuth_deg": 0.0' in out
    assert "-0.0" not in out


def test_text_tells_the_launch_in_the_users_units(strike):
    code, out, err = strike(*R2)
    assert code in (0, None), err
    assert "50.4 m/s, 1.33 times the club's" in out
    assert "up angle       18.9 deg" in out
    assert "1.0 deg to the right" in out
    assert "rpm, curves right" in out
    assert "gripped" in out
    assert "112.7 mph" in strike(*R2, "--units", "imperial")[1]
    assert "slid" in strike(*R3)[1]
    low = strike(*DRIVE, "--up", "-40mm")[1]
    assert "topspin" in low or "backspin" in low
    assert "the sole's edge: topped" in low


def test_help_tells_the_defaults_and_how_a_head_file_looks(strike):
    code, out, _ = strike("--help")
    assert code in (0, None)
    for words in (
        "200 g",
        "restitution 0.83",
        "0.83 - 0.0015",
        "friction 0.30",
        "tangential restitution 0",
        "3 g of shaft",
        "35-40 %",
    ):
        assert words in " ".join(out.split())
    for line in EXAMPLE.splitlines():
        assert line.strip() in out


# Refusals of one strike


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--club-speed", "45m/s", "--loft", "200deg"], ["--loft: '200deg' is out of range", "at most 89 deg"]),
        ([*POINT, "--head-mass", "0g"], ["--head-mass: '0g' is out of range", "0.02"]),
        ([*POINT, "--head-mass", "200"], ["--head-mass: '200' has no unit", "200 g"]),
        ([*POINT, "--restitution", "1.2"],
         ["--restitution: '1.2' is out of range", "from 0 to 1", "try: 1"]),
        ([*POINT, "--friction", "-1"],
         ["--friction: '-1' is out of range", "from 0 to 100", "try: 0"]),
        ([*POINT, "--friction", "nan"], ["--friction: 'nan' is not a number"]),
        ([*POINT, "--restitution", "83%"], ["'83%' is not a number", "no unit"]),
        ([*POINT, "--tangential-restitution", "-1.5"], ["out of range", "try: -1"]),
        (["--club-speed", "45", "--loft", "12deg"], ["--club-speed: '45' has no unit", "45 m/s"]),
        (["--club-speed", "0m/s", "--loft", "12deg"], ["--club-speed: '0m/s' is out of range", "more than 0 m/s"]),
        (["--loft", "12deg"], ["--club-speed: missing", "--club-speed 45m/s"]),
        (["--club-speed", "45m/s"], ["--loft: missing", "--loft 12deg"]),
        (["--club-speed", "45m/s", "--club", "drivr"], ["'drivr' is not known here", "lob wedge", "--club driver"]),
        (["--club-speed", "45m/s", "--club", "lob wedg"], ["--club 'lob wedge'"]),
        ([*DRIVE, "--loft", "0deg"], ["0 deg is out of range", "1 to 85 deg"]),
        ([*DRIVE, "--edge-height", "3mm"], ["a driver's ball is teed", "--up"]),
        ([*POINT, "--edge-height", "3mm"], ["--edge-height: needs a club"]),
        ([*IRON, "--edge-height", "3mm", "--up", "1mm"], ["one of them"]),
        ([*POINT, "--face", "70deg", "--path", "-70deg"], ["misses it", "within 90"]),
        ([*POINT, "--seed", "3"], ["--seed: is for many strikes", "--player"]),
        ([*POINT, "--figure", "a.png"], ["--figure: is for many strikes"]),
    ],
)  # fmt: skip
def test_what_cannot_be_struck_is_refused_with_what_is_allowed_and_a_way_out(strike, options, words):
    code, out, err = strike(*options)
    assert code == 2, err
    assert out == ""
    assert "allowed:" in err
    assert "try:" in err
    for word in words:
        assert word in err, err


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("mass: 207 g", "mass: 207", ["line 1", "mass: 207 has no unit"]),
        ("mass: 207 g", "mass: 0 g", ["line 1", "'0 g' is out of range", "at least 0.05 kg"]),
        ("mass: 207 g", "masse: 207 g", ["line 1", "masse: unknown key", "mass: missing"]),
        ("out: -42.3 mm, ", "", ["line 2", "centre.out: missing", "out: -42.3 mm"]),
        ("-42.3 mm", "-42.3 cm", ["line 2", "centre.out", "at least -0.12 m"]),
        ("  - [-733.0, -0.5, 5679.0]\n", "", ["line 3", "inertia: 2 rows of 3, 3 numbers", "3 rows of 3"]),
        ("5679.0", "9679.0", ["line 3", "no body has this inertia", "principal moments", "the other two together"]),
        ("- [-530.2, 4085.0", "- [530.2, 4085.0", ["line 3", "not symmetric"]),
        ("2843.0", "2.843e-4", ["line 3", "g cm2: 10 to 20,000", "1 kg m2"]),
        ("5679.0", "heavy", ["line 6", "'heavy' is not a number"]),
        (EXAMPLE, "", ["the file is empty", "mass: 207 g"]),
        (EXAMPLE, "- 1", ["the file holds a list", "mass: 207 g"]),
        ("mass: 207 g", "mass: [", ["not YAML"]),
    ],
)
def test_a_head_that_no_body_could_be_is_refused_at_its_line(strike, head, old, new, words):
    path = head(old, new)
    code, out, err = strike("--club-speed", "45m/s", "--loft", "12deg", "--head", path)
    assert code == 2, err
    assert out == ""
    assert str(path) in err
    for word in words:
        assert word in err, err


def test_a_head_file_that_is_not_there_and_two_heads_at_once_are_refused(strike, head, tmp_path):
    base = ["--club-speed", "45m/s", "--loft", "12deg", "--head"]
    code, _, err = strike(*base, tmp_path / "none.yaml")
    assert code == 2
    assert "there is no such file" in err
    assert "mass: 207 g" in err
    for other in (["--club", "driver"], ["--head-mass", "200g"]):
        code, _, err = strike(*base, head(), *other)
        assert code == 2
        assert f"--head and {other[0]} both give the head" in err
