"""The border: whatever a plugin hands over is checked here, and the plugin is blamed by name.

A wrong array that slipped through would let balls pass a guard without a word, so nothing is taken on trust:
types, shapes, dtypes, finite numbers, tau within the arc, unit normals, owners and names. The bundled shapes
are checked once, when the bay is built; shapes of a plugin's own at every call.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from math import isfinite
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel

from flightsim.bay.parts import Opening, Part, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import Shape
from flightsim.contact.arc_test import C_TYPE, ArcTest
from flightsim.contact.cloth_ends import END_WORDS
from flightsim.contact.facings import Facing
from flightsim.contact.law_table import LawTable
from flightsim.contact.rebound import Hits, PartRebound, Rebounds
from flightsim.making.pieces import Bar, Board, Cloth, Fitting, FloorPiece, Length, Marking, Pieces
from flightsim.making.structure import Structure
from flightsim.plugin.checks import all_are, check_array, check_bounds, check_unit, kind_of
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.loading import Loaded
from flightsim.plugin.own_shapes import OUR_SHAPES, check_shape
from flightsim.plugin.said import check_said
from flightsim.scenario.reading.models import Core, Section
from flightsim.scenario.reading.problems import Problem

Array = NDArray[np.float64]
T = TypeVar("T")

MEASURE_NAME = re.compile(r"[\w-]+(\.[\w-]+)*")
CORE_KEYS = (*Core.model_fields, "shots", "measured", "launches")


def checked_section(plugin: Loaded) -> Section | None:
    """The plugin's section, if it has one."""
    section = plugin.call("flightsim_section")
    if section is None:
        return None
    if not isinstance(section, Section):
        raise plugin.blame(f"flightsim_section returned {kind_of(section)}; it must return a Section")
    if not (isinstance(section.model, type) and issubclass(section.model, BaseModel)):
        raise plugin.blame(f"section '{section.key}': its model must be a pydantic model, not {section.model!r}")
    if section.key in CORE_KEYS or not str(section.key).isidentifier():
        raise plugin.blame(f"section '{section.key}': the key must be a word and none of {', '.join(CORE_KEYS)}")
    if section.owner != plugin.name:
        raise plugin.blame(f"section '{section.key}': owner is '{section.owner}', it must be '{plugin.name}'")
    return section


def checked_pieces(plugin: Loaded, pieces: object) -> BayPieces:
    """What flightsim_parts returned; arrays of our own shapes are made read-only."""
    if pieces is None:
        return BayPieces()
    if not isinstance(pieces, BayPieces):
        raise plugin.blame(f"flightsim_parts returned {kind_of(pieces)}; it must return BayPieces")
    for part in all_are(plugin, "flightsim_parts: parts", pieces.parts, Part):
        _check_part(plugin, part)
    for opening in all_are(plugin, "flightsim_parts: openings", pieces.openings, Opening):
        _check_opening(plugin, opening)
    all_are(plugin, "flightsim_parts: problems", pieces.problems, Problem)
    for zone in all_are(plugin, "flightsim_parts: zones", pieces.zones, Zone):
        _check_zone(plugin, zone)
    if not plugin.bundled:  # in bundled plugins names come from the file: an error of the scenario
        named: list[Part | Opening | Zone] = [*pieces.parts, *pieces.openings, *pieces.zones]
        _check_names(plugin, [item.name for item in named])
    if pieces.bounds is not None:
        check_bounds(plugin, pieces.bounds)
    return pieces


def checked_facings(plugin: Loaded, found: object) -> list[Facing]:
    """What flightsim_facings returned."""
    facings = [] if found is None else list(all_are(plugin, "flightsim_facings", found, Facing))
    for facing in facings:
        if not (isinstance(facing.name, str) and facing.name.strip()):
            raise plugin.blame(f"flightsim_facings: a facing's name must be a plain word, found {facing.name!r}")
    return facings


