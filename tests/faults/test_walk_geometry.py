"""Tape measures to corners, for odd inputs. Every number is worked out here by hand from the scenario's text.

Places in our axes: x = tee.from_end_wall - s, y = tee.from_left_wall - t. A sign error here is a wrong answer
everywhere.
"""

from __future__ import annotations

from math import cos, radians, sin, tan

import numpy as np
import pytest

from flightsim.bay.parts import Bay, Part, Role
from flightsim.contact.first import first_contacts
from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.testing import bay_of, with_plugins
from flightsim.scenario.errors import ScenarioError

PLUGINS = with_plugins()
FLAT = "{kind: flat, height: 3 m}"
SCREEN = "screen: {width: 2.4 m, height: 2.2 m, gap_behind: 400 mm}\n"
# The cloth hangs at x = 3.2; its edges are at t = 0.3 and 2.7, so at y = 1.2 and -1.2.


def bay(rest: str, roof: str = FLAT, room: str = "") -> tuple[Bay, BayPieces]:
    text = (
        f"name: Test\nunits: metric\nroom: {{length: 6 m, width: 3.6 m, roof: {roof}{room}}}\n"
        f"tee: {{from_end_wall: 3.6 m, from_left_wall: 1.5 m}}\n{rest}"
    )
    return bay_of(text, PLUGINS)


def named(bay: Bay, name: str) -> Part:
    (part,) = [part for part in bay.parts if part.name == name]
    return part


def corners(part: Part) -> list[tuple[float, ...]]:
    """All different corners, sorted."""
    points = np.round(np.concatenate(part.shape.outlines()), 9) + 0.0
    return sorted({tuple(float(v) for v in point) for point in points})


def rounded(*points: tuple[float, float, float]) -> list[tuple[float, ...]]:
    return sorted({tuple(float(v) for v in np.round(point, 9) + 0.0) for point in points})


@pytest.mark.parametrize("slope", [-12.0, 0.0, 7.0])
@pytest.mark.parametrize("gap", [0.0, 0.25])
def test_a_canopy_lies_along_its_slope_from_the_gap_and_past_both_edges(slope: float, gap: float) -> None:
    given = f"depth: 1.3 m, height: 2.3 m, slope: {slope} deg, gap: {gap} m, side_overhang: 150 mm"
    it, _ = bay(f"{SCREEN}canopy: {{{given}}}\n")
    x0, z0, run, rise = 3.2 - gap, 2.3, 1.3 * cos(radians(slope)), 1.3 * sin(radians(slope))
    expected = [(x, y, z) for x, z in ((x0, z0), (x0 - run, z0 + rise)) for y in (1.35, -1.35)]
    assert corners(named(it, "canopy")) == rounded(*expected)


@pytest.mark.parametrize("slope", [-12.0, 0.0, 7.0])
def test_a_canopys_thickness_lies_square_above_its_underside_and_its_lip_hangs_plumb(slope: float) -> None:
    given = f"depth: 1 m, height: 2.3 m, slope: {slope} deg, thickness: 20 mm, front_lip: 100 mm"
    it, _ = bay(f"{SCREEN}canopy: {{{given}}}\n")
    a = radians(slope)
    up = (0.02 * sin(a), 0.02 * cos(a))  # square to (-cos a, sin a), upward
    under = [(3.2, 2.3), (3.2 - cos(a), 2.3 + sin(a))]
    board = under + [(x + up[0], z + up[1]) for x, z in under]
    assert corners(named(it, "canopy")) == rounded(*[(x, y, z) for x, z in board for y in (1.2, -1.2)])
    (_, (x, z)) = under
    lip = [(x, z), (x, z - 0.1), (x + 0.02, z), (x + 0.02, z - 0.1)]  # its thickness goes toward the screen
    assert corners(named(it, "canopy lip")) == rounded(*[(x, y, z) for x, z in lip for y in (1.2, -1.2)])


