"""A cutting order as people write it: 3x4250mm, '2x6 ft 3 in'; stock as LENGTH[@PRICE][xCOUNT]."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from math import isfinite
from typing import Literal

from pydantic_core import PydanticCustomError

from flightsim.errors import Asked, BadInputError
from flightsim.making.cutting.stock import CutOrder, Saw, Stock, in_nano
from flightsim.scenario.reading.quantities import KINDS, parse

MOST_PIECES = 5000
LONGEST = 100.0  # m
_PIECE = re.compile(r"\s*(?:(?P<count>[0-9]+)\s*[xX×*]\s*)?(?P<length>.+?)\s*")
_NO_COUNT = re.compile(r"\s*(?P<count>[-+0-9.,]+(?:[eE][0-9]+)?)\s*[xX×*]\s*(?P<length>.+)")
_TURNED = re.compile(r"(?P<length>[^x×*]*[A-Za-z'\"][^x×*]*)[x×*]\s*(?P<count>[0-9]+)\s*")
_STOCK = re.compile(r"\s*(?P<length>[^@x×*]+?)\s*(?:@\s*(?P<price>[^@x×*]+?)\s*)?(?:[x×*]\s*(?P<count>[^@x×*]+?)\s*)?")
_PRICE = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_FEET = re.compile(r"(?<![A-Za-z])(?:ft|feet|foot|in|inch|inches)\b|['\"\u2032\u2033]")
_ALLOWED = (
    "  allowed: LENGTH[@PRICE][xCOUNT], a point for decimals, no currency\n"
    "  try: 6000mm, 6000mm@42.50 or 6000mm@42.50x3"
)


def read_order(pieces: Sequence[str], stocks: Sequence[str], kerf: float, trim: float) -> CutOrder:
    """The order, kerf and trim in m. Raises BadInputError: what was found, what is allowed, a way out."""
    wanted = [piece for text in pieces for piece in _pieces(text)]
    if len(wanted) > MOST_PIECES:
        raise BadInputError(f"{len(wanted)} pieces are too many\n  allowed: {MOST_PIECES} in one list")
    return CutOrder(tuple(wanted), tuple(read_stock(text) for text in stocks), Saw(in_nano(kerf), in_nano(trim)))


def units_of(texts: Sequence[str]) -> Literal["metric", "imperial"]:
    """What most of the lengths are given in; metric where it is even."""
    feet = sum(bool(_FEET.search(text)) for text in texts)
    return "imperial" if 2 * feet > len(texts) else "metric"


def read_stock(text: str) -> Stock:
    """One stock length: 6000mm, 6000mm@42.50, 6000mm@42.50x3, 2100mmx1."""
    found = _STOCK.fullmatch(text)
    if found is None:
        raise BadInputError(Asked("stock"), f": '{text}' cannot be read\n{_ALLOWED}")
    price, count = found["price"], found["count"]
    if price is not None and not _PRICE.fullmatch(price):
        raise BadInputError(Asked("stock"), f": the price '{price}' in '{text}' is not a number\n{_ALLOWED}")
    if count is not None and not (count.isascii() and count.isdigit() and 0 < int(count) <= MOST_PIECES):
        raise BadInputError(
            Asked("stock"), f": '{count}' in '{text}' is not a count of bars, 1 to {MOST_PIECES}\n{_ALLOWED}"
        )
    length = _length(Asked("stock"), found["length"])
    return Stock(length, None if price is None else Decimal(price), None if count is None else int(count))


def _pieces(text: str) -> list[int]:
    found = _PIECE.fullmatch(text)
    if found is None:
        raise BadInputError("a piece is empty\n  try: 3x4250mm")
    if turned := _TURNED.fullmatch(text):
        fix = f"{turned['count']}x{turned['length'].strip()}"
        raise BadInputError(
            f"'{text}': the count comes first\n  allowed: COUNTxLENGTH, or LENGTH for one\n  try: {fix}"
        )
    if found["count"] is None and (wrong := _NO_COUNT.fullmatch(text)):
        words = f"'{text}': '{wrong['count']}' is no count of pieces\n  allowed: a whole number, 1 to {MOST_PIECES}"
        raise BadInputError(f"{words}\n  try: 3x{wrong['length'].strip()}")
    count = int(found["count"] or 1)
    if not 0 < count <= MOST_PIECES:
        raise BadInputError(f"'{text}': {count} is no count of pieces\n  allowed: 1 to {MOST_PIECES}\n  try: 3x4250mm")
    return [_length(f"'{text}'", found["length"])] * count


def _length(where: str | Asked, text: str) -> int:
    try:
        metres = parse(KINDS["length"], text)
    except PydanticCustomError as error:
        problem = error.context or {}
        words = f": {problem['found']}\n  allowed: {problem['allowed']}\n  try: {problem['fix']}"
        raise BadInputError(where, words) from None
    if not isfinite(metres) or not 0.0005 <= metres <= LONGEST:
        raise BadInputError(where, f": '{text}' is out of range\n  allowed: 0.5 mm to {LONGEST:g} m\n  try: 4250mm")
    return in_nano(metres)
