"""The bay in three dimensions as data for the page's script: shapes, ways by outcome, and the story of each."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.contact.fates import Outcome
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.choose import pick, pick_from
from flightsim.report.draw.linework import is_wall
from flightsim.report.draw.style import STROKES
from flightsim.report.words.common_words import OUTCOME_WORDS
from flightsim.report.words.way_words import way_story, way_title
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.replay import Replay, Way
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
EACH = 5  # ways an outcome
UNPICKED = "Pick a way to read what that ball did."
DASH = 0.025  # m on a line in the room for one point on paper
STRAIGHT = 0.004  # m: points of a way that lie nearer to a straight line than this are left out


@dataclass(frozen=True)
class Choice:
    """Something to tick: its key, its words, how many ways there are, and for an outcome its look."""

    key: str
    words: str
    ways: int
    colour: str = ""


@dataclass(frozen=True)
class SceneData:
    """What the page needs. json: closed to what a name may smuggle in; titles: of the ways, in its order."""

    json: str
    titles: tuple[str, ...]
    outcomes: tuple[Choice, ...]
    types: tuple[Choice, ...]
    unpicked: str = UNPICKED


def wanted(result: RunResult) -> NDArray[np.intp]:
    """The shots whose ways are shown: some of each outcome, and one of each shot type."""
    kinds = [pick_from(result, np.flatnonzero(result.shots.type == k), 1) for k in range(len(result.types))]
    return np.unique(np.concatenate([*(pick(result, outcome, EACH) for outcome in Outcome), *kinds]))


def scene_data(result: RunResult, flown: Replay) -> SceneData:
    """flown: the shots that are `wanted`, flown again."""
    outcomes = flown.fates.outcomes()
    order = sorted(range(len(flown)), key=lambda k: (int(outcomes[k]), int(flown.shots[k])))
    kinds = result.shots.type[flown.shots]
    ways = [_way(result, flown, k) for k in order]
    present = [outcome for outcome in Outcome if (outcomes == outcome).any()]
    data = {
        **_bay(bay_as_played(result)),
        "tee": _round(tee_spots(result.scenario)[0]),
        "radius": round(flown.radius, 4),
        "ways": ways,
        "outcomes": [{"key": end.key, "colour": STROKES[end].colour, "dash": _dash(end)} for end in present],
        "unpicked": UNPICKED,
    }
    ticks = tuple(
        Choice(end.key, OUTCOME_WORDS[end], int((outcomes == end).sum()), STROKES[end].colour) for end in present
    )
    types = tuple(
        Choice(str(k), kind.label, int((kinds == k).sum())) for k, kind in enumerate(result.types) if (kinds == k).any()
    )
    return SceneData(_closed(data), tuple(way_title(result, flown, k) for k in order), ticks, types)


def _closed(data: dict[str, Any]) -> str:
    """JSON that ends no script and starts none, whatever is called what."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _bay(bay: Bay) -> dict[str, Any]:
    named: dict[str, list[Array]] = {}
    for name, outlines in _things(bay):
        named.setdefault(name, []).extend(outlines)
    return {
        "parts": [
            {"name": part.label, "role": part.role.value, "faces": faces}
            for part in bay.parts
            if (faces := _faces(part.shape.outlines()))
        ],
        "openings": [{"name": opening.name, "faces": _faces([opening.corners])} for opening in bay.openings],
        "zones": [{"name": zone.name, "faces": _faces(zone.seen.outlines())} for zone in bay.zones],
        "names": [{"text": name, "at": _round(_middle(outlines))} for name, outlines in named.items() if outlines],
        "lower": _round(bay.lower),
        "upper": _round(bay.upper),
    }


def _things(bay: Bay) -> Iterable[tuple[str, list[Array]]]:
    """What has a name on the picture, the more telling first: protection, openings, people, things, walls."""

    def rank(part: Part) -> int:
        return 0 if part.role is Role.GUARD else 2 if is_wall(part) else 1

    parts = sorted((part for part in bay.parts if part.role is not Role.FLOOR), key=rank)
    yield from ((part.label, part.shape.outlines()) for part in parts if rank(part) == 0)
    yield from ((opening.name, [opening.corners]) for opening in bay.openings)
    yield from ((zone.person, zone.shape.outlines()) for zone in bay.zones)
    yield from ((part.label, part.shape.outlines()) for part in parts if rank(part) > 0)


def _middle(outlines: list[Array]) -> Array:
    points = np.concatenate(outlines)
    return np.asarray((points.min(axis=0) + points.max(axis=0)) / 2.0)


def _faces(outlines: Iterable[Array]) -> list[list[float]]:
    return [_round(outline.ravel()) for outline in outlines]


def _way(result: RunResult, flown: Replay, k: int) -> dict[str, Any]:
    way = flown.way(k)
    keep = _telling(way)
    times = way.time[keep]
    touched = flown.contacts.time[flown.contacts.of(k)]
    touches = sorted({int(np.abs(times - moment).argmin()) for moment in [*touched[:40], times[-1]]})
    return {
        "outcome": Outcome(flown.fates.outcomes()[k]).key,
        "type": int(result.shots.type[flown.shots[k]]),
        "story": way_story(result, flown, k),
        "points": _round(way.point[keep].ravel()),
        "times": [round(float(moment), 4) for moment in times],
        "touches": touches,
    }


def _telling(way: Way) -> NDArray[np.intp]:
    """The points of a way without those that a straight line says as well."""
    keep, points = [0], way.point.tolist()  # plain numbers: some thousands of them, one after the other
    for k in range(1, len(points) - 1):
        before = points[keep[-1]]
        off, chord = ([a - b for a, b in zip(points[place], before, strict=True)] for place in (k, k + 1))
        length = hypot(*chord)
        if length < 1e-9 or hypot(*_cross(chord, off)) / length > STRAIGHT:
            keep.append(k)
    return np.array([*keep, len(way.time) - 1] if len(way.time) > 1 else keep, dtype=np.intp)


def _cross(a: Sequence[float], b: Sequence[float]) -> tuple[float, float, float]:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _dash(outcome: Outcome) -> list[float] | None:
    dashes = STROKES[outcome].dashes
    return None if dashes == "-" else [round(DASH * part, 3) for part in dashes[1][:2]]


def _round(values: Array) -> list[float]:
    return [round(float(value), 3) for value in np.asarray(values).ravel()]
