"""A second referee that is quick: the same rules as tests/support/referee.py, compiled, some thousand balls a second.

It shares no code with flightsim. Its methods are not the engine's: Runge-Kutta steps and a cubic between them, not one
polynomial an arc; looks and a valley's floor, not steps to bounds. It is held to the first referee by a test, and is
for bays by the thousand.
"""

from __future__ import annotations

import numpy as np
from referee_cloth import ClothOf
from scipy_rebounds import numbers_of, plate
from swift_account import (
    AT_HEIGHT,
    BEHIND,
    CAME_FROM,
    FACTS,
    FAILED,
    KEPT,
    L_AFTER,
    L_FROM,
    L_FROM_TIME,
    L_NORMAL,
    L_PART,
    L_POINT,
    L_SPIN,
    L_SPIN_AFTER,
    L_TIME,
    L_V,
    LAST,
    LEFT,
    LOG,
    MARKS,
    RESTED,
    TOUCHES,
)
from swift_faces import (
    BROKEN,
    CLOTH,
    CLOTH_AT,
    CODES,
    DAMAGE,
    FIXED,
    FOAM,
    FRICTION,
    GROUP,
    GUARD,
    HOLD,
    LIVELY,
    MODE,
    NAME_RANK,
    NUMS,
    OWN,
    OWN_SPOT,
    RANK,
    ROLE,
    ROLLING,
    SOFT,
    TABLE,
    TABLE_AT,
    TABLE_COUNT,
    TANGENTIAL,
    TURF,
    VALUE,
    ZONE_HARM,
)  # fmt: skip
from swift_leg import ROWS
from swift_motion import MODELS, SIZE, WORLD
from swift_shapes import shape_row
from swift_story import MOST_TOUCHES, play  # fmt: skip

from flightsim.bay.shapes import block
from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates, Flag

FRAGILE, PAST_BOX = 2.3, 1e-3  # J, m
ROLES = {"unprotected": 0, "guard": 1, "floor": 2}
SIDES = ("left", "right", "foot", "top")


