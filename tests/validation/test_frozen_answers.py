"""Touches and flags that the batch engine gave, kept as data: every engine has to give them again.

Source: tests/validation/frozen, written by tests/support/frozen.py from the batch engine, which agreed with the scipy
referee (test_engine_against_referee). Tolerances as in test_engine_parity: .02 mm at the first touch, .1 mm at the
second, 1 mm at the third to fifth, 1e-3 m/s of worst speeds. What cloth and people do was written by the swift referee
(tests/support/frozen_cloth.py), which shares no code with the engine. Only what a start moved by a micrometre turns may
differ, and few balls may.
"""

from __future__ import annotations

from dataclasses import replace

import frozen_cloth
import numpy as np
import pytest
from engine_cases import Case
from engine_parity import MOST_EXCUSED, Told, differences, earliest, turned_by_a_hair
from frozen import FLAGS, FOLDER, case_of, fates_of, read, told_of

from flightsim.contact.fates import Flag
from flightsim.engine.follow import follow
from flightsim.flight.launches import Launches

FILES = sorted(FOLDER.glob("*.npz"))
# Since decision 47: one rolls down a steep face at its fifth touch, one rests in a crease and was lost before.
ON_PURPOSE = {("random_bays 10", 34), ("village_hall", 1139)}


def of_before(now: Told, data: dict[str, np.ndarray]) -> Told:
    """What was told then; what was not kept is as it is now."""
    part, point, opening = told_of(data)
    first = replace(now.first, part=part[0], point=np.where(part[0] >= 0, point[0], now.first.point), opening=opening)
    return replace(now, first=first, fates=fates_of(data, now.fates), part=part, point=point)


def compared(name: str, data: dict[str, np.ndarray], engine, case: Case | None = None) -> tuple[int, int, list[str]]:
    """Balls, how many a hair turned, and a line for each that differs otherwise."""
    case = case or case_of(name, data)
    launches, own = case.draw(0, data["part"].shape[1])
    answer = Told.by(engine, case, launches, own)
    found = differences(of_before(answer, data), answer)
    differing = np.flatnonzero(found.any(axis=0))
    if differing.size == 0:
        return len(launches), 0, []
    hair = turned_by_a_hair(engine, case, launches.take(differing), own[:, differing], answer.take(differing))
    bare = differing[hair > earliest(found[:, differing])]
    bare = [k for k in bare if (name, k) not in ON_PURPOSE]
    lines = [f"{name}, ball {k}: {data['part'][:, k].tolist()}, not {answer.part[:, k].tolist()}" for k in bare]
    return len(launches), differing.size - len(bare), lines


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_engine_gives_the_touches_and_flags_that_were_kept(path):
    results = [compared(name, data, follow) for name, data in read(path)]
    balls, excused = (sum(column) for column in list(zip(*results, strict=True))[:2])
    assert [line for _, _, lines in results for line in lines] == []
    assert excused <= MOST_EXCUSED * balls + 1


def test_in_bays_with_cloth_people_and_wind_the_engine_gives_what_the_swift_referee_did():
    results = [compared(f"bay {seed}", data, follow, frozen_cloth.case_of(seed, data)) for seed, data in kept_cloth()]
    balls, excused = (sum(column) for column in list(zip(*results, strict=True))[:2])
    assert [line for _, _, lines in results for line in lines] == []
    assert excused <= MOST_EXCUSED * balls + 1


def kept_cloth():
    return frozen_cloth.read().items()


def test_among_them_every_flag_of_cloth_and_people_is_told_and_a_wind_blows():
    bays = list(kept_cloth())
    flagged = {flag.key: sum(int(np.isfinite(data[f"{flag.key}.worst"]).sum()) for _, data in bays) for flag in Flag}
    assert min(flagged[key] for key in ("person_hit", "got_out", "broke_through", "past_edge")) >= 3
    assert any(any(frozen_cloth.case_of(seed, data).physics.wind) for seed, data in bays)
    assert frozen_cloth.FILE.stat().st_size < 200_000


def test_every_demo_has_its_file_with_two_thousand_balls_and_all_touches_are_among_them():
    assert [path.stem for path in FILES] == ["lean_to", "random_bays", "single_garage", "village_hall"]
    for path in FILES:
        parts = np.concatenate([data["part"] for _, data in read(path)], axis=1)
        assert parts.shape[1] >= 700
        assert ((parts >= 0).sum(axis=1) > 150).all()
        flagged = {key: sum(int(np.isfinite(data[f"{key}.worst"]).sum()) for _, data in read(path)) for key in FLAGS}
        assert min(flagged["broke_through"], flagged["hit_unprotected"]) >= 10
    assert sum(path.stat().st_size for path in FILES) < 400_000


def test_balls_that_start_a_tenth_of_a_millimetre_off_are_told_from_those_that_were_kept():
    path = next(path for path in FILES if path.stem == "lean_to")
    ((name, data),) = read(path)
    case = case_of(name, data)
    launches, own = case.draw(0, 200)
    moved = Launches(launches.start + 1e-4, launches.velocity, launches.spin)
    answer = Told.by(follow, case, moved, own)
    kept_of_200 = {key: value[..., :200] if key != "bay" else value for key, value in data.items()}
    assert differences(of_before(answer, kept_of_200), answer)[:2].any(axis=0).all()
