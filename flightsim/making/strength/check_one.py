"""One check: what was found, what it is held against, and where that is from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """One thing checked. value, limit: in the unit, None: not known; passes: what would; why: what was worst.

    least: the limit is the least that will do; else the most.
    """

    name: str
    value: float | None
    limit: float | None
    unit: str
    source: str
    ok: bool
    passes: str = ""
    why: str = ""
    least: bool = False

    def as_data(self) -> dict[str, object]:
        """For build.json."""
        return {
            "name": self.name, "value": self.value, "limit": self.limit, "unit": self.unit, "source": self.source,
            "ok": self.ok, "limit_is": "least" if self.least else "most", "passes": self.passes, "why": self.why,
        }  # fmt: skip
