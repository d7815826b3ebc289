"""Names in any script on pictures: drawn where a font has them, else told; no font warns."""

import warnings

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.image import imread

from flightsim.report.draw import lettering
from flightsim.report.draw.lettering import make_legible
from flightsim.report.draw.style import axes_at, new_figure, save
from flightsim.scenario.reading.letters import NOTE, STAND_IN, drawable

NAMES = {
    "Hebrew": "מוסך",
    "Arabic": "مرآب",
    "Chinese": "车库",
    "Japanese": "車庫ガレージ",
    "Korean": "차고",
    "accents": "Äußere Brücke",
}


@pytest.fixture
def bare(monkeypatch):
    """A machine with no font but matplotlib's own."""
    monkeypatch.setattr(lettering, "_families", lambda missing: ())


def sheet(name):
    figure = new_figure(4.0, 2.0)
    axes = axes_at(figure, 1.0, 0.5, 2.0, 1.0)
    axes.set_title(name)
    return figure, axes


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_name_in_any_script_is_saved_without_a_warning_of_the_font(bare, name, tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        save(sheet(name)[0], tmp_path / "one.png", dpi=40)
    assert imread(tmp_path / "one.png").min() < 0.5


@pytest.mark.parametrize(("script", "letters"), [("Chinese", 2), ("Japanese", 6), ("Korean", 2)])
def test_letters_that_no_font_has_become_boxes_as_many_and_a_note_says_so(bare, script, letters):
    figure, axes = sheet(f"{NAMES[script]} 2")
    make_legible(figure)
    assert axes.get_title() == f"{STAND_IN * letters} 2"
    assert [text.get_text().strip() for text in figure.texts] == [NOTE]


@pytest.mark.parametrize("script", ["Hebrew", "Arabic", "accents"])
def test_letters_that_the_font_has_stay_as_they_are(bare, script):
    figure, axes = sheet(NAMES[script])
    make_legible(figure)
    make_legible(figure)
    assert axes.get_title().strip("\u2068\u2069") == NAMES[script]
    assert not figure.texts


def right_end(words, wide):
    """The picture of a text that ends at a fixed place, its last columns."""
    figure = Figure(figsize=(4.0, 0.4), dpi=100)
    canvas = FigureCanvasAgg(figure)
    figure.text(0.9, 0.3, words, ha="right")
    make_legible(figure)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[:, 360 - wide : 362, 0]


@pytest.mark.parametrize("script", ["Hebrew", "Arabic"])
def test_what_stands_beside_a_name_from_right_to_left_stays_in_its_place(bare, script):
    alone, beside = right_end("3.2 m", 40), right_end(f"A: {NAMES[script]} 3.2 m", 40)
    assert (alone < 128).any()
    assert (alone[:, 8:] == beside[:, 8:]).all()  # where the number stood on the other side, the name is here


@pytest.mark.parametrize("script", ["Hebrew", "Arabic"])
def test_a_matplotlib_that_cannot_order_letters_from_right_to_left_draws_boxes_and_says_so(bare, script, monkeypatch):
    monkeypatch.setattr(lettering, "VERSION", (3, 10))
    figure, axes = sheet(f"A: {NAMES[script]} 3.2 m")
    make_legible(figure)
    assert axes.get_title() == f"A: {STAND_IN * 4} 3.2 m"
    assert [text.get_text().strip() for text in figure.texts] == [NOTE]


def test_a_font_of_the_machine_that_has_the_letters_is_used(monkeypatch):
    every = lettering.known() | {ord(one) for one in NAMES["Chinese"]}
    monkeypatch.setattr(lettering, "_families", lambda missing: ("Some font",))
    monkeypatch.setattr(lettering, "_letters", lambda name: frozenset(every) if name == "Some font" else lettering_own)
    lettering_own = frozenset(every - {ord(one) for one in NAMES["Chinese"]})
    figure, axes = sheet(NAMES["Chinese"])
    make_legible(figure)
    assert axes.get_title() == NAMES["Chinese"]
    assert axes.title.get_fontfamily() == [lettering.OWN, "Some font"]
    assert not figure.texts


def test_what_is_drawn_has_as_many_letters_as_what_was_written():
    rng = np.random.default_rng(1)
    for _ in range(50):
        text = "".join(chr(k) for k in rng.integers(32, 0x9FFF, 12))
        shown = drawable(text, range(32, 500))
        assert len(shown) == len(text)
        assert all(
            one == other or (other == STAND_IN and ord(one) >= 500) for one, other in zip(text, shown, strict=True)
        )


def test_no_font_is_looked_for_with_a_warning(caplog):
    for name in ("屏幕", "המסך", "الشبكة", "한국어"):
        figure = Figure()
        lettering._families.cache_clear()
        lettering._letters.cache_clear()
        figure.text(0.5, 0.5, name)
        make_legible(figure)
        figure.canvas.draw()
    assert [record.message for record in caplog.records] == []
