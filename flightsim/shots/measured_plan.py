"""The plan of a scenario's `measured` shots: each row once, or draws from a spread around the rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, ScenarioError, Severity
from flightsim.shots.measured_rows import ALL, MOST_CLUBS, MeasuredRows, read_rows
from flightsim.shots.measured_section import DEFAULT_NU, Measured
from flightsim.shots.measured_spread import DIMS, LEAST_ROWS, CannotFitError, Spread, fit_kernel, fit_student_t
from flightsim.shots.shot_table import ShotTable, ShotType, kinds_of, weights_of
from flightsim.shots.typed_plan import Draw, Spot

Array = NDArray[np.float64]
STRIKE = "measured"  # in place of a kind of strike: a table does not say how the ball was struck


@dataclass(frozen=True)
class MeasuredPlan:
    """How measured shots are flown; the same questions as a ShotPlan's.

    types: one for each group of rows and tee spot, groups outermost; a group is a club, by one hand; group `(rows,)`,
    index into them; spreads: of each group, none where each row is flown once; height: of the ball centre, m; side: -1
    where the rows are mirrored; warnings: what is odd but flies.
    """

    types: tuple[ShotType, ...]
    rows: MeasuredRows
    group: NDArray[np.intp]
    spreads: tuple[Spread, ...]
    spots: tuple[Spot, ...]
    height: float
    side: float
    file: str  # as the scenario names it
    warnings: tuple[Problem, ...]
    sampled: bool = True  # the rows themselves are a sample, of what the player does

    @property
    def grid_size(self) -> int:
        """Shots of rows that are flown as they are, from all spots: never repeated, for a repeat proves nothing."""
        return 0 if self.spreads else len(self.rows) * len(self.spots)

    def weights(self, n: int) -> Array:
        """Share of each of n shots `(n,)`: its type's share over the type's number of shots. They add to 1."""
        if self.spreads:
            return weights_of(self.types, n)
        kind = self._kinds(np.arange(n))
        weight = np.array([shot_type.share for shot_type in self.types])[kind] / np.bincount(kind)[kind]
        return np.asarray(weight / weight.sum())

    def draw(self, draw: Draw, first: int, count: int) -> ShotTable:
        """Shots first..first+count-1: row by row, each from every spot; or drawn, of the types of kinds_of."""
        shot = np.arange(first, first + count)
        if not self.spreads:
            row = shot // len(self.spots)
            return self._table(self._kinds(shot), self.rows.numbers[:, row], self.rows.spin_along[row])
        kind, u = kinds_of(self.types, shot), draw("measured", DIMS)
        numbers = np.empty((5, count))
        for k in range(len(self.types)):
            of_type = np.flatnonzero(kind == k)
            numbers[:, of_type] = self.spreads[k // len(self.spots)].draw(u[:, of_type])
        return self._table(kind, numbers, np.zeros(count))

    def _kinds(self, shot: NDArray[np.intp]) -> NDArray[np.intp]:
        """Types `(n,)` of shots that are rows."""
        places = len(self.spots)
        return np.asarray(self.group[shot // places] * places + shot % places)

    def _table(self, kind: NDArray[np.intp], numbers: Array, along: Array) -> ShotTable:
        speed, elevation, azimuth, back, side = numbers
        spots = np.array([spot[2:] for spot in self.spots])[kind % len(self.spots)].T
        start = np.stack([spots[0], spots[1], np.full(len(kind), self.height)])
        rate, tilt = np.hypot(back, side), np.arctan2(side, back)
        return ShotTable(kind, start, speed, elevation, self.side * azimuth, rate, self.side * tilt, self.side * along)

    def provenance(self) -> dict[str, Any]:
        """Where the shots come from: the table, its hash, what was left out, and what was fitted."""
        rows = self.rows
        hands = {False: "right", True: "left"} if rows.left.any() and not rows.left.all() else {}
        clubs = []
        for k in range(int(self.group.max()) + 1):
            group_rows = np.flatnonzero(self.group == k)
            named = {"club": rows.clubs[rows.club[group_rows[0]]], "rows": int(group_rows.size)}
            by = {"hand": hands[bool(rows.left[group_rows[0]])]} if hands else {}
            clubs.append({**named, **by, **(self.spreads[k].facts() if self.spreads else {})})
        return {
            "file": self.file,
            "sha256": rows.sha256,
            "rows": rows.total,
            "flown": len(rows),
            "mirrored": self.side < 0.0,
            "clubs": clubs,
            "left_out": [asdict(cell) for cell in rows.bad],
            "set_aside": [asdict(cell) for cell in rows.aside],
        }


def plan_measured(
    scenario: Scenario, measured: Measured, spots: Sequence[Spot], ground_height: float, ball_radius: float
) -> MeasuredPlan:
    """The plan of a `measured` section. spots: (name, share, x, y) of each tee spot, m; shares add to 1.

    Raises ScenarioError with what is wrong with the table, or with what is asked of it.
    """
    rows = read_rows(scenario, measured)
    if measured.columns.hand is not None and not measured.as_hit:
        rows = rows.flown_by(left=measured.hand == "left")
    shares = _shares(scenario, measured, rows)
    groups, group = np.unique(np.stack([rows.club, rows.left]), axis=1, return_inverse=True)
    group = np.asarray(group).ravel()
    types = []
    for k, (club, left) in enumerate(groups.T):
        hand = "left" if left else "right" if measured.as_hit else measured.hand
        both = bool((groups[0] == club).sum() > 1)
        share = shares[club] * float((group == k).sum() / (rows.club == club).sum())
        for spot in spots:
            label = _label(rows.clubs[club], hand if both else "", spot[0], len(spots))
            types.append(ShotType(label, rows.clubs[club], STRIKE, spot[0], share * spot[1], hand))
    spreads = _spreads(scenario, measured, rows, group)
    names = [rows.clubs[club] for club in groups[0]]
    warnings = (*rows.warnings, *_of_spread(scenario, measured, rows, names, spreads))
    height = ground_height + ball_radius + float(measured.tee_height)
    side = -1.0 if measured.mirrored else 1.0
    return MeasuredPlan(tuple(types), rows, group, spreads, tuple(spots), height, side, measured.file, warnings)


def _label(club: str, hand: str, spot: str, spots: int) -> str:
    label = STRIKE if club == ALL else f"{club} {STRIKE}"
    label = f"{label}, {hand}-handed" if hand else label
    return f"{label} from {spot}" if spots > 1 else label


def _shares(scenario: Scenario, measured: Measured, rows: MeasuredRows) -> list[float]:
    """Share of each club: as the scenario says, or as many as the rows are."""
    if len(rows.clubs) > MOST_CLUBS:
        found = f"the column has {len(rows.clubs):,} different words"
        allowed = f"up to {MOST_CLUBS} clubs"
        raise ScenarioError(
            [scenario.problem("measured.columns.club.column", found, allowed, "the column of the club")]
        )
    if measured.shares is None:
        return [float((rows.club == k).sum()) / len(rows) for k in range(len(rows.clubs))]
    share_of = {" ".join(club.split()).casefold(): share for club, share in measured.shares.items()}
    there = {club.casefold(): club for club in rows.clubs}
    odd = [club for club in measured.shares if " ".join(club.split()).casefold() not in there]
    none = [club for key, club in there.items() if key not in share_of]
    known = ", ".join(rows.clubs)
    problems = [scenario.problem(f"measured.shares.{club}", f"no row to fly is of {club!r}", known) for club in odd]
    if none:
        words = f"no share for {', '.join(none)}"
        problems.append(scenario.problem("measured.shares", words, f"a share for each of {known}", f"{none[0]}: 0.1"))
    if problems:
        raise ScenarioError(problems)
    return [share_of[key] for key in there]


def _spreads(scenario: Scenario, measured: Measured, rows: MeasuredRows, group: NDArray[np.intp]) -> tuple[Spread, ...]:
    """The spread of each group of rows; none where they are flown as they are."""
    if measured.spread == "none":
        return ()
    least, spreads, problems = LEAST_ROWS[measured.spread], [], []
    for k in range(int(group.max()) + 1):
        points = rows.numbers[:, group == k]
        club = rows.clubs[rows.club[group == k][0]]
        try:
            if points.shape[1] < least:
                raise CannotFitError(f"it has {points.shape[1]} rows; at least {least} are due")
            spreads.append(_fitted(measured, points))
        except CannotFitError as error:
            found = f"no spread can be made for {club}: {error}"
            allowed = f"{least} rows or more of each club, that differ"
            problems.append(scenario.problem("measured.spread", found, allowed, "spread: none"))
    if problems:
        raise ScenarioError(problems)
    return tuple(spreads)


def _fitted(measured: Measured, points: Array) -> Spread:
    if measured.spread == "kernel":
        return fit_kernel(points, measured.bandwidth)
    return fit_student_t(points, DEFAULT_NU if measured.nu is None else measured.nu)


def _of_spread(
    scenario: Scenario, measured: Measured, rows: MeasuredRows, names: Sequence[str], spreads: Sequence[Spread]
) -> list[Problem]:
    """What the bounds of drawn shots do not cover. names: of the groups of rows."""
    if not spreads:
        return []
    fits = [
        ", ".join(f"{key} {value:.3g}" for key, value in spread.facts().items() if key != "spread")
        for spread in spreads
    ]
    by_club = "; ".join(f"{club}: {fit}" for club, fit in zip(names, fits, strict=True))
    fitted = fits[0] if len(set(fits)) == 1 else by_club
    words = (
        f"the shots are drawn from a spread ({measured.spread}, {fitted}) around {len(rows):,} measured shots: the "
        "bounds cover the luck of the draw only, not how well so few shots show what the player does. spread: none "
        "flies the measured shots themselves, and bounds what they can show"
    )
    return [scenario.problem("measured.spread", words, severity=Severity.WARNING)]
