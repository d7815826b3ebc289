"""What the search for contacts knows of a batch of arcs before it looks at any part."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.arcs import Flights, horner

Array = NDArray[np.float64]

TIE = 1.0e-6  # m of path: touches closer than this are one, and go to the part whose name comes first
PIECES = 4  # boxes an arc: more hug it closer and cost more
PIECE_STARTS = np.arange(PIECES)[:, None] / PIECES


class ArcBatch:
    """Flights with the bounds that let most parts be passed over.

    radius: of the ball, m. until `(n,)`: the tau after which a touch no longer counts, since an earlier one is
    known; tests need not look beyond it, and the core moves it forward between tests. Everything here is a true
    bound over the whole arc, from its polynomial, not a sample of it: a part that the boxes do not meet cannot
    be touched.
    """

    def __init__(
        self, flights: Flights, radius: float, ignored: Mapping[str, NDArray[np.bool_]] = MappingProxyType({})
    ) -> None:
        """Take the arcs as they are. ignored: balls `(n,)` for which the part of this name is not there."""
        self.flights = flights
        self.ignored = ignored
        self.radius = radius
        self.until = np.ones(len(flights))

    def again(self) -> ArcBatch:
        """The same arcs for another search: what was worked out of them is kept, what a search moves is its own."""
        other = ArcBatch(self.flights, self.radius, self.ignored)
        low, high = self.whole_boxes
        vars(other).update(vars(self), until=self.until.copy(), whole_boxes=(low.copy(), high.copy()))
        return other

    def no_later_than(self, balls: NDArray[np.intp], tau: Array) -> None:
        """These balls, each named once, touched something at tau: what comes more than a tie later does not matter."""
        if balls.size == 0:
            return
        sooner = tau + TIE / self.speed[balls]
        shorter = sooner < self.until[balls]
        balls = balls[shorter]
        self.until[balls] = sooner[shorter]
        self._shorten_boxes(balls)

    def heeded(self, part: str, balls: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Which of these balls `(k,)` the part of this name is there for."""
        ignored = self.ignored.get(part)
        return np.ones(balls.size, dtype=bool) if ignored is None else ~ignored[balls]

    def _shorten_boxes(self, balls: NDArray[np.intp]) -> None:
        """Draw in the boxes of whole arcs to what still matters of them."""
        path, until = self.flights.path.take(balls, axis=2), self.until[balls]
        start, end = path[0], horner(path, until)
        # A curve strays from its chord by at most bend h^2/8.
        margin = self.radius + self.bend_bounds.take(balls, axis=1) * (until * until / 8.0)
        low, high = self.whole_boxes
        low[:, balls] = np.minimum(start, end) - margin
        high[:, balls] = np.maximum(start, end) + margin

    def __len__(self) -> int:
        return len(self.flights)

    @cached_property
    def bend_bounds(self) -> Array:
        """Largest second derivative of position in tau along each axis, `(3, n)`, m."""
        path = self.flights.path
        bound = np.zeros(path.shape[1:])
        for order in range(2, len(path)):  # no BLAS product: it rounds a ball otherwise in another batch
            bound += order * (order - 1.0) * np.abs(path[order])
        return bound

    @cached_property
    def bend(self) -> Array:
        """Largest length of the second derivative of position in tau, `(n,)`, m."""
        return np.asarray(np.sqrt((self.bend_bounds**2).sum(axis=0)))

    @cached_property
    def speed(self) -> Array:
        """Largest length of the first derivative of position in tau, `(n,)`, m."""
        first = self.flights.path[1]
        return np.asarray(np.sqrt((first * first).sum(axis=0)) + self.bend)

    @property
    def last_point(self) -> Array:
        """Where the ball is when the arc stops to matter, `(3, n)`, m."""
        return self.flights.position(self.until)

    @cached_property
    def boxes(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box of each piece of the arc swept by the ball, `(3, PIECES, n)`, m."""
        path = self.flights.path
        powers = (np.arange(PIECES + 1) / PIECES)[:, None] ** np.arange(path.shape[0])
        knots = np.matmul(powers, path.transpose(1, 0, 2))
        # A curve strays from its chord by at most bend h^2/8.
        margin = (self.radius + self.bend_bounds / (8.0 * PIECES**2))[:, None]
        return (
            np.minimum(knots[:, :-1], knots[:, 1:]) - margin,
            np.maximum(knots[:, :-1], knots[:, 1:]) + margin,
        )

    @cached_property
    def whole_boxes(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box of the whole swept arc, `(3, n)`, m."""
        low, high = self.boxes
        return low.min(axis=1), high.max(axis=1)

    def near(self, lower: Array, upper: Array) -> tuple[NDArray[np.intp], Array]:
        """Balls whose swept arc may meet the box lower..upper `(3,)`, and the tau before which they cannot."""
        whole_low, whole_high = self.whole_boxes
        # The axis along which the part is thinnest first: it leaves the fewest balls to look at further.
        first, *others = np.argsort(upper - lower)
        balls = np.flatnonzero((whole_low[first] <= upper[first]) & (whole_high[first] >= lower[first]))
        for axis in others:
            meets = whole_low[axis].take(balls) <= upper[axis]
            meets &= whole_high[axis].take(balls) >= lower[axis]
            balls = balls[meets]
        low, high = self.boxes
        pieces = self.until[balls] >= PIECE_STARTS
        for axis in range(3):
            pieces &= low[axis].take(balls, axis=1) <= upper[axis]
            pieces &= high[axis].take(balls, axis=1) >= lower[axis]
        some = pieces.any(axis=0)
        return balls[some], pieces[:, some].argmax(axis=0) / PIECES
