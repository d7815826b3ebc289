"""The section `build` of a scenario: what can be bought, what the saw takes, how cloth is made, what was measured."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field, PrivateAttr

from flightsim.errors import BadInputError
from flightsim.making.cutting.read_order import read_stock
from flightsim.making.cutting.stock import Stock, in_nano
from flightsim.making.ordering.cloth_order import ClothAllowances, Opening
from flightsim.making.ordering.sheets import SheetSize
from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import Distance, Size

SHEETS = SheetSize(2.0, 1.0), SheetSize(2.44, 1.22)  # of foam, of board: m
FOOT, INCH = 0.3048, 0.0254
SHEETS_IN_FEET = SheetSize(8.0 * FOOT, 4.0 * FOOT), SheetSize(8.0 * FOOT, 4.0 * FOOT)
IN_FEET = {"kerf": INCH / 8.0, "trim": INCH / 4.0, "sheet_kerf": INCH / 8.0, "strip": 6.0 * FOOT,
           "turf_width": 6.0 * FOOT, "packers": 3.0 * INCH / 8.0}  # fmt: skip
CLOTH_IN_FEET = {"foot_fold": 6.0 * INCH, "hem": 2.0 * INCH, "eyelet_pitch": 8.0 * INCH, "eyelet_inset": INCH}
STOCK_LENGTH = 6.0  # m: tube comes in 6.0, 6.1, 6.5, 7.3, 7.5 m (common practice, no source)


def _stock_text(text: str) -> str:
    try:
        read_stock(text)
    except BadInputError as error:
        raise ValueError(str(error).removeprefix("stock: ").replace("\n  ", "; ")) from error
    return text


StockText = Annotated[str, AfterValidator(_stock_text)]


class Sheet(Model):
    """A stock sheet of one material."""

    material: str = Field(min_length=1, description="as the order lists have it: plywood 12 mm")
    length: Size = Field(description="of the sheet: 2440 mm")
    width: Size = Field(description="of the sheet: 1220 mm")

    def size(self) -> SheetSize:
        """Longer side first, as it lies on the saw."""
        return SheetSize(self.length, self.width)


class Measured(Model):
    """A screen's clear opening, taken with a tape once the frame stands."""

    screen: str = Field("screen", min_length=1, description="which screen hangs in it")
    width: Size = Field(description="clear, between the uprights, at the narrowest of three heights")
    height: Size = Field(description="clear, slab to the underside of the top bar, at the lowest of three places")

    def opening(self) -> Opening:
        """The measured opening, as the cloth's order needs it."""
        return Opening(self.width, self.height)


class Making(Model):
    """How a screen or net is made up. Common practice, no source; what is judgement is named in [making-up]."""

    foot_fold: Distance = Field(
        0.150, description="onto the floor, where the screen has no bottom_flap; default 150 mm"
    )
    hem: Distance = Field(0.050, description="turned over on every side; default 50 mm")
    eyelet_pitch: Size = Field(0.200, description="at most; default 200 mm")
    eyelet_inset: Size = Field(0.025, description="from the finished edge; default 25 mm")
    cord_diameter: Size = Field(0.006, description="of the elastic cords; default 6 mm")
    cord_stretch: float = Field(0.25, ge=0.0, le=1.5, description="of their slack length when hung; default 0.25")
    net_fullness: float = Field(0.10, ge=0.0, le=1.0, description="more net than opening, each way; default 0.10")
    roll_width: Size | None = Field(None, description="of the cloth; what is wider has seams")

    @property
    def said(self) -> set[str]:
        """The keys that the bay's file gives."""
        return self.model_fields_set

    def allowances(self) -> ClothAllowances:
        """The allowances, as the cloth's order needs them."""
        return ClothAllowances(**{key: getattr(self, key) for key in type(self).model_fields})


class BuildSettings(Model):
    """What it takes to build the bay: stock, saw, sheets, cloth, and what was measured when the frame stood."""

    stock: tuple[StockText, ...] = Field(
        (), description="bars that can be bought, LENGTH[@PRICE][xCOUNT]; default those of the prices, or 6 m"
    )
    kerf: Distance = Field(0.003, description="of the saw; default 3 mm (chop saw; common practice)")
    trim: Distance = Field(0.005, description="off each bar; default 5 mm (common practice)")
    sheets: tuple[Sheet, ...] = Field((), description="stock sheets; default 2440 x 1220 mm, foam 2000 x 1000 mm")
    sheet_kerf: Distance = Field(0.003, description="of the saw for sheets; default 3 mm")
    strip: Size = Field(2.0, description="stock length of foam strips and pipe foam; default 2 m")
    turf_width: Size = Field(2.0, description="of a roll of turf; default 2 m")
    cloth: Making = Field(Making(), description="how screen and nets are made up")
    measured: tuple[Measured, ...] = Field((), description="clear openings as measured")
    wet_floor: bool = Field(False, description="whether the floor may get wet")
    packers: Size = Field(0.010, description="under what stands on a wet floor; default 10 mm, plastic (practice)")
    door_width: Size | None = Field(
        None, description="of the way in, so that sheets are known to fit; default the room's largest door"
    )
    door_height: Size | None = Field(None, description="of the way in")
    prices: str | None = Field(None, min_length=1, description="price list (YAML), from this file's folder")

    _by_the_foot: bool = PrivateAttr(False)

    def stocks(self) -> tuple[Stock, ...]:
        """Bars that can be bought; none where it is left to prices."""
        return tuple(read_stock(text) for text in self.stock)

    def plain_stock(self) -> Stock:
        """Bars where nothing is said: 6 m, or 20 ft."""
        return Stock(in_nano(20.0 * FOOT if self._by_the_foot else STOCK_LENGTH))

    def sheet(self, material: str) -> SheetSize:
        """The stock sheet of a material."""
        for sheet in self.sheets:
            if sheet.material.casefold() == material.casefold():
                return sheet.size()
        foam, board = SHEETS_IN_FEET if self._by_the_foot else SHEETS
        return foam if material.startswith("foam") else board

    def in_feet(self) -> BuildSettings:
        """For a bay in feet and inches: what is not said is as shops by the foot have it (common practice)."""
        set_in_file = self.model_fields_set
        cloth = self.cloth.model_copy(update={k: v for k, v in CLOTH_IN_FEET.items() if k not in self.cloth.said})
        defaults = {key: value for key, value in IN_FEET.items() if key not in set_in_file}
        found = self.model_copy(update={**defaults, "cloth": cloth})
        found._by_the_foot = True
        return found
