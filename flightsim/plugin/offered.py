"""What plugins offer to choose from, or add, beside parts: balls, drag and lift, shots, starters, columns, remedies.

Each is asked of each plugin by itself, checked, and blamed by name, as all else that plugins hand over.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import PluginError
from flightsim.flight.aerodynamics import AERO_MODELS, AeroModel
from flightsim.flight.ball import BALLS, Ball
from flightsim.plugin.checks import all_are, kind_of
from flightsim.plugin.handed import own_bay
from flightsim.plugin.hookspecs import BaySetup, Column, Remedy, SeenTrouble, StarterBay, TroubledRun, no_contacts
from flightsim.plugin.loading import Loaded, dropped_in, installed
from flightsim.plugin.manager import ContactsOf, Failed, Plugins, answered, load_plugins
from flightsim.plugin.notes import given_up
from flightsim.scenario.new.new_file import STARTERS
from flightsim.scenario.reading.models import BallSection, Scenario
from flightsim.shots.launches_section import Launches

if TYPE_CHECKING:
    from flightsim.bay.parts import Bay

NAME = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")
PLAIN = "small letters, digits and underscores, a letter first, as in my_ball"
STRONGEST = 1.2  # CD and |CL| together, at most: twice what was measured; what a ball can meet is bounded by it
_RE, _S = np.linspace(1.0e3, 3.9e5, 60), np.linspace(0.0, 18.0, 181)


def aero_models(plugins: Plugins) -> dict[str, AeroModel]:
    """All drag and lift models by name, ours and the plugins'. Raises PluginError for one that cannot be flown."""
    known = dict(AERO_MODELS)
    for plugin in plugins.having("flightsim_aero_models"):
        found = plugin.call("flightsim_aero_models")
        with plugin.on_trial("what flightsim_aero_models returned cannot be read"):
            if not isinstance(found, Mapping):
                raise plugin.blame(f"flightsim_aero_models: {kind_of(found)}; it must be a mapping of names to models")
            for name, model in found.items():
                _check_name(plugin, "flightsim_aero_models", name, known)
                plugin.guarded(f"the drag and lift '{name}'", partial(_try_air, plugin, name, model))
                known[name] = model
    return known


def _try_air(plugin: Loaded, name: str, model: AeroModel) -> None:
    """Raise PluginError for drag and lift that are none, or that no table can hold."""
    where = f"flightsim_aero_models, '{name}'"
    if not callable(model):
        raise plugin.blame(f"{where}: {kind_of(model)}; it must be a function of S and Re that gives CD and CL")
    S, Re = (axis.ravel() for axis in np.meshgrid(_S, _RE))
    answer = model(S.copy(), Re.copy())
    if not (isinstance(answer, tuple) and len(answer) == 2):
        raise plugin.blame(f"{where}: {kind_of(answer)}; it must return CD and CL")
    CD, CL = (np.asarray(each) for each in answer)
    for words, each in (("CD", CD), ("CL", CL)):
        if each.shape != S.shape or each.dtype.kind != "f" or not np.isfinite(each).all():
            raise plugin.blame(f"{where}: {words} must be finite numbers `(n,)`, as S and Re are")
    if CD.min() < 0.0 or (CD + np.abs(CL)).max() > STRONGEST:
        raise plugin.blame(
            f"{where}: CD must not be below nought, nor CD and |CL| together above {STRONGEST:g}; found CD from "
            f"{CD.min():.3g}, both up to {(CD + np.abs(CL)).max():.3g}"
        )
    from flightsim.engine.aero_table import AeroTableError, aero_table  # no start waits for the compiler

    try:
        aero_table(model)
    except AeroTableError as error:
        raise plugin.blame(f"{where}: {error}") from error


def balls(plugins: Plugins) -> dict[str, Ball]:
    """All balls by name, ours and the plugins'. Raises PluginError."""
    known = dict(BALLS)
    for plugin in plugins.having("flightsim_balls"):
        found = plugin.call("flightsim_balls")
        with plugin.on_trial("what flightsim_balls returned cannot be read"):
            for ball in all_are(plugin, "flightsim_balls", found if found is not None else (), Ball):
                _check_name(plugin, "flightsim_balls", ball.name, known)
                _check_ball(plugin, ball)
                known[ball.name] = ball
    return known