def test_each_canopy_hangs_from_its_own_screen() -> None:
    it, pieces = bay(
        "screen:\n"
        "  - {name: near, left_gap: 100 mm, right_gap: 2.3 m, height: 2 m, gap_behind: 700 mm}\n"
        "  - {name: far, from_left_wall: 1.5 m, width: 2 m, height: 2.4 m, gap_behind: 200 mm}\n"
        "canopy:\n"
        "  - {name: one, screen: far, depth: 1 m, height: 2.5 m}\n"
        "  - {name: two, screen: near, depth: 500 mm, height: 2.1 m}\n"
        "side_nets: {screen: near, left: {depth: 1 m, height: 2 m}, right: {depth: 1 m, height: 2 m}}\n"
    )
    assert not [p for p in pieces.problems if p.severity == "error"]
    assert corners(named(it, "near")) == rounded(*[(2.9, y, z) for y in (1.4, 0.2) for z in (0, 2)])
    assert corners(named(it, "far")) == rounded(*[(3.4, y, z) for y in (0.0, -2.0) for z in (0, 2.4)])
    assert corners(named(it, "one")) == rounded(*[(x, y, 2.5) for x in (3.4, 2.4) for y in (0.0, -2.0)])
    assert corners(named(it, "two")) == rounded(*[(x, y, 2.1) for x in (2.9, 2.4) for y in (1.4, 0.2)])
    assert corners(named(it, "left side net")) == rounded(*[(x, 1.4, z) for x in (2.9, 1.9) for z in (0, 2)])
    assert corners(named(it, "right side net")) == rounded(*[(x, 0.2, z) for x in (2.9, 1.9) for z in (0, 2)])


@pytest.mark.parametrize("angle", [-25.0, 0.0, 8.0])
@pytest.mark.parametrize("offset", [-0.1, 0.0, 0.2])
def test_side_nets_are_mirrors_of_one_another_and_open_outward_for_a_positive_angle(
    angle: float, offset: float
) -> None:
    net = f"depth: 2 m, height: 2 m, above_floor: 50 mm, gap: 100 mm, offset: {offset} m, angle: {angle} deg"
    it, _ = bay(f"{SCREEN}side_nets: {{left: {{{net}}}, right: {{{net}}}}}\n")
    a = radians(angle)
    ends = [(3.1, 1.2 + offset), (3.1 - 2 * cos(a), 1.2 + offset + 2 * sin(a))]
    for name, side in (("left side net", 1), ("right side net", -1)):
        expected = [(x, side * y, z) for x, y in ends for z in (0.05, 2.05)]
        assert corners(named(it, name)) == rounded(*expected)


@pytest.mark.parametrize(("side", "sign", "edge"), [("left", 1, 1.5), ("right", -1, 2.1)])
def test_a_side_panel_is_measured_from_its_own_wall_and_is_thick_on_the_far_side(
    side: str, sign: int, edge: float
) -> None:
    """The left wall is at y = 1.5, the right one at y = 1.5 - 3.6 = -2.1."""
    panel = "depth: 1.2 m, height: 2 m, from_wall: 300 mm, kind: panel, thickness: 30 mm, angle: 5 deg"
    it, _ = bay(f"{SCREEN}side_nets: {{{side}: {{{panel}}}}}\n")
    a = radians(5)
    face = [(3.2, edge - 0.3), (3.2 - 1.2 * cos(a), edge - 0.3 + 1.2 * sin(a))]
    out = (0.03 * sin(a), 0.03 * cos(a))  # square to the face (-cos a, sin a), outward
    both = face + [(x + out[0], y + out[1]) for x, y in face]
    expected = [(x, sign * y, z) for x, y in both for z in (0, 2)]
    assert corners(named(it, f"{side} side panel")) == rounded(*expected)


@pytest.mark.parametrize(
    ("foot", "length", "drop", "role"),
    [
        (0.20, 0.25, 0.20, Role.GUARD),
        (0.10, 0.20, 0.10, Role.GUARD),
        (0.09, 0.20, 0.09, Role.FLOOR),
        (0.001, 0.3, 0.001, Role.FLOOR),
        (0.3, 0.2, 0.2, Role.GUARD),
    ],
)
def test_a_flap_that_lies_all_but_flat_is_floor_and_no_guard(
    foot: float, length: float, drop: float, role: Role
) -> None:
    screen = (
        f"screen: {{width: 2 m, height: 2 m, gap_behind: 400 mm, above_floor: {foot} m, bottom_flap: {length} m}}\n"
    )
    it, _ = bay(screen)
    reach = (length**2 - drop**2) ** 0.5
    flap = named(it, "screen flap")
    assert flap.role is role
    assert flap.label == ("screen" if role is Role.GUARD else "screen flap")
    assert corners(flap) == rounded(*[(x, y, z) for x, z in ((3.2, foot), (3.2 - reach, foot - drop)) for y in (-1, 1)])


