"""Where a box can hang: what is told of a place is what flying with the box there gives."""

from dataclasses import replace

import numpy as np
import pytest

from flightsim.bay.people import Zone
from flightsim.bay.shapes import block
from flightsim.errors import BadInputError
from flightsim.jobs.find_spot import SpotOrder, parse_box, spot_and_report
from flightsim.report.draw.spot_figure import spots_sheet
from flightsim.report.words.spot_words import fell_words, light_words
from flightsim.scenario.reading.display import INCH
from flightsim.study.run.open_bay import open_bay
from flightsim.study.spot.places_to_hang import APART, BEFORE_CLOTH, CLEAR, SWING, Box3, _Cells, _dense, find_spots
from flightsim.study.spot.projector import Light, Picture, Projector, light_from
from flightsim.study.spot.sight import seen_points

BAY = """\
name: A bay to hang things in
room: {length: 6.2 m, width: 3.6 m, roof: {kind: flat, height: 2.8 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.8 m}
screen: {width: 2.8 m, height: 2.4 m, gap_behind: 350 mm}
launches: {use: [driver, wedge]}
"""
BOX = Box3(0.3, 0.25, 0.12)
SHOTS = 100


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    path = tmp_path_factory.mktemp("spot") / "bay.yaml"
    path.write_text(BAY, encoding="utf-8")
    return open_bay(path)


@pytest.fixture(scope="module")
def spots(opened):
    return find_spots(opened, BOX, SHOTS, see=("screen",), best=3)


def test_places_are_in_the_room_under_the_roof_and_clear_of_the_swing(opened, spots):
    assert len(spots.places) == 3
    for place in spots.places:
        assert (place.middle - BOX.half > opened.bay.lower + 0.9 * CLEAR).all()
        assert (place.middle + BOX.half < opened.bay.upper - 0.9 * CLEAR).all()
        assert place.middle[2] + BOX.half[2] > 2.8 - 0.65
        assert place.swing is None or place.swing >= SWING
        assert place.above_floor == pytest.approx(place.middle[2] - BOX.half[2])
        assert 3.6 - place.from_end_wall - BOX.length == pytest.approx(place.middle[0] - BOX.half[0])


def test_a_place_is_told_at_whole_centimetres_from_walls_and_slab(spots):
    for place in spots.places:
        for size in (place.from_end_wall, place.from_left_wall, place.above_floor):
            assert abs(100.0 * size - round(100.0 * size)) < 1e-6


def test_in_feet_a_place_is_told_at_whole_inches_from_walls_and_slab(opened):
    spots = find_spots(open_bay(opened.origin.scenario, ("units=imperial",)), BOX, 100, best=2)
    for place in spots.places:
        for size in (place.from_end_wall, place.from_left_wall, place.above_floor):
            assert abs(size / INCH - round(size / INCH)) < 1e-6


def test_a_rate_has_its_bound_and_fewest_hits_come_first(spots):
    hits = [place.hits for place in spots.places]
    assert hits == sorted(hits)
    for place in spots.places:
        assert place.shots == SHOTS
        assert place.upper > place.rate
        assert place.upper > 0.0


def test_the_quick_count_is_never_below_what_a_flight_with_the_box_there_gives(spots):
    """A ball that touches the box came through it when it was not there: the quick count has it too."""
    for place in spots.places:
        k = int(np.abs(spots.looked_at - place.middle).sum(axis=1).argmin())
        assert spots.visits[k] >= place.rate - 1e-12


def test_the_cells_that_hold_a_point_are_those_of_a_plain_search():
    rng = np.random.default_rng(4)
    places = np.stack(np.meshgrid(*(np.arange(-1.0, 1.0, 0.2),) * 3), axis=-1).reshape(-1, 3)
    reach, points = np.array([0.17, 0.25, 0.11]), rng.uniform(-1.2, 1.2, (60, 3))
    plain = (np.abs(places[:, None] - points[None]) <= reach).all(axis=2).any(axis=1)
    assert (_Cells(places, reach).holding(points) == np.flatnonzero(plain)).all()


