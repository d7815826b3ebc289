"""Rooms from the tape: walls, roofs, openings, beams, and left and right. Numbers worked out here by hand."""

from __future__ import annotations

from math import radians

import numpy as np
import pytest
from tape import (
    ACROSS,
    ALONG,
    BACK_LOW,
    END_LOW,
    FLAT,
    LEFT_LOW,
    PLUGINS,
    RIGHT_LOW,
    SCREEN,
    aimed,
    bay,
    corners,
    named,
    rounded,
)

from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.scenario.reading.problems import ScenarioError

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


OPENING_PLACES = [
    ("left", "from_end_wall", lambda u, z: (3.6 - u, 1.5, z), 6.0, (0, 1, 0)),
    ("right", "from_end_wall", lambda u, z: (3.6 - u, -2.1, z), 6.0, (0, -1, 0)),
    ("end", "from_left_wall", lambda u, z: (3.6, 1.5 - u, z), 3.6, (1, 0, 0)),
    ("back", "from_left_wall", lambda u, z: (-2.4, 1.5 - u, z), 3.6, (-1, 0, 0)),
]


@pytest.mark.parametrize(("wall", "tape", "on_wall", "span", "outward"), OPENING_PLACES)
@pytest.mark.parametrize("roof", [FLAT, LEFT_LOW, BACK_LOW, ACROSS])
def test_an_opening_lies_in_its_wall_at_either_edge_with_a_sill(wall, tape, on_wall, span, outward, roof) -> None:
    for start in (0.0, 0.7, span - 0.8):
        room_bay, pieces = bay(
            "",
            roof,
            f", openings: [{{name: it, wall: {wall}, {tape}: {start} m, width: 800 mm, height: 1.1 m, sill: 900 mm}}]",
        )
        assert not pieces.problems
        (opening,) = room_bay.openings
        expected = [on_wall(start + u, z) for u in (0.0, 0.8) for z in (0.9, 2.0)]
        assert sorted({tuple(np.round(c, 9) + 0.0) for c in opening.corners}) == rounded(*expected)
        assert opening.normal == pytest.approx(outward)


@pytest.mark.parametrize(("wall", "tape", "on_wall", "span", "outward"), OPENING_PLACES)
def test_a_ball_at_the_middle_of_an_opening_leaves_and_one_beside_it_hits_that_wall(
    wall, tape, on_wall, span, outward
) -> None:
    doors = [f"{{name: a, wall: {wall}, {tape}: 600 mm, width: 700 mm, height: 3 m}}",
             f"{{name: b, wall: {wall}, {tape}: 1.3 m, width: 500 mm, height: 3 m}}"]  # fmt: skip
    room_bay, pieces = bay("", FLAT, f", openings: [{', '.join(doors)}]")
    assert not pieces.problems
    for u, where in ((0.3, "wall"), (0.95, "a"), (1.55, "b"), (1.3, "a or b"), (2.2, "wall")):
        contacts = aimed(room_bay, on_wall(u, 1.2))
        if where == "wall":
            assert room_bay.parts[contacts.part[0]].label == f"{wall} wall"
        else:
            assert contacts.part[0] == -1
            assert room_bay.openings[contacts.opening[0]].name in where


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


@pytest.mark.parametrize("name", ["left wall", "roof", "tie beams", "pad"])
def test_an_obstacle_may_not_bear_the_name_of_a_thing_in_pieces(name: str) -> None:
    """Tables count by that name: hits of the one would be told as hits of the other."""
    beams = "height: 2.3 m, width: 80 mm, depth: 150 mm, from_end_wall: [2 m]"
    pad = "{name: pad, from_end_wall: 1 m, from_left_wall: 1 m, length: 1 m, width: 1.6 m, thickness: 50 mm}"
    size = "from_end_wall: 4 m, from_left_wall: 1 m, above_floor: 1 m, length: 0.2 m, width: 0.2 m, height: 0.2 m"
    _, pieces = bay(
        f"{SCREEN}canopy: {{depth: 1 m, height: 2.2 m, front_lip: 50 mm}}\nceiling: {{pads: [{pad}]}}\n"
        f"obstacles: [{{name: {name}, kind: box, {size}}}]\n",
        ALONG.replace("3.4 m}", f"3.4 m, tie_beams: {{{beams}}}}}"),
        ", openings: [{name: door, wall: left, from_end_wall: 1 m, width: 1 m, height: 2 m}]",
    )
    (problem,) = [p for p in pieces.problems if p.severity == "error"]
    assert problem.found.startswith(f"'{name}' is already the name of something")
    assert problem.key.startswith("obstacles")
