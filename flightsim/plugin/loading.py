"""Finding and loading one plugin at a time, so that whatever is wrong is blamed on the right one."""

from __future__ import annotations

import inspect
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches
from importlib import import_module
from importlib.metadata import EntryPoint, entry_points
from importlib.util import module_from_spec, spec_from_file_location
from io import UnsupportedOperation
from pathlib import Path
from traceback import extract_tb
from types import ModuleType
from typing import TextIO

import pluggy

from flightsim import __version__
from flightsim.errors import Asked, BadInputError, PluginError, may_be_ctrl_c
from flightsim.plugin import hookspecs
from flightsim.plugin.hookspecs import HOOK_API, HOOK_API_BEFORE, PROJECT
from flightsim.plugin.notes import noted
from flightsim.scenario.reading.text import cut

BUNDLED = (
    "room", "obstacles", "screen", "canopy", "side_nets", "ceiling", "frame", "people", "facings",
    "swing_room", "screen_give", "build",
)  # fmt: skip
FILES = "FLIGHTSIM_PLUGIN_FILES"  # environment: files that are plugins, for this process and its workers
GROUP = "flightsim"  # entry point group of strangers' plugins


@dataclass(frozen=True)
class Loaded:
    """One plugin: its name, where it comes from, and what it implements."""

    name: str
    distribution: str
    version: str
    hooks: dict[str, pluggy.HookImpl]

    @property
    def bundled(self) -> bool:
        """Whether it comes with flightsim."""
        return self.name in BUNDLED

    def blame(self, words: str) -> PluginError:
        """The error that names this plugin."""
        return PluginError(f"plugin '{self.name}' (from {self.source}): {words}".rstrip())

    @property
    def source(self) -> str:
        """Distribution and version, or the file."""
        return f"{self.distribution} {self.version}".rstrip()

    def call(self, hook: str, **arguments: object) -> object:
        """What the plugin's hook returns; None when it has no such hook. Whatever it raises is blamed on it."""
        impl = self.hooks.get(hook)
        if impl is None:
            return None
        return self.guarded(hook, impl.function, *(arguments[name] for name in impl.argnames))

    def guarded(self, doing: str, function: Callable[..., object], *arguments: object) -> object:
        """What a function of the plugin's returns. Whatever it raises is blamed on it."""
        if self.bundled:
            with self.on_trial(f"{doing} failed"):
                return function(*arguments)
        with self.on_trial(f"{doing} failed"), self.at_work(doing):
            return function(*arguments)

    @contextmanager
    def at_work(self, doing: str) -> Iterator[None]:
        """While a stranger's code runs: noted outside, and standard output and error as open afterwards as before."""
        with noted(self.name, self.source, doing), kept_open(self, doing):
            yield

    @contextmanager
    def on_trial(self, words: str) -> Iterator[None]:
        """Whatever the block raises is blamed on the plugin: sys.exit(0) must not end a run as if all was well."""
        try:
            yield
        except BaseException as error:
            blamed = isinstance(error, PluginError) and str(error).startswith("plugin '")
            if blamed or (isinstance(error, KeyboardInterrupt) and may_be_ctrl_c()):
                raise
            raise self.blame(f"{words}: {_what_happened(error)}") from error


@contextmanager
def kept_open(plugin: Loaded, doing: str) -> Iterator[None]:
    """Standard output and error must be as open afterwards as they were before."""
    before = [_is_open(stream) for stream in (sys.stdout, sys.stderr)]
    yield
    for name, was_open in zip(("stdout", "stderr"), before, strict=True):
        if was_open and not _is_open(getattr(sys, name)):
            setattr(sys, name, None)  # whoever writes to it from now on goes on
            raise plugin.blame(f"{doing} closed sys.{name}: the answer would be lost")


def _is_open(stream: TextIO | None) -> bool:
    if stream is None or stream.closed:
        return False
    try:
        os.fstat(stream.fileno())
    except UnsupportedOperation:  # a stream in memory
        return True
    except OSError:
        return False
    return True


