"""Tables of docs/cloth.md: what each step about cloth, harm and people did to every flag, and what screens do.

python tests/support/cloth_shown.py steps 20000
python tests/support/cloth_shown.py screens
python tests/support/cloth_shown.py looser 20000
python tests/support/cloth_shown.py common 100000
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from shipped import AS_FOUND, FOLDER

from flightsim.bay.shapes import block
from flightsim.contact.cloth_ends import LIVELY
from flightsim.contact.fates import Flag
from flightsim.contact.giving import Give
from flightsim.contact.rebound import PartRebound
from flightsim.report.words.common_words import one_in
from flightsim.study.run.adverse import adverse_bays
from flightsim.study.run.bounce_back import with_bounce_back
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.walk import run

COMMON = FOLDER / "common_bay.yaml"
WIDE, WIDE_HEAD = 0.45, 0.30  # m: half of a hitter's box as it was, along the line
KEYS = (
    "person_hit",
    "head_hit",
    "got_out",
    "broke_through",
    "past_edge",
    "struck_through",
    "hit_unprotected",
    "escape",
)
# What is set on the common bay: slack to tight, light to heavy, small to big.
SCREENS = {
    "as it is": (),
    "slack": ("screen_give.pretension=10N/m", "screen_give.cord.stiffness=150N/m"),
    "tight": ("screen_give.pretension=150N/m", "screen_give.cord.stiffness=1000N/m"),
    "light": ("screen_give.areal_mass=250g/m2",),
    "heavy": ("screen_give.areal_mass=600g/m2",),
    "small": (
        "screen.width=3m", "screen.height=2.4m", "screen.from_left_wall=0.95m", "canopy.height=2.42m",
        "side_nets.left.height=2.33m", "side_nets.right.height=2.33m",
    ),
    "big": (  # braces in plan would stand in the walls
        "screen.width=4.7m", "screen.height=2.95m", "screen.from_left_wall=0.1m", "canopy.height=2.97m",
        "frame.clearance=40mm", "frame.braces=[]",
    ),
}  # fmt: skip


def with_laws(bay: OpenBay, **changes: object) -> OpenBay:
    """The bay with these changes of every hung cloth's law."""
    laws = {}
    for name, rebound in bay.rebounds.items():
        law = getattr(rebound.law, "law", rebound.law)
        laws[name] = PartRebound(name, replace(law, **changes)) if isinstance(law, Give) else rebound
    return replace(bay, rebounds=laws)


def rigid(bay: OpenBay) -> OpenBay:
    """The bay with the bounce off a rigid face along all that is soft."""
    return replace(bay, facings={name: replace(face, soft=False) for name, face in bay.facings.items()})


def in_boxes(bay: OpenBay) -> OpenBay:
    """The bay with hitters in boxes as wide as they were."""
    zones = []
    for zone in bay.bay.zones:
        low, high = zone.seen.bounds()
        middle, half = (low[0] + high[0]) / 2.0, WIDE_HEAD if zone.head else WIDE
        if zone.own_spot:
            low[0], high[0] = middle - half, middle + half
        zones.append(replace(zone, shape=block(low, high)))
    return replace(bay, bay=replace(bay.bay, zones=tuple(zones)))


def one_limit(bay: OpenBay) -> OpenBay:
    """The bay with one limit of harm, wherever it is."""
    return replace(bay, scenario=replace(bay.scenario, blunt_harm_energy=bay.scenario.harm_energy))


def steps(bay: OpenBay) -> Iterator[tuple[str, OpenBay]]:
    """One after the other: each is the one before with one thing more."""
    first = one_limit(in_boxes(with_laws(bay, damping=1.0, deep=True)))
    yield "rigid bounce along cloth, no loss, far depth, one limit, boxes", rigid(first)
    yield "1 the law along cloth", first
    yield "3 returns times .58", one_limit(in_boxes(with_laws(bay, deep=True)))
    yield "3 the middle depth and edges", one_limit(in_boxes(bay))
    yield "4 harm by place", in_boxes(bay)
    yield "4 capsules", bay
    yield "beside it: as lively as any", dict(adverse_bays(bay))[LIVELY]


def print_steps(shots: int) -> None:
    """A table a bay."""
    for path in AS_FOUND:
        print(f"\n{path.stem}, {shots:,} shots\n\n| step | {' | '.join(KEYS)} |\n| --- |{' --- |' * len(KEYS)}")
        for words, bay in steps(open_bay(path)):
            total = run(bay, shots).rates.total
            print(f"| {words} | {' | '.join(one_in(total[key].rate) for key in KEYS)} |")


def print_screens() -> None:
    """A table of screens."""
    print(
        "\n| screen | comes back of 70 m/s | sinks at 70 m/s | driver | 7-iron | wedge | past_edge | struck_through |"
    )
    print(f"|{' --- |' * 8}")
    for name, sets in SCREENS.items():
        bay = open_bay(COMMON, sets)
        law = bay.rebounds["screen"].law
        law = getattr(law, "law", law)
        hit = [np.array([each]) for each in (70.0, law.frame.width / 2.0, law.frame.height / 2.0)]
        mass = bay.physics.ball.mass
        back, deep = float(70.0 * law.returned(*hit, mass)[0]), float(law.depth(*hit, mass)[0])
        found = with_bounce_back(bay, run(bay, 20_000))
        lands = " | ".join(f"{one.first_landing.median:.1f} m" for one in found.bounce_back if one.first_landing)
        flags = " | ".join(one_in(found.rates.total[flag.key].rate) for flag in (Flag.PAST_EDGE, Flag.STRUCK_THROUGH))
        print(f"| {name} | {back:.1f} m/s | {deep:.2f} m | {lands} | {flags} |", flush=True)


def print_looser(shots: int) -> None:
    """What a looser and a tighter screen change, with likely cloth and as lively as any."""
    keys = ("head_hit", "comes_back", "past_edge", "struck_through", "escape")
    print(f"\n| screen | cloth | {' | '.join(keys)} |\n|{' --- |' * (2 + len(keys))}")
    for name in ("slack", "as it is", "tight"):
        bay = open_bay(COMMON, SCREENS[name])
        for words, cloth in (("likely", bay), ("as lively as any", dict(adverse_bays(bay))[LIVELY])):
            total = run(cloth, shots).rates.total
            print(f"| {name} | {words} | {' | '.join(one_in(total[key].rate) for key in keys)} |", flush=True)


def print_common(shots: int) -> None:
    """The common bay: bounce-back of all balls that meet the screen, the roof met by clean drives, and every rate."""
    bay = open_bay(COMMON)
    found = with_bounce_back(bay, run(bay, shots), shots)
    for one in found.bounce_back:
        print(one)
    drives = np.array([kind.club == "driver" and kind.strike == "clean" for kind in found.types])[found.shots.type]
    roof = np.array([part.label == "roof" for part in bay.bay.parts] + [False])[found.contacts.part]
    print(f"clean drives {drives.sum():,}, of which meet the roof first {(drives & roof).sum():,}")
    for key, rate in found.rates.total.items():
        print(f"{key}: {one_in(rate.rate)}, {rate.count:,} shots")


if __name__ == "__main__":
    if sys.argv[1] == "steps":
        print_steps(int(sys.argv[2]))
    elif sys.argv[1] == "looser":
        print_looser(int(sys.argv[2]))
    elif sys.argv[1] == "common":
        print_common(int(sys.argv[2]))
    else:
        print_screens()