LEFT_LOW = "{kind: single_slope, left_height: 2.2 m, right_height: 3.4 m}"
RIGHT_LOW = "{kind: single_slope, left_height: 3.4 m, right_height: 2.2 m}"
END_LOW = "{kind: single_slope, end_height: 2.2 m, back_height: 3.4 m}"
BACK_LOW = "{kind: single_slope, end_height: 3.4 m, back_height: 2.2 m}"
ALONG = "{kind: gable, ridge: along, eaves_height: 2.2 m, ridge_height: 3.4 m}"
ACROSS = "{kind: gable, ridge: across, eaves_height: 2.2 m, ridge_height: 3.4 m}"
ROOFS = [FLAT, LEFT_LOW, RIGHT_LOW, END_LOW, BACK_LOW, ALONG, ACROSS]

# Heights at the four corners of the room, in the order end left, end right, back left, back right, and in the middle.
HEIGHTS = [
    (FLAT, (3.0, 3.0, 3.0, 3.0), 3.0),
    (LEFT_LOW, (2.2, 3.4, 2.2, 3.4), 2.8),
    (RIGHT_LOW, (3.4, 2.2, 3.4, 2.2), 2.8),
    (END_LOW, (2.2, 2.2, 3.4, 3.4), 2.8),
    (BACK_LOW, (3.4, 3.4, 2.2, 2.2), 2.8),
    (ALONG, (2.2, 2.2, 2.2, 2.2), 3.4),
    (ACROSS, (2.2, 2.2, 2.2, 2.2), 3.4),
]


@pytest.mark.parametrize(("roof", "at_corners", "middle"), HEIGHTS)
def test_walls_and_roof_meet_at_the_heights_that_the_tape_gave(
    roof: str, at_corners: tuple[float, ...], middle: float
) -> None:
    it, _ = bay("", roof)
    places = [(3.6, 1.5), (3.6, -2.1), (-2.4, 1.5), (-2.4, -2.1)]  # x, y of the room's corners
    expected = {(x, y, z) for (x, y), z in zip(places, at_corners, strict=True)}
    roofs = {c for part in it.parts if part.label == "roof" for c in corners(part)}
    assert expected <= roofs
    for walls, (first, second) in (
        ("end wall", (0, 1)),
        ("back wall", (2, 3)),
        ("left wall", (0, 2)),
        ("right wall", (1, 3)),
    ):
        tops = {c for c in corners(named(it, walls)) if c[2] > 0}
        assert {(*places[k], at_corners[k]) for k in (first, second)} <= tops
    assert it.upper[2] == pytest.approx(max(*at_corners, middle))


@pytest.mark.parametrize("roof", ROOFS)
@pytest.mark.parametrize("angle", [-20.0, 0.0, 35.0])
@pytest.mark.parametrize("thickness", [0.0, 0.06])
@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0])
def test_a_baffle_without_a_top_touches_any_roof_and_never_goes_through_it(
    roof: str, angle: float, thickness: float, turn: float
) -> None:
    baffle = f"width: 1.6 m, drop: 500 mm, thickness: {thickness} m, angle: {angle} deg, turn: {turn} deg"
    it, pieces = bay(
        f"ceiling: {{baffles: [{{name: it, from_end_wall: 1.2 m, from_left_wall: 700 mm, {baffle}}}]}}\n", roof
    )
    assert not pieces.problems
    roofs = [part.shape for part in it.parts if part.label == "roof"]
    points = np.array(corners(named(it, "it"))).T
    gap = np.min([shape.distance(points)[0] for shape in roofs])
    assert gap == pytest.approx(0.0, abs=1e-9)


