"""The figure of a player's strikes: areas of the face with their shares, and launches by class and speed."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from matplotlib.collections import PathCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.image import imread
from matplotlib.patches import Ellipse, Rectangle
from matplotlib.text import Text

from flightsim.errors import BadInputError
from flightsim.report.draw.strike_figure import BANDS, DRAWN, SHADES, strike_figure, write_strike_figure
from flightsim.report.words.common_words import percent
from flightsim.study.single.strike_mix import MixOrder, StrikeMix, strike_mix

CASES = {
    "driver": MixOrder("mid", "driver", 3000),
    "wood": MixOrder("junior", "5-wood", 3000, swing="half"),
    "iron": MixOrder("mid", "7-iron", 3000, tails="joint"),
    "wedge, left": MixOrder("high", "lob wedge", 3000, bad_day=15.0, left=True, tails="gaussian"),
    "tour": MixOrder("tour", "4-iron", 3000, tails="gaussian"),
}


@cache
def drawn(case: str, units: str = "metric") -> tuple[StrikeMix, Figure]:
    mix = strike_mix(CASES[case])
    return mix, strike_figure(mix, units)


def texts(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]


@pytest.mark.parametrize("case", CASES)
def test_every_class_has_an_area_with_its_share_and_a_panel_with_its_launches(case):
    mix, figure = drawn(case)
    labels, face, panels = texts(figure), figure.axes[0], figure.axes[1:]
    assert len(panels) == len(mix.classes)
    for one, panel in zip(mix.classes, panels, strict=True):
        assert f"{one.word}\n{percent(one.share)}" in labels
        assert panel.get_title(loc="left") == f"{one.word}, {percent(one.share)}"
        (cloud,) = [artist for artist in panel.collections if isinstance(artist, PathCollection)]
        assert len(cloud.get_offsets()) == min(DRAWN, len(one.speed))
    filled = [patch for patch in face.patches if isinstance(patch, Rectangle) and patch.get_zorder() == 1]
    assert len(filled) == len(mix.classes)


@pytest.mark.parametrize("case", CASES)
def test_the_areas_cover_the_drawing_of_the_face_without_overlap(case):
    _, figure = drawn(case)
    face = figure.axes[0]
    boxes = [patch.get_bbox() for patch in face.patches if isinstance(patch, Rectangle) and patch.get_zorder() == 1]
    (left, right), (low, high) = face.get_xlim(), face.get_ylim()
    assert sum(box.width * box.height for box in boxes) == pytest.approx((right - left) * (high - low), rel=1e-9)
    x = np.random.default_rng(0).uniform(left, right, 500)
    y = np.random.default_rng(1).uniform(low, high, 500)
    inside = sum(((x > b.x0) & (x < b.x1) & (y > b.y0) & (y < b.y1)).astype(int) for b in boxes)
    assert (inside == 1).all()


def test_one_millimetre_is_as_long_both_ways():
    for case in CASES:
        _, figure = drawn(case)
        face = figure.axes[0]
        size = face.get_window_extent()
        across, up = np.ptp(face.get_xlim()), np.ptp(face.get_ylim())
        assert size.width / across == pytest.approx(size.height / up, rel=1e-6)


def test_an_irons_areas_lie_where_the_ball_meets_the_face():
    """Up the face from the leading edge: (r (1 - sin L) - h)/cos L; thin above the clean edge height, fat below."""
    mix, figure = drawn("iron")
    r, loft = 21.335, mix.loft
    rows = {one.word: one.stratum.cell.height for one in mix.classes}
    boxes = {
        one.word: patch.get_bbox()
        for one, patch in zip(mix.classes, [p for p in figure.axes[0].patches if p.get_zorder() == 1], strict=True)
    }
    for word, border in (("topped", "y1"), ("thin", "y1"), ("clean", "y1")):
        edge = rows[word][0] * 1e3
        assert getattr(boxes[word], border) == pytest.approx((r * (1 - np.sin(loft)) - edge) / np.cos(loft), abs=1e-6)
    assert boxes["topped"].y1 == pytest.approx(boxes["thin"].y0)
    assert boxes["fat"].y0 == pytest.approx(boxes["clean"].y1)
    assert boxes["shank"].x1 == pytest.approx(-24.0)
    assert boxes["toe"].x0 == pytest.approx(38.0)


def test_a_left_handers_heel_is_on_the_right_and_the_shanks_go_left():
    mix, figure = drawn("wedge, left")
    boxes = {
        one.word: patch.get_bbox()
        for one, patch in zip(mix.classes, [p for p in figure.axes[0].patches if p.get_zorder() == 1], strict=True)
    }
    assert boxes["shank"].x0 == pytest.approx(22.0)
    assert boxes["toe"].x1 == pytest.approx(-38.0)
    shank = next(one for one in mix.classes if one.word == "shank")
    assert np.median(shank.azimuth) < 0
    assert "toward the toe   |   toward the heel" in figure.axes[0].get_xlabel()


def test_the_rings_are_one_and_two_standard_deviations_of_the_strike_point():
    mix, figure = drawn("driver")
    small, large = [patch for patch in figure.axes[0].patches if isinstance(patch, Ellipse)]
    assert small.width == pytest.approx(2 * mix.player.driver_toe_sd * 1e3)
    assert large.height == pytest.approx(4 * mix.player.driver_up_sd * 1e3)


@pytest.mark.parametrize("case", CASES)
def test_launches_are_shaded_by_ball_speed_and_none_lies_outside_its_panel(case):
    mix, figure = drawn(case)
    (speeds,) = [legend for legend in figure.legends if legend.get_title().get_text() == "ball speed"]
    assert len(speeds.get_texts()) == BANDS
    seen = set()
    for one, panel in zip(mix.classes, figure.axes[1:], strict=True):
        (cloud,) = [artist for artist in panel.collections if isinstance(artist, PathCollection)]
        x, y = np.asarray(cloud.get_offsets()).T
        assert panel.get_xlim()[0] < x.min() < x.max() < panel.get_xlim()[1]
        assert panel.get_ylim()[0] < y.min() < y.max() < panel.get_ylim()[1]
        assert x == pytest.approx(np.degrees(one.azimuth[:DRAWN]))
        shades = [tuple(colour[:3]) for colour in cloud.get_facecolors()]
        ladder = [to_rgb(shade) for shade in SHADES]
        rank = np.array([ladder.index(shade) for shade in shades])
        order = np.argsort(one.speed[:DRAWN])
        assert (np.diff(rank[order]) >= 0).all()
        seen |= set(rank)
    assert seen == set(range(BANDS))


def test_the_shades_of_speed_step_down_evenly_in_grey():
    grey = [float(np.dot(to_rgb(shade), (0.299, 0.587, 0.114))) for shade in SHADES]
    assert all(lighter - darker > 0.12 for lighter, darker in pairwise(grey))


def test_areas_differ_in_hatch_too_so_that_grey_print_tells_them_apart():
    for case in CASES:
        _, figure = drawn(case)
        areas = [patch for patch in figure.axes[0].patches if isinstance(patch, Rectangle) and patch.get_zorder() == 1]
        assert len({patch.get_hatch() for patch in areas}) == len(areas)


def test_the_figure_says_whose_strikes_on_what_terms_and_how_weak_the_shares_are():
    words_drawn = " ".join(texts(drawn("wedge, left")[1]))
    assert "high-handicap player, left-handed, with a lob wedge" in words_drawn
    assert "a bad day: odds of a miss times 15" in words_drawn
    assert "normal tails" in words_drawn
    assert "seed 1" in words_drawn
    assert "order of magnitude" in words_drawn
    for word in ("safe", "held", "caught"):
        assert word not in words_drawn


def test_imperial_figures_are_in_inches_and_mph():
    _, figure = drawn("iron", "imperial")
    words_drawn = " ".join(texts(figure))
    assert "(in)" in words_drawn
    assert "mph" in words_drawn
    assert "m/s" not in words_drawn
    assert "mm" not in words_drawn
    assert figure.axes[0].get_xlim()[1] == pytest.approx(62.0 / 25.4)


def test_no_text_of_the_notes_runs_into_the_panels():
    for case in CASES:
        _, figure = drawn(case)
        figure.canvas.draw()
        renderer = figure.canvas.get_renderer()
        edge = figure.axes[1].get_window_extent().x0
        width, height = figure.canvas.get_width_height()
        for text in figure.texts[:-2]:  # the heading's two lines run over the whole sheet
            box = text.get_window_extent(renderer)
            assert box.x1 < edge, text.get_text()
            assert 0.0 < box.y0 < box.y1 < height
        for text in figure.texts[-2:]:
            assert text.get_window_extent(renderer).x1 < width, text.get_text()


def test_the_file_is_written_whole_or_not_at_all(tmp_path):
    mix, _ = drawn("driver")
    path = tmp_path / "strikes.png"
    write_strike_figure(mix, "metric", path)
    image = imread(path)
    assert image[0, 0, :3].min() == 1.0
    assert image.min() < 0.2
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(BadInputError, match="cannot be written"):
        write_strike_figure(mix, "metric", tmp_path / "folder.png")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["folder.png", "strikes.png"]
