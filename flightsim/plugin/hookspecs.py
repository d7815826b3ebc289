"""All hooks of flightsim: the only list of them. docs/hooks.md describes each, and a test holds the two together.

Every hook takes one frozen context object, so that a hook can grow without breaking plugins.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pluggy

from flightsim.scenario.reading.models import Section
from flightsim.scenario.reading.problems import Problem

if TYPE_CHECKING:
    import click
    import numpy as np
    from numpy.typing import NDArray

    from flightsim.bay.parts import Bay, Opening, Part
    from flightsim.bay.people import Zone
    from flightsim.contact.arc_test import ArcTest
    from flightsim.contact.facings import Facing
    from flightsim.contact.log import ContactList
    from flightsim.contact.rebound import PartRebound
    from flightsim.flight.aerodynamics import AeroModel
    from flightsim.flight.ball import Ball
    from flightsim.making.pieces import Pieces
    from flightsim.making.structure import Structure
    from flightsim.scenario.reading.models import Scenario
    from flightsim.shots.launches_section import Launches

HOOK_API = 2
HOOK_API_BEFORE = 1  # plugins for it still work, unless they test arcs themselves
PROJECT = "flightsim"

hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@dataclass(frozen=True)
class BaySetup:
    """What a plugin sees when it gives its parts.

    entries: its own section's validated entries, in file order (empty when the file has none); scenario: the
    whole resolved scenario. The axes: x from the tee to the screen, y to the left, z up, origin on the slab
    below the tee; `scenario.along` and `scenario.across` turn tape measures from walls into these.
    """

    entries: Sequence[Any]
    scenario: Scenario


@dataclass(frozen=True)
class BayPieces:
    """What a plugin puts into the bay.

    problems: warnings or errors about how it fits; bounds: lower and upper corner `(3,)`, m, of the box that
    holds the room, given by the room plugin and no other; zones: where people are.
    """

    parts: Sequence[Part] = ()
    openings: Sequence[Opening] = ()
    problems: Sequence[Problem] = ()
    bounds: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None
    zones: Sequence[Zone] = ()


@dataclass(frozen=True)
class BayView:
    """What a plugin sees of the finished bay, before anything is flown. ball_radius, m, and ball_mass, kg; facings: by
    name, all that the parts may have.
    """

    entries: Sequence[Any]
    scenario: Scenario
    bay: Bay
    ball_radius: float
    ball_mass: float
    facings: Mapping[str, Facing]


@dataclass(frozen=True)
class OwnParts:
    """What a plugin sees when it gives tests of arcs: its own parts in the finished bay."""

    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Finding:
    """Something a plugin has to say of a finished run, in plain words. level: "note" or "warning".

    target: the length target that it answers, "swing", or "" for none; measured, m: how long that is; known_to, m: how
    far the truth may lie from it; short: the same in a line, of some 50 characters; way: what would mend it.
    """

    title: str
    text: str
    level: str = "note"
    target: str = ""
    measured: float | None = None
    known_to: float = 0.0
    short: str = ""
    way: str = ""


def no_contacts(shots: NDArray[np.intp]) -> ContactList:
    """Where no run stands behind the columns, as in a test. Raises ValueError."""
    raise ValueError("there is no run behind these columns, and so there are no contacts to ask for")


@dataclass(frozen=True)
class FinishedRun:
    """What a plugin sees of a finished run. Columns are read-only arrays, one value a shot, as in shots.csv.

    contacts: every contact of these shots, not the first alone, with part, place, velocity and spin before and after;
    `shot` in the list is the run's number of it. The shots are flown once more for it: ask for what you need.
    """

    entries: Sequence[Any]
    scenario: Scenario
    bay: Bay
    columns: Mapping[str, NDArray[np.generic]] = field(default_factory=dict)
    contacts: Callable[[NDArray[np.intp]], ContactList] = no_contacts


@dataclass(frozen=True)
class ReportSection:
    """A piece of the page: a title and paragraphs of plain text, or a table."""

    title: str
    paragraphs: Sequence[str] = ()
    table_head: Sequence[str] = ()
    table_rows: Sequence[Sequence[str]] = ()


@dataclass(frozen=True)
class ReportFigure:
    """A picture that a plugin adds: file name without ending, title, caption, and the SVG or PNG bytes.

    about: `people`, and it stands with who could be hit on the page; empty, and it stands with the other pictures.
    finding: what the picture shows, in a sentence without its stop, for whoever cannot see it.
    """

    name: str
    title: str
    caption: str
    data: bytes
    media_type: str = "image/png"
    about: str = ""
    finding: str = ""


@dataclass(frozen=True)
class OutputFile:
    """A file that a plugin adds to the results folder: its name with ending, no folder in it, and its bytes."""

    name: str
    data: bytes


@dataclass(frozen=True)
class Column:
    """A column that a plugin adds to shots.csv and shots.npz.

    name: small letters, digits and underscores, its unit at the end (`post_gap_m`); values `(n,)`, one a shot: numbers,
    NaN where there is none, or words.
    """

    name: str
    values: NDArray[np.generic]


@dataclass(frozen=True)
class SeenTrouble:
    """One thing that goes wrong in a run: a flag by its key (`got_out`), the person, opening or part where, how many
    shots, and how many of all balls as played.
    """

    flag: str
    place: str
    shots: int
    rate: float


@dataclass(frozen=True)
class TroubledRun:
    """What a plugin sees when it is asked what would help: the bay, and what goes wrong in it, worst first."""

    entries: Sequence[Any]
    scenario: Scenario
    bay: Bay
    troubles: Sequence[SeenTrouble] = ()


@dataclass(frozen=True)
class Remedy:
    """A change that may help: in words, and as for `--set`, each `key=value`. It is flown on the run's own shots."""

    words: str
    sets: Sequence[str]


