"""Rebound laws and facings of a plugin's own: what cannot be is blamed on it, by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from bays import follow, shots

from flightsim.bay.people import Zone
from flightsim.bay.shapes import block
from flightsim.contact.facings import Facing
from flightsim.contact.fates import Flag
from flightsim.contact.rebound import Hits, PartRebound, ReboundLaw, Rebounds, by_facing
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.errors import PluginError
from flightsim.flight.ball import LEGAL_BALL
from flightsim.plugin.hookspecs import BayPieces, hookimpl
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import SMALL_BAY, bay_of, scenario_of, with_plugins

BLAME = r"plugin 'visitor' \(from visitor-in-memory 0\): "
ROOM = "\n".join(line for line in SMALL_BAY.splitlines() if not line.startswith("screen"))  # nobody else has a law here
WALL = "end wall"


def visitor(**hooks: Callable[..., object]) -> Plugins:
    """All bundled plugins and one with these hooks."""
    module = ModuleType("visitor")
    module.HOOK_API = 2  # type: ignore[attr-defined]
    for name, function in hooks.items():
        setattr(module, f"flightsim_{name}", hookimpl(function, specname=f"flightsim_{name}"))
    return with_plugins({"visitor": module})


def opened(plugins: Plugins) -> Surroundings:
    """The small bay with what the plugins give."""
    scenario = scenario_of(ROOM, plugins)
    bay, _ = bay_of(ROOM, plugins)
    facings = plugins.facings(scenario)
    found = plugins.rebounds(scenario, bay, LEGAL_BALL, facings)
    laws = {name: one.law for name, one in found.items()}
    return surround(bay, plugins.touch_tests(bay), facings, laws)


def struck(law: ReboundLaw) -> Rebounds | None:
    """What becomes of two balls that hit the wall, by this law."""
    around = opened(visitor(rebounds=lambda context: [PartRebound(WALL, law)]))
    follow(around, shots(((0, 0, 1.0), (40.0, 0, 0)), ((0, 0, 1.0), (50.0, 0, 0))))
    return None


def changed(**changes: Any) -> ReboundLaw:
    """The usual law with something wrong: values, or functions of what is usual."""

    def law(hits: Hits) -> Rebounds:
        usual = by_facing(hits)
        return replace(usual, **{k: v(getattr(usual, k)) if callable(v) else v for k, v in changes.items()})

    return law


def test_a_law_that_is_sound_is_used() -> None:
    around = opened(visitor(rebounds=lambda context: [PartRebound(WALL, changed(velocity=lambda v: 0.5 * v))]))
    ball = shots(((0, 0, 1.0), (40.0, 0, 0)))
    by_law, usual = (
        follow(surroundings, ball).contacts.leaving[0, 0] for surroundings in (around, opened(with_plugins()))
    )
    assert by_law == pytest.approx(0.5 * usual, rel=5e-3)  # a table of it


@pytest.mark.parametrize(
    ("law", "words"),
    [
        (changed(velocity=lambda v: v * 20.0), "a ball left with more energy than it came with"),
        (changed(spin=lambda w: w + 9000.0), "a ball left with more energy than it came with"),
        (changed(velocity=lambda v: v * np.nan), "velocity: .*NaN"),
        (changed(velocity=lambda v: v[:, :1]), r"velocity: shape"),
        (changed(spin=lambda w: w.astype(np.float32)), "spin: .*float32"),
        (changed(sink=lambda s: s - 0.1), "sink must not be below nought, found -0.1 m"),
        (changed(held=lambda h: h.astype(float)), "held: "),
        (changed(past=None), "past: None"),
        (lambda hits: None, "None; it must return Rebounds"),
        (lambda hits: hits.velocity / hits.nothing, "failed: AttributeError"),  # type: ignore[attr-defined]
        (lambda hits: hits.velocity.__imul__(0.5), "failed: ValueError: .*read-only"),
    ],
)  # fmt: skip
def test_a_law_that_cannot_be_is_blamed_on_its_plugin(law: ReboundLaw, words: str) -> None:
    with pytest.raises(PluginError, match=f"{BLAME}rebound law of part 'end wall'.*{words}"):
        struck(law)


@pytest.mark.parametrize(
    ("returned", "words"),
    [
        ([PartRebound("scren", by_facing)], "no part is called 'scren'"),
        (
            [PartRebound(WALL, by_facing), PartRebound(WALL, by_facing)],
            "part 'end wall' has a law of its own already",
        ),
        ([PartRebound(WALL, None)], "part 'end wall': the law must be a function"),  # type: ignore[arg-type]
        ([PartRebound(WALL, by_facing, ("a cord snapped",))], "weakened must hold pairs"),  # type: ignore[arg-type]
        ([PartRebound(WALL, by_facing, ((1, by_facing),))], "weakened must hold pairs"),  # type: ignore[arg-type]
        ([PartRebound(WALL, by_facing, (("torn", None),))], "weakened must hold pairs"),  # type: ignore[arg-type]
        (PartRebound(WALL, by_facing), "must be a list or tuple of PartRebound"),
        ([by_facing], "all must be PartRebound"),
    ],
)
def test_laws_for_no_part_or_for_one_twice_are_blamed(returned: object, words: str) -> None:
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_rebounds.*{words}"):
        opened(visitor(rebounds=lambda context: returned))


@pytest.mark.parametrize(
    ("returned", "words"),
    [
        ([Facing("brick", fixed=0.5)], "there is a facing 'brick' already"),
        ([Facing("mat", fixed=0.5), Facing("mat", fixed=0.6)], "there is a facing 'mat' already"),
        ([Facing(" ", fixed=0.5)], "must be a plain word"),
        ([{"name": "mat"}], "all must be Facing"),
    ],
)
def test_facings_that_cannot_be_are_blamed(returned: object, words: str) -> None:
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_facings.*{words}"):
        opened(visitor(facings=lambda context: returned))


def test_a_facing_with_a_restitution_over_one_is_blamed_on_the_plugin_that_makes_it() -> None:
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_facings failed: ValueError: .*between 0 and 1, found 1.2"):
        opened(visitor(facings=lambda context: [Facing("trampoline", fixed=1.2)]))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"owner": "people"}, "owner is 'people', it must be 'visitor'"),
        ({"person": ""}, "person must be a plain word"),
        ({"own_spot": "tee"}, "own_spot and own_hand .* go together"),
        ({"own_spot": "tee", "own_hand": "both"}, "go together"),
        ({"shape": "a box"}, "a str is not a Shape"),
    ],
)
def test_people_who_cannot_be_are_blamed(changes: dict[str, Any], words: str) -> None:
    zone = replace(Zone("guest", "guest", block(np.zeros(3), np.ones(3)), "visitor"), **changes)
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts, zone 'guest': .*{words}"):
        bay_of(ROOM, visitor(parts=lambda context: BayPieces(zones=[zone])))


def in_a_window(what: str) -> ReboundLaw:
    """Holds every ball, but for a window of slants between two of the table's."""

    def law(hits: Hits) -> Rebounds:
        usual = by_facing(hits)
        speed = np.sqrt((hits.velocity**2).sum(axis=0))
        inside = np.abs(np.degrees(np.arccos(hits.normal_speed / speed)) - 20.0) < 3.0
        past, unknown = inside & (what == "past"), inside & (what == "unresolved")
        return replace(usual, held=~inside, past=past, unresolved=unknown)

    return law


