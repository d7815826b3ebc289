"""A price list in YAML: any currency, dated; each price for a metre, bar, sheet, square metre, piece or pack."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from flightsim.scenario.reading.explain import explain
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.quantities import ArealMass, Size
from flightsim.scenario.reading.source import read_source

Money = Annotated[float, Field(ge=0.0, le=1.0e7, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0.0, le=2.0, allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Price(_Strict):
    """What one thing costs. per: what the price is for; weight: of the cloth that it is for, kg/m2, left out: of any;
    waste: bought beyond what is needed, as a share.
    """

    price: Money
    per: Literal["metre", "bar", "sheet", "square metre", "piece", "pack"]
    length: Size | None = None  # of a bar
    sheet_length: Size | None = None
    sheet_width: Size | None = None
    pack: Annotated[int, Field(ge=1, le=100_000)] | None = None  # pieces in a pack
    weight: ArealMass | None = None
    waste: Share = 0.0

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for per, given, words in (
            ("bar", self.length is not None, "length: 6 m"),
            ("sheet", self.sheet_length is not None and self.sheet_width is not None,
             "sheet_length: 2440 mm and sheet_width: 1220 mm"),
            ("pack", self.pack is not None, "pack: 100"),
        ):  # fmt: skip
            if (self.per == per) != given:
                verb = "needs" if self.per == per else "has no"
                raise ValueError(f"a price per {self.per} {verb} {words}")
        if self.weight is not None and self.per != "square metre":
            raise ValueError(f"a price per {self.per} has no weight: cloth is sold per: square metre")
        return self


def _one_or_several(value: object) -> object:
    return tuple(value) if isinstance(value, list) else (value,)


class PriceList(_Strict):
    """Prices by material. tax: share on everything; delivery, consumables: once, before tax."""

    currency: Annotated[str, Field(min_length=1, max_length=12)]
    date: date
    invented: bool = False
    tax: Share = 0.0
    delivery: Money = 0.0
    consumables: Money = 0.0
    prices: dict[str, Annotated[tuple[Price, ...], BeforeValidator(_one_or_several)]]

    def of(self, material: str) -> tuple[Price, ...]:
        """What a material costs, in one or several sizes; none where it is not listed."""
        named = {name.casefold(): price for name, price in self.prices.items()}
        return named.get(material.casefold(), ())


def read_prices(path: Path) -> PriceList:
    """The list in this file. Raises ScenarioError with file, line and key of all that is wrong."""
    source = read_source(path, "a price list, as docs/build.md shows one")
    if "room" in source.data:
        fix = "name the bay's file, and its price list after it"
        raise ScenarioError([source.problem("", "this is a bay, and no price list", "currency, date and prices", fix)])
    problems = list(source.problems)
    try:
        listed = PriceList.model_validate(source.data)
    except ValidationError as error:
        problems += explain(error, PriceList, source.data, "", source)
    if problems:
        raise ScenarioError(problems)
    return listed
