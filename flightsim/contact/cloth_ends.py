"""Adverse cloth: the ends of what is not known of a cloth, under which the same shots are flown again.

A bay is judged with likely cloth. Beside it stands the worst of these ends (docs/decisions/0019).
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from flightsim.cloth.closed_form import LIKELY_RETURN, LIVELY_RETURN
from flightsim.contact.facings import Facing

LIVELY, DEEP, SOFT_CORDS, TOGETHER = "lively", "deep", "soft_cords", "together"
END_WORDS = {
    LIVELY: "if the cloth is as lively as any",
    DEEP: "if the cloth sinks as deep as any",
    SOFT_CORDS: "if the cords are as soft as any",
    TOGETHER: "if it is lively, deep and softly corded at once",
}
SOFTEST_CORD = 93.0  # N/m: the softest of five cords of one packet [cords]; taken where nothing is said of the cords
CORDS_SCATTER = sqrt(344.0 / 93.0)  # about the middle of these five: a cord of which more is said may be so much softer


def lively_facing(facing: Facing) -> Facing:
    """The face of a soft part as lively as any: it returns more by as much as hung cloth does, and drags less along it.

    A face that is not soft is as it was.
    """
    if not facing.soft:
        return facing
    more = LIVELY_RETURN / LIKELY_RETURN
    own, fixed = (None if e is None else min(1.0, more * e) for e in (facing.own, facing.fixed))
    table = tuple((speed, min(1.0, more * e)) for speed, e in facing.table)
    return replace(facing, own=own, fixed=fixed, table=table, lively=True)