def installed() -> dict[str, tuple[EntryPoint, ...]]:
    """Strangers' plugins that are installed, by name; nothing is imported."""
    found: dict[str, tuple[EntryPoint, ...]] = {}
    for point in sorted(entry_points(group=GROUP), key=lambda p: (p.name, *_source(p))):
        found[point.name] = (*found.get(point.name, ()), point)
    return found


def dropped_in() -> dict[str, Path]:
    """Plugins of single files, by name, that the command line names: they need no package."""
    paths = [Path(text) for text in os.environ.get(FILES, "").split(os.pathsep) if text]
    return {path.stem: path for path in paths}


def drop_in(files: Sequence[Path]) -> None:
    """Use these files as plugins in this process and its workers. Raises BadInputError."""
    for file in files:
        if not os.path.isfile(file):  # Path.is_file() raises where a name is too long
            raise BadInputError(
                Asked("plugin", cut(str(file), 120)), ": there is no such file\n  allowed: a Python file with the hooks"
            )
        if file.suffix != ".py" or not file.stem.isidentifier():
            raise BadInputError(
                Asked("plugin", str(file)), ": this is no Python module\n  allowed: a name such as ball_rack.py"
            )
        if file.stem in BUNDLED:
            raise BadInputError(
                Asked("plugin", str(file)), f": flightsim has a plugin of this name\n  try: my_{file.name}"
            )
    if files:
        os.environ[FILES] = os.pathsep.join(str(file.resolve()) for file in files)


def load_file(manager: pluggy.PluginManager, name: str, path: Path) -> Loaded:
    """The plugin of a single file. Raises PluginError."""
    blank = Loaded(name, str(path), "", {})
    with blank.on_trial("cannot be imported"), blank.at_work("its import"):
        module = sys.modules.get(f"{PROJECT}_file_{name}") or _imported(f"{PROJECT}_file_{name}", path)
    return register(manager, name, module, str(path), "")


def _imported(module_name: str, path: Path) -> ModuleType:
    """The module of a file, under a name of its own, where what is pickled can find it again."""
    spec = spec_from_file_location(module_name, path)
    if spec is None or spec.loader is None:
        raise ImportError(f"no Python file: {path}")
    module = sys.modules[module_name] = module_from_spec(spec)
    try:
        spec.loader.exec_module(module)
    except BaseException:
        del sys.modules[module_name]
        raise
    return module


def load_bundled(manager: pluggy.PluginManager, name: str) -> Loaded:
    """A plugin that comes with flightsim."""
    return register(manager, name, import_module(f"flightsim_plugins.{name}"), PROJECT, __version__)


def load_named(manager: pluggy.PluginManager, name: str) -> Loaded:
    """The stranger's plugin of this name. Raises PluginError: unknown, broken, doubled, or of another hook API."""
    points = installed()
    if name in BUNDLED:
        raise PluginError(f"plugin '{name}' comes with flightsim and is always there: take it out of 'plugins'")
    if name not in points:
        raise PluginError(_unknown(name, tuple(points)))
    point, *others = points[name]
    distribution, version = _source(point)
    if others:
        sources = ", ".join(" ".join(_source(p)) for p in points[name])
        raise PluginError(f"plugin '{name}' is given by more than one distribution: {sources}; uninstall all but one")
    blank = Loaded(name, distribution, version, {})
    with blank.on_trial(f"cannot be imported from '{point.value}'"), blank.at_work("its import"):
        plugin = point.load()
    return register(manager, name, plugin, distribution, version)


def new_manager() -> pluggy.PluginManager:
    """A manager that knows the hooks and no plugin."""
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(hookspecs)
    return manager


def _source(point: EntryPoint) -> tuple[str, str]:
    if point.dist is None:
        return "an unknown distribution", ""
    return point.dist.name, point.dist.version


