"""Tape measures to corners, for odd inputs. Every number is worked out here by hand from the scenario's text.

Places in our axes: x = tee.from_end_wall - s, y = tee.from_left_wall - t. A sign error here is a wrong answer
everywhere.
"""

from __future__ import annotations

from math import cos, radians, sin, tan

import numpy as np
import pytest
from tape import (
    ACROSS,
    ALONG,
    END_LOW,
    ROOFS,
    SCREEN,
    aimed,
    bay,
    corners,
    named,
    rounded,
)

from flightsim.bay.parts import Role


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


def test_a_slope_of_the_canopy_meets_the_ball_where_the_line_says() -> None:
    """Canopy of 10 deg from (3.2, 2.2) toward the tee; a ball straight up at x = 2.5 touches one radius below it."""
    it, _ = bay(f"{SCREEN}canopy: {{depth: 1 m, height: 2.2 m, slope: 10 deg}}\n")
    contacts = aimed(it, (2.5, 0.0, 2.9), (2.5, 0.0, 1.0))
    assert it.parts[contacts.part[0]].name == "canopy"
    line = 2.2 + (3.2 - 2.5) * tan(radians(10))
    assert contacts.point[2, 0] == pytest.approx(line - 0.04267 / 2 / cos(radians(10)), abs=1e-7)
    assert contacts.normal[:, 0] == pytest.approx([-sin(radians(10)), 0.0, -cos(radians(10))], abs=1e-9)
