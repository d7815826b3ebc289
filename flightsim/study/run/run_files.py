"""The data files of a run: run.json, summary.json, shots.npz, shots.csv. docs/outputs.md describes all of them."""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim import __version__
from flightsim.contact.fates import Flag
from flightsim.scenario.reading.harm import LEGAL_MASS, TOLD_SPEEDS
from flightsim.scenario.reading.resolved import resolved
from flightsim.study.run.beside_flags import behind_tee_facts, harm_facts
from flightsim.study.run.column_file import write_columns
from flightsim.study.run.columns import columns
from flightsim.study.run.csv_file import write_rows
from flightsim.study.run.find_troubles import by_place, rate_of, worst_at
from flightsim.study.run.on_disk import let_go
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import BounceBack, Rate, Reach, RunResult
from flightsim.study.run.troubles import Trouble
from flightsim.study.run.weights_spread import weight_models

SCHEMA_VERSION = 2
NOT_COMPUTED = "wear, fatigue, how people move, and a ball's way after it has gone through something"
TARGET_KEYS = ("name", "kind", "limit", "rate", "upper", "met", "met_at_worst")
_ROWS = 20_000  # written at a time
MOST_ROWS = 1_000_000  # of shots.csv, unless it is asked for: beyond, it is hundreds of megabytes and minutes


def write_data(result: RunResult, judgements: Sequence[Judgement], folder: Path, as_csv: bool | None = None) -> None:
    """Write the data files into a folder that exists.

    as_csv: with shots.csv; None: where there are no more than MOST_ROWS shots.
    """
    write_facts(result, judgements, folder)
    write_shot_files(result, folder, as_csv)


def write_facts(result: RunResult, judgements: Sequence[Judgement], folder: Path) -> None:
    """Write run.json and summary.json."""
    write_json(folder / "run.json", run_facts(result))
    write_json(folder / "summary.json", summary(result, judgements))
    let_go(result.shots, result.contacts, result.fates)


def write_shot_files(
    result: RunResult,
    folder: Path,
    as_csv: bool | None = None,
    more: Mapping[str, NDArray[Any]] = MappingProxyType({}),
    between: Callable[[], None] = lambda: None,
) -> None:
    """Write shots.npz, and shots.csv as in `write_data`. more: columns `(n,)` that plugins add; between: called every
    fraction of a second; what it raises ends the writing.
    """
    write_columns(_by_chunks(result, more, between), folder / "shots.npz", between)
    if as_csv or (as_csv is None and len(result.shots) <= MOST_ROWS):
        write_shots(result, folder / "shots.csv", more, between)


def _by_chunks(
    result: RunResult, more: Mapping[str, NDArray[Any]], between: Callable[[], None]
) -> Iterator[dict[str, np.ndarray]]:
    """The columns of a few shots at a time, `more` after ours; what of a long run is on disk is let go after each."""
    for chunk in _chunks(result):
        yield {**columns(result, chunk), **{name: values[chunk] for name, values in more.items()}}
        let_go(result.shots, result.contacts, result.fates)
        between()


def _chunks(result: RunResult) -> Iterator[slice]:
    n = len(result.shots)
    return (slice(first, min(first + _ROWS, n)) for first in range(0, max(n, 1), _ROWS))


