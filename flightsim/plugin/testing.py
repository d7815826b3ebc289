"""Helpers for those who write plugins and test them. They need no scenario file and no installed package."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part
from flightsim.bay.shapes import Shape
from flightsim.contact.facings import Facing
from flightsim.contact.giving import Give
from flightsim.contact.law_table import LawTable
from flightsim.contact.rebound import Hits, ReboundLaw
from flightsim.engine.follow import first_contacts
from flightsim.engine.one_cloth import left_by
from flightsim.flight.ball import BALLS, Ball
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.loading import new_manager, register
from flightsim.plugin.manager import CheckedLaw, Plugins, gather, load_plugins
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.models import Scenario

Array = NDArray[np.float64]

SMALL_BAY = """\
name: A small bay
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.7 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m}
screen: {width: 2.8 m, height: 2.4 m, gap_behind: 350 mm}
"""


def with_plugins(strangers: Mapping[str, object] = MappingProxyType({})) -> Plugins:
    """The bundled plugins, and others as modules or objects by name. Raises PluginError as loading does."""
    manager = new_manager()
    loaded = [register(manager, name, plugin, f"{name}-in-memory", "0") for name, plugin in strangers.items()]
    return gather([*load_plugins().loaded, *loaded])


def scenario_of(text: str, plugins: Plugins) -> Scenario:
    """A scenario from the text of its file, with the plugins' sections. Raises ScenarioError."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "scenario.yaml"
        path.write_text(text, encoding="utf-8")
        return load_scenario(path, plugins.sections())


def bay_of(text: str, plugins: Plugins) -> tuple[Bay, BayPieces]:
    """The bay that the plugins make of a scenario's text, and all that they gave. Needs a room."""
    pieces = plugins.parts(scenario_of(text, plugins))
    assert pieces.bounds is not None, "no plugin gave the room's bounds"
    return Bay(tuple(pieces.parts), tuple(pieces.openings), *pieces.bounds, tuple(pieces.zones)), pieces


def shuffled(plugins: Plugins, seed: int = 0) -> Plugins:
    """The same plugins, registered in another order: no result may differ."""
    order = np.random.default_rng(seed).permutation(len(plugins.loaded))
    return gather([plugins.loaded[k] for k in order])


def all_directions(n: int, speed: float, seed: int = 0) -> Array:
    """n velocities `(3, n)`, m/s, uniform over all directions."""
    velocity = np.random.default_rng(seed).normal(size=(3, n))
    return np.asarray(speed * velocity / np.linalg.norm(velocity, axis=0))


def check_distance(shape: Shape, points: int = 5000, reach: float = 0.5, seed: int = 0) -> None:
    """Whether a shape's distance keeps its promises, at random points around its bounds.

    It must never grow faster than the point moves (reach, m, is how far around it is tried), its normal must be
    a unit vector along which the distance grows, and a shape that calls itself convex must be. Raises
    AssertionError.
    """
    rng = np.random.default_rng(seed)
    lower, upper = shape.bounds()
    here, there = (rng.uniform(lower - reach, upper + reach, (points, 3)).T for _ in range(2))
    (near, normal), (far, _) = shape.distance(here), shape.distance(there)
    apart = np.linalg.norm(here - there, axis=0)
    assert (np.abs(near - far) <= apart * (1 + 1e-9) + 1e-9).all(), "the distance grows faster than the point moves"
    assert np.allclose(np.linalg.norm(normal, axis=0), 1.0, atol=1e-6), "the normal is no unit vector"
    step = 1.0e-6
    outside = near > 10 * step
    grown = shape.distance(here + normal * step)[0] - near
    assert np.allclose(grown[outside], step, rtol=1e-2), "the normal does not point away from the shape"
    if shape.convex:
        middle = shape.distance((here + there) / 2)[0]
        assert (middle <= (near + far) / 2 + 1e-9).all(), "the shape is not convex, though it says so"


def check_arc_tests(
    plugins: Plugins, bay: Bay, owner: str, velocity: Array, start: Sequence[float] = (0, 0, 0.1)
) -> None:
    """Whether a plugin's own tests of arcs find what its shapes' distances find, within 10 micrometres.

    velocity `(3, n)`, m/s: of balls hit from start `(3,)`, m, with nothing else about. Raises AssertionError.
    """
    parts: tuple[Part, ...] = bay.owned_by(owner)
    alone = Bay(parts, (), bay.lower, bay.upper)
    tests = gather([p for p in plugins.loaded if p.name == owner]).touch_tests(alone)
    n = velocity.shape[1]
    places = np.repeat(np.array(start, dtype=np.float64)[:, None], n, axis=1)
    balls = Launches(places, velocity, np.zeros((3, n)))
    by_tests, by_shapes = (first_contacts(Physics(), balls, alone, arc_tests) for arc_tests in (tests, ()))
    for k, part in enumerate(parts):
        assert np.array_equal(by_tests.part == k, by_shapes.part == k), f"{part.name}: other balls touch it"
        met = by_tests.part == k
        off = np.abs(by_tests.point[:, met] - by_shapes.point[:, met]).max(initial=0.0)
        assert off < 1e-5, f"{part.name}: they touch it elsewhere, by up to {1000 * off:.3f} mm"


