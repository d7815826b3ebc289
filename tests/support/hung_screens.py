"""Screens that give, from a scenario's text: their laws, and hits on them."""

from __future__ import annotations

import numpy as np

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.contact.facings import shipped_facings
from flightsim.contact.giving import Give
from flightsim.contact.rebound import Hits
from flightsim.engine import one_cloth
from flightsim.flight.ball import LEGAL_BALL
from flightsim.plugin.hookspecs import BayView
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim_plugins.screen_give import flightsim_rebounds

PLUGINS = with_plugins()
ROOM = """\
name: Test
units: metric
room: {length: 7 m, width: 4 m, roof: {kind: flat, height: 3.2 m}}
tee: {from_end_wall: 4 m, from_left_wall: 2 m}
"""
# The cloth hangs at x = 3.5, from y = 1.4 (left) to -1.4 and from z = 0.1 to 2.5.
SCREEN = "screen: {width: 2.8 m, height: 2.4 m, above_floor: 100 mm, gap_behind: 500 mm}\n"
NETS = "side_nets: {left: {depth: 2 m, height: 2.4 m, offset: 300 mm}}\n"
QUICK = "stiffness: 50 kN/m"  # a slower wave: the lattice takes longer steps


def give(text: str) -> str:
    return f"screen_give: {{{text}}}\n"


def view(text: str = "", screen: str = SCREEN) -> BayView:
    scenario = scenario_of(ROOM + screen + text, PLUGINS)
    pieces = PLUGINS.parts(scenario)
    bay = Bay(tuple(pieces.parts), tuple(pieces.openings), *pieces.bounds)
    facings = PLUGINS.facings(scenario)
    return BayView(scenario.entries("screen_give"), scenario, bay, LEGAL_BALL.radius, LEGAL_BALL.mass, facings)


def laws(text: str = "", screen: str = SCREEN) -> dict[str, Give]:
    return {law.part: law.law for law in flightsim_rebounds(view(text, screen))}


ANSWERS = one_cloth.left_by  # once that is loaded, a law answers hits


def hits(law: Give, speed, y, z, normal=(-1.0, 0.0, 0.0), facing="cloth", along=(0.0, 0.0, 0.0)) -> Hits:
    """Hits on the screen at y, z; along: what the velocity has besides its square part, as a share."""
    speed, y, z = np.broadcast_arrays(*(np.atleast_1d(np.asarray(a, dtype=float)) for a in (speed, y, z)))
    normals = np.repeat(np.array(normal)[:, None], speed.size, axis=1)
    point = np.stack([np.full(speed.size, 3.5 - LEGAL_BALL.radius), y, z])
    velocity = speed * (np.array(along)[:, None] - normals)
    part = Part("screen", rectangle(np.zeros(3), np.array([0, 1.0, 0]), np.array([0, 0, 1.0])), Role.GUARD, facing, "t")
    return Hits(part, shipped_facings()[facing], LEGAL_BALL, point, velocity, normals, np.zeros((3, speed.size)))


def energy(velocity, spin) -> np.ndarray:
    return (velocity**2).sum(axis=0) + LEGAL_BALL.inertia_factor * LEGAL_BALL.radius**2 * (spin**2).sum(axis=0)


LAW = give(f"{QUICK}, shear_ratio: 0.02")
