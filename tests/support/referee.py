"""A referee for whole fates: one ball at a time with scipy, plain Python, sharing no code with flightsim.

The rules are those of docs/physics.md, docs/cloth.md and docs/facings.md, written a second time: flights by DOP853,
distances by scipy_loop, the bounce by scipy_rebounds, cloth by referee_cloth, rolling by referee_rolls. Whatever hangs
on a sample in flightsim is a root or an extremum here. `follow` has the signature of flightsim.engine.follow.follow,
so that engine_parity can hold an engine against it. Slow: some tens of balls a second.
"""

from __future__ import annotations

import numpy as np
from referee_ball import Ball, write
from referee_cloth import SINKS, ClothOf, speed_left, way_on_face
from referee_flight import Flight, fly
from referee_rolls import roll
from referee_shapes import all_of, carried_out, distance_to, first_below, inside, normal_of, ways_out
from scipy_loop import Facts
from scipy_rebounds import bounce, numbers_of, restitution

from flightsim.bay.shapes import block
from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates, Flag

TOUCHING, ONE_TOUCH, INSIDE = 1e-7, 1e-6, 1e-6  # m
ROLLS, LEVEL, LIFT = 0.35, 0.5, 5e-7  # m/s; upward part of the normal; m
MOST_TOUCHES, LONGEST, CRAWLS = 200, 30.0, 5  # s; slow touches in a row
WEDGED, WEDGE, SLOW, JAMS = 40, 5e-3, 0.1, 1e-5  # slow or jammed touches in a row; m; m/s; m
CLEAR = 1e-3  # m off a cloth that it got past that is there again
CLOSE = 1e-5  # m: into what touches it already a ball goes at once, past a corner not for long
FRAGILE, PARTS = 2.3, 0.02  # J; m/s: what a ball keeps that has paid for a climb along cloth, off it
STEEP = 1.0  # sideways way of a ball in cloth over its depth, at most