def write_json(path: Path, data: dict[str, Any]) -> None:
    """Write data as JSON that any reader takes: no NaN, no infinity."""
    path.write_text(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")


def run_facts(result: RunResult) -> dict[str, Any]:
    """All that is needed to repeat the run."""
    scenario, physics = result.scenario, result.physics
    plain = resolved(scenario)
    return {
        "schema_version": SCHEMA_VERSION,
        "scenario_file": Path(scenario.file).name,
        "scenario_sha256": _sha256(scenario.text),
        "resolved_sha256": _sha256(json.dumps(plain, sort_keys=True)),
        "overrides": list(scenario.overrides),
        "seed": result.seed,
        "shots": len(result.shots),
        "sampled": result.sampled,
        "shots_source": result.shots_source,
        "aero": scenario.aero,
        "air_density_kg_m3": physics.air.density,
        "air_viscosity_pa_s": physics.air.viscosity,
        "ball_mass_kg": physics.ball.mass,
        "ball_diameter_m": physics.ball.diameter,
        "ball_source": physics.ball.source,
        "gravity_m_s2": physics.gravity,
        "wind_m_s": list(physics.wind),
        "spin_decay": physics.spin_decay,
        "ground_height_m": scenario.ground_height,
        "versions": {
            "flightsim": __version__,
            "python": platform.python_version(),
            **{name: version(name) for name in ("numpy", "scipy", "pluggy", "pydantic")},
        },
        "plugins": [dict(plugin) for plugin in result.plugins],
        "warnings": [str(problem) for problem in result.warnings],
        "scenario": plain,
    }


def summary(result: RunResult, judgements: Sequence[Judgement]) -> dict[str, Any]:
    """Rates with bounds, and what was met first."""
    rates = result.rates
    return {
        "schema_version": SCHEMA_VERSION,
        "scenario": result.scenario.name,
        "what_is_not_computed": NOT_COMPUTED,
        "shots": len(result.shots),
        "seed": result.seed,
        "sampled": result.sampled,
        "confidence": rates.confidence if result.sampled else None,
        "bounds": (
            "lower and upper are one-sided each at this confidence: Clopper-Pearson for a shot type; for the total the "
            "better of the weighted sum of such bounds over the K shot types, each at a tenth of the error over K, and "
            "of the bound of shots in proportion, counted together, at nine tenths of it"
            if result.sampled
            else "none: a grid is no sample"
        ),
        "total": _plain(rates.total),
        "by_type": [
            {"shot_type": kind.label, "club": kind.club, "strike": kind.strike, "spot": kind.spot,
             "share": kind.share, **_plain(type_rates)}
            for kind, type_rates in zip(result.types, rates.by_type, strict=True)
        ],
        "weight_models": [asdict(weighted) for weighted in weight_models(result)],
        "first_contacts": first_contacts_by_part(result),
        "places": places(result),
        "left_through": left_through(result),
        "troubles": [_trouble(trouble) for trouble in result.troubles],
        "what_if": [asdict(failed) for failed in result.what_if],
        "other_air": asdict(result.other_air) if result.other_air else None,
        "adverse": [
            {"name": one.name, "words": one.words, "shots": one.shots, "total": _plain(one.rates.total)}
            for one in result.adverse
        ],
        "at_worst": _at_worst(result) if result.adverse else None,
        "targets": [{key: getattr(target, key) for key in TARGET_KEYS} for target in result.targets],
        "first_step": None if result.first_step is None else asdict(result.first_step),
        "bounce_back": {one.club: _bounce_back(one) for one in result.bounce_back},
        "requirements": [asdict(judgement) for judgement in judgements],
        "findings": [asdict(finding) for finding in result.findings],
        "harm": harm_facts(result),
        "at_speeds": at_speeds(result),
        "behind_tee": behind_tee_facts(result),
        "left_slowly": left_slowly(result),
    }  # fmt: skip


def _trouble(trouble: Trouble) -> dict[str, Any]:
    return {**asdict(trouble), "flag": trouble.flag.key}


def _bounce_back(club: BounceBack) -> dict[str, Any]:
    def reach(far: Reach | None) -> dict[str, Any] | None:
        return None if far is None else {"median": far.median, "p90": far.p90, "max": far.max, "balls": far.balls}

    return {
        "balls": club.balls, "extra": club.extra, "first_landing_m": reach(club.first_landing), "end_m": reach(club.end)
    }  # fmt: skip


def _at_worst(result: RunResult) -> dict[str, Any]:
    """Of each rate the largest bound over likely and adverse cloth, and whose it is."""
    worst = {key: result.worst(key) for key in result.rates.total}
    return {key: {"cloth": whose.name if whose else "likely", **asdict(rate)} for key, (rate, whose) in worst.items()}


def _plain(rates: dict[str, Rate]) -> dict[str, Any]:
    return {key: asdict(rate) for key, rate in rates.items()}


def first_contacts_by_part(result: RunResult) -> list[dict[str, Any]]:
    """Shots that met each part first, parts never met included."""
    met = result.contacts.part >= 0
    index, weight = result.contacts.part[met], result.weight[met]
    count = np.bincount(index, minlength=len(result.bay.parts))
    share = np.bincount(index, weights=weight, minlength=len(result.bay.parts))
    return [
        {"part": part.name, "group": part.label, "role": str(part.role), "facing": part.facing,
         "owner": part.owner, "fragile": part.fragile, "shots": int(count[k]), "share": float(share[k])}
        for k, part in enumerate(result.bay.parts)
    ]  # fmt: skip


def places(result: RunResult) -> list[dict[str, Any]]:
    """For each flag, everybody that balls could hit, and the things that they met at their worst: which, how many
    shots, and how fast at most.
    """
    return [
        {"flag": flag.key, "place": name, "shots": int(shots.size), "share": float(result.weight[shots].sum()),
         "fastest_m_s": float(worst_at(result, flag, name)[shots].max())}
        for flag in Flag for name, shots in by_place(result, flag).items()
    ]  # fmt: skip


def at_speeds(result: RunResult) -> list[dict[str, Any]]:
    """How often heads, and bodies below them, are reached at each of a few speeds of a ball of 45.93 g or faster."""
    heads = np.array([zone.head for zone in result.bay.zones], dtype=bool)
    reached = {"head": result.fates.hits(heads), "body": result.fates.hits(~heads)}
    rows: list[dict[str, Any]] = []
    for speed in TOLD_SPEEDS:
        least = speed * float(np.sqrt(LEGAL_MASS / result.physics.ball.mass))
        row: dict[str, Any] = {"speed_m_s": least, "energy_j": 0.5 * LEGAL_MASS * speed**2}
        for height, speeds in reached.items():
            shots = np.flatnonzero(speeds >= least)
            rate, upper = rate_of(result, shots)
            row[height] = {"count": int(shots.size), "rate": rate, "upper": upper}
        rows.append(row)
    return rows


def left_slowly(result: RunResult) -> list[dict[str, Any]]:
    """Shots that left through each opening too slowly to count as got out."""
    rows = []
    for k, name in enumerate(result.bay.ways_out):
        out = result.fates.left_slowly & (result.fates.left == k)
        rows.append({"opening": name, "shots": int(out.sum()), "share": float(result.weight[out].sum())})
    return rows


def left_through(result: RunResult) -> list[dict[str, Any]]:
    """Shots that left through each opening."""
    rows = []
    for k, name in enumerate(result.bay.ways_out):
        out = result.fates.place[Flag.GOT_OUT] == k
        rows.append({"opening": name, "shots": int(out.sum()), "share": float(result.weight[out].sum())})
    return rows


def write_shots(
    result: RunResult, path: Path, more: Mapping[str, NDArray[Any]], between: Callable[[], None] = lambda: None
) -> None:
    """One row a shot. Floats are written so that they read back exactly; blank where there is nothing to say.

    more: columns `(n,)` that plugins add.
    """
    with path.open("w", newline="", encoding="utf-8") as file:
        for number, table in enumerate(_by_chunks(result, more, between)):
            write_rows(file, table, named=number == 0)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
