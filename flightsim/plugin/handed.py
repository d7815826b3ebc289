"""What strangers are handed: copies, so that nothing they do to them reaches the bay, the run or another plugin.

An array that is only marked read-only can be marked writeable again. The bundled plugins see the things themselves.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part
from flightsim.bay.people import Zone
from flightsim.contact.rebound import Hits
from flightsim.plugin.checks import read_only
from flightsim.plugin.own_shapes import OUR_SHAPES
from flightsim.scenario.reading.models import Scenario

Thing = TypeVar("Thing")


def own_scenario(scenario: Scenario) -> Scenario:
    """A scenario that a plugin may spoil without harm."""
    return copy.deepcopy(scenario)


class AsAsked(Mapping[str, NDArray[Any]]):
    """Columns that are worked out when they are asked for, each time anew: read-only, and nobody else holds them."""

    def __init__(self, makers: Mapping[str, Callable[[], NDArray[Any]]]) -> None:
        self._makers = dict(makers)

    def __getitem__(self, name: str) -> NDArray[Any]:
        column = self._makers[name]()
        return read_only(column if column.base is None and column.flags.owndata else np.array(column))

    def __iter__(self) -> Iterator[str]:
        return iter(self._makers)

    def __len__(self) -> int:
        return len(self._makers)


def seen_columns(columns: Mapping[str, NDArray[Any]]) -> Mapping[str, NDArray[Any]]:
    """Columns of a run as bundled plugins see them, read-only."""
    if isinstance(columns, AsAsked):
        return columns
    return MappingProxyType({name: read_only(np.asarray(column)) for name, column in columns.items()})


def own_columns(columns: Mapping[str, NDArray[Any]]) -> Mapping[str, NDArray[Any]]:
    """Columns of a run as strangers see them: copies, read-only."""
    if isinstance(columns, AsAsked):
        return columns
    return MappingProxyType({name: read_only(np.array(column)) for name, column in columns.items()})


def own_bay(bay: Bay) -> Bay:
    """A bay with shapes of its own. A shape of another plugin's making is handed on as it is."""
    return replace(
        bay,
        parts=tuple(detached(part) for part in bay.parts),
        openings=tuple(detached(opening) for opening in bay.openings),
        zones=tuple(detached(zone) for zone in bay.zones),
        lower=read_only(bay.lower.copy()),
        upper=read_only(bay.upper.copy()),
    )


def detached(original: Thing) -> Thing:
    """A part, zone or opening whose arrays nobody else holds."""
    if isinstance(original, (Part, Zone)):
        if type(original.shape) not in OUR_SHAPES:
            return original
        return replace(original, shape=own_arrays(original.shape))
    return own_arrays(original)


def own_arrays(original: Thing) -> Thing:
    """A copy of one of our own things, its arrays read-only."""
    own = copy.deepcopy(original)
    for name, value in vars(own).items():
        if isinstance(value, np.ndarray):
            object.__setattr__(own, name, read_only(value))
    return own


def own_hits(hits: Hits) -> Hits:
    """Hits on a part, read-only."""
    own = copy.copy(hits)
    for name, value in vars(hits).items():
        if isinstance(value, np.ndarray):
            object.__setattr__(own, name, read_only(value.copy()))
    return own