class Court:
    """One bay as the rows of numbers that the compiled referee reads."""

    def __init__(self, physics, around, to_rest: bool = False) -> None:
        bay, self.physics, self.around = around.bay, physics, around
        self.parts, self.people = len(bay.parts), len(bay.zones)
        rows = self.parts + self.people + 1
        self.nums = np.zeros((rows + len(bay.openings), NUMS))
        self.codes = np.full((rows + len(bay.openings), CODES), -1, dtype=np.int64)
        self.pool: list[float] = []
        self.shapes = rows
        things = [part.shape for part in bay.parts] + [zone.shape for zone in bay.zones]
        things += [block(bay.lower, bay.upper), *(opening.shape for opening in bay.openings)]
        for k, shape in enumerate(things):
            shape_row(shape, self.nums[k], self.codes[k], self.pool)
        order = {name: k for k, name in enumerate(sorted(part.name for part in bay.parts))}
        labels = sorted({part.label for part in bay.parts if part.role.value == "guard"})
        groups = {label: k for k, label in enumerate(sorted({part.label for part in bay.parts}))}
        for k, (part, facing) in enumerate(zip(bay.parts, around.facings, strict=True)):
            self._face(k, part, numbers_of(facing))
            guard = part.role.value == "guard"
            self.codes[k, NAME_RANK], self.codes[k, GROUP] = order[part.name], groups[part.label]
            self.codes[k, RANK] = order[part.name] + len(order) * guard
            self.codes[k, GUARD] = labels.index(part.label) if guard else -1
            law = getattr(around.laws[k], "law", around.laws[k])
            if hasattr(law, "frame"):
                self._cloth(k, ClothOf(law, physics.ball.mass), law)
        for k, zone in enumerate(bay.zones, start=self.parts):
            self.codes[k, OWN_SPOT] = 1 if zone.own_spot else 0
            self.nums[k, ZONE_HARM] = around.harm_speed if zone.head or zone.small else around.blunt_speed
        self.world = self._world(to_rest)
        self.planes = self._planes(rows)
        self.numbers = np.array(self.pool, dtype=np.float64) if self.pool else np.zeros(1)

    def _face(self, k: int, part, face: dict) -> None:
        row, code = self.nums[k], self.codes[k]
        code[ROLE], code[SOFT], code[LIVELY] = ROLES[part.role.value], bool(face.get("soft")), bool(face.get("lively"))
        ball = self.physics.ball
        code[MODE] = OWN
        if face.get("turf"):
            code[MODE] = TURF
        elif "fixed" in face:
            code[MODE], row[VALUE] = FIXED, face["fixed"]
        elif face["table"]:
            code[MODE], code[TABLE_AT], code[TABLE_COUNT] = TABLE, len(self.pool), len(face["table"])
            self.pool.extend(np.array(face["table"]).T.ravel())
        else:
            row[VALUE] = plate(face["plate"], ball.mass) if "plate" in face else face["own"]
        if "foam" in face:
            row[FOAM] = face["foam"]["crush_stress"] * np.pi * ball.radius**2 * 0.7 * face["foam"]["thickness"]
        row[FRICTION], row[TANGENTIAL], row[HOLD] = face["friction"], face["tangential"], face["hold"]
        row[ROLLING], row[BROKEN] = face["rolling"], face["broken"]
        row[DAMAGE] = min(face["damage"], FRAGILE) if part.fragile else face["damage"]

    def _cloth(self, k: int, cloth: ClothOf, law) -> None:
        """Its frame and numbers, which of its sides open, and the lattice's tables."""
        tables = [self._table(cloth.table())]
        slack = law.deep and not law.shear_known and law.cloth.shear_ratio != 0.0
        tables.append(self._table(cloth.table(slack=True)) if slack else -1)
        seams = [float(self._continued(cloth, side)) for side in SIDES]
        corded = law.cloth.corded if law.edges_open else ()
        opened = [float(side in corded and not seam) for side, seam in zip(SIDES, seams, strict=True)]
        block = [
            *cloth.corner, *cloth.right, *cloth.up, cloth.width, cloth.height, cloth.small.width, cloth.small.height,
            law.net, law.loose_foot, law.deep, law.far, law.damping, *opened, *seams,
            *tables,
        ]  # fmt: skip
        assert len(block) == CLOTH
        self.codes[k, CLOTH_AT] = len(self.pool)
        self.pool.extend(map(float, block))

    def _continued(self, cloth: ClothOf, side: str) -> bool:
        right, up = cloth.width * cloth.right, cloth.height * cloth.up
        begin, along, inward = {
            "left": (cloth.corner, up, cloth.right), "right": (cloth.corner + right, up, -cloth.right),
            "foot": (cloth.corner, right, cloth.up), "top": (cloth.corner + up, right, -cloth.up),
        }[side]  # fmt: skip
        return cloth._continued(begin + 0.5 * along + 0.1 * inward, begin, begin + along)

    def _table(self, table) -> int:
        first = len(self.pool)
        sizes = [len(axis) for axis in (table.speeds, table.across, table.up)]
        self.pool.extend([*map(float, sizes), *np.log(table.speeds), *table.across, *table.up])
        with np.errstate(invalid="ignore"):
            edges, times = np.log(np.maximum(table.edges, 1e-6)), (np.log(table.stays), np.log(table.turns))
            for values in (np.log(table.depths), table.restitutions, edges, *times):
                self.pool.extend(np.asarray(values).ravel())
        return first

    def _world(self, to_rest: bool) -> np.ndarray:
        from referee_flight import model_name

        ball, air, world = self.physics.ball, self.physics.air, np.zeros(WORLD)
        bay, parts = self.around.bay, slice(0, self.parts)
        world[0] = 0.5 * air.density * np.pi * ball.radius**2 / ball.mass
        world[1] = self.physics.spin_decay * air.density / 1.2 / ball.radius
        world[2], world[3] = self.physics.gravity, air.density * ball.diameter / air.viscosity
        world[4:8] = ball.radius, ball.mass, ball.inertia_factor, self.around.harm_speed
        least = min([np.inf, *self.nums[parts, DAMAGE], *self.nums[parts, BROKEN]])
        world[8] = min(self.around.harm_speed**2 / 2, self.around.struck_speed**2 / 2, least / ball.mass)
        windy = any(self.physics.wind)
        world[9], world[10:13], world[13:16], world[16:19] = to_rest or windy, self.physics.wind, bay.lower, bay.upper
        world[19:22] = MODELS[model_name(self.physics.aero)], windy, self.around.struck_speed
        return world

    def _planes(self, rows: int) -> np.ndarray:
        """Outward normal, offset, shape (-1 for none) and number of each way out."""
        bay = self.around.bay
        ways = [[*o.normal, float(o.normal @ o.corners[0]), rows + k, k] for k, o in enumerate(bay.openings)]
        for axis in range(3):
            for sign, face in ((1.0, bay.upper[axis]), (-1.0, bay.lower[axis])):
                ways.append([*(sign * np.eye(3)[axis]), sign * float(face) + PAST_BOX, -1, len(bay.openings)])
        return np.array(ways, dtype=np.float64)


