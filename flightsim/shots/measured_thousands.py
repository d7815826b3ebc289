"""Spins written with a sign between thousands: `2.840` in a table is more likely 2840 rpm than 2.84.

No column's middle tells it where only some cells are written so, and no other unit explains it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

ALWAYS = ("spin_rate", "backspin")  # no struck ball has so little of these; a sidespin may well be 1.200 rpm
SOMETIMES = ("sidespin", "spin_along")
_WORDS = {".": "point", ",": "comma"}


def thousands(name: str, cells: Sequence[str], decimal: str, most: float) -> dict[int, str]:
    """Which of a column's cells may have a decimal sign between thousands, and why, by place.

    name: of the number, ours; most: the greatest number that the column can hold, in its unit. Cells have two digits
    or one, the sign, and three more. A sidespin is doubted only where every cell of its column could be a whole number
    that is written so.
    """
    if name not in ALWAYS + SOMETIMES:
        return {}
    sign = re.escape(decimal)
    written = re.compile(rf"[+-]?[1-9][0-9]?{sign}[0-9]{{3}}")
    found = {k: plain for k, cell in enumerate(cells) if written.fullmatch(plain := _plain(cell))}
    found = {k: plain for k, plain in found.items() if abs(_whole(plain, decimal)) <= most}
    if name in SOMETIMES:
        small = re.compile(r"[+-]?[0-9]{1,3}")
        if not all(k in found or small.fullmatch(_plain(cell)) for k, cell in enumerate(cells) if cell.strip()):
            return {}
    return {k: _reason(plain, decimal) for k, plain in found.items()}


def _plain(cell: str) -> str:
    return cell.strip().replace("−", "-")


def _whole(plain: str, decimal: str) -> int:
    return int(plain.replace(decimal, ""))


def _reason(plain: str, decimal: str) -> str:
    whole = _whole(plain, decimal)
    return f"may be {whole} rpm with a {_WORDS[decimal]} between thousands: write {whole}"
