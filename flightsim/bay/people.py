"""Where people are: zones that a ball must not cross."""

from __future__ import annotations

from dataclasses import dataclass

from flightsim.bay.shapes import Shape


@dataclass(frozen=True)
class Zone:
    """A piece of where a person is or may be. A ball goes through it: it is counted, not stopped.

    name is unique in the bay ("bench, head"); person gathers the pieces of one person or place ("bench"); head says
    that it is at the height of a head; small that a small child may be there, whom a ball harms anywhere as it harms a
    head. A hitter's own zone counts only after the ball has touched something, and only
    for shots from its tee spot (`own_spot`, "" for no hitter's zone) by its hand (`own_hand`, "right" or "left").
    drawn: what pictures show of it, where that is not its shape.
    """

    name: str
    person: str
    shape: Shape
    owner: str
    head: bool = False
    own_spot: str = ""
    own_hand: str = ""
    small: bool = False
    drawn: Shape | None = None

    @property
    def seen(self) -> Shape:
        """What pictures show of it."""
        return self.drawn or self.shape

    @property
    def delicate(self) -> bool:
        """Whether the limit of harm there is that of an eye."""
        return self.head or self.small