def test_a_way_is_made_dense_and_keeps_its_points():
    way = np.array([[0.0, 0, 0], [1.0, 0, 0], [1.0, 0.5, 0]])
    dense = _dense(way)
    assert np.sqrt((np.diff(dense, axis=0) ** 2).sum(axis=1)).max() <= 0.02 + 1e-12
    assert all((np.abs(dense - point).sum(axis=1) < 1e-12).any() for point in way)


def test_no_place_is_behind_the_screen_or_where_its_cloth_goes(opened, spots):
    face = next(part for part in opened.bay.parts if part.name == "screen").shape.bounds()[0][0]
    for place in spots.places:
        assert place.middle[0] + BOX.length / 2.0 <= face - BEFORE_CLOTH + 1e-9
    assert spots.behind > 0


def test_places_are_spread_out(spots):
    plan = np.array([place.middle[:2] for place in spots.places])
    for k in range(len(plan)):
        assert (np.abs(np.delete(plan, k, axis=0) - plan[k]).max(axis=1) >= APART[0] - 1e-9).all()


def test_a_thing_is_seen_by_its_name_as_well_as_a_part(opened):
    whole = seen_points(opened, ("end wall",))
    assert len(whole) >= 5
    assert seen_points(opened, ("ball",))[0][2] < 0.1


def test_what_is_beside_a_place_is_told(opened, spots):
    for place in spots.places:
        nearest = min(part.shape.distance(place.middle[:, None])[0].min() for part in opened.bay.parts)
        assert 0.0 < place.air <= nearest
        assert place.beside in {part.label for part in opened.bay.parts}


PROJECTOR = Projector(2.4, 3.2, 2.4, 1.35)


@pytest.fixture(scope="module")
def thrown(opened):
    return find_spots(opened, BOX, SHOTS, best=3, projector=PROJECTOR)


def test_a_projector_hangs_within_its_throw_and_its_light_reaches_every_corner(opened, thrown):
    assert thrown.places
    for place in thrown.places:
        lens = place.middle + np.array([BOX.length / 2.0, 0.0, 0.0])
        assert place.light.throw == pytest.approx(thrown.picture.middle[0] - lens[0])
        assert PROJECTOR.nearest <= place.light.throw <= PROJECTOR.farthest
        for corner in thrown.picture.corners:
            way = lens[:, None] + np.linspace(0.0, 0.98, 400) * (corner - lens)[:, None]
            assert all(part.shape.distance(way)[0].min() > 0.0 for part in opened.bay.parts)
    assert thrown.out_of_throw > 0


def test_a_picture_larger_than_the_screen_is_refused(opened):
    with pytest.raises(BadInputError, match="does not fit the screen"):
        find_spots(opened, BOX, 100, projector=Projector(2.0, 3.0, 3.2, 1.8))


def test_what_stands_in_the_light_shades_what_it_covers_and_nothing_else():
    picture = Picture(np.array([3.0, 0.0, 1.5]), 2.0, 1.0)
    lens = np.array([0.0, 0.0, 1.5])

    def zone(shape, head=False):
        return Zone("x", "who hits", shape, "people", head=head, own_spot="tee", own_hand="right")

    wall = zone(block(np.array([1.0, 0.0, -9.0]), np.array([1.1, 9.0, 9.0])), head=True)
    behind = zone(block(np.array([3.5, -9.0, -9.0]), np.array([3.6, 9.0, 9.0])))
    assert light_from(lens, picture, (behind,)).shadow == 0.0
    light = light_from(lens, picture, (wall, behind))
    assert light.shadow == light.head == pytest.approx(0.5)
    assert (light.throw, light.down, light.aside) == (3.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("aside", "aside_words"), [(0.4, " down of straight"), (0.6, " down and 1 deg to the left of")]
)
def test_an_angle_that_rounds_to_none_is_not_told(opened, aside, aside_words):
    words = light_words(opened, Light(2.4, np.radians(26.0), np.radians(aside), 0.0, 0.0))
    assert f"its middle is 26 deg{aside_words}" in words
    assert " 0 deg" not in words


