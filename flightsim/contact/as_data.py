"""Whether a bay is all data: shapes, laws and models that the compiled engine knows, and no test of a plugin's own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from flightsim.bay.parts import Bay, Part
from flightsim.bay.people import Zone
from flightsim.bay.shapes import Box, ConvexPolygon, HalfSpace, RoundTube
from flightsim.contact.ends import BatchTest
from flightsim.contact.giving import Give
from flightsim.contact.rebound import ReboundLaw, by_facing
from flightsim.contact.touch import ByDistance
from flightsim.flight.aerodynamics import AeroModel, ConstantCoefficients, Naruo2004LowLift, ferguson2022, naruo2004

SHAPES = (Box, ConvexPolygon, HalfSpace, RoundTube)


def bare_law(law: ReboundLaw) -> ReboundLaw:
    """The law itself, without the check that the border puts around it."""
    bare: ReboundLaw = getattr(law, "law", law)
    return bare


def functions_of_bay(bay: Bay, tests: Sequence[BatchTest]) -> Iterable[str]:
    """What of the bay is a function and no data, in words: tests of trajectories, and shapes of a plugin's own."""
    if not all(type(test) is ByDistance for test in tests):
        yield "a plugin tests each trajectory itself"
    things: list[Part | Zone] = [*bay.parts, *bay.zones]
    for thing in things:
        if type(thing.shape) not in SHAPES:
            yield f"'{thing.name}' has a shape of its own, a {type(thing.shape).__name__}"


def functions_of_laws(bay: Bay, laws: Sequence[ReboundLaw]) -> Iterable[str]:
    """Which parts have a law that is a function, in words. laws: one a part."""
    for part, law in zip(bay.parts, laws, strict=True):
        bare = bare_law(law)
        if bare is not by_facing and type(bare) is not Give:
            yield f"'{part.name}' has a law of its own"


def functions_of_air(aero: AeroModel) -> Iterable[str]:
    """Whether drag and lift are a function of the caller's own, in words."""
    if not (aero in (naruo2004, ferguson2022) or isinstance(aero, (Naruo2004LowLift, ConstantCoefficients))):
        yield f"drag and lift are a function, {getattr(aero, '__name__', aero)}"
