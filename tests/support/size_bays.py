"""A bare hall with a screen and a canopy, quick to open and to fly: what passes the canopy hits the hall hard."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from flightsim.contact.fates import Flag
from flightsim.study.run.require import Requirement, parse_requirements
from flightsim.study.size.builds import Builds
from flightsim.study.size.least_size import Search
from flightsim.study.size.size_look import Look
from flightsim.study.size.vary import parse_varies

# harm_speed: so that balls need not be followed until they are slow.
HALL = """name: Bare hall
units: metric
harm_speed: 20 m/s
room: {length: 20 m, width: 16 m, roof: {kind: flat, height: 7 m, facing: timber}, wall_facing: plywood}
tee: {from_end_wall: 3.3 m, from_left_wall: 8 m}
screen: {width: 5 m, height: 2.5 m, gap_behind: 300 mm, facing: foam on plywood}
canopy: {depth: 1 m, height: 2.5 m, side_overhang: 500 mm, underside: foam on plywood}
"""
LOFTED = """launches:
  types:
    - club: iron
      strike: clean
      share: 1
      ball_speed: 35 m/s
      elevation: {kind: normal, mean: 35 deg, sd: 8 deg}
      azimuth: 0 deg
      spin_rate: 5000 rpm
"""


def hall(folder: Path, shots: str = LOFTED, text: str = HALL) -> str:
    """Write the scenario; its path."""
    path = folder / "hall.yaml"
    path.write_text(text + shots)
    return str(path)


def target(text: str = "escape < 1 in 20") -> Requirement:
    return parse_requirements([text])[0]


def search(file: str, *varies: str, wanted: str = "escape < 1 in 20", step: str | None = None, **more) -> Search:
    """A search of this file."""
    return Search(Builds(file, (), parse_varies(varies, step)), target(wanted), **more)


def made_up(rate):
    """A look_at that flies nothing: a sample's shots do it in order of number, as often as rate(sizes) says."""

    def look_at(builds, sizes, sample, home, requirement, keeps, alpha):
        draw = np.random.default_rng(len(sample)).random(len(sample))  # the same shots for every size
        hits = draw < rate(sizes)
        upper = sample.upper(hits, alpha)
        met = all(requirement.met_by(bound) for bound in upper)
        return Look(sizes, sample.rates(hits), sample.lower(hits, alpha), upper, int(hits.sum()), met, "", "",
                    (0,) * (len(Flag) - 1) + (int(hits.sum()),), hits)  # fmt: skip

    return look_at
