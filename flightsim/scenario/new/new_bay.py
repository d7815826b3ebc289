"""A new bay as a person gives it: answers kept as they were typed, with their SI values beside them."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Literal

import yaml

from flightsim.scenario.reading.source import plain

Wall = Literal["left", "right", "end", "back"]
_PLAIN_TEXT = re.compile(r"[\w.+½¼¾⅛⅜⅝⅞][\w .,'\"°/+½¼¾⅛⅜⅝⅞-]*")


@dataclass(frozen=True)
class Measure:
    """A length as typed, and in m."""

    text: str
    metres: float

    def __str__(self) -> str:
        return yaml_text(self.text)


@dataclass(frozen=True)
class NewOpening:
    """A doorway or window. along: from the end wall, or from the left wall for one in the end or back wall."""

    name: str
    wall: Wall
    along: Measure
    width: Measure
    height: Measure
    sill: Measure
    closed: bool
    glass: bool = False

    @property
    def along_key(self) -> str:
        """What the distance along the wall is called in the file."""
        return "from_end_wall" if self.wall in ("left", "right") else "from_left_wall"


@dataclass(frozen=True)
class NewRoof:
    """kind as in the file; heights by their key in the file; ridge for a gable."""

    kind: Literal["flat", "single_slope", "gable"]
    heights: dict[str, Measure]
    ridge: Literal["along", "across"] | None = None

    def at(self, from_end: float, from_left: float, length: float, width: float) -> float:
        """Height of its underside at a place in a room of this length and width, m."""
        high = {key: height.metres for key, height in self.heights.items()}
        if self.kind == "flat":
            return high["height"]
        if self.kind == "single_slope":
            return high["left_height"] + (high["right_height"] - high["left_height"]) * from_left / width
        share = from_left / width if self.ridge == "along" else from_end / length
        return high["eaves_height"] + (high["ridge_height"] - high["eaves_height"]) * (1.0 - abs(2.0 * share - 1.0))


@dataclass(frozen=True)
class NewPad:
    """A padded zone on the roof's underside."""

    from_end_wall: Measure
    from_left_wall: Measure
    length: Measure
    width: Measure
    thickness: Measure


@dataclass(frozen=True)
class NewBay:
    """All answers, in walking order. None where there is no such thing."""

    units: Literal["metric", "imperial"]
    name: str
    length: Measure
    width: Measure
    roof: NewRoof
    back: Literal["wall", "open"]
    openings: tuple[NewOpening, ...]
    tee_from_end: Measure
    tee_from_left: Measure
    mat_height: Measure | None
    screen_width: Measure
    screen_height: Measure
    screen_foot: Measure
    gap_behind: Measure
    canopy_depth: Measure | None
    canopy_height: Measure | None
    nets: dict[str, tuple[Measure, Measure]]  # by side: depth, height
    pad: NewPad | None
    hand: Literal["right", "left"]
    clubs: tuple[str, ...]

    @property
    def screen_edges(self) -> tuple[float, float]:
        """Distance of the screen's edges from the left wall, m: it hangs centred on the tee."""
        half = self.screen_width.metres / 2.0
        return self.tee_from_left.metres - half, self.tee_from_left.metres + half

    def roof_height(self, from_end: float, from_left: float) -> float:
        """Height of the roof's underside at a place, m."""
        return self.roof.at(from_end, from_left, self.length.metres, self.width.metres)


def yaml_text(text: str) -> str:
    """Text as a YAML scalar that reads back as this text: bare where it can be, else quoted as in JSON."""
    bare = _PLAIN_TEXT.fullmatch(text) is not None and text == text.strip() and plain(text) == text
    bare = bare and yaml.safe_load(text) == text  # other readers go by YAML 1.1, where `on` is true
    return text if bare else json.dumps(text, ensure_ascii=False)


def write_yaml(bay: NewBay) -> str:
    """The scenario file of a new bay, with comments that say what each size is."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    # Nothing here is a web page: quoting is YAML's, by the filter.
    environment = Environment(  # noqa: S701
        loader=PackageLoader("flightsim.scenario.new", ""),
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        keep_trailing_newline=True,
    )  # fmt: skip
    environment.filters["yaml"] = yaml_text
    return environment.get_template("new_bay.yaml.j2").render(bay=bay)
