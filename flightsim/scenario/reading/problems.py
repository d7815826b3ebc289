"""Problems in a scenario, each with its place and a way out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from flightsim.errors import BadInputError
from flightsim.scenario.reading.text import cut

LONGEST, LONGEST_KEY = 2000, 200  # characters that are repeated of what was given


class Severity(StrEnum):
    """How bad a problem is."""

    ERROR = "error"  # no run
    WARNING = "warning"  # the run goes on; the report shows it


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong.

    file and line (1-based, None where no line can be named), key as a dotted path (`canopy.depth`), what was
    found, what is allowed, and what to write instead. urgent: above 0 it is told before all
    others, the most urgent first: somebody may be hurt by it before a ball flies.
    """

    file: str
    line: int | None
    key: str
    found: str
    allowed: str
    fix: str = ""
    severity: Severity = Severity.ERROR
    urgent: float = 0.0

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        found = cut(self.found, LONGEST)
        words = [f"{place}: {cut(self.key, LONGEST_KEY)}: {found}" if self.key else f"{place}: {found}"]
        if self.allowed:
            words.append(f"  allowed: {cut(self.allowed, LONGEST)}")
        if self.fix:
            words.append(f"  try: {cut(self.fix, LONGEST)}")
        return "\n".join(words)


def place(file: str, lines: Mapping[str, int], origins: Mapping[str, str], key: str) -> tuple[str, int | None]:
    """File and line of a dotted path, or the `--set` that wrote it; failing that, of what is around it."""
    while key:
        if key in origins:
            return origins[key], None
        if key in lines:
            return file, lines[key]
        key = key.rpartition(".")[0]
    return file, None


class ScenarioError(BadInputError):
    """The scenario cannot be used. `problems` holds every error found, not only the first."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Keep the problems in file order."""
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