def checked_rebounds(plugin: Loaded, found: object, names: Iterable[str]) -> list[PartRebound]:
    """What flightsim_rebounds returned, with laws that are checked at every call. names: of the bay's parts."""
    laws = [] if found is None else list(all_are(plugin, "flightsim_rebounds", found, PartRebound))
    known = set(names)
    for law in laws:
        if law.part not in known:
            raise plugin.blame(f"flightsim_rebounds: no part is called '{law.part}'")
        if not _is_law(law.law):
            raise plugin.blame(
                f"flightsim_rebounds, part '{law.part}': the law must be a function of Hits or a LawTable"
            )
        for name, pairs in (("weakened", law.weakened), ("ends", law.ends)):
            for pair in pairs:
                sound = isinstance(pair, tuple) and len(pair) == 2 and isinstance(pair[0], str) and _is_law(pair[1])
                if not sound:
                    words = f"{name} must hold pairs of words and a law"
                    raise plugin.blame(f"flightsim_rebounds, part '{law.part}': {words}, found {pair!r}")
        if unknown := {name for name, _ in law.ends} - set(END_WORDS):
            words = f"ends are called {', '.join(END_WORDS)}, found {', '.join(sorted(unknown))}"
            raise plugin.blame(f"flightsim_rebounds, part '{law.part}': {words}")
    return laws


def _is_law(law: object) -> bool:
    return callable(law) or isinstance(law, LawTable)


def checked_measures(plugin: Loaded, found: object) -> dict[str, float]:
    """What flightsim_measures returned: finite numbers by names that start with the plugin's own."""
    where = "flightsim_measures"
    if found is None:
        return {}
    if not isinstance(found, Mapping):
        raise plugin.blame(f"{where}: {kind_of(found)}; it must be a mapping of names to metres")
    for name, value in found.items():
        if not (isinstance(name, str) and MEASURE_NAME.fullmatch(name) and name.split(".")[0] == plugin.name):
            raise plugin.blame(f"{where}: a name must be '{plugin.name}' or '{plugin.name}.some_word', found {name!r}")
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
            raise plugin.blame(f"{where}, '{name}': it must be a finite number of metres, found {value!r}")
    return {name: float(value) for name, value in found.items()}


def checked_goods(plugin: Loaded, found: object) -> list[Pieces]:
    """What flightsim_pieces returned, if anything: things to cut and to buy, none of nought length or number."""
    where = "flightsim_pieces"
    if found is None:
        return []
    if not isinstance(found, Pieces):
        raise plugin.blame(f"{where} returned {kind_of(found)}; it must return Pieces")
    for bar in all_are(plugin, f"{where}: bars", found.bars, Bar):
        _check_sizes(plugin, f"{where}, bar '{bar.name}'", bar.length, bar.section.size, bar.section.wall)
    for board in all_are(plugin, f"{where}: boards", found.boards, Board):
        _check_sizes(plugin, f"{where}, board '{board.name}'", board.thickness, board.width, board.height)
    for goods in all_are(plugin, f"{where}: lengths", found.lengths, Length):
        _check_sizes(plugin, f"{where}, length '{goods.name}'", goods.length, goods.count)
    for fitting in all_are(plugin, f"{where}: fittings", found.fittings, Fitting):
        _check_sizes(plugin, f"{where}, fitting '{fitting.name}'", fitting.count)
    for cloth in all_are(plugin, f"{where}: cloths", found.cloths, Cloth):
        _check_sizes(plugin, f"{where}, cloth '{cloth.name}'", cloth.width, cloth.height)
    for laid in all_are(plugin, f"{where}: floor", found.floor, FloorPiece):
        _check_sizes(plugin, f"{where}, floor '{laid.name}'", laid.length, laid.width, laid.thickness)
    _check_markings(plugin, where, found)
    return [found]


def _check_markings(plugin: Loaded, where: str, found: Pieces) -> None:
    """Marks are on bars of these pieces, somewhere along them."""
    bars = {bar.name for bar in found.bars}
    for marking in all_are(plugin, f"{where}: markings", found.markings, Marking):
        if not {marking.bar, marking.joins} <= bars:
            raise plugin.blame(
                f"{where}: a marking of '{marking.joins}' on '{marking.bar}' names no bar of these pieces"
            )
        if not isfinite(marking.along):
            words = f"{where}: the marking of '{marking.joins}' on '{marking.bar}' is nowhere along it"
            raise plugin.blame(f"{words}, found {marking.along!r} m")


