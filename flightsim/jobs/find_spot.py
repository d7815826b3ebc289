"""One `spot` from order to files."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pydantic_core import PydanticCustomError
from rich.console import Console

from flightsim.errors import BadInputError
from flightsim.jobs.print_json import print_json
from flightsim.report.draw.spot_figure import draw_spots
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.report.words.common_words import CAUTION, at_worst
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.quantities import KINDS, parse
from flightsim.scenario.reading.text import cut
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.run_files import write_json
from flightsim.study.spot.places_to_hang import Box3, Place, Spots, find_spots

_BOX = re.compile(r"\s*([\d.]+)\s*[xX*]\s*([\d.]+)\s*[xX*]\s*([\d.]+)\s*([A-Za-z\"']+)\s*")
_EXAMPLE = "300x250x120mm"
FOUND, NONE = 0, 1
MOST_UNDER_ROOF = 30.0  # m: no room here is higher


@dataclass(frozen=True)
class SpotOrder:
    """What the command line asks for."""

    scenario: Path
    box: str
    see: tuple[str, ...]
    under_roof: str
    shots: int
    seed: int
    out: Path
    sets: tuple[str, ...]
    as_json: bool = False


def spot_and_report(order: SpotOrder) -> int:
    """Search, write the files, print the answer; 0, or 1 when there is no such place."""
    box, under = parse_box(order.box), _under_roof(order.under_roof)
    opened = open_bay(order.scenario, order.sets)
    check_out(order.out)
    spots = find_spots(opened, box, order.shots, order.seed, under, order.see)
    with built_beside(order.out) as folder:
        facts = spot_facts(opened, box, order, spots)
        write_json(folder / "spot.json", facts)
        draw_spots(opened, box, spots, folder / "spot.png")
    if order.as_json:
        print_json(facts)
        return FOUND if spots.places else NONE
    console = Console(highlight=False)
    for words in spot_words(opened, box, spots):
        console.print(words, markup=False)
        console.print()
    console.print(f"Picture {order.out / 'spot.png'}, numbers {order.out / 'spot.json'}", markup=False)
    return FOUND if spots.places else NONE


def parse_box(text: str) -> Box3:
    """Read `300x250x120mm`. Raises BadInputError that shows how to write one."""
    form = _BOX.fullmatch(text)
    allowed = "LENGTHxWIDTHxHEIGHT and a unit: along the room, across it, upward"
    if form is None:
        raise BadInputError(f"--box '{cut(text, 80)}' cannot be read\n  allowed: {allowed}\n  try: --box {_EXAMPLE}")
    sizes = [_length(f"{form[k]} {form[4]}", "--box") for k in (1, 2, 3)]
    if min(sizes) <= 0.0:
        raise BadInputError(f"--box '{text}': a box has three sizes above nought\n  try: --box {_EXAMPLE}")
    return Box3(*sizes)


def _under_roof(text: str) -> float:
    """How far below the roof the box may hang, m."""
    under = _length(text, "--under-roof")
    if not 0.0 <= under <= MOST_UNDER_ROOF:
        allowed = f"from 0 m to {MOST_UNDER_ROOF:g} m, from the roof down to the top of the box"
        raise BadInputError(f"--under-roof {text}: out of range\n  allowed: {allowed}\n  try: --under-roof 600mm")
    return under


def _length(text: str, option: str) -> float:
    try:
        return parse(KINDS["length"], text)
    except PydanticCustomError as error:
        raise BadInputError(f"{option} {cut(text, 80)}: {error.message()}") from None


def spot_words(opened: OpenBay, box: Box3, spots: Spots) -> list[str]:
    """The answer in paragraphs."""
    show = Display(opened.scenario.units).length
    size = f"{show(box.length)} along the room, {show(box.width)} across and {show(box.height)} high"
    told = [f"Where a box of {size} can hang in {opened.scenario.name}:"]
    if not spots.places:
        told.append("Nowhere: every place is in something's way, in the swing's, or does not see what it must.")
    told += [f"{k}. {_place_words(show, place)}" for k, place in enumerate(spots.places, start=1)]
    fell = (
        f"{spots.tried:,} places were looked at, least-hit first. Of those passed over, {spots.in_the_way:,} go into "
        f"something, {spots.in_the_swing:,} are too near a swung club, {spots.hidden:,} do not see what they must."
    )
    bounds = (
        "Touched means at any speed, by any ball, straight or after rebounds; at worst with 95 % confidence, "
        "for the luck of the draw only. What hangs there still needs a sound fixing, and its wires kept clear."
    )
    return [*told, fell, bounds, " ".join(CAUTION)]


def _place_words(show: Any, place: Place) -> str:
    where = (
        f"{show(place.from_end_wall)} from the end wall, {show(place.from_left_wall)} from the left wall (nearest "
        f"sides), underside {show(place.above_floor)} above the slab"
    )
    hits = (
        f"{place.hits:,} of {place.shots:,} balls touch it"
        if place.hits
        else f"none of {place.shots:,} balls touched it"
    )
    swing = "" if place.swing is None else f" Room to a swung club: at least {show(place.swing)}."
    return f"{where}: {hits}, at worst {at_worst(place.upper)}.{swing}"


def spot_facts(opened: OpenBay, box: Box3, order: SpotOrder, spots: Spots) -> dict[str, Any]:
    """What spot.json holds."""
    return {
        "schema_version": 1,
        "scenario": opened.scenario.name,
        "overrides": list(opened.scenario.overrides),
        "seed": order.seed,
        "shots": order.shots,
        "box_m": [box.length, box.width, box.height],
        "see": list(order.see),
        "places": [
            {
                "from_end_wall_m": float(p.from_end_wall),
                "from_left_wall_m": float(p.from_left_wall),
                "above_floor_m": float(p.above_floor),
                "middle_m": np.asarray(p.middle).tolist(),
                "balls_that_touch_it": p.hits,
                "rate": p.rate,
                "upper": p.upper,
                "room_to_swing_m": p.swing,
            }
            for p in spots.places
        ],
        "looked_at": spots.tried,
        "in_the_way": spots.in_the_way,
        "in_the_swing": spots.in_the_swing,
        "hidden": spots.hidden,
    }