@pytest.mark.parametrize(
    ("what", "words"), [("leaves", "leaves"), ("past", "gets past"), ("unresolved", "is not known")]
)
def test_a_law_whose_table_would_hold_balls_that_it_lets_go_is_blamed(what: str, words: str) -> None:
    with pytest.raises(PluginError, match=BLAME + f".*{words}, and at the table's places around it each is held"):
        opened(visitor(rebounds=lambda context: [PartRebound(WALL, in_a_window(what))]))


def test_a_law_that_lets_past_faster_than_its_table_is_blamed() -> None:
    def law(hits: Hits) -> Rebounds:
        usual = by_facing(hits)
        speed = np.sqrt((hits.velocity**2).sum(axis=0))
        inside = np.abs(np.degrees(np.arccos(hits.normal_speed / speed)) - 20.0) < 3.0
        all_past = np.ones(len(speed), dtype=bool)
        return replace(usual, velocity=hits.velocity * np.where(inside, 0.9, 0.1), past=all_past)

    with pytest.raises(PluginError, match=BLAME + ".*off by"):
        opened(visitor(rebounds=lambda context: [PartRebound(WALL, law)]))


def test_a_law_that_does_something_else_from_behind_is_blamed() -> None:
    def law(hits: Hits) -> Rebounds:
        usual = by_facing(hits)
        return replace(usual, held=hits.normal[0] < 0.0)

    with pytest.raises(PluginError, match=BLAME + ".*from behind, .*leaves"):
        opened(visitor(rebounds=lambda context: [PartRebound(WALL, law)]))


def test_a_law_that_holds_slow_balls_and_lets_fast_ones_past_is_used() -> None:
    def law(hits: Hits) -> Rebounds:
        usual, inward = by_facing(hits), hits.normal_speed
        past = inward > 60.0
        left = np.where(past, 0.3 * hits.velocity, usual.velocity)
        return replace(usual, velocity=left, held=inward < 20.0, past=past)

    around = opened(visitor(rebounds=lambda context: [PartRebound(WALL, law)]))
    found = follow(around, shots(((0, 0, 1.0), (15.0, 0, 0)), ((0, 0, 1.0), (90.0, 0, 0))))
    assert np.isfinite(found.fates.worst[Flag.PAST_EDGE]).tolist() == [False, True]