def _unknown(name: str, strangers: Sequence[str]) -> str:
    words = [f"plugin '{name}' is not installed: no distribution has it in entry point group '{GROUP}'"]
    near = get_close_matches(name, [*strangers, *BUNDLED], n=1)
    if near and near[0] in strangers:
        words.append(f"  try: {near[0]}")
    elif near:
        words.append(f"  '{near[0]}' comes with flightsim and needs no naming")
    words.append(f"  installed: {', '.join(strangers) or 'none'}; bundled: {', '.join(BUNDLED)}")
    return "\n".join(words)


def register(manager: pluggy.PluginManager, name: str, plugin: object, distribution: str, version: str) -> Loaded:
    """Hand the plugin to pluggy and check all that it says of its hooks."""
    blank = Loaded(name, distribution, version, {})
    if inspect.isclass(plugin) or inspect.isroutine(plugin):
        raise blank.blame("its entry point must name a module or an object, not a class or a function")
    found = getattr(plugin, "HOOK_API", "nothing")
    if found == HOOK_API_BEFORE and hasattr(plugin, "flightsim_touch"):
        raise blank.blame(
            f"HOOK_API is {found}, whose flightsim_touch there is no more; give a compiled function of one arc by "
            f"flightsim_arc_tests instead, and say HOOK_API = {HOOK_API}"
        )
    if name not in BUNDLED and found not in (HOOK_API, HOOK_API_BEFORE):
        raise blank.blame(f"HOOK_API is {found}; this flightsim needs a plugin that says HOOK_API = {HOOK_API}")
    try:
        manager.register(plugin, name=name)
        manager.check_pending()
    except (pluggy.PluginValidationError, ValueError) as error:
        hooks = _known_hooks(manager)
        words = f"its hooks do not fit: {_first_line(error)}; {_nearest_hook(str(error), hooks)}"
        raise blank.blame(f"{words}the hooks are {', '.join(hooks)}") from error
    return Loaded(name, distribution, version, _hooks(manager, plugin, blank))


def _known_hooks(manager: pluggy.PluginManager) -> list[str]:
    """Not those that a plugin has just made up."""
    return sorted(name for name, caller in vars(manager.hook).items() if getattr(caller, "spec", None) is not None)


def _nearest_hook(words: str, hooks: Sequence[str]) -> str:
    """The hook that was meant, where the words name one that is not known."""
    odd = [word for word in re.findall(rf"\b{PROJECT}_\w+", words) if word not in hooks]
    near = get_close_matches(odd[0], hooks, 1) if odd else []
    return f"{odd[0]} may be meant as {near[0]}; " if near else ""


def _hooks(manager: pluggy.PluginManager, plugin: object, blank: Loaded) -> dict[str, pluggy.HookImpl]:
    hooks: dict[str, pluggy.HookImpl] = {}
    for caller in manager.get_hookcallers(plugin) or ():
        for impl in (i for i in caller.get_hookimpls() if i.plugin is plugin):
            if impl.wrapper or impl.hookwrapper:
                raise blank.blame(f"{caller.name} is a wrapper: one plugin cannot wrap another's hooks here")
            if caller.name in hooks:
                raise blank.blame(f"{caller.name} is given twice")
            hooks[caller.name] = impl
    for name, member in inspect.getmembers(plugin, inspect.isroutine):
        if name.startswith(f"{PROJECT}_") and not hasattr(member, f"{PROJECT}_impl"):
            near = _nearest_hook(name, _known_hooks(manager)).removesuffix("; ")
            words = f"{name} is not marked with @hookimpl, so it would never be called"
            raise blank.blame(f"{words}; {near}" if near else words)
    if not hooks:
        raise blank.blame("it has no hooks at all")
    return hooks


def _first_line(error: BaseException) -> str:
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return " ".join(lines[:3])


def _what_happened(error: BaseException) -> str:
    """The kind of error, its words and the place that raised it."""
    try:
        text = str(error)
    except BaseException:  # noqa: BLE001 - an exception of a plugin's own may fail even to say what it is
        text = "its text cannot be read"
    words = cut(f"{type(error).__name__}: {text}".rstrip(": "), 500)
    frames = extract_tb(error.__traceback__)
    return f"{words} ({frames[-1].filename}, line {frames[-1].lineno})" if frames else words