def test_a_turned_and_leaning_baffle_has_its_corners_where_the_tape_says() -> None:
    """Left end of the top edge at s = 1, t = 0.5: x = 2.6, y = 1.0. Turned 30 deg: its right end is nearer the tee."""
    baffle = "width: 2 m, drop: 600 mm, top: 2.8 m, angle: 20 deg, turn: 30 deg"
    it, _ = bay(f"ceiling: {{baffles: [{{name: it, from_end_wall: 1 m, from_left_wall: 500 mm, {baffle}}}]}}\n")
    right = (2.6 - 2 * sin(radians(30)), 1.0 - 2 * cos(radians(30)))
    # Square to the top edge, toward the tee: (-cos 30, +sin 30) in x, y.
    foot, down = 0.6 * sin(radians(20)), 0.6 * cos(radians(20))
    swing = (-foot * cos(radians(30)), foot * sin(radians(30)))
    tops = [(2.6, 1.0), right]
    expected = [(*p, 2.8) for p in tops] + [(x + swing[0], y + swing[1], 2.8 - down) for x, y in tops]
    assert corners(named(it, "it")) == rounded(*expected)


@pytest.mark.parametrize(("ridge", "roof"), [("along", ALONG), ("across", ACROSS)])
@pytest.mark.parametrize("before", [0.1, 0.303, 0.7, 1.1, 1.299])
def test_a_pad_up_to_the_ridge_is_one_pad_however_its_sizes_round(ridge: str, roof: str, before: float) -> None:
    middle = 1.8 if ridge == "along" else 3.0
    size = round(middle - before, 6)
    edges = {"along": ("from_left_wall", "width"), "across": ("from_end_wall", "length")}
    (near, wide), (other, long) = edges[ridge], edges["across" if ridge == "along" else "along"]
    for start in (before, middle):
        pad = f"{near}: {start} m, {wide}: {size} m, {other}: 1 m, {long}: 1 m, thickness: 50 mm"
        it, _ = bay(f"ceiling: {{pads: [{{name: pad, {pad}}}]}}\n", roof)
        (part,) = [part for part in it.parts if part.label == "pad"]
        rise = 1.2 / middle
        low, high = 2.2 + before * rise, 3.4
        tilt = (1 + rise**2) ** 0.5
        heights = sorted({z for _, _, z in corners(part)})
        if start == before:
            assert heights[-1] == pytest.approx(high)
            assert heights[0] == pytest.approx(low - 0.05 / tilt)
        assert sorted(np.asarray(part.shape.half)) == pytest.approx(sorted([0.5, size * tilt / 2, 0.025]))


def test_a_pad_under_a_slope_follows_it() -> None:
    """END_LOW rises 1.2 m over 6 m from the end wall to the back: 0.2 a metre."""
    pad = "{name: pad, from_end_wall: 1 m, from_left_wall: 600 mm, length: 2 m, width: 1 m, thickness: 100 mm}"
    it, _ = bay(f"ceiling: {{pads: [{pad}]}}\n", END_LOW)
    tilt = (1 + 0.2**2) ** 0.5
    down = (0.1 * 0.2 / tilt, -0.1 / tilt)  # square to the slope, in s and z: away from the end wall and down
    face = [(1.0, 2.4), (3.0, 2.8)]
    both = face + [(s + down[0], z + down[1]) for s, z in face]
    assert corners(named(it, "pad")) == rounded(*[(3.6 - s, y, z) for s, z in both for y in (0.9, -0.1)])


OPENING_PLACES = [
    ("left", "from_end_wall", lambda u, z: (3.6 - u, 1.5, z), 6.0, (0, 1, 0)),
    ("right", "from_end_wall", lambda u, z: (3.6 - u, -2.1, z), 6.0, (0, -1, 0)),
    ("end", "from_left_wall", lambda u, z: (3.6, 1.5 - u, z), 3.6, (1, 0, 0)),
    ("back", "from_left_wall", lambda u, z: (-2.4, 1.5 - u, z), 3.6, (-1, 0, 0)),
]