def _check_sizes(plugin: Loaded, where: str, *sizes: float) -> None:
    wrong = [size for size in sizes if not (isinstance(size, (int, float)) and isfinite(size) and size > 0.0)]
    if wrong:
        raise plugin.blame(f"{where}: sizes and numbers must be finite and above nought, found {wrong[0]!r}")


def checked_structures(plugin: Loaded, found: object) -> list[Structure]:
    """What flightsim_structures returned: bars with length and names of their own, holds on bars that there are."""
    structures = [] if found is None else list(all_are(plugin, "flightsim_structures", found, Structure))
    for structure in structures:
        try:
            structure.check()
        except ValueError as error:
            raise plugin.blame(f"flightsim_structures, '{structure.name}': {error}") from error
    return [replace(checked, remedies=partial(_remedies, plugin, checked)) for checked in structures]


def _remedies(plugin: Loaded, structure: Structure) -> Iterable[tuple[str, Structure]]:
    found = plugin.guarded("a structure's remedies", lambda: list(structure.remedies()))
    assert isinstance(found, list)
    return found


def checked_after(plugin: Loaded, hits: Hits, after: object) -> Rebounds:
    """What a rebound law returned for these hits: sound arrays, and no ball with more energy than it brought."""
    where, k = f"rebound law of part '{hits.part.name}'", hits.point.shape[1]
    if not isinstance(after, Rebounds):
        raise plugin.blame(f"{where}: {kind_of(after)}; it must return Rebounds")
    for words, array in (("velocity", after.velocity), ("spin", after.spin)):
        check_array(plugin, f"{where}: {words}", array, (3, k), np.float64)
    check_array(plugin, f"{where}: sink", after.sink, (k,), np.float64)
    masks = [("held", after.held), ("past", after.past)]
    masks += [] if after.unresolved is None else [("unresolved", after.unresolved)]
    for words, mask in masks:
        check_array(plugin, f"{where}: {words}", mask, (k,), np.bool_)
    if k and after.sink.min() < 0.0:
        raise plugin.blame(f"{where}: sink must not be below nought, found {after.sink.min():g} m")
    ball = hits.ball
    turning = ball.inertia_factor * ball.radius**2
    before = (hits.velocity**2).sum(axis=0) + turning * (hits.spin**2).sum(axis=0)
    later = (after.velocity**2).sum(axis=0) + turning * (after.spin**2).sum(axis=0)
    if k and (later > before * (1.0 + 1e-9) + 1e-9).any():
        raise plugin.blame(f"{where}: a ball left with more energy than it came with")
    return after


def room_bounds(plugins: Iterable[Loaded], pieces: Mapping[str, BayPieces]) -> tuple[Array, Array] | None:
    """The box that holds the room, from the one plugin that may give it."""
    bounds = None
    for plugin in plugins:
        box = pieces[plugin.name].bounds
        if box is not None and bounds is not None:
            raise plugin.blame("flightsim_parts: gives bounds, and another plugin gives the room already")
        bounds = bounds if box is None else box
    return bounds


def checked_list(plugin: Loaded, hook: str, found: object, kind: type[T]) -> list[T]:
    """A hook's list of things of one kind; None is an empty one."""
    items = [] if found is None else list(all_are(plugin, hook, found, kind))
    for item in items:
        check_said(plugin, hook, item)
    return items


def checked_arc_tests(plugin: Loaded, found: object, parts: Sequence[Part]) -> list[ArcTest]:
    """What flightsim_arc_tests returned: tests of the plugin's own parts, each tried along some ways through it."""
    tests = [] if found is None else list(all_are(plugin, "flightsim_arc_tests", found, ArcTest))
    own_parts = {part.name: part for part in parts}
    names = [test.part for test in tests]
    for wrong, words in (
        (set(names) - set(own_parts), "gave a test of a part that is not its own"),
        ({name for name in names if names.count(name) > 1}, "gave two tests of one part"),
    ):
        if wrong:
            raise plugin.blame(f"flightsim_arc_tests {words}: {', '.join(sorted(wrong))}")
    for test in tests:
        _check_arc_test(plugin, test, own_parts[test.part])
    return tests


