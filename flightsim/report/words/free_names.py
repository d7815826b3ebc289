"""Names out of any text for files and anchors, each used once."""

from __future__ import annotations

import re


def free_name(text: str, taken: set[str], between: str, otherwise: str) -> str:
    """Small letters and figures of a text, `between` in place of all else, not used yet; remembered as taken.

    otherwise: the name where a text has no such letter.
    """
    plain = re.sub(r"[^a-z0-9]+", between, text.lower()).strip(between) or otherwise
    free, k = plain, 2
    while free in taken:
        free, k = f"{plain}{between}{k}", k + 1
    taken.add(free)
    return free