@pytest.mark.parametrize(("wall", "tape", "at", "span", "outward"), OPENING_PLACES)
@pytest.mark.parametrize("roof", [FLAT, LEFT_LOW, BACK_LOW, ACROSS])
def test_an_opening_lies_in_its_wall_at_either_edge_with_a_sill(wall, tape, at, span, outward, roof) -> None:
    for start in (0.0, 0.7, span - 0.8):
        it, pieces = bay(
            "",
            roof,
            f", openings: [{{name: it, wall: {wall}, {tape}: {start} m, width: 800 mm, height: 1.1 m, sill: 900 mm}}]",
        )
        assert not pieces.problems
        (opening,) = it.openings
        expected = [at(start + u, z) for u in (0.0, 0.8) for z in (0.9, 2.0)]
        assert sorted({tuple(np.round(c, 9) + 0.0) for c in opening.corners}) == rounded(*expected)
        assert opening.normal == pytest.approx(outward)


@pytest.mark.parametrize(("wall", "tape", "at", "span", "outward"), OPENING_PLACES)
def test_a_ball_at_the_middle_of_an_opening_leaves_and_one_beside_it_hits_that_wall(
    wall, tape, at, span, outward
) -> None:
    doors = [f"{{name: a, wall: {wall}, {tape}: 600 mm, width: 700 mm, height: 3 m}}",
             f"{{name: b, wall: {wall}, {tape}: 1.3 m, width: 500 mm, height: 3 m}}"]  # fmt: skip
    it, pieces = bay("", FLAT, f", openings: [{', '.join(doors)}]")
    assert not pieces.problems
    for u, where in ((0.3, "wall"), (0.95, "a"), (1.55, "b"), (1.3, "a or b"), (2.2, "wall")):
        contacts = aimed(it, at(u, 1.2))
        if where == "wall":
            assert it.parts[contacts.part[0]].label == f"{wall} wall"
        else:
            assert contacts.part[0] == -1
            assert it.openings[contacts.opening[0]].name in where


def aimed(it: Bay, target: tuple[float, float, float], start: tuple[float, float, float] = (0.0, 0.0, 1.0)):
    """One ball straight at a point, by golfers' angles, without air or gravity."""
    x, y, z = np.subtract(target, start)
    elevation, azimuth = np.arctan2(z, np.hypot(x, y)), np.arctan2(-y, x)
    balls = launch(np.array(start)[:, None], 40.0, elevation, azimuth, 0.0, 0.0)
    physics = Physics(air=Air(1e-30, 1.8e-5), gravity=0.0)
    return first_contacts(physics, balls, it, PLUGINS.touch_tests(it))


def test_golfers_left_and_right_are_the_builders_left_and_right() -> None:
    """Pushed to the right (+ azimuth) meets what hangs on the right, measured from the right wall, and so on."""
    it, _ = bay(
        SCREEN
        + "side_nets: {left: {depth: 3 m, height: 2.2 m}, right: {depth: 3 m, height: 2.2 m}}\n"
        + "canopy: {depth: 1 m, height: 2.2 m}\n"
        + "obstacles: [{name: lamp, kind: box, from_end_wall: 5 m, from_left_wall: 200 mm, above_floor: 800 mm,"
        + " length: 400 mm, width: 400 mm, height: 400 mm}]\n"
    )

    def met(elevation: float, azimuth: float) -> str:
        balls = launch(np.array([[0.0], [0.0], [1.0]]), 50.0, radians(elevation), radians(azimuth), 0.0, 0.0)
        contacts = first_contacts(Physics(), balls, it, PLUGINS.touch_tests(it))
        return it.parts[contacts.part[0]].name

    assert met(0.0, 0.0) == "screen"
    assert met(0.0, 30.0) == "right side net"
    assert met(0.0, -30.0) == "left side net"
    assert met(25.0, 0.0) == "canopy"
    assert met(60.0, 0.0) == "roof"
    assert met(0.0, 90.0) == "right wall"
    assert met(0.0, -90.0) == "left wall"
    assert met(0.0, 180.0) == "back wall"
    # The lamp's middle: s = 5.2, t = 0.4, so 1.6 m behind the tee and 1.1 m to its left.
    assert met(0.0, -180.0 + np.degrees(np.arctan(1.1 / 1.6))) == "lamp"