def test_the_plan_and_both_elevations_are_named_on_the_picture_and_no_two_labels_meet(opened, thrown):
    figure = spots_sheet(opened, BOX, thrown)
    figure.draw_without_rendering()
    named = [text for axes in figure.axes for text in axes.texts if text.get_text()]
    assert {"PLAN", "SIDE ELEVATION", "FRONT ELEVATION"} <= {text.get_text() for text in named}
    boxes = [text.get_window_extent() for text in named]
    for k, one in enumerate(boxes):
        assert [named[j].get_text() for j in range(k) if one.overlaps(boxes[j])] == []


def test_what_must_be_seen_must_be_there(opened):
    with pytest.raises(BadInputError, match="there is no 'scren' to see"):
        find_spots(opened, BOX, 100, see=("scren",))


def test_a_box_larger_than_the_room_fits_nowhere(opened):
    with pytest.raises(BadInputError, match="fits nowhere"):
        find_spots(opened, Box3(7.0, 0.2, 0.2), 100)


@pytest.mark.parametrize("text", ["300x250", "300x250x120", "axbxc mm", "0x250x120mm", "300x250x120 stone"])
def test_a_box_that_cannot_be_read_is_refused_with_a_way_out(text):
    with pytest.raises(BadInputError, match="--box"):
        parse_box(text)


def test_a_box_is_read_in_any_unit_of_length():
    assert parse_box("300x250x120mm") == Box3(0.3, 0.25, 0.12)
    assert parse_box("12 x 10 x 5 in").length == pytest.approx(0.3048)


@pytest.mark.parametrize(
    ("throw", "picture", "words"),
    [
        ("2.4m", None, "of what picture"),
        ("3m..2m", "2x1m", "no such range"),
        ("2m..", "2x1m", "--throw"),
        (None, "2m", "cannot be read"),
        (None, "0x1m", "two sizes above nought"),
    ],
)
def test_a_projector_that_cannot_be_read_is_refused_with_a_way_out(tmp_path, throw, picture, words):
    order = SpotOrder(tmp_path / "none.yaml", "1x1x1m", (), "1m", 10, 1, tmp_path / "o", (), throw, picture)
    with pytest.raises(BadInputError, match=words):
        spot_and_report(order)


def test_what_is_in_the_light_is_named_with_how_many_places_it_hides(tmp_path):
    lamp = "obstacles: [{name: shelf, kind: box, from_end_wall: 1 m, from_left_wall: 0 m, above_floor: 1.2 m,"
    lamp += " length: 50 mm, width: 3.6 m, height: 80 mm}]\n"
    path = tmp_path / "bay.yaml"
    path.write_text(BAY + lamp, encoding="utf-8")
    dark = find_spots(open_bay(path), BOX, 50, best=2, projector=replace(PROJECTOR, farthest=2.6))
    assert not dark.places
    assert dict(dark.hidden_by)["shelf"] == dark.hidden
    assert "whose light does not reach all of the picture (in the way: the shelf at " in fell_words(dark)


def test_where_all_is_seen_nothing_is_in_the_way(spots):
    assert sum(count for _, count in spots.hidden_by) >= spots.hidden


def test_all_of_a_section_may_have_to_be_seen_under_its_own_name(tmp_path):
    path = tmp_path / "bay.yaml"
    nets = "side_nets: {left: {depth: 1 m, height: 2 m}, right: {depth: 1 m, height: 2 m}}\n"
    path.write_text(BAY + nets, encoding="utf-8")
    points = np.array(seen_points(open_bay(path), ["side nets"]))
    assert points[:, 1].min() < -1.0 < 1.0 < points[:, 1].max()  # both of them