def follow(physics, launches, around, own, to_rest=False, log=None, tolerance=0.0) -> tuple[Contacts, Fates]:
    """As flightsim.engine.follow.follow; tolerance: none, steps are fixed."""
    court, n = Court(physics, around, to_rest), len(launches)
    first = Contacts.empty(n)
    fates = Fates.empty(n, court.people, len(around.bay.guard_labels()))
    marks, facts, worst = np.zeros(MARKS, dtype=np.int64), np.zeros(FACTS), np.zeros(len(Flag))
    place = np.zeros(len(Flag), dtype=np.int64)
    zones, zone_from = np.zeros(court.people), np.zeros(court.people, dtype=np.int64)
    guards, lines = np.zeros(len(fates.touched), dtype=np.uint64), np.zeros((MOST_TOUCHES + 2, LOG))
    work, room, active = np.zeros((ROWS, court.shapes)), np.zeros((8, SIZE)), np.ones(court.shapes, dtype=np.int64)
    for k in range(n):
        m = np.zeros(SIZE)
        m[:9] = np.concatenate([a[:, k] for a in (launches.start, launches.velocity, launches.spin)])
        play(court.nums, court.codes, court.numbers, court.world, court.planes, court.parts, court.people, m,
             np.ascontiguousarray(own[:, k]), marks, facts, worst, place, zones, zone_from, guards, lines, work, active,
             room)  # fmt: skip
        _write(k, m, marks, facts, worst, place, zones, zone_from, guards, lines, first, fates, log)
    return first, fates


def _write(k, m, marks, facts, worst, place, zones, zone_from, guards, lines, first, fates, log) -> None:
    """This ball's story where the engine writes its own."""
    first.failed[k] = bool(marks[FAILED])
    touches = int(marks[TOUCHES])
    if touches:
        one = lines[0]
        first.part[k], first.time[k], first.point[:, k] = int(one[L_PART]), one[L_TIME], one[L_POINT : L_POINT + 3]
        first.velocity[:, k], first.normal[:, k] = one[L_V : L_V + 3], one[L_NORMAL : L_NORMAL + 3]
        first.spin[:, k] = one[L_SPIN : L_SPIN + 3]
    elif marks[LEFT] >= 0:
        first.opening[k], first.time[k], first.point[:, k] = marks[LEFT], m[10], m[:3]
        first.velocity[:, k], first.spin[:, k] = m[3:6], m[6:9]
    for flag in np.flatnonzero(worst >= 0.0):
        fates.worst[flag, k], fates.place[flag, k] = worst[flag], place[flag]
    fates.came_from[k], fates.height[k] = marks[CAME_FROM], facts[AT_HEIGHT]
    fates.contacts[k], fates.kept[k], fates.left[k] = touches, bool(marks[KEPT]), marks[LEFT]
    fates.touched[:, k], fates.at_zone[:, k], fates.zone_from[:, k] = guards, zones, zone_from
    fates.behind_tee[k] = facts[BEHIND]
    fates.point[:, k], fates.time[k], fates.rests[k] = m[:3], m[10], bool(marks[RESTED])
    if log is not None and touches:
        touched, number = lines[:touches].T, np.arange(touches)
        columns = (
            touched[column : column + 3].copy()
            for column in (L_POINT, L_V, L_AFTER, L_NORMAL, L_SPIN, L_SPIN_AFTER, L_FROM)
        )
        numbers = np.full(touches, k), number, touched[L_PART].astype(int), touched[L_TIME].copy()
        log.write(*numbers, *columns, touched[L_FROM_TIME].copy())


__all__ = ["LAST", "Court", "follow"]