def test_a_tube_between_two_tape_points_is_met_on_its_near_side() -> None:
    """A square rail of 60 mm from the left wall to the right one, plumb in front of the ball."""
    ends = [f"{{from_end_wall: 1.6 m, from_left_wall: {t} m, above_floor: 1 m}}" for t in (0, 3.6)]
    rail = f"from: {ends[0]}, to: {ends[1]}"
    for section, reach in (("round", 0.03), ("square", 0.03)):
        it, _ = bay(f"obstacles: [{{name: rail, kind: tube, section: {section}, diameter: 60 mm, {rail}}}]\n")
        contacts = aimed(it, (3.0, 0.0, 1.0))
        assert it.parts[contacts.part[0]].name == "rail"
        assert contacts.point[0, 0] == pytest.approx(2.0 - reach - 0.04267 / 2, abs=1e-7)


def test_tie_beams_under_a_ridge_across_the_room_run_from_end_to_back() -> None:
    """Beam at t = 0.5, underside 2.5: above the eaves of 2.2, it ends where the roof has come down to it."""
    beams = "height: 2.5 m, width: 100 mm, depth: 200 mm, from_left_wall: [500 mm]"
    it, _ = bay("", ACROSS.replace("3.4 m}", f"3.4 m, tie_beams: {{{beams}}}}}"))
    start = 0.3 / 1.2 * 3.0  # 0.75 m from either eaves
    x, y = (3.6 - start, 3.6 - 6.0 + start), (1.5 - 0.45, 1.5 - 0.55)
    assert corners(named(it, "tie beam 1")) == rounded(*[(a, b, c) for a in x for b in y for c in (2.5, 2.7)])


@pytest.mark.parametrize(
    ("ridge", "beams", "words"),
    [
        ("along", "height: 2.3 m, width: 80 mm, depth: 150 mm", "placed by from_end_wall"),
        ("across", "height: 2.3 m, width: 80 mm, depth: 150 mm", "placed by from_left_wall"),
        ("across", "height: 2.3 m, width: 80 mm, depth: 150 mm, from_end_wall: [1 m]", "placed by from_left_wall"),
        ("along", "height: 3.4 m, width: 80 mm, depth: 150 mm, from_end_wall: [1 m]", "less than the ridge_height"),
    ],
)
def test_tie_beams_that_would_not_be_there_are_an_error_and_not_left_out(ridge: str, beams: str, words: str) -> None:
    roof = f"{{kind: gable, ridge: {ridge}, eaves_height: 2.2 m, ridge_height: 3.4 m, tie_beams: {{{beams}}}}}"
    with pytest.raises(ScenarioError, match=words):
        bay("", roof)


def test_a_tie_beam_outside_the_room_is_an_error_with_its_line() -> None:
    beams = "height: 2.3 m, width: 80 mm, depth: 150 mm, from_end_wall: [2 m, 20 m]"
    _, pieces = bay("", ALONG.replace("3.4 m}", f"3.4 m, tie_beams: {{{beams}}}}}"))
    (problem,) = pieces.problems
    assert (problem.key, problem.line) == ("room.roof.tie_beams.from_end_wall.1", 3)
    assert problem.found == "a tie beam 20.00 m off, outside the room"
    assert problem.severity == "error"


def test_a_slope_of_the_canopy_meets_the_ball_where_the_line_says() -> None:
    """Canopy of 10 deg from (3.2, 2.2) toward the tee; a ball straight up at x = 2.5 touches one radius below it."""
    it, _ = bay(f"{SCREEN}canopy: {{depth: 1 m, height: 2.2 m, slope: 10 deg}}\n")
    contacts = aimed(it, (2.5, 0.0, 2.9), (2.5, 0.0, 1.0))
    assert it.parts[contacts.part[0]].name == "canopy"
    line = 2.2 + (3.2 - 2.5) * tan(radians(10))
    assert contacts.point[2, 0] == pytest.approx(line - 0.04267 / 2 / cos(radians(10)), abs=1e-7)
    assert contacts.normal[:, 0] == pytest.approx([-sin(radians(10)), 0.0, -cos(radians(10))], abs=1e-9)