def check_laws(text: str, plugins: Plugins, owner: str, balls: int = 500, seed: int = 0) -> None:
    """Whether the laws that a plugin gives hold for hits of any speed, slant and spin, alone and in any batch.

    text: of a scenario; owner: the plugin. A table must hold them, the border's own checks are made (shapes, finite
    numbers, no energy won), and no ball may leave otherwise in another batch. Raises PluginError, or AssertionError.
    """
    bay, _ = bay_of(text, plugins)
    scenario, ball = scenario_of(text, plugins), BALLS["legal"]
    facings = plugins.facings(scenario)
    (checked,) = [plugin for plugin in plugins.loaded if plugin.name == owner]
    with_bundled = gather([*(p for p in plugins.loaded if p.bundled), checked])
    laws = {
        name: law
        for name, (plugin, law) in with_bundled.laws_given(scenario, bay, ball, facings).items()
        if plugin is checked
    }
    assert laws, f"plugin '{owner}' gives no law for this scenario"
    for name, part_law in laws.items():
        part = next(part for part in bay.parts if part.name == name)
        hits = _hits(part, facings[part.facing], ball, balls, seed)
        for words, law in (("", part_law.law), *part_law.weakened, *part_law.ends):
            if not isinstance(law, LawTable):
                rebound_law = partial(left_by, law) if isinstance(law, Give) else law
                _same_in_any_batch(f"law of part '{name}' {words}".rstrip(), CheckedLaw(checked, rebound_law), hits)
    with_bundled.rebounds(scenario, bay, ball, facings)  # which makes tables of them


def _hits(part: Part, facing: Facing, ball: Ball, n: int, seed: int) -> Hits:
    """Hits on a part from all sides, 0.1 to 90 m/s and up to 10,000 rpm."""
    rng = np.random.default_rng(seed)
    lower, upper = part.shape.bounds()
    near = rng.uniform(lower - 0.05, upper + 0.05, (n, 3)).T
    normal = part.shape.distance(near)[1]
    velocity = all_directions(n, 1.0, seed) * 90.0 ** rng.uniform(-0.5, 1.0, n)
    velocity -= np.maximum((velocity * normal).sum(axis=0), 0.0) * normal * 2.0  # into the face
    spin = all_directions(n, 1.0, seed + 1) * rng.uniform(0.0, 1000.0, n)
    return Hits(part, facing, ball, near, velocity, normal, spin)


def _same_in_any_batch(where: str, law: ReboundLaw, hits: Hits) -> None:
    order = np.random.default_rng(1).permutation(hits.point.shape[1])
    whole = law(hits)
    for batch in (order, order[:7], order[:1], order[:0]):
        again = law(replace(hits, point=hits.point[:, batch], velocity=hits.velocity[:, batch],
                            normal=hits.normal[:, batch], spin=hits.spin[:, batch]))  # fmt: skip
        for name in ("velocity", "spin", "held", "sink", "past"):
            expected, in_batch = getattr(whole, name)[..., batch], getattr(again, name)
            assert np.allclose(expected, in_batch, rtol=1e-12, atol=1e-12), f"{where}: {name} hangs on the other balls"


def check_facings(text: str, plugins: Plugins, owner: str) -> None:
    """Whether a plugin's facings send balls back slower than they came, at all speeds. Raises AssertionError."""
    scenario, ball, speeds = scenario_of(text, plugins), BALLS["legal"], np.linspace(0.1, 90.0, 200)
    without = gather([plugin for plugin in plugins.loaded if plugin.name != owner]).facings(scenario)
    facings = {name: facing for name, facing in plugins.facings(scenario).items() if name not in without}
    assert facings, f"plugin '{owner}' gives no facing"
    for name, facing in facings.items():
        back = facing.restitution(speeds, ball)
        assert ((back >= 0.0) & (back <= 1.0)).all(), f"facing '{name}': a restitution is not from 0 to 1"


def run_columns(bay: Bay, shots: int = 3) -> dict[str, NDArray[Any]]:
    """A few columns like those of a finished run, for hooks that judge or report."""
    names = np.array([bay.parts[k % len(bay.parts)].name for k in range(shots)])
    return {"shot": np.arange(shots), "first_part": names, "first_speed_m_s": np.linspace(40.0, 60.0, shots)}
