"""The loaded plugins as one thing: what the rest of flightsim asks of them, asked of each by itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import IN_CODE, Bay, Part
from flightsim.bay.people import Zone
from flightsim.contact.arc_test import ArcTest
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.giving import Give
from flightsim.contact.law_table import LawTable
from flightsim.contact.rebound import Hits, Law, PartRebound, ReboundLaw, Rebounds, by_facing
from flightsim.contact.tabling import NoTableError, tabled
from flightsim.errors import PluginError
from flightsim.flight.ball import Ball
from flightsim.making.pieces import Pieces
from flightsim.making.structure import Structure
from flightsim.plugin import border
from flightsim.plugin.fit import fit_problems, name_problems
from flightsim.plugin.handed import detached, own_bay, own_columns, own_hits, own_scenario, seen_columns
from flightsim.plugin.hookspecs import (
    BayPieces,
    BaySetup,
    BayView,
    Finding,
    FinishedRun,
    OutputFile,
    OwnParts,
    ReportFigure,
    ReportSection,
    no_contacts,
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
from flightsim.plugin.own_shapes import as_data
from flightsim.scenario.reading.models import Scenario, Section
from flightsim.scenario.reading.problems import Problem, Severity

if TYPE_CHECKING:
    import click

    from flightsim.contact.log import ContactList

T = TypeVar("T")
Columns = Mapping[str, NDArray[Any]]
Failed: TypeAlias = "list[PluginError] | None"
ContactsOf: TypeAlias = "Callable[[NDArray[np.intp]], ContactList]"


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
        by_plugin = {plugin.name: self._pieces(plugin, scenario) for plugin in self.loaded}
        problems = [problem for pieces in by_plugin.values() for problem in pieces.problems]
        parts = sorted((part for pieces in by_plugin.values() for part in pieces.parts), key=lambda p: p.name)
        openings = sorted((o for pieces in by_plugin.values() for o in pieces.openings), key=lambda o: o.name)
        keys = {name: section.key for name, section in self.section_of.items()}
        zones = sorted((z for pieces in by_plugin.values() for z in pieces.zones), key=lambda z: z.name)
        problems += name_problems(scenario, (*parts, *openings, *zones), keys)
        bounds = border.room_bounds(self.loaded, by_plugin)
        if bounds is not None:
            problems += fit_problems(scenario, parts, bounds, keys, self.facings(scenario), problems)
        return BayPieces(tuple(parts), tuple(openings), tuple(problems), bounds, tuple(zones))

    def facings(self, scenario: Scenario) -> dict[str, Facing]:
        """Every facing by name: those that come with flightsim, and the plugins'.

        Raises PluginError where two are of one name.
        """
        known = dict(shipped_facings())
        for plugin in self.loaded:
            context = self._setup(plugin, scenario)
            for facing in answered(plugin, "flightsim_facings", border.checked_facings, context):
                if facing.name in known:
                    raise plugin.blame(f"flightsim_facings: there is a facing '{facing.name}' already")
                known[facing.name] = facing
        return known

    def rebounds(
        self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing], gone: Collection[str] = ()
    ) -> dict[str, PartRebound]:
        """The parts that have a law of their own, by name, as data; a stranger's takes the place of a bundled plugin's.

        gone: names of parts that the bay has lost: their laws are not asked for, and no plugin is blamed for them.
        Raises PluginError where two strangers, or two bundled plugins, claim one part.
        """
        parts, found = {part.name: part for part in bay.parts}, {}
        for name, (plugin, part_law) in self.laws_given(scenario, bay, ball, facings, gone).items():
            kept = partial(_law_as_data, plugin, parts[name], facings[parts[name].facing], ball)
            weakened, ends = (
                tuple((words, kept(law)) for words, law in pairs) for pairs in (part_law.weakened, part_law.ends)
            )
            found[name] = PartRebound(name, kept(part_law.law), weakened, ends)
        return found

    def laws_given(
        self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing], gone: Collection[str] = ()
    ) -> dict[str, tuple[Loaded, PartRebound]]:
        """The laws as the plugins give them, functions or data, by the part's name, and which plugin each is of."""
        found: dict[str, tuple[Loaded, PartRebound]] = {}
        strangers: set[str] = set()
        names = tuple(part.name for part in bay.parts)
        for plugin in sorted(self.loaded, key=lambda loaded: not loaded.bundled):
            context = self._view(plugin, scenario, bay, ball, facings)
            check = partial(_laws_of, (*names, *gone))
            for rebound in answered(plugin, "flightsim_rebounds", check, context):
                if rebound.part in gone:
                    continue
                if rebound.part in found and (plugin.bundled or rebound.part in strangers):
                    raise plugin.blame(f"flightsim_rebounds: part '{rebound.part}' has a law of its own already")
                if not plugin.bundled:
                    strangers.add(rebound.part)
                found[rebound.part] = plugin, rebound
        return found

    def checks(self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]) -> list[Problem]:
        """What plugins find wrong with the finished bay."""
        found: list[Problem] = []
        for plugin in self.loaded:
            context = self._view(plugin, scenario, bay, ball, facings)
            found += answered(plugin, "flightsim_checks", partial(_list_of, "flightsim_checks", Problem), context)
        # in the order of the file, not of the plugins
        return sorted(found, key=lambda problem: (problem.line is None, problem.line or 0, problem.key, problem.found))

    def measures(self, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]) -> dict[str, float]:
        """What plugins measure of the finished bay, m, by name."""
        found: dict[str, float] = {}
        for plugin in self.loaded:
            context = self._view(plugin, scenario, bay, ball, facings)
            found |= answered(plugin, "flightsim_measures", border.checked_measures, context)
        return found

    def pieces(self, scenario: Scenario) -> list[Pieces]:
        """What is cut and bought for the bay, in the order of the plugins; those that give none are left out."""
        found: list[Pieces] = []
        for plugin in self.loaded:
            found += answered(plugin, "flightsim_pieces", border.checked_goods, self._setup(plugin, scenario))
        return found

    def structures(self, scenario: Scenario) -> list[Structure]:
        """What stands and carries in the bay, in the order of the plugins."""
        found: list[Structure] = []
        for plugin in self.loaded:
            found += answered(plugin, "flightsim_structures", border.checked_structures, self._setup(plugin, scenario))
        return found

    def touch_tests(self, bay: Bay) -> tuple[ArcTest, ...]:
        """The plugins' own tests of arcs; all other parts are met by their shapes' distances.

        Raises PluginError for parts of a plugin that is not loaded.
        """
        unknown = {part.owner for part in bay.parts} - {*self.names, IN_CODE}
        if unknown:
            raise PluginError(f"parts of plugins that are not loaded: {', '.join(sorted(unknown))}")
        found: list[ArcTest] = []
        for plugin in self.having("flightsim_arc_tests"):
            parts = bay.owned_by(plugin.name)
            seen = parts if plugin.bundled else tuple(map(detached, parts))
            found += answered(plugin, "flightsim_arc_tests", partial(_tests_of, parts), OwnParts(seen))
        return tuple(found)

    def having(self, hook: str) -> list[Loaded]:
        """The plugins that have this hook, in the order of loading."""
        return [plugin for plugin in self.loaded if hook in plugin.hooks]

    def asks(self, *hooks: str) -> bool:
        """Whether any plugin has one of these hooks: what only they would look at need not be made without."""
        return any(hook in plugin.hooks for plugin in self.loaded for hook in hooks)

    def judge(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: Failed = None, contacts: ContactsOf = no_contacts
    ) -> list[Finding]:
        """What plugins have to say of a finished run.

        failed: where it is given, a plugin that fails takes nothing from the run and is noted there, here and below;
        else PluginError is raised. contacts: every contact of some shots.
        """
        return self.ask_after("flightsim_judge", Finding, (scenario, bay, columns, contacts), failed)

    def report_sections(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: Failed = None, contacts: ContactsOf = no_contacts
    ) -> list[ReportSection]:
        """Sections that plugins add to the page."""
        return self.ask_after("flightsim_report_sections", ReportSection, (scenario, bay, columns, contacts), failed)

    def figures(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: Failed = None, contacts: ContactsOf = no_contacts
    ) -> list[ReportFigure]:
        """Pictures that plugins add."""
        return self.ask_after("flightsim_figures", ReportFigure, (scenario, bay, columns, contacts), failed)

    def files(
        self, scenario: Scenario, bay: Bay, columns: Columns, failed: Failed = None, contacts: ContactsOf = no_contacts
    ) -> list[OutputFile]:
        """Files that plugins add to the results folder."""
        return self.ask_after("flightsim_files", OutputFile, (scenario, bay, columns, contacts), failed)

    def commands(self) -> list[click.Command]:
        """Commands that plugins add."""
        import click

        found = []
        for plugin in self.loaded:
            found += border.checked_list(plugin, "flightsim_commands", plugin.call("flightsim_commands"), click.Command)
        return found

    def _pieces(self, plugin: Loaded, scenario: Scenario) -> BayPieces:
        pieces = answered(plugin, "flightsim_parts", border.checked_pieces, self._setup(plugin, scenario))
        if plugin.bundled:
            return pieces
        parts = [as_data(plugin, detached(part)) for part in pieces.parts]
        zones = [as_data(plugin, detached(zone)) for zone in pieces.zones]
        data: list[tuple[Part | Zone, float | None]] = [*parts, *zones]
        meshed = [
            _meshed_problem(scenario, self._key_of(plugin), piece, larger)
            for piece, larger in data
            if larger is not None
        ]
        return replace(
            pieces,
            parts=tuple(part for part, _ in parts),
            openings=tuple(map(detached, pieces.openings)),
            zones=tuple(zone for zone, _ in zones),
            problems=(*pieces.problems, *meshed),
        )

    def _key_of(self, plugin: Loaded) -> str:
        """The key of the plugin's section, or that under which plugins are named."""
        return self.section_of[plugin.name].key if plugin.name in self.section_of else "plugins"

    def _setup(self, plugin: Loaded, scenario: Scenario) -> BaySetup:
        return BaySetup(*self.own_file(plugin, scenario))

    def _view(self, plugin: Loaded, scenario: Scenario, bay: Bay, ball: Ball, facings: Mapping[str, Facing]) -> BayView:
        seen = bay if plugin.bundled else own_bay(bay)
        known = MappingProxyType(dict(facings) if plugin.bundled else deepcopy(dict(facings)))
        return BayView(*self.own_file(plugin, scenario), seen, ball.radius, ball.mass, known)

    def own_file(self, plugin: Loaded, scenario: Scenario) -> tuple[tuple[Any, ...], Scenario]:
        """The plugin's entries and the whole scenario, a stranger's own copies of both."""
        if plugin.bundled:
            own = replace(scenario, sections=dict(scenario.sections), lines=dict(scenario.lines))
        else:
            own = own_scenario(scenario)
        section = self.section_of.get(plugin.name)
        return own.entries(section.key) if section else (), own

    def ask_after(
        self, hook: str, kind: type[T], seen: tuple[Scenario, Bay, Columns, ContactsOf], failed: Failed
    ) -> list[T]:
        """What a hook says of a finished run, of all plugins; failed: as in `judge`."""
        scenario, bay, columns, contacts = seen
        frozen = seen_columns(columns)
        found: list[T] = []
        for plugin in self.having(hook):
            try:
                if words := given_up(plugin.name, hook):
                    raise plugin.blame(f"{hook} {words}")
                handed_columns, handed_bay = (frozen, bay) if plugin.bundled else (own_columns(columns), own_bay(bay))
                context = FinishedRun(*self.own_file(plugin, scenario), handed_bay, handed_columns, contacts)
                found += answered(plugin, hook, partial(_list_of, hook, kind), context)
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
        where, plugin = f"rebound law of part '{hits.part.name}'", self.plugin
        after = plugin.guarded(where, self.law, hits if plugin.bundled else own_hits(hits))
        with plugin.on_trial(f"what the {where} returned cannot be read"):
            return border.checked_after(plugin, hits, after)