def _check_ball(plugin: Loaded, ball: Ball) -> None:
    """Raise PluginError for a ball whose numbers a scenario would refuse as well."""
    where = f"flightsim_balls, '{ball.name}'"
    try:
        BallSection.model_validate({"preset": ball.name, "mass": f"{ball.mass} kg", "diameter": f"{ball.diameter} m"})
    except ValueError as error:
        words = str(error).splitlines()
        raise plugin.blame(f"{where}: {' '.join(words[1:3]).strip()}") from error
    if not 0.0 < ball.inertia_factor <= 2.0 / 3.0:
        raise plugin.blame(f"{where}: inertia_factor must lie above 0 and up to 2/3, a hollow ball's")
    if not (isinstance(ball.source, str) and ball.source.strip()):
        raise plugin.blame(f"{where}: source must say where its numbers are from")


def with_ball(scenario: Scenario, known: Mapping[str, Ball]) -> Scenario:
    """The scenario with the size and weight of a plugin's ball written out, so that nobody has to ask the plugin."""
    entry = scenario.ball
    if entry.preset in BALLS or entry.preset not in known:
        return scenario
    ball = known[entry.preset]
    whole = {"mass": entry.mass or ball.mass, "diameter": entry.diameter or ball.diameter}
    return replace(scenario, ball=entry.model_copy(update=whole))


def shot_keys(plugins: Plugins) -> dict[str, Loaded]:
    """The sections of plugins that say what is flown, and whose each is. Raises PluginError where one has none."""
    found = {}
    for plugin in plugins.having("flightsim_shots"):
        if plugin.name not in plugins.section_of:
            raise plugin.blame("flightsim_shots needs flightsim_section: a file says by its key that these are flown")
        found[plugins.section_of[plugin.name].key] = plugin
    return found


def shots_of(plugins: Plugins, plugin: Loaded, scenario: Scenario) -> Launches:
    """What this plugin says is flown. Raises PluginError."""
    context = BaySetup(*plugins.own_file(plugin, scenario))
    return answered(plugin, "flightsim_shots", _checked_shots, context)


def _checked_shots(plugin: Loaded, found: object) -> Launches:
    if not isinstance(found, Launches):
        words = "it must return Launches of flightsim.shots.launches_section"
        raise plugin.blame(f"flightsim_shots returned {kind_of(found)}; {words}")
    return found


def columns_added(
    plugins: Plugins,
    scenario: Scenario,
    bay: Bay,
    columns: Mapping[str, NDArray[Any]],
    failed: Failed = None,
    contacts: ContactsOf = no_contacts,
) -> dict[str, NDArray[Any]]:
    """The columns that plugins add, by name. failed: as in Plugins.judge."""
    found: dict[str, NDArray[Any]] = {}
    size = len(columns["shot"]) if "shot" in columns else 0
    for plugin in plugins.having("flightsim_columns"):
        added: dict[str, NDArray[Any]] = {}
        try:
            seen = (scenario, bay, columns, contacts)
            for column in replace(plugins, loaded=(plugin,)).ask_after("flightsim_columns", Column, seen, None):
                _check_name(plugin, "flightsim_columns", column.name, dict.fromkeys([*columns, *found, *added]))
                added[column.name] = _checked_column(plugin, column, size)
        except PluginError as error:
            if failed is None:
                raise
            failed.append(error)
            continue
        found |= added
    return found


