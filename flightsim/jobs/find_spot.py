"""One `spot` from order to files."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import degrees
from pathlib import Path
from typing import Any

import numpy as np
from pydantic_core import PydanticCustomError

from flightsim.errors import BadInputError
from flightsim.jobs.print_json import print_json
from flightsim.report.draw.spot_figure import spots_sheet
from flightsim.report.pages.answer_folder import write_answer
from flightsim.report.pages.folder import check_out
from flightsim.report.pages.spot_page import spot_page
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.say import Paper, say, told_what_is_done
from flightsim.report.words.spot_words import spot_lines
from flightsim.scenario.reading.quantities import KINDS, parse
from flightsim.scenario.reading.text import cut
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.spot.places_to_hang import Box3, Spots, find_spots
from flightsim.study.spot.projector import Light, Projector
from flightsim.study.spot.sight import seen_points

_BOX = re.compile(r"\s*([\d.]+)\s*[xX*]\s*([\d.]+)\s*[xX*]\s*([\d.]+)\s*([A-Za-z\"']+)\s*")
_PICTURE = re.compile(r"\s*([\d.]+)\s*[xX*]\s*([\d.]+)\s*([A-Za-z\"']+)\s*")
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
    throw: str | None = None
    picture: str | None = None
    as_json: bool = False


def spot_and_report(order: SpotOrder) -> int:
    """Search, write the files, print the answer; 0, or 1 when there is no such place."""
    box, under, projector = parse_box(order.box), _under_roof(order.under_roof), _projector(order)
    opened = open_bay(order.scenario, order.sets)
    seen_points(opened, order.see)  # what is not there is told before any work is done
    check_out(order.out)
    with told_what_is_done("looking for places") as _:
        spots = find_spots(opened, box, order.shots, order.seed, under, order.see, projector=projector)
        facts = spot_facts(opened, box, order, spots)
        write_answer(
            order.out, ("spot.json", facts), ("spot.png", spots_sheet(opened, box, spots)),
            ("spot.html", lambda drawn: spot_page(opened, box, spots, order.seed, drawn)),
        )  # fmt: skip
    if order.as_json:
        print_json(facts)
        return FOUND if spots.places else NONE
    console = Paper(highlight=False)
    for words in (*spot_lines(opened, box, spots), " ".join(CAUTION)):
        say(console, words)
    where = f"Page {order.out / 'spot.html'}, picture {order.out / 'spot.png'}, numbers {order.out / 'spot.json'}"
    say(console, where)
    return FOUND if spots.places else NONE


def _projector(order: SpotOrder) -> Projector | None:
    """What is thrown; None without a picture. Raises BadInputError that shows how to write it."""
    if order.picture is None:
        if order.throw is not None:
            raise BadInputError("--throw: of what picture?\n  allowed: with --picture\n  try: --picture 3.2x1.8m")
        return None
    form = _PICTURE.fullmatch(order.picture)
    if form is None:
        allowed = "WIDTHxHEIGHT and a unit"
        raise BadInputError(
            f"--picture '{cut(order.picture, 80)}' cannot be read\n  allowed: {allowed}\n  try: --picture 3.2x1.8m"
        )
    width, height = (_length(f"{form[k]} {form[3]}", "--picture") for k in (1, 2))
    nearest, farthest = _throw(order.throw)
    if min(width, height) <= 0.0:
        raise BadInputError("--picture: it has two sizes above nought\n  try: --picture 3.2x1.8m")
    return Projector(nearest, farthest, width, height)


def _throw(text: str | None) -> tuple[float, float]:
    """Nearest and farthest, m; any distance where none is given."""
    if text is None:
        return 0.0, float("inf")
    low, dots, high = text.partition("..")
    ends = [_length(end, "--throw") for end in (low, high)] if dots else [_length(text, "--throw")] * 2
    if not 0.0 < ends[0] <= ends[1]:
        allowed = "from the nearest to the farthest that the projector throws, lens to cloth"
        raise BadInputError(f"--throw {text}: no such range\n  allowed: {allowed}\n  try: --throw 2.4m..3.2m")
    return ends[0], ends[1]


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
        "throw": order.throw,
        "picture": order.picture,
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
                "free_air_m": p.air,
                "nearest": p.beside,
                "light": None if p.light is None else light_facts(p.light),
            }
            for p in spots.places
        ],
        "looked_at": spots.tried,
        "in_the_way": spots.in_the_way,
        "in_the_swing": spots.in_the_swing,
        "hidden": spots.hidden,
        "hidden_by": dict(spots.hidden_by),
        "behind_a_screen": spots.behind,
        "out_of_throw": spots.out_of_throw,
    }


def light_facts(light: Light) -> dict[str, float]:
    """What spot.json holds of a projector's light."""
    return {
        "throw_m": light.throw,
        "down_deg": degrees(light.down),
        "left_deg": degrees(light.aside),
        "shadow_share": light.shadow,
        "head_shadow_share": light.head,
    }
