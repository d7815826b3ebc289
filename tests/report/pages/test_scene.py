"""The bay in three dimensions: its data, and the script that is built of kept sources."""

import hashlib
import json
import re
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from opened_by_hand import opened_for

from flightsim.contact.fates import Outcome
from flightsim.report.pages.run_page import SCRIPT, make_page
from flightsim.report.pages.scene_data import STRAIGHT, _telling, scene_data, wanted
from flightsim.study.run.replay import replay

ROOM = Path(str(files("flightsim.report.pages").joinpath(SCRIPT))).parent
NAME = "</script><script>alert('x')</script>"


@pytest.fixture(scope="module")
def flown(run_of):
    result = run_of()
    return result, replay(opened_for(result), result, wanted(result))


@pytest.fixture(scope="module")
def scene_of_run(flown):
    return json.loads(scene_data(*flown).json)


def test_every_outcome_and_every_shot_type_of_the_run_has_a_way(flown, scene_of_run):
    result, _ = flown
    assert {way["outcome"] for way in scene_of_run["ways"]} >= {
        one.key for one in Outcome if (result.outcome == one).any()
    }
    assert {way["type"] for way in scene_of_run["ways"]} == set(range(len(result.types)))


def test_a_way_begins_where_the_ball_is_hit_and_ends_where_it_was_followed_to(flown, scene_of_run):
    result, again = flown
    ends = {tuple(np.round(again.fates.point[:, k], 3)) for k in range(len(again))}
    for way in scene_of_run["ways"]:
        points = np.array(way["points"]).reshape(-1, 3)
        assert len(points) == len(way["times"])
        assert points[0] == pytest.approx(result.shots.start[:, 0], abs=2e-3)
        assert np.all(np.diff(way["times"]) >= 0.0)
        assert tuple(points[-1]) in ends
        assert max(way["touches"]) < len(points)


def test_what_is_left_out_of_a_way_lies_on_the_line_that_is_kept(flown):
    _, again = flown
    for k in range(0, len(again), 5):
        way = again.way(k)
        keep = _telling(way)
        line = np.stack([np.interp(way.time, way.time[keep], way.point[keep, axis]) for axis in range(3)], axis=1)
        assert np.abs(line - way.point).max() < 60 * STRAIGHT


def test_a_story_tells_launch_touches_with_energies_and_the_end(scene_of_run):
    for way in scene_of_run["ways"]:
        assert re.match(r"Shot \d+, .+: it leaves the club at [\d.]+ m/s \([\d.]+ J\), \d+ degrees (up|down), ",
                        way["story"])  # fmt: skip
        ends = r"It (could|left|broke|got past|struck|hit|ended)|A protection held it|It touches nothing"
        assert re.search(ends, way["story"])
    held = next(way for way in scene_of_run["ways"] if way["outcome"] == "held")
    assert held["story"].endswith("A protection held it.")
    assert re.search(r"meets the .+ at [\d.]+ m/s \([\d.]+ J\) and leaves it at", held["story"])


def test_names_that_mean_harm_end_no_script(flown):
    result, again = flown
    types = tuple(replace(kind, label=NAME) for kind in result.types)
    parts = tuple(replace(part, group=NAME) for part in result.bay.parts)
    evil = replace(result, types=types, bay=replace(result.bay, parts=parts))
    scene = scene_data(evil, again)
    page = make_page(evil, (), [], [], scene)
    assert "<" not in scene.json
    assert NAME in json.loads(scene.json)["parts"][0]["name"]
    assert page.count("<script") == page.count("</script>") == 2


def test_the_built_script_is_of_the_sources_beside_it():
    """`npm ci && npm run build` in scene/ makes both anew."""
    scene = ROOM / "scene"
    names = ["LICENSE-three.txt", "build.mjs", "package-lock.json", "package.json"]
    sources = [scene / name for name in names] + sorted((scene / "src").iterdir())
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()
    built = hashlib.sha256((ROOM / SCRIPT).read_bytes()).hexdigest()
    assert (scene / "built.sha256").read_text().split() == [digest, "sources", built, SCRIPT]


def test_the_built_script_carries_its_licence_and_can_stand_in_a_page():
    text = (ROOM / SCRIPT).read_text(encoding="ascii")
    assert text.startswith("/* three.js")
    assert "Permission is hereby granted, free of charge" in text
    assert "</script" not in text
    assert "<!--" not in text


def test_the_lockfile_names_no_host_and_a_digest_for_every_package():
    lock = json.loads((ROOM / "scene" / "package-lock.json").read_text())
    packages = {name: entry for name, entry in lock["packages"].items() if name}
    assert "node_modules/three" in packages
    assert all("integrity" in entry and "resolved" not in entry for entry in packages.values())