def _checked_column(plugin: Loaded, column: Column, size: int) -> NDArray[Any]:
    where = f"flightsim_columns, '{column.name}'"
    values = column.values
    if not isinstance(values, np.ndarray) or values.shape != (size,):
        shape = getattr(values, "shape", kind_of(values))
        raise plugin.blame(f"{where}: values must be an array with one value a shot, ({size},); found {shape}")
    if values.dtype.kind == "O" and all(isinstance(value, str) for value in values):
        return values.copy()
    if values.dtype.kind == "f" and np.isinf(values).any():
        raise plugin.blame(f"{where}: a number must be finite, or NaN where there is none")
    if values.dtype.kind not in "fiubU":
        raise plugin.blame(f"{where}: values must be numbers or words, found {values.dtype}")
    if values.dtype.kind in "iu" and values.size and (np.abs(values.astype(np.float64)) > 2**31 - 1).any():
        raise plugin.blame(f"{where}: whole numbers must fit 32 bits; give larger ones as floating point")
    return values.copy()


def remedies_offered(
    plugins: Plugins, scenario: Scenario, bay: Bay, troubles: Sequence[SeenTrouble], failed: Failed = None
) -> list[tuple[str, tuple[str, ...]]]:
    """Changes that plugins would try, in words and as for --set. failed: as in Plugins.judge."""
    found: list[tuple[str, tuple[str, ...]]] = []
    for plugin in plugins.having("flightsim_remedies"):
        try:
            if words := given_up(plugin.name, "flightsim_remedies"):
                raise plugin.blame(f"flightsim_remedies {words}")
            seen = bay if plugin.bundled else own_bay(bay)
            context = TroubledRun(*plugins.own_file(plugin, scenario), seen, tuple(troubles))
            found += answered(plugin, "flightsim_remedies", _checked_remedies, context)
        except PluginError as error:
            if failed is None:
                raise
            failed.append(error)
    return found


def _checked_remedies(plugin: Loaded, answer: object) -> list[tuple[str, tuple[str, ...]]]:
    remedies = [] if answer is None else list(all_are(plugin, "flightsim_remedies", answer, Remedy))
    for remedy in remedies:
        if not (isinstance(remedy.words, str) and remedy.words.strip()):
            raise plugin.blame(f"flightsim_remedies: words must be text, found {remedy.words!r}")
        where = f"flightsim_remedies, '{remedy.words[:60]}'"
        for change in all_are(plugin, f"{where}: sets", remedy.sets, str):
            if "=" not in change:
                raise plugin.blame(
                    f"{where}: found {change[:60]!r}; each of sets must be key=value, as canopy.depth=1.4m"
                )
        if not remedy.sets:
            raise plugin.blame(f"{where}: sets is empty; it must change something")
    return [(remedy.words, tuple(remedy.sets)) for remedy in remedies]


def starters() -> dict[str, StarterBay]:
    """Starters of installed plugins and dropped-in files, by name. A plugin that cannot be loaded gives none here.

    Raises PluginError where a starter is none, or two are of one name.
    """
    found: dict[str, StarterBay] = {}
    files = dropped_in()
    for name in [*installed(), *files]:
        try:
            plugins = load_plugins([] if name in files else [name])
        except PluginError:
            continue
        for plugin in (candidate for candidate in plugins.having("flightsim_starters") if candidate.name == name):
            answer = plugin.call("flightsim_starters")
            with plugin.on_trial("what flightsim_starters returned cannot be read"):
                for starter in all_are(plugin, "flightsim_starters", answer if answer is not None else (), StarterBay):
                    _check_name(plugin, "flightsim_starters", starter.name, {**dict.fromkeys(STARTERS), **found})
                    if not all(isinstance(text, str) and text.strip() for text in (starter.words, starter.text)):
                        raise plugin.blame(f"flightsim_starters, '{starter.name}': words and text must be text")
                    found[starter.name] = starter
    return found


def _check_name(plugin: Loaded, hook: str, name: object, known: Mapping[str, object]) -> None:
    """Raise PluginError for a name that is none, or that is taken."""
    if not (isinstance(name, str) and NAME.fullmatch(name) and len(name) <= 60):
        raise plugin.blame(f"{hook}: a name must be of {PLAIN}; found {name!r}")
    if name in known:
        raise plugin.blame(f"{hook}: there is a '{name}' already")
