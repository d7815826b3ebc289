"""The loaded plugins as one thing: what the rest of flightsim asks of them, asked of each by itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import IN_CODE, Bay, Part, Role
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.ends import BatchTest
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.rebound import Hits, PartRebound, ReboundLaw, Rebounds
from flightsim.contact.touch import ByDistance, Touch, heeded
from flightsim.errors import PluginError
from flightsim.flight.ball import Ball
from flightsim.making.pieces import Pieces
from flightsim.making.structure import Structure
from flightsim.plugin import border
from flightsim.plugin.checks import read_only, read_only_arcs
from flightsim.plugin.fit import fit_problems, name_problems
from flightsim.plugin.handed import detached, own_bay, own_columns, own_hits, own_scenario
from flightsim.plugin.hookspecs import (
    BayPieces,
    BaySetup,
    BayView,
    Finding,
    FinishedRun,
    ReportFigure,
    ReportSection,
    TouchTest,
)
from flightsim.plugin.loading import (
    BUNDLED,
    Loaded,
    dropped_in,
    load_bundled,
    load_file,
    load_named,
    new_manager,
)
from flightsim.plugin.notes import given_up
from flightsim.plugin.own_shapes import checked_shape_of
from flightsim.scenario.reading.models import Scenario, Section
from flightsim.scenario.reading.problems import Problem

if TYPE_CHECKING:
    import click

T = TypeVar("T")
Columns = Mapping[str, NDArray[Any]]


def load_plugins(names: Sequence[str] = ()) -> Plugins:
    """The bundled plugins, the strangers' plugins of these names, and the files that the command line names.

    Each is loaded by itself. Raises PluginError for a plugin that is missing, misspelt, named twice, broken,
    of another hook API, or whose section's key is taken.
    """
    twice = [name for name, count in Counter(names).items() if count > 1]
    if twice:
        raise PluginError(f"plugin '{twice[0]}' is named twice in 'plugins'")
    manager = new_manager()
    loaded = [load_bundled(manager, name) for name in BUNDLED]
    files = dropped_in()
    loaded += [load_named(manager, name) for name in names if name not in files]
    loaded += [load_file(manager, name, path) for name, path in files.items()]
    return gather(loaded)


def gather(loaded: Sequence[Loaded]) -> Plugins:
    """The plugins with their sections. Raises PluginError when two own the same section."""
    sections: dict[str, Section] = {}
    owners: dict[str, str] = {}
    for plugin in loaded:
        with plugin.on_trial("its section cannot be read"):
            section = border.checked_section(plugin)
        if section is None:
            continue
        if section.key in owners:
            raise plugin.blame(f"section '{section.key}' already belongs to plugin '{owners[section.key]}'")
        sections[plugin.name], owners[section.key] = section, plugin.name
    return Plugins(tuple(loaded), MappingProxyType(sections))


@dataclass(frozen=True)
class Plugins:
    """Loaded plugins in order of loading, and the section of each that has one. The order changes no result."""

    loaded: tuple[Loaded, ...]
    section_of: Mapping[str, Section]

    @property
    def names(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(plugin.name for plugin in self.loaded)

    def sections(self) -> tuple[Section, ...]:
        """The sections that plugins own."""
        return tuple(self.section_of.values())

    def describe(self) -> list[dict[str, Any]]:
        """Name, version, distribution, hooks and section of each plugin, for people and for run.json."""
        return [
            {
                "name": plugin.name,
                "version": plugin.version,
                "distribution": plugin.distribution,
                "hooks": sorted(plugin.hooks),
                "section": self.section_of[plugin.name].key if plugin.name in self.section_of else None,
            }
            for plugin in self.loaded
        ]

    def parts(self, scenario: Scenario) -> BayPieces:
        """All parts, openings and problems, sorted by name, and the room's bounds.

        Raises PluginError, naming the plugin, for whatever a plugin raises or returns that cannot be used.
        """
        given = {plugin.name: self._pieces(plugin, scenario) for plugin in self.loaded}
        problems = [problem for pieces in given.values() for problem in pieces.problems]
        parts = sorted((part for pieces in given.values() for part in pieces.parts), key=lambda p: p.name)
        openings = sorted((o for pieces in given.values() for o in pieces.openings), key=lambda o: o.name)
        keys = {name: section.key for name, section in self.section_of.items()}
        zones = sorted((z for pieces in given.values() for z in pieces.zones), key=lambda z: z.name)
        problems += name_problems(scenario, (*parts, *openings, *zones), keys)
        bounds = border.room_bounds(self.loaded, given)
        if bounds is not None:
            problems += fit_problems(scenario, parts, bounds, keys)
        return BayPieces(tuple(parts), tuple(openings), tuple(problems), bounds, tuple(zones))

    def facings(self, scenario: Scenario) -> dict[str, Facing]:
        """Every facing by name: those that come with flightsim, and the plugins'.

        Raises PluginError where two are of one name.
        """
        known = dict(shipped_facings())
        for plugin in self.loaded:
            context = self._setup(plugin, scenario)
            for facing in _answer(plugin, "flightsim_facings", border.checked_facings, context):
                if facing.name in known:
                    raise plugin.blame(f"flightsim_facings: there is a facing '{facing.name}' already")
                known[facing.name] = facing
        return known

    def rebounds(
        self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]
    ) -> dict[str, PartRebound]:
        """The parts that have a law of their own, by name; a stranger's takes the place of a bundled plugin's.

        Raises PluginError where two strangers, or two bundled plugins, claim one part.
        """
        found: dict[str, PartRebound] = {}
        strangers: set[str] = set()
        names = [part.name for part in bay.parts]
        for plugin in sorted(self.loaded, key=lambda one: not one.bundled):
            context = self._view(plugin, scenario, bay, ball, facings)
            check = partial(_laws_of, names)
            for one in _answer(plugin, "flightsim_rebounds", check, context):
                if one.part in found and (plugin.bundled or one.part in strangers):
                    raise plugin.blame(f"flightsim_rebounds: part '{one.part}' has a law of its own already")
                if not plugin.bundled:
                    strangers.add(one.part)
                weakened, ends = (
                    tuple((words, CheckedLaw(plugin, law)) for words, law in pairs)
                    for pairs in (one.weakened, one.ends)
                )
                found[one.part] = PartRebound(one.part, CheckedLaw(plugin, one.law), weakened, ends)
        return found

    def checks(self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]) -> list[Problem]:
        """What plugins find wrong with the finished bay."""
        found: list[Problem] = []
        for plugin in self.loaded:
            context = self._view(plugin, scenario, bay, ball, facings)
            found += _answer(plugin, "flightsim_checks", partial(_list_of, "flightsim_checks", Problem), context)
        # in the order of the file, not of the plugins
        return sorted(found, key=lambda one: (one.line is None, one.line or 0, one.key, one.found))

    def measures(self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]) -> dict[str, float]:
        """What plugins measure of the finished bay, m, by name."""
        found: dict[str, float] = {}
        for plugin in self.loaded:
            context = self._view(plugin, scenario, bay, ball, facings)
            found |= _answer(plugin, "flightsim_measures", border.checked_measures, context)
        return found

    def pieces(self, scenario: Scenario) -> list[Pieces]:
        """What is cut and bought for the bay, in the order of the plugins; those that give none are left out."""
        found: list[Pieces] = []
        for plugin in self.loaded:
            found += _answer(plugin, "flightsim_pieces", border.checked_goods, self._setup(plugin, scenario))
        return found

    def structures(self, scenario: Scenario) -> list[Structure]:
        """What stands and carries in the bay, in the order of the plugins."""
        found: list[Structure] = []
        for plugin in self.loaded:
            found += _answer(plugin, "flightsim_structures", border.checked_structures, self._setup(plugin, scenario))
        return found

    def checked_parts(self, bay: Bay) -> tuple[Part, ...]:
        """The bay's parts, with shapes that are not ours checked at every call. Their owners must be loaded."""
        plugin_of = {plugin.name: plugin for plugin in self.loaded}
        return tuple(
            part if part.owner == IN_CODE else checked_shape_of(plugin_of[part.owner], part) for part in bay.parts
        )

    def touch_tests(self, bay: Bay) -> list[BatchTest]:
        """Tests that together cover all parts: one for all that go by their distances, one a plugin for the rest.

        Raises PluginError for parts of a plugin that is not loaded.
        """
        unknown = {part.owner for part in bay.parts} - {*self.names, IN_CODE}
        if unknown:
            raise PluginError(f"parts of plugins that are not loaded: {', '.join(sorted(unknown))}")
        tests = [(plugin, bay.owned_by(plugin.name)) for plugin in self.loaded]
        # Guards first: most balls meet one, and need not be followed to the walls behind. No result depends on it.
        tests.sort(key=lambda test: not any(part.role is Role.GUARD for part in test[1]))
        plain = [row for row in tests if row[1] and "flightsim_touch" not in row[0].hooks]
        together = (
            *bay.owned_by(IN_CODE), *(checked_shape_of(plugin, part) for plugin, parts in plain for part in parts)
        )  # fmt: skip
        own = [_touch_test(plugin, parts) for plugin, parts in tests if parts and "flightsim_touch" in plugin.hooks]
        return [*([ByDistance(together)] if together else []), *own]

    def asks(self, *hooks: str) -> bool:
        """Whether any plugin has one of these hooks: what only they would look at need not be made without."""
        return any(hook in plugin.hooks for plugin in self.loaded for hook in hooks)

    def judge(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: list[PluginError] | None = None
    ) -> list[Finding]:
        """What plugins have to say of a finished run.

        failed: where it is given, a plugin that fails takes nothing from the run and is noted there, here and below;
        else PluginError is raised.
        """
        return self._ask("flightsim_judge", Finding, (scenario, bay, columns), failed)

    def report_sections(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: list[PluginError] | None = None
    ) -> list[ReportSection]:
        """Sections that plugins add to the page."""
        return self._ask("flightsim_report_sections", ReportSection, (scenario, bay, columns), failed)

    def figures(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: list[PluginError] | None = None
    ) -> list[ReportFigure]:
        """Pictures that plugins add."""
        return self._ask("flightsim_figures", ReportFigure, (scenario, bay, columns), failed)

    def commands(self) -> list[click.Command]:
        """Commands that plugins add."""
        import click

        found = []
        for plugin in self.loaded:
            found += border.checked_list(plugin, "flightsim_commands", plugin.call("flightsim_commands"), click.Command)
        return found

    def _pieces(self, plugin: Loaded, scenario: Scenario) -> BayPieces:
        pieces = _answer(plugin, "flightsim_parts", border.checked_pieces, self._setup(plugin, scenario))
        if plugin.bundled:
            return pieces
        return replace(
            pieces,
            parts=tuple(map(detached, pieces.parts)),
            openings=tuple(map(detached, pieces.openings)),
            zones=tuple(map(detached, pieces.zones)),
        )

    def _setup(self, plugin: Loaded, scenario: Scenario) -> BaySetup:
        return BaySetup(*self._own_file(plugin, scenario))

    def _view(self, plugin: Loaded, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]) -> BayView:
        seen = bay if plugin.bundled else own_bay(bay)
        known = MappingProxyType(dict(facings) if plugin.bundled else deepcopy(dict(facings)))
        return BayView(*self._own_file(plugin, scenario), seen, ball.radius, ball.mass, known)

    def _own_file(self, plugin: Loaded, scenario: Scenario) -> tuple[tuple[Any, ...], Scenario]:
        """The plugin's entries and the whole scenario, a stranger's own copies of both."""
        if plugin.bundled:
            mine = replace(scenario, sections=dict(scenario.sections), lines=dict(scenario.lines))
        else:
            mine = own_scenario(scenario)
        section = self.section_of.get(plugin.name)
        return mine.entries(section.key) if section else (), mine

    def _ask(
        self, hook: str, kind: type[T], seen: tuple[Scenario, Bay, Columns], failed: list[PluginError] | None
    ) -> list[T]:
        scenario, bay, columns = seen
        frozen = MappingProxyType({name: read_only(np.asarray(column)) for name, column in columns.items()})
        found: list[T] = []
        for plugin in (one for one in self.loaded if hook in one.hooks):
            try:
                if words := given_up(plugin.name, hook):
                    raise plugin.blame(f"{hook} {words}")
                own, mine = (frozen, bay) if plugin.bundled else (own_columns(columns), own_bay(bay))
                context = FinishedRun(*self._own_file(plugin, scenario), mine, own)
                found += _answer(plugin, hook, partial(_list_of, hook, kind), context)
            except PluginError as error:
                if failed is None:
                    raise
                failed.append(error)
        return found


