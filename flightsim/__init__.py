"""Ball flight and protection zones of an indoor golf hitting bay.

    import flightsim

    bay = flightsim.load("my_bay.yaml")
    print(flightsim.run(bay, shots=20_000))
    print(flightsim.run(bay.with_changes({"canopy.depth": "1.4 m"}), shots=20_000).rate("escape"))

docs/library.md tells each name. The walk, one direction: scenario -> bay and launches -> flights -> contacts ->
outcomes -> rates -> report. Each room of the package is one step of it; `flightsim.study.run.walk` calls them in order.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flightsim.errors import BadInputError, PluginError
    from flightsim.library.bay_in_code import Scenario, load, open_bay
    from flightsim.library.find_changes import improve
    from flightsim.library.fly_bay import run
    from flightsim.library.look_everywhere import map_directions
    from flightsim.library.pair_bays import compare
    from flightsim.library.search_sizes import find_size
    from flightsim.library.single_ball import fly_ball, strike_ball

__version__ = "0.1.0"
__all__ = [
    "BadInputError", "PluginError", "Scenario", "__version__", "compare", "find_size", "fly_ball", "improve",
    "load", "map_directions", "open_bay", "run", "strike_ball",
]  # fmt: skip

_HOMES = {
    "BadInputError": "flightsim.errors",
    "PluginError": "flightsim.errors",
    "Scenario": "flightsim.library.bay_in_code",
    "load": "flightsim.library.bay_in_code",
    "open_bay": "flightsim.library.bay_in_code",
    "run": "flightsim.library.fly_bay",
    "improve": "flightsim.library.find_changes",
    "map_directions": "flightsim.library.look_everywhere",
    "compare": "flightsim.library.pair_bays",
    "find_size": "flightsim.library.search_sizes",
    "fly_ball": "flightsim.library.single_ball",
    "strike_ball": "flightsim.library.single_ball",
}


def __getattr__(name: str) -> Any:
    """A name of the library, imported when it is first asked for: the command line starts without all of it."""
    if name not in _HOMES:
        raise AttributeError(f"module 'flightsim' has no attribute '{name}'; it has {', '.join(__all__)}")
    found = getattr(import_module(_HOMES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