@dataclass(frozen=True)
class StarterBay:
    """A scenario file that somebody may begin with: its name for `flightsim new --from`, what it is in a few words, and
    its text, which names the plugin under `plugins`.
    """

    name: str
    words: str
    text: str


@hookspec
def flightsim_section() -> Section:  # type: ignore[empty-body]
    """Name the section of the scenario file that the plugin owns, with its validated model."""


@hookspec
def flightsim_parts(context: BaySetup) -> BayPieces:  # type: ignore[empty-body]
    """Give the parts and openings that the plugin puts into the bay."""


@hookspec
def flightsim_facings(context: BaySetup) -> Sequence[Facing]:  # type: ignore[empty-body]
    """Give facings beside those that come with flightsim; parts and scenario files may then name them."""


@hookspec
def flightsim_rebounds(context: BayView) -> Sequence[PartRebound]:  # type: ignore[empty-body]
    """Give a part a law of its own for how balls leave it. One law a part; all other parts go by their facing."""


@hookspec
def flightsim_checks(context: BayView) -> Sequence[Problem]:  # type: ignore[empty-body]
    """Say what is wrong with the finished bay, all plugins' parts in it, before anything is flown."""


@hookspec
def flightsim_measures(context: BayView) -> Mapping[str, float]:  # type: ignore[empty-body]
    """Measure the finished bay, in metres by name: what a search for sizes may be told to keep."""


@hookspec
def flightsim_pieces(context: BaySetup) -> Pieces:  # type: ignore[empty-body]
    """Say what of the plugin's parts is cut and bought: bars, boards, goods by length and by the piece."""


@hookspec
def flightsim_structures(context: BaySetup) -> Sequence[Structure]:  # type: ignore[empty-body]
    """Say what of the plugin's parts stands and carries, for the checks of `build`: bars, feet, what hangs on them."""


@hookspec
def flightsim_arc_tests(context: OwnParts) -> Sequence[ArcTest]:  # type: ignore[empty-body]
    """Give parts of the plugin tests of its own, compiled, for when a ball on one arc touches them."""


@hookspec
def flightsim_judge(context: FinishedRun) -> Sequence[Finding]:  # type: ignore[empty-body]
    """Say something of a finished run. It cannot change an outcome."""


@hookspec
def flightsim_report_sections(context: FinishedRun) -> Sequence[ReportSection]:  # type: ignore[empty-body]
    """Add sections to the page."""


@hookspec
def flightsim_figures(context: FinishedRun) -> Sequence[ReportFigure]:  # type: ignore[empty-body]
    """Add pictures to the page and the figures folder."""


@hookspec
def flightsim_files(context: FinishedRun) -> Sequence[OutputFile]:  # type: ignore[empty-body]
    """Add files to the results folder, for other programs to read."""


@hookspec
def flightsim_columns(context: FinishedRun) -> Sequence[Column]:  # type: ignore[empty-body]
    """Add columns to shots.csv and shots.npz, after those that are there."""


@hookspec
def flightsim_remedies(context: TroubledRun) -> Sequence[Remedy]:  # type: ignore[empty-body]
    """Say what may help against what goes wrong; each is flown, and told by what it does."""


@hookspec
def flightsim_aero_models() -> Mapping[str, AeroModel]:  # type: ignore[empty-body]
    """Give drag and lift models by name; a scenario chooses one by `aero`."""


@hookspec
def flightsim_balls() -> Sequence[Ball]:  # type: ignore[empty-body]
    """Give balls; a scenario chooses one by `ball: {preset: NAME}`."""


@hookspec
def flightsim_shots(context: BaySetup) -> Launches:  # type: ignore[empty-body]
    """Say what shots are flown, from the plugin's own section, which then stands in the place of `shots`."""


@hookspec
def flightsim_starters() -> Sequence[StarterBay]:  # type: ignore[empty-body]
    """Give scenario files to begin with, for `flightsim new --from`."""


@hookspec
def flightsim_commands() -> Sequence[click.Command]:  # type: ignore[empty-body]
    """Add commands to the command line."""
