"""Guards that hang in one place: a ball meets one of them, and the other stops nothing of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.kept_answers import kept_by_value
from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import Shape

Array = NDArray[np.float64]

NEAR = 0.05  # m, a little more than a ball: sheets this near are struck as one (judgement)
MOST_OF_IT = 0.5  # of the smaller one's places that lie in the other (judgement: covers overlap by less)
NARROW = 0.3  # m: narrower strips are flaps and covers, which overlap by design
_SHARES = np.linspace(0.05, 0.95, 10)


def in_one_place(parts: Sequence[Part]) -> Iterator[tuple[Part, Part]]:
    """Pairs of guards, of different names to people, that lie within 5 cm over half of the smaller one and more."""
    guards = [part for part in parts if part.role is Role.GUARD and min(_sides(part.shape), default=0.0) >= NARROW]
    for one, other in combinations(guards, 2):
        if one.label != other.label and _in_one_place(one.shape, other.shape):
            yield one, other


@kept_by_value
def _in_one_place(one: Shape, other: Shape) -> bool:
    return _near(one, other) and max(_share(one, other), _share(other, one)) >= MOST_OF_IT


@kept_by_value
def _sides(shape: Shape) -> tuple[float, ...]:
    """The two lengths of a sheet, or of the broad face of what has several; none for what is not four-cornered."""
    face = _broad_face(shape)
    return () if face is None else tuple(float(np.linalg.norm(face[k] - face[0])) for k in (1, 3))


def _broad_face(shape: Shape) -> Array | None:
    """The largest four-cornered face `(4, 3)`, m."""
    faces = [outline for outline in shape.outlines() if len(outline) == 4]
    areas = [float(np.linalg.norm(np.cross(face[1] - face[0], face[3] - face[0]))) for face in faces]
    return faces[int(np.argmax(areas))] if faces else None


def _near(one: Shape, other: Shape) -> bool:
    (low_a, high_a), (low_b, high_b) = one.bounds(), other.bounds()
    return bool((low_a <= high_b + NEAR).all() and (high_a >= low_b - NEAR).all())


def _share(of: Shape, other: Shape) -> float:
    """Share of the places on the broad face of one that lie within reach of the other."""
    face = _broad_face(of)
    if face is None:
        return 0.0
    a, b = (each.ravel() for each in np.meshgrid(_SHARES, _SHARES))
    places = face[0][:, None] + (face[1] - face[0])[:, None] * a + (face[3] - face[0])[:, None] * b
    return float((np.abs(other.distance(places)[0]) <= NEAR).mean())
