"""A stranger's twin of the canopy, with other words for everything, is treated as ours."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from flightsim.cli import cli
from flightsim.report.draw.measures import side_measures
from flightsim.scenario.reading.display import Display
from flightsim.study.run.fly import Flyer
from flightsim.study.run.guard_sizes import guard_sizes
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.proportional import draw_sample, groups_of
from flightsim.study.run.remedies import changes
from flightsim.study.run.walk import run
from flightsim.study.size.builds import Builds, worse_sides
from flightsim.study.size.vary import parse_varies
from flightsim.study.spot.places_to_hang import Box3, find_spots

TWIN = '''
from typing import Annotated

import numpy as np
from flightsim.bay.build import board
from flightsim.bay.parts import Part, PartKind, Role
from flightsim.plugin.hookspecs import BayPieces, hookimpl
from flightsim.plugin.places import direction, in_axes
from flightsim.scenario.reading.declared import GuardLength
from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.quantities import Distance, Size

HOOK_API = 2


class TopBoard(Model):
    """A board overhead."""

    name: str = "canopy"
    reach: Annotated[Size, GuardLength(stops_more=True, words="depth")]
    clear: Annotated[Size, GuardLength(stops_more=True, words="height")]
    wings: Annotated[Distance, GuardLength(stops_more=True, words="side overhang")] = 0.0
    ply: Distance = 0.0


def ask_board(ask, draft):
    return {"name": "canopy", "reach": ask.size("Board overhead: its reach"), "clear": ask.size("Its clearance")}


@hookimpl
def flightsim_section():
    return Section(
        "top_board", TopBoard, "Boards overhead", owner="top_board", several=True, order=51, ask=ask_board
    )


@hookimpl
def flightsim_parts(context):
    parts = []
    for it in context.entries:
        (screen,) = context.scenario.entries("screen")
        left, right = screen.edges(context.scenario)
        s = screen.gap_behind
        back = in_axes(context.scenario, (s, left - it.wings, it.clear))
        toward, up = direction(it.reach, 0.0, 0.0), direction(0.0, 0.0, 1.0)
        across = direction(0.0, right - left + 2.0 * it.wings, 0.0)
        shape = board(back, toward, across, up, it.ply)
        kind = PartKind.OVERHEAD
        parts.append(Part(it.name, shape, Role.GUARD, "foam on plywood", "top_board", it.name, kind=kind))
    return BayPieces(tuple(parts))
'''
BAY = """name: Twin
room: {length: 7 m, width: 5 m, roof: {kind: flat, height: 3.2 m}}
tee: {from_end_wall: 3.8 m, from_left_wall: 2.5 m}
screen: {width: 3.6 m, height: 2.6 m, gap_behind: 450 mm}
launches: {use: [driver, wedge]}
"""
OURS = "canopy: {depth: 1.1 m, height: 2.65 m, side_overhang: 100 mm, thickness: 12 mm}\n"
THEIRS = "plugins: [top_board]\ntop_board: {name: canopy, reach: 1.1 m, clear: 2.65 m, wings: 100 mm, ply: 12 mm}\n"
WORDS = ("depth", "height", "side overhang")


@pytest.fixture
def pair(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """The bay with our canopy, and with the stranger's; files."""
    monkeypatch.syspath_prepend(str(tmp_path))
    info = tmp_path / "flightsim_top_board-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: flightsim-top-board\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text("[flightsim]\ntop_board = top_board_module\n")
    (tmp_path / "top_board_module.py").write_text(TWIN)
    files = [tmp_path / "ours.yaml", tmp_path / "theirs.yaml"]
    for file, section in zip(files, (OURS, THEIRS), strict=True):
        file.write_text(BAY + section)
    yield files
    sys.modules.pop("top_board_module", None)


def sizes(opened):
    return [(s.words, s.value, s.wider) for s in guard_sizes(opened) if s.words.removeprefix("canopy: ") in WORDS]


def test_a_strangers_twin_has_the_same_sizes_in_the_same_words(pair):
    ours, theirs = (open_bay(file) for file in pair)
    assert len(sizes(theirs)) == len(WORDS)
    assert sizes(ours) == sizes(theirs)
    assert {s.path for s in guard_sizes(theirs)} >= {"top_board.reach", "top_board.clear", "top_board.wings"}


def test_a_strangers_twin_stops_the_same_balls(pair):
    ours, theirs = (run(open_bay(file), 400) for file in pair)
    assert np.array_equal(ours.outcome, theirs.outcome)
    assert np.array_equal(ours.contacts.point, theirs.contacts.point, equal_nan=True)


def test_a_strangers_twin_is_off_its_drawing_to_the_same_sides(pair):
    found = []
    for file in pair:
        builds = Builds(file, (), parse_varies(("screen.height=2.5m..2.7m",), None))
        home = builds.drawn((2.6,))
        from_search = worse_sides(builds, (2.6,), sample_of(home), home)
        found.append({worse.words: worse.off for worse in from_search})
    ours, theirs = found
    assert {f"canopy: {word}" for word in WORDS} <= set(theirs)
    assert {words: theirs[words] for words in ours if words in theirs} == {
        words: off for words, off in ours.items() if words in theirs
    }


def sample_of(home):
    flyer = Flyer.of(home, 1)
    return draw_sample(flyer.draw, flyer.plan.types, groups_of(flyer.plan.types), 0.01)


def test_a_strangers_twin_is_changed_for_the_better_in_the_same_words(pair):
    ours, theirs = ([words for words, _ in changes(open_bay(file), ())] for file in pair)
    wanted = [words for words in ours if words.startswith("canopy ") and not words.startswith("canopy front lip")]
    assert len(wanted) == len(WORDS)
    assert set(wanted) <= set(theirs)
    paths = [sets[0].partition("=")[0] for _, sets in changes(open_bay(pair[1]), ())]
    assert "top_board.reach" in paths


def test_a_strangers_twin_gets_the_same_dimension_lines(pair):
    ours, theirs = (side_measures(open_bay(file).bay, Display("metric")) for file in pair)
    assert ours == theirs


def test_a_strangers_twin_leaves_the_same_places_to_hang_something(pair):
    ours, theirs = (find_spots(open_bay(file), Box3(0.3, 0.25, 0.12), 200, best=2) for file in pair)
    assert [(*one.middle, one.hits, one.beside) for one in ours.places] == [
        (*one.middle, one.hits, one.beside) for one in theirs.places
    ]


def test_a_strangers_twin_is_asked_for_drawn_and_written_by_new(pair, tmp_path):
    answers = [
        "y", "metric", "Shed", "7 m", "5 m", "flat", "3.2 m", "wall", "n", "3.8 m", "2.5 m", "none", "n", "3.6 m",
        "450 mm", "0", "2.6 m", "none", "1.1 m", "2.65 m", "n", "none", "none", "n", "right", "1.8 m", "none", "n",
        "usual", "driver", "y",
    ]  # fmt: skip
    done = CliRunner().invoke(cli, ["new", str(tmp_path / "new.yaml")], input="\n".join(answers) + "\n")
    assert done.exception is None, done.output
    assert "The plugin top_board is installed. Is there this in your bay: Boards overhead" in done.output
    opened = open_bay(tmp_path / "new.yaml")
    assert opened.scenario.plugins == ("top_board",)
    assert [part.name for part in opened.bay.parts if part.owner == "top_board"] == ["canopy"]
    assert "=" in done.output.split("Its clearance")[1].split("# screen")[0]  # it is drawn as a canopy is
