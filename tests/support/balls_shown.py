"""Picture sheets of docs/cloth.md: balls drawn at random as played, of those called held or slow and of escapes.

python tests/support/balls_shown.py FOLDER [shots a bay]
"""

from __future__ import annotations

import sys
from pathlib import Path

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.contact.fates import Flag, Outcome
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.linework import PLAN, SIDE, View, draw_bay, draw_people, draw_tee
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.replay import Replay, Way, replay
from flightsim.study.run.result import RunResult
from flightsim.study.run.walk import run

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BAYS = ("common_bay", "lean_to", "single_garage", "village_hall")
A_BAY = 50  # balls of each kind
A_SHEET = 25
SEED = 12
QUIET, ESCAPES = "quiet", "escapes"


def drawn(result: RunResult, escaped: bool) -> NDArray[np.intp]:
    """Shots `(50,)` at random, each as often as it is played; all where there are fewer."""
    shots = np.flatnonzero(result.fates.escaped == escaped)
    share = result.weight[shots] / result.weight[shots].sum()
    return np.random.default_rng(SEED).choice(shots, min(A_BAY, shots.size), replace=False, p=share)


def place_of(result: RunResult, flag: Flag, shot: int) -> str:
    """Whom or what a flag is about."""
    place = int(result.fates.place[flag, shot])
    names = result.bay.zones if flag is Flag.PERSON_HIT else result.bay.openings if flag is Flag.GOT_OUT else None
    things: tuple[object, ...] = result.bay.parts if names is None else tuple(names)
    if not 0 <= place < len(things):
        return ""
    thing = things[place]
    return thing.label if isinstance(thing, Part) else str(getattr(thing, "name", ""))


def story_of(result: RunResult, shot: int, way: Way) -> str:
    """Two lines: the shot and its outcome; then the speeds that a careful person would ask for."""
    kind, outcome = result.types[result.shots.type[shot]], Outcome(int(result.outcome[shot]))
    first = f"{shot} {kind.club} {kind.strike} {way.speed[0]:.0f} m/s\n{outcome.key}"
    if outcome.escape:
        flag = Flag(int(outcome))
        return f"{first} {result.fates.worst[flag, shot]:.1f} m/s {place_of(result, flag, shot)}"
    after = way.speed[way.touched >= 0]
    first = f"{first} then {after.max() if after.size else 0.0:.1f}"
    came = result.fates.harmless_return[shot]
    behind = result.fates.behind_tee[shot]
    near = "" if np.isnan(came) else f", at someone {came:.1f}"
    return first + near + ("" if np.isnan(behind) else f", behind tee {behind:.1f}") + " m/s"


def panel(axes: Axes, result: RunResult, flown: Replay, k: int, view: View) -> None:
    """One ball in one view: its way by speed, its contacts numbered."""
    frame, rows = view.frame(1.0), flown.contacts.of(k)
    draw_people(axes, result.bay, frame)
    draw_bay(axes, result.bay, view, 1.0, faint=True)
    draw_tee(axes, tee_spots(result.scenario), frame, 0.06)
    way = flown.way(k)
    flat = frame.flat(way.point)
    for low, high, colour in ((0.0, 5.0, "0.45"), (5.0, 12.5, "tab:orange"), (12.5, np.inf, "tab:red")):
        in_band = (way.speed >= low) & (way.speed < high)
        axes.plot(
            *np.where((in_band | np.roll(in_band, 1))[:, None], flat, np.nan).T, color=colour, linewidth=0.8, zorder=9
        )
    for number, point in enumerate(frame.flat(flown.contacts.point[:, rows].T)[:9], start=1):
        axes.text(*point, str(number), fontsize=4.5, zorder=10, ha="center", va="center", clip_on=True)
    axes.plot(*frame.flat(flown.fates.point[:, k]), "kx", markersize=3, zorder=10)
    low, high = frame.flat(result.bay.lower), frame.flat(result.bay.upper)
    axes.set(xlim=(low[0] - 0.2, high[0] + 0.2), ylim=(low[1] - 0.2, high[1] + 0.2), aspect="equal")
    axes.axis("off")


def write_sheet(bay: OpenBay, result: RunResult, shots: NDArray[np.intp], path: Path) -> None:
    """25 balls on a sheet, side view over plan."""
    flown = replay(bay, result, shots)
    figure, axes = plt.subplots(10, 5, figsize=(16, 22), layout="constrained")
    for place in axes.flat:
        place.axis("off")
    for k, shot in enumerate(flown.shots):
        side, plan = axes[2 * (k // 5), k % 5], axes[2 * (k // 5) + 1, k % 5]
        panel(side, result, flown, k, SIDE)
        panel(plan, result, flown, k, PLAN)
        side.set_title(story_of(result, int(shot), flown.way(k)), fontsize=7)
    figure.savefig(path, dpi=90)
    plt.close(figure)


def write_sheets(folder: Path, shots: int) -> None:
    """Two sheets of each kind a bay."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in BAYS:
        bay = open_bay(SCENARIOS / f"{name}.yaml")
        result = run(bay, shots)
        for kind in (QUIET, ESCAPES):
            chosen = drawn(result, kind == ESCAPES)
            for number, first in enumerate(range(0, chosen.size, A_SHEET), start=1):
                write_sheet(bay, result, chosen[first : first + A_SHEET], folder / f"{name}_{kind}_{number}.png")
            print(f"{name}, {kind}: {chosen.size} balls", flush=True)


if __name__ == "__main__":
    mpl.use("agg")
    write_sheets(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 5_000)