@dataclass(frozen=True)
class CheckedLaw:
    """A plugin's law, with what it returns checked."""

    plugin: Loaded
    law: ReboundLaw

    def __call__(self, hits: Hits) -> Rebounds:
        """As the law says. Raises PluginError for what no law may return."""
        what, plugin = f"rebound law of part '{hits.part.name}'", self.plugin
        after = plugin.guarded(what, self.law, hits if plugin.bundled else own_hits(hits))
        with plugin.on_trial(f"what the {what} returned cannot be read"):
            return border.checked_after(plugin, hits, after)


def _answer(plugin: Loaded, hook: str, check: Callable[[Loaded, object], T], context: object) -> T:
    """What a hook returned, checked. What cannot even be looked at (a list that raises as it is read) is blamed too."""
    told = plugin.call(hook, context=context)
    with plugin.on_trial(f"what {hook} returned cannot be read"):
        return check(plugin, told)


def _laws_of(names: Sequence[str], plugin: Loaded, told: object) -> list[PartRebound]:
    return border.checked_rebounds(plugin, told, names)


def _list_of(hook: str, kind: type[T], plugin: Loaded, told: object) -> list[T]:
    return border.checked_list(plugin, hook, told, kind)


def _touch_test(plugin: Loaded, parts: tuple[Part, ...]) -> BatchTest:
    """The plugin's own test; where it leaves it to us, the search by its shapes' distances."""
    by_distance: Callable[[ArcBatch], Sequence[Touch]]
    by_distance = ByDistance(tuple(checked_shape_of(plugin, part) for part in parts))

    def own(arcs: ArcBatch) -> Sequence[Touch]:
        found = plugin.call("flightsim_touch", context=TouchTest(parts, read_only_arcs(arcs)))
        if found is None:
            return by_distance(arcs)
        touches = [heeded(touch, arcs) for touch in border.checked_touches(plugin, parts, found, len(arcs))]
        for touch in touches:
            arcs.no_later_than(touch.balls, touch.tau)
        return touches

    return own
