"""What is cut and what it is cut from, in whole nanometres: an inch and a millimetre are both exact there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from math import gcd

from flightsim.errors import Asked, BadInputError

NANO = 1_000_000_000  # nm in a metre
_ROUNDING = 50  # nm that sums of lengths may be off: 1/3 in is no whole number of nanometres


def in_nano(metres: float) -> int:
    """Whole nanometres."""
    return round(metres * NANO)


def in_mm(nano: int) -> float:
    """Millimetres, for people and files."""
    return nano / 1e6


@dataclass(frozen=True)
class Stock:
    """A length that can be bought, nm; price of one bar, None unpriced; count there is, None as many as wanted."""

    length: int
    price: Decimal | None = None
    count: int | None = None


@dataclass(frozen=True)
class Saw:
    """What the saw takes: kerf of each cut, and trim once a bar, nm."""

    kerf: int = 0
    trim: int = 0


@dataclass(frozen=True)
class PlannedBar:
    """One bar: the stock's place in the order, the lengths cut from it, and what is left, nm."""

    stock: int
    pieces: tuple[int, ...]
    offcut: int


@dataclass(frozen=True)
class CutOrder:
    """Pieces (nm, one entry a piece), what there is to cut them from, and the saw. Raises BadInputError."""

    pieces: tuple[int, ...]
    stocks: tuple[Stock, ...]
    saw: Saw = Saw()

    def __post_init__(self) -> None:
        check_order(self.pieces, self.stocks, self.saw)

    @cached_property
    def lengths(self) -> tuple[int, ...]:
        """The distinct lengths, longest first, nm."""
        return tuple(sorted(set(self.pieces), reverse=True))

    @cached_property
    def demand(self) -> tuple[int, ...]:
        """How many of each of `lengths`."""
        counted = Counter(self.pieces)
        return tuple(counted[length] for length in self.lengths)

    @cached_property
    def takes(self) -> tuple[int, ...]:
        """What each of `lengths` takes with one kerf, nm."""
        return tuple(length + self.saw.kerf for length in self.lengths)

    def room(self, stock: int) -> int:
        """What pieces with one kerf each may take of a bar: n pieces take n-1 kerfs, so one kerf more than is there."""
        return self.stocks[stock].length - self.saw.trim + self.saw.kerf + _ROUNDING

    def fits(self, stock: int, pieces: Sequence[int]) -> bool:
        """Whether a bar gives these pieces."""
        return sum(pieces) + self.saw.kerf * len(pieces) <= self.room(stock)

    def offcut(self, stock: int, pieces: Sequence[int]) -> int:
        """What is left of a bar, nm; a remainder no wider than the kerf is sawdust."""
        left = self.stocks[stock].length - self.saw.trim - sum(pieces) - self.saw.kerf * len(pieces)
        return left if left > _ROUNDING else 0

    @cached_property
    def priced(self) -> bool:
        """Whether cost decides; else the length bought does."""
        return self.stocks[0].price is not None

    @cached_property
    def costs(self) -> tuple[int, ...]:
        """What one bar of each stock counts, in whole numbers without a common factor: its price, or its length."""
        if self.priced:
            digits = max(-int(stock.price.as_tuple().exponent) for stock in self.stocks if stock.price is not None)
            scale = 10 ** max(digits, 0)
            counts = [int(stock.price * scale) for stock in self.stocks if stock.price is not None]
        else:
            counts = [stock.length for stock in self.stocks]
        common = gcd(*counts) or 1
        return tuple(count // common for count in counts)


def check_order(pieces: Sequence[int], stocks: Sequence[Stock], saw: Saw) -> None:
    """Refuse what cannot be cut, with a way out."""
    if not pieces:
        raise BadInputError("no pieces: nothing to cut\n  try: 3x4250mm 2x3000mm")
    if not stocks:
        raise BadInputError("no stock: nothing to cut from\n  try: ", Asked("stock", "6000mm"))
    priced = [stock.price is not None for stock in stocks]
    if any(priced) and not all(priced):
        bare = in_mm(stocks[priced.index(False)].length)
        raise BadInputError(
            Asked("stock"),
            f": {bare:g} mm has no price and others have\n"
            f"  allowed: a price for every stock, or for none\n  try: {bare:g}mm@PRICE, 0 if you have it already",
        )
    longest, piece = max(stock.length for stock in stocks), max(pieces)
    if piece > longest - saw.trim + _ROUNDING:
        trimmed = f" less {in_mm(saw.trim):g} mm of trim" if saw.trim else ""
        raise BadInputError(
            f"a piece of {in_mm(piece):g} mm is longer than any stock (longest: {in_mm(longest):g} mm{trimmed})\n"
            "  try: a longer stock, or a splice: the piece in two, joined by a sleeve"
        )