def answered(plugin: Loaded, hook: str, check: Callable[[Loaded, object], T], context: object) -> T:
    """What a hook returned, checked. What cannot even be looked at (a list that raises as it is read) is blamed too."""
    answer = plugin.call(hook, context=context)
    with plugin.on_trial(f"what {hook} returned cannot be read"):
        return check(plugin, answer)


def _laws_of(names: Sequence[str], plugin: Loaded, answer: object) -> list[PartRebound]:
    return border.checked_rebounds(plugin, answer, names)


def _list_of(hook: str, kind: type[T], plugin: Loaded, answer: object) -> list[T]:
    return border.checked_list(plugin, hook, answer, kind)


def _tests_of(parts: Sequence[Part], plugin: Loaded, answer: object) -> list[ArcTest]:
    return border.checked_arc_tests(plugin, answer, parts)


def _law_as_data(plugin: Loaded, part: Part, facing: Facing, ball: Ball, law: Law) -> Law:
    """The law as data: a function is asked once for a table. Raises PluginError for one that no table can hold."""
    if law is by_facing or isinstance(law, (Give, LawTable)):
        return law
    try:
        return tabled(CheckedLaw(plugin, law), part, facing, ball)
    except NoTableError as error:
        raise plugin.blame(f"rebound law of part '{part.name}': {error}") from error


def _meshed_problem(scenario: Scenario, key: str, part: Part | Zone, larger: float) -> Problem:
    """A note that a shape of a plugin's own was made a mesh, and how near it comes."""
    words = f"the shape of '{part.name}' was made triangles: at most {1000 * larger:.1f} mm larger, nowhere smaller"
    return scenario.problem(key, words, severity=Severity.WARNING)
