"""The order in which plugins are registered changes no part, no touch and no contact."""

from __future__ import annotations

import numpy as np
import pytest

from flightsim.bay.parts import Bay
from flightsim.contact.contacts import Contacts
from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import all_directions, bay_of, shuffled, with_plugins

BAY = """\
name: Test
units: metric
room:
  length: 6 m
  width: 3.4 m
  roof: {kind: single_slope, left_height: 3.1 m, right_height: 2.4 m}
  back: open
  openings: [{name: door, wall: right, from_end_wall: 4 m, width: 1 m, height: 2 m}]
tee: {from_end_wall: 3.6 m, from_left_wall: 1.5 m, mat: {height: 35 mm}}
obstacles:
  - {name: lamp, kind: box, from_end_wall: 2 m, from_left_wall: 1 m, above_floor: 2.4 m, length: 1 m, width: 90 mm,
     height: 60 mm}
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 350 mm, above_floor: 80 mm, bottom_flap: 250 mm}
canopy: {depth: 1 m, height: 2.25 m, thickness: 12 mm, front_lip: 60 mm}
side_nets: {left: {depth: 2 m, height: 2.1 m}, right: {depth: 1.5 m, height: 2.1 m}}
ceiling: {baffles: [{name: baffle, from_end_wall: 1.8 m, from_left_wall: 1 m, width: 1.2 m, drop: 300 mm}]}
"""


def contacts_of(plugins: Plugins, bay: Bay, n: int = 2000) -> Contacts:
    start = np.repeat(np.array([[0.0], [0.0], [0.06]]), n, axis=1)
    launches = Launches(start, all_directions(n, 55.0, seed=3), np.zeros((3, n)))
    return first_contacts(Physics(), launches, bay, plugins.touch_tests(bay))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_registration_order_changes_no_part_and_no_contact(seed: int) -> None:
    plugins = with_plugins()
    other = shuffled(plugins, seed)
    assert other.names != plugins.names
    (bay, pieces), (other_bay, other_pieces) = bay_of(BAY, plugins), bay_of(BAY, other)
    assert [part.name for part in bay.parts] == [part.name for part in other_bay.parts]
    assert sorted(map(str, pieces.problems)) == sorted(map(str, other_pieces.problems))
    contacts, shuffled_contacts = contacts_of(plugins, bay), contacts_of(other, other_bay)
    assert (contacts.part == shuffled_contacts.part).all()
    assert (contacts.opening == shuffled_contacts.opening).all()
    np.testing.assert_allclose(contacts.point, shuffled_contacts.point, rtol=0, atol=1e-9)
    met = {bay.parts[k].owner for k in np.unique(contacts.part[contacts.part >= 0])}
    assert met == {part.owner for part in bay.parts}


def test_the_tests_of_all_plugins_cover_all_parts() -> None:
    plugins = with_plugins()
    bay, _ = bay_of(BAY, plugins)
    contacts = contacts_of(plugins, bay)
    assert not contacts.failed.any()
    names = {bay.parts[k].name for k in np.unique(contacts.part[contacts.part >= 0])}
    assert {"screen", "canopy", "left side net", "right side net", "baffle", "lamp", "mat", "roof"} <= names
    left_by = {bay.openings[k].name for k in np.unique(contacts.opening[contacts.opening >= 0])}
    assert left_by == {"door", "open back"}
