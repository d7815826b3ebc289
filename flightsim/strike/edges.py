"""Where the parts of a clubhead meet the ball: the contact normals of the sole's, crown's and toe's edge and the hosel.

All normals `(3, n)` point out of the head, in axes that turn with the face but stay level: x as the face points, y
toward the heel, z up. Each begins with the face's own normal where the face ends, bulge and roll included, so that no
ball jumps from one direction to another as the strike point moves across a border. Only the hosel begins with a jump:
there the ball touches face and hosel at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.strike.vectors import dot

Array = NDArray[np.float64]

SOLE_EDGE_RADIUS = 0.003  # m
TOE_EDGE_RADIUS = 0.005  # m
CROWN_EDGE_RADIUS = 0.008  # m: the one chosen
HOSEL_RADIUS = 0.0067  # m, 6-7 mm (memory)
HOSEL_OFFSET = 0.002  # m, hosel axis ahead of the leading edge
MOST_HOSEL_TURN = np.radians(75.0)  # of the hosel's normal: a hard cap [miss-hits]
STEEPEST_CROWN = np.radians(89.0)
MEAN_EDGE_HEIGHT = 0.003  # m above the mat, irons: judgement
CLEAN_MARGIN = 0.004  # m by which a mean strike clears the height where it would be thin: judgement, for steep lofts
_MOST_SINE = 0.98
_GRAZE = np.radians(80.0)  # between a normal and the head's velocity


def thin_edge(loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """Leading-edge height, m, above which the sole's edge and not the face meets the ball: r - (r + 3 mm) sin L."""
    return np.asarray(ball.radius - (ball.radius + SOLE_EDGE_RADIUS) * np.sin(loft))


def mean_edge(loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """Mean height of the leading edge above the mat's top, m: 3 mm, less for lofts that ask for it (mats give way)."""
    return np.minimum(MEAN_EDGE_HEIGHT, thin_edge(loft, ball) - CLEAN_MARGIN)


def up_from_edge(edge: Array | float, loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """Strike above the sweet spot, m, which the mean edge height meets: the higher the edge, the lower the strike."""
    return np.asarray((mean_edge(loft, ball) - edge) / np.cos(loft))


def edge_from_up(up: Array | float, loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """Height of the leading edge, m, that meets the ball so far above the sweet spot."""
    return np.asarray(mean_edge(loft, ball) - up * np.cos(loft))


def hosel_reach(loft: Array | float, ball: Ball = LEGAL_BALL) -> Array:
    """s_max, m: toe-side offset of the ball from the hosel's axis at which ball, face and hosel all touch."""
    r = ball.radius
    ahead = HOSEL_RADIUS - HOSEL_OFFSET + r * (1.0 - np.sin(loft)) / np.cos(loft)
    return np.asarray(np.sqrt(np.maximum((r + HOSEL_RADIUS) ** 2 - ahead**2, 0.0)))


def sole_normal(edge: Array, loft: Array, face_normal: Array, ball: Ball) -> Array:
    """Sole's edge at height `edge`, m, above the mat: elevation asin((r - h)/(r + 3 mm)), never above the face's own.

    face_normal: where the face ends. A face with roll ends at less than its loft: the sine is scaled to begin there.
    """
    own = np.sin(loft)
    sine = np.minimum((ball.radius - edge) / (ball.radius + SOLE_EDGE_RADIUS), own)
    ends = np.maximum(face_normal[2], 0.0) / own
    return _raised(face_normal, np.clip(np.where(sine > 0.0, sine * ends, sine), -_MOST_SINE, 1.0))


def low_normal(below: Array, face_normal: Array, ball: Ball) -> Array:
    """Sole's edge of a teed ball's club that is `below`, m, the place where the edge begins to meet the ball."""
    sine = face_normal[2] - below / (ball.radius + SOLE_EDGE_RADIUS)
    return _raised(face_normal, np.clip(sine, -_MOST_SINE, 1.0))


def crown_normal(above: Array, face_normal: Array, ball: Ball) -> Array:
    """Crown's edge, `above`, m, the place where the face ends: rises from there toward 90 deg over its radius."""
    rise = np.arcsin(np.minimum(above / (ball.radius + CROWN_EDGE_RADIUS), 1.0))
    return _raised(face_normal, np.sin(np.minimum(np.arcsin(face_normal[2]) + rise, STEEPEST_CROWN)))


def toe_normal(past: Array, face_normal: Array, ball: Ball) -> Array:
    """Toe's edge, `past`, m, the place where the face ends: azimuth asin(s/(r + 5 mm)) toward the toe's side."""
    sine = np.clip(past / (ball.radius + TOE_EDGE_RADIUS), 0.0, _MOST_SINE)
    cosine = np.sqrt(1.0 - sine**2)
    x, y, z = face_normal
    return np.stack([cosine * x + sine * y, cosine * y - sine * x, z])


def hosel_normal(past: Array, loft: Array, lie: float, ball: Ball) -> Array:
    """Hosel, `past`, m, its threshold: psi = asin(s/(r + Rh)), n = (cos psi, -sin psi sin lie, sin psi cos lie).

    s, the ball's offset from the hosel's axis toward the toe, is s_max at the threshold and falls from there: the
    threshold places the hosel, since its true place gives more shanks than golfers report.
    """
    most = np.sin(MOST_HOSEL_TURN)
    sine = np.clip((hosel_reach(loft, ball) - past) / (ball.radius + HOSEL_RADIUS), -most, most)
    return np.stack([np.sqrt(1.0 - sine**2), -sine * np.sin(lie), sine * np.cos(lie)])


def _raised(face_normal: Array, sine: Array) -> Array:
    """A normal of this sine of its elevation, its azimuth that of the face's normal."""
    x, y, _ = face_normal
    level = np.sqrt(1.0 - sine**2) / np.maximum(np.sqrt(x * x + y * y), 1.0e-300)
    return np.stack([level * x, level * y, sine])


def grazing(normal: Array, velocity: Array) -> Array:
    """Normals `(3, n)`, those further than 80 deg from the head's velocity turned to it: both in one set of axes.

    A swing that would pass the ball altogether is taken to graze it, so that every swing of the model is a shot.
    """
    speed = np.sqrt(dot(velocity, velocity))
    cosine = dot(normal, velocity) / speed
    if (cosine >= np.cos(_GRAZE)).all():
        return normal
    along = velocity / speed
    across = normal - cosine * along
    across /= np.maximum(np.sqrt(dot(across, across)), 1.0e-300)
    return np.where(cosine < np.cos(_GRAZE), np.cos(_GRAZE) * along + np.sin(_GRAZE) * across, normal)