def _check_arc_test(plugin: Loaded, test: ArcTest, part: Part) -> None:
    """Whether a test says what a test may: a time within the arc, never, or that nobody knows, and a unit normal."""
    where = f"flightsim_arc_tests, part '{part.name}'"
    address = getattr(test.test, "address", None)
    if not isinstance(address, int):
        raise plugin.blame(f"{where}: {kind_of(test.test)}; the test must be compiled by arc_test")
    call, rng = C_TYPE(address), np.random.default_rng(0)
    lower, upper = part.shape.bounds()
    for start, end in rng.uniform(lower - 0.5, upper + 0.5, (64, 2, 3)):
        path, normal = np.stack([start, end - start]).ravel(), np.zeros(3)
        when = call(path.ctypes.data, 2, 0.05, 0.0213, 0.0, 1.0, normal.ctypes.data)
        if when < 0.0 or 1.0 < when < np.inf:
            raise plugin.blame(f"{where}: a time must lie from 0 to 1, be inf or NaN, found {when:g}")
        if 0.0 <= when <= 1.0:
            check_unit(plugin, f"{where}: normal", normal)


def _check_names(plugin: Loaded, names: Sequence[str]) -> None:
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise plugin.blame(f"flightsim_parts gave two things of one name: {', '.join(twice)}")


def _check_part(plugin: Loaded, part: Part) -> None:
    where = f"flightsim_parts, part '{part.name}'"
    for word, text in (("name", part.name), ("facing", part.facing)):
        if not (isinstance(text, str) and text.strip()):
            raise plugin.blame(f"{where}: {word} must be a plain word, found {text!r}")
    if part.owner != plugin.name:
        raise plugin.blame(f"{where}: owner is '{part.owner}', it must be '{plugin.name}'")
    if not isinstance(part.role, Role):
        raise plugin.blame(f"{where}: role must be a Role, found {part.role!r}")
    if not (isinstance(part.group, str) and isinstance(part.fragile, bool)):
        raise plugin.blame(f"{where}: group must be text and fragile true or false")
    if type(part.shape) not in OUR_SHAPES and not isinstance(part.shape, Shape):
        raise plugin.blame(f"{where}: {kind_of(part.shape)} is not a Shape")
    check_shape(plugin, part)


def _check_zone(plugin: Loaded, zone: Zone) -> None:
    where = f"flightsim_parts, zone '{zone.name}'"
    for word, text in (("name", zone.name), ("person", zone.person)):
        if not (isinstance(text, str) and text.strip()):
            raise plugin.blame(f"{where}: {word} must be a plain word, found {text!r}")
    if zone.owner != plugin.name:
        raise plugin.blame(f"{where}: owner is '{zone.owner}', it must be '{plugin.name}'")
    if zone.own_hand not in ("", "right", "left") or bool(zone.own_hand) != bool(zone.own_spot):
        raise plugin.blame(f"{where}: own_spot and own_hand (right or left) go together")
    if not isinstance(zone.shape, Shape):
        raise plugin.blame(f"{where}: {kind_of(zone.shape)} is not a Shape")


def _check_opening(plugin: Loaded, opening: Opening) -> None:
    where = f"flightsim_parts, opening '{opening.name}'"
    if opening.owner != plugin.name:
        raise plugin.blame(f"{where}: owner is '{opening.owner}', it must be '{plugin.name}'")
    check_array(plugin, f"{where}: corners", opening.corners, (None, 3), np.float64)
    check_array(plugin, f"{where}: normal", opening.normal, (3,), np.float64)
    check_unit(plugin, f"{where}: normal", opening.normal)
    try:
        outline = opening.shape
    except ValueError as error:
        raise plugin.blame(f"{where}: {error}") from error
    if np.abs((outline.corners - outline.corners[0]) @ opening.normal).max() > 1e-6:
        raise plugin.blame(f"{where}: its normal must stand square on its outline")