class Referee:
    """All that it knows of one bay."""

    def __init__(self, physics, around, to_rest: bool = False, rtol: float = 1e-10) -> None:
        self.physics, self.around, self.bay, self.rtol = physics, around, around.bay, rtol
        air, ball = physics.air, physics.ball
        self.facts = Facts(ball.mass, ball.diameter, air.density, air.viscosity, physics.gravity, physics.spin_decay)
        self.radius, self.mass, self.inertia = ball.radius, ball.mass, ball.inertia_factor
        self.harm = around.harm_speed
        delicate = (zone.head or zone.small for zone in self.bay.zones)  # a head, or a small child anywhere
        self.harms = [self.harm if each else around.blunt_speed for each in delicate]
        self.parts = around.bay.parts
        self.solid = all_of(self.parts)
        order = {name: k for k, name in enumerate(self.solid.names) if name}
        self.column = np.array([order[part.name] for part in self.parts], dtype=int)
        self.surface = [distance_to(part.shape) for part in self.parts]
        self.zone = [distance_to(zone.shape) for zone in self.bay.zones]
        self.faces = [numbers_of(facing) for facing in around.facings]
        self.damage = [min(f["damage"], FRAGILE) if part.fragile else f["damage"]
                       for part, f in zip(self.parts, self.faces, strict=True)]  # fmt: skip
        laws = enumerate(map(numbers_behind, around.laws))
        self.cloth = {k: ClothOf(law, ball.mass) for k, law in laws if law is not None}
        labels = sorted({part.label for part in self.parts if part.role.value == "guard"})
        self.bit = {label: 1 << k for k, label in enumerate(labels)}
        least = min([*self.damage, *(face["broken"] for face in self.faces)], default=np.inf)
        self.harmless = min(self.harm**2 / 2, around.struck_speed**2 / 2, least / self.mass)
        self.until_rest = to_rest or any(physics.wind)

    def follow(self, start, velocity, spin, own) -> Ball:
        """One ball to its end."""
        ball = Ball(start, velocity, spin, own, tee=float(start[0]))
        if (start < self.bay.lower).any() or (start > self.bay.upper).any():
            ball.failed_first = True
            ball.note(Flag.UNRESOLVED, float(np.linalg.norm(velocity)), -1)
            return ball
        while self._leg(ball):
            energy = self.energy(ball)
            if energy < self.harmless and not self.until_rest and ball.touches:
                break
            wedged = ball.slow >= WEDGED and np.abs(ball.point - ball.since).max() < WEDGE
            if wedged and float(np.linalg.norm(ball.v)) < self.harm:
                ball.rests = True
                break
            if len(ball.touches) >= MOST_TOUCHES:
                if any(self.physics.wind) or energy >= self.harmless:
                    ball.note(Flag.UNRESOLVED, float(np.linalg.norm(ball.v)), -1)
                break
        ball.slip_told()
        return ball

    def energy(self, ball: Ball) -> float:
        """Of flight, spin and height above the lowest floor, per mass, J/kg."""
        height = max(float(ball.point[2] - self.bay.lower[2]) - self.radius, 0.0)
        turning = self.inertia * self.radius**2 * float(ball.w @ ball.w)
        return (float(ball.v @ ball.v) + turning) / 2 + self.physics.gravity * height

    def _leg(self, ball: Ball) -> bool:
        """One flight or roll and what it does at its end; whether the ball goes on."""
        ball.past = [k for k in ball.past if self.surface[k](ball.point[:, None]) - self.radius <= CLEAR]
        if ball.on >= 0:
            flight = roll(self.physics, ball, self.surface[ball.on], self.faces[ball.on])
        else:
            flight = fly(self.facts, self.physics, self.bay, ball, self.rtol)
        touch_time, part = self._touched(ball, flight)
        out, opening = self._left(flight)
        end = min(touch_time, out, flight.end)
        if touch_time == -1.0:  # it starts inside something
            ball.failed_first = not ball.touches
            ball.note(Flag.UNRESOLVED, float(np.linalg.norm(ball.v)), -1)
            return False
        self._people(ball, flight, end)
        rolled, ball.time = ball.on, ball.time + end
        ball.point, ball.v, ball.w = flight.ball_at(end)
        if out <= touch_time and out <= flight.end:
            ball.left = opening
            falls = max(float(ball.point[2] - self.bay.lower[2]) - self.radius, 0.0)
            lands = float(ball.v @ ball.v + 2 * self.physics.gravity * falls) ** 0.5
            if lands >= self.harm:
                ball.note(Flag.GOT_OUT, lands, opening)
            return False
        if touch_time <= flight.end:
            if ball.touches and self.energy(ball) < self.harmless and not self.until_rest:
                return False  # it could do no harm any more before it came here
            return self._hit(ball, part)
        if rolled >= 0:
            ball.on = -1
            ball.rests = flight.rests
            return not flight.rests
        ball.failed_first = not ball.touches
        ball.note(Flag.UNRESOLVED, float(np.linalg.norm(ball.v)), -1)
        return False

    def _touched(self, ball: Ball, flight: Flight) -> tuple[float, int]:
        """When the flight first touches something, and what; -1.0 where it starts inside."""
        times = flight.looks(self.radius)
        gaps = self.solid(flight.state(times)[:3])[self.column] - self.radius
        found = []
        for part in np.flatnonzero(gaps.min(axis=1) < 0.25 * self.radius):
            if part == ball.on:
                continue
            # A ball that lies wedged at a crawl is touched ever sooner: scipy's roots are not as exact as that.
            if gaps[part][0] < -INSIDE and ball.slow < CRAWLS and part not in ball.past:
                return -1.0, int(part)
            time = self._touch(ball, flight, times, gaps[part], int(part))
            if time is not None:
                found.append((time, int(part)))
        if not found:
            return np.inf, -1
        soonest = min(time for time, _ in found)
        tie = soonest + ONE_TOUCH / max(float(np.linalg.norm(flight.ball_at(soonest)[1])), 1e-9)
        return min((f for f in found if f[0] <= tie),
                   key=lambda f: (self.parts[f[1]].role.value == "guard", self.parts[f[1]].name))  # fmt: skip

    def _touch(self, ball: Ball, flight: Flight, times, row, part: int) -> float | None:
        first = 0
        if part in ball.past:  # it is there for the ball again once that has been clear of it
            first = int(np.argmax(row > CLEAR))
            if row[first] <= CLEAR:
                return None
        elif row[0] <= TOUCHING:  # it touches already: at once, or once it has come off
            moves = np.flatnonzero(np.abs(row[1:] - row[0]) > 1e-9)
            goes_in = moves.size > 0 and row[1 + moves[0]] < row[0]
            if goes_in or ball.v @ normal_of(self.surface[part], ball.point) < 0.0 or (row[1:8] < row[0]).all():
                return 0.0
            off = np.flatnonzero(row[1:] > max(row[0], 0.0) + 1e-10)
            if off.size == 0:
                return None
            first = int(off[0]) + 1
        return first_below(lambda t: float(self.surface[part](flight.state(t)[:3, None])[0]) - self.radius,
                           times, row, first)  # fmt: skip

    def _left(self, flight: Flight) -> tuple[float, int]:
        """When the ball's centre leaves the room, and through which opening."""
        times = flight.looks(self.radius)
        where = flight.state(times)[:3]
        best, which = np.inf, -1
        for outward, offset, k in ways_out(self.bay):
            row = offset - outward @ where
            time = first_below(lambda t, n=outward, o=offset: float(o - n @ flight.state(t)[:3]), times, row)
            if time is None or time >= best:
                continue
            if k < len(self.bay.openings):
                shape = self.bay.openings[k].shape
                if distance_to(shape)(flight.state(time)[:3, None])[0] > 1e-6:
                    continue
            best, which = time, k
        return best, which

    def _people(self, ball: Ball, flight: Flight, end: float) -> None:
        """Whom the ball meets on this flight, at its greatest speed in there."""
        times = flight.looks(self.radius)
        times = np.append(times[times < end], end)
        for k, zone in enumerate(self.bay.zones):
            if not ball.own[k] or (zone.own_spot and not ball.touches):
                continue
            for begin, speed in self._crossed(self.zone[k], flight, times):
                if speed >= self.harm:
                    ball.meets(k, speed, float(flight.state(begin)[2]), self.harms[k])
        if ball.touches and ball.tee > self.bay.lower[0]:
            for _, speed in self._crossed(self._behind_tee(ball.tee), flight, times):
                if speed >= self.harm:
                    ball.behind_tee = float(np.fmax(ball.behind_tee, speed))

    def _crossed(self, distance, flight: Flight, times) -> list[tuple[float, float]]:
        """When the ball comes into a space, and its greatest speed in there, passage by passage."""
        found = []
        for begin, leave in inside(distance, flight.state, times, self.radius):
            ways = np.linspace(begin, leave, 50)
            found.append((begin, float(np.sqrt((flight.state(ways)[3:6] ** 2).sum(axis=0)).max())))
        return found

    def _behind_tee(self, tee: float):
        """Distance to the space behind where the ball started, .3 to 2 m above the lowest floor."""
        low, high = self.bay.lower.copy(), self.bay.upper.copy()
        low[2], high[0], high[2] = self.bay.lower[2] + 0.3, tee, self.bay.lower[2] + 2.0
        return distance_to(block(low, high))

    def _hit(self, ball: Ball, k: int) -> bool:
        """What the touch of part k does; whether the ball goes on."""
        part, face = self.parts[k], self.faces[k]
        n = normal_of(self.surface[k], ball.point)
        v, w, point = ball.v, ball.w, ball.point
        speed, inward = float(np.linalg.norm(v)), max(-float(v @ n), 0.0)
        energy = self.mass * inward**2 / 2
        if part.role.value == "unprotected" and energy >= self.damage[k]:
            ball.note(Flag.HIT_UNPROTECTED, speed, k)
        if part.role.value != "guard":
            ball.slip_told()
        if ball.slipped is not None and ball.slipped[1] != k:  # what it got past does not make up for it
            ball.slipped = None
        through, past, sinks, struck = energy >= face["broken"], False, 0.0, False
        self.way, self.stay, self.onward, self.unsure, self.opened = np.zeros(3), 0.0, None, False, True
        if through:
            ball.note(Flag.BROKE_THROUGH, max(speed**2 - 2 * face["broken"] / self.mass, 0.0) ** 0.5, k)
        if k in self.cloth:
            out, spin, past, sinks = self._cloth(self.cloth[k], point, v, w, n, face)
            past = past and not through
        else:
            out, spin = bounce(v, w, n, face, self.facts, self.inertia)
            if face.get("soft") and inward > SINKS and not through:
                self.way, self.stay = way_on_face(self.surface[k], point, out, n, inward, self.radius)
        if sinks > 0.0 and speed >= min(self.harm, self.around.struck_speed) and not through:
            kept = float(np.linalg.norm(out)) / speed if past and self.onward is None else 0.0
            out, struck = self._behind(ball, k, point, v, n, sinks, out, kept)
            past = past and not struck
        along = np.zeros(3) if through or struck else self._carry(ball, k, point, out)
        if float(np.linalg.norm(along)) < (1.0 - 1e-12) * float(np.linalg.norm(self.way)):
            past = past and self.unsure  # something is in its way
        if past and self.onward is not None:
            out, spin = self.onward
        climbs = max(float(along[2]), 0.0)
        if climbs:
            parts = min(PARTS, float(out @ n))
            out = out * max(1.0 - 2.0 * self.physics.gravity * climbs / float(out @ out), 0.0) ** 0.5
            out = out + n * max(parts - float(out @ n), 0.0)
        if past:
            ball.past, gets = [k, *ball.past][:2], float(np.linalg.norm(out))
            ball.slipped = (gets, k) if self.opened or gets >= self.around.struck_speed else ball.slipped
        whole = float(np.linalg.norm(self.way))
        stays = self.stay * float(np.linalg.norm(along)) / whole if whole else 0.0
        ball.touches.append({"part": k, "time": ball.time, "point": point, "arriving": v, "spin": w, "normal": n})
        ball.v, ball.w, ball.on = out, spin, -1
        hop = float(out @ n)
        if n[2] > LEVEL and hop < ROLLS and not past:
            ball.v, ball.point, ball.on, ball.level = out - hop * n, point + LIFT * n, k, n
        if ball.on < 0:
            ball.point, ball.time = point + along, ball.time + stays
        ball.touches[-1] |= {"leaving": np.full(3, np.nan) if through else ball.v, "leaving_spin": ball.w}
        ball.touches[-1] |= {"left": ball.point, "left_time": ball.time}
        if part.role.value == "guard":
            ball.guards |= self.bit.get(part.label, 0)
            ball.kept = float(np.linalg.norm(ball.v)) < self.harm
        jams = ball.last >= 0 and ball.last != k and np.abs(point - ball.left_at).max() < JAMS
        calm, ball.left_at, ball.last = speed < SLOW or jams, ball.point, k
        if calm and (ball.slow == 0 or np.abs(ball.point - ball.since).max() > WEDGE):
            ball.since, ball.slow = ball.point, 0
        ball.slow = ball.slow + 1 if calm else 0
        return not through

    def _cloth(self, cloth: ClothOf, point, v, w, n, face):
        """Velocity and spin after hung cloth, whether the ball got past its edge, and how far it sinks, m."""
        inward = max(-float(v @ n), 0.0)
        across, up = cloth.place(point)
        given = {"fixed": cloth.returned(inward, across, up), "table": ()}
        bare = {
            key: value for key, value in face.items() if key in ("friction", "tangential", "hold", "soft", "lively")
        }
        out, spin = bounce(v, w, n, {**bare, **given}, self.facts, self.inertia)
        if inward <= 1.0:
            return out, spin, False, 0.0
        sinks = cloth.sinks(inward, across, up)
        sideways = (v + inward * n) / inward
        aside = sideways * min(1.0, STEEP / max(float(np.linalg.norm(sideways)), 1e-9)) * sinks
        sunk = across + float(aside @ cloth.right), up + float(aside @ cloth.up)
        share = cloth.gets_past(inward, across, up, *sunk)
        if share * float(np.linalg.norm(v)) >= self.harm:
            return v * share, w, True, sinks * (1.0 - share) ** (2.0 / 3.0)
        self.way, self.stay, how = cloth.carried(out, n, inward, across, up)
        if not how:
            return out, spin, False, sinks
        # It still goes in: by as much as it has gone of the way that it goes while it sinks, or it is at its deepest.
        gone = float(np.linalg.norm(self.way)) / max(float(np.linalg.norm(aside)), 1e-9) if how == "crossed" else 1.0
        goes, self.opened = speed_left(1.0, gone), how == "reached"
        self.onward = goes * v + (1.0 - goes) * (out - n * float(out @ n)), goes * w + (1.0 - goes) * spin
        return out, spin, float(np.linalg.norm(self.onward[0])) >= self.harm, sinks

    def _carry(self, ball: Ball, k: int, point, out) -> np.ndarray:
        """The way along the cloth, m, to its end or to the first thing that the ball meets; people there are hit."""
        length, speed, first = float(np.linalg.norm(self.way)), float(np.linalg.norm(out)), 1.0
        if not length:
            return self.way
        shares = np.linspace(0.0, 1.0, max(int(length / 0.004), 20))
        places = point[:, None] + self.way[:, None] * shares
        for j in range(len(self.parts)):
            if j == k or j in ball.past:
                continue
            row = self.surface[j](places) - self.radius
            if row[0] < -INSIDE:
                self.unsure = True
                return 0.0 * self.way
            close = self.surface[j]((point + self.way * min(CLOSE / length, shares[1]))[:, None])[0] - self.radius
            if row[0] <= TOUCHING and close < row[0]:
                first = 0.0
                continue
            gap = lambda s, j=j: float(self.surface[j]((point + self.way * s)[:, None])[0]) - self.radius  # noqa: E731
            share = first_below(gap, shares, row, 1 if row[0] <= TOUCHING else 0)
            first = min(first, 1.0 if share is None else share)
        first = min(first, carried_out(self.bay, point, self.way))
        for i, distance in enumerate(self.zone):
            if ball.own[i] and speed >= self.harm:
                path = lambda s: point[:, None] + self.way[:, None] * s if np.ndim(s) else point + self.way * s  # noqa: E731
                for begin, _ in inside(distance, path, np.linspace(0.0, first, 60), self.radius)[:1]:
                    ball.meets(i, speed, float((point + self.way * begin)[2]), self.harms[i])
        return self.way * first

    def _behind(self, ball: Ball, k: int, point, v, n, sinks: float, out, kept: float):
        """What the ball strikes through the cloth: how it leaves, and whether anything was struck."""
        inward = -float(v @ n)
        sideways = (v + inward * n) / inward
        steep = float(np.linalg.norm(sideways))
        way = (sideways * min(1.0, STEEP / max(steep, 1e-9)) - n) * sinks
        speed, best, struck = float(np.linalg.norm(v)), 1.0, -1
        shares = np.linspace(0.0, 1.0, max(int(sinks / 0.004), 20))
        touches = []
        for j, other in enumerate(self.parts):
            if other.role.value != "unprotected" or other.label == self.parts[k].label:
                continue
            row = self.surface[j](point[:, None] + way[:, None] * shares) - self.radius
            if row[0] < -INSIDE:
                ball.note(Flag.UNRESOLVED, speed, -1)
                return out, False
            if row[0] <= TOUCHING and row[1] < row[0]:
                touches.append((0.0, other.name, j))
                continue
            gap = lambda s, j=j: float(self.surface[j]((point + way * s)[:, None])[0]) - self.radius  # noqa: E731
            share = first_below(gap, shares, row, 1 if row[0] <= TOUCHING else 0)
            if share is not None:
                touches.append((share, other.name, j))
        if touches:
            soonest = min(touches)[0]
            tie = soonest + ONE_TOUCH / float(np.linalg.norm(way))
            best, _, struck = min((t for t in touches if t[0] <= tie), key=lambda t: t[1])
            left = speed_left(speed, best, kept)
            damages = (2.0 * self.damage[struck] / self.mass) ** 0.5
            if left >= min(self.around.struck_speed, damages):
                ball.note(Flag.STRUCK_THROUGH, left, struck)
        self._people_behind(ball, point, way, speed, best, kept)
        if struck >= 0:
            hits = speed_left(inward, best, kept)
            wall = hits * restitution(self.faces[struck], hits, self.mass, self.radius)
            out = out + n * max(wall - float(out @ n), 0.0)
        return out, struck >= 0

    def _people_behind(self, ball: Ball, point, way, speed: float, until: float, kept: float) -> None:
        """People that the ball reaches through the cloth."""
        for k, distance in enumerate(self.zone):
            if not ball.own[k]:
                continue
            shares = np.linspace(0.0, until, 60)
            passages = inside(distance, lambda s: point[:, None] + way[:, None] * s if np.ndim(s) else point + way * s,
                              shares, self.radius)  # fmt: skip
            if passages:
                begin = passages[0][0]
                there = speed_left(speed, begin, kept)
                if there >= self.harm:
                    ball.meets(k, there, float((point + way * begin)[2]), self.harms[k])


def numbers_behind(law):
    """The cloth that a part's law is for, also where the border has wrapped it; None where it is no hung cloth."""
    law = getattr(law, "law", law)
    return law if hasattr(law, "frame") else None


def follow(physics, launches, around, own, to_rest=False, log=None, tolerance=1e-10) -> tuple[Contacts, Fates]:
    """As flightsim.engine.follow.follow; tolerance: DOP853's relative one."""
    n, bay = len(launches), around.bay
    first, fates = Contacts.empty(n), Fates.empty(n, len(bay.zones), len(bay.guard_labels()))
    referee = Referee(physics, around, to_rest, tolerance)
    for k in range(n):
        ball = referee.follow(*(a[:, k].copy() for a in (launches.start, launches.velocity, launches.spin)), own[:, k])
        write(ball, k, first, fates, log)
    return first, fates


__all__ = ["Referee", "follow"]
