"""Fifty faults for the engine: what somebody might write wrong, or a compiler do. The second referee has to find each.

Each is a module of flightsim/engine, a place in its source that stands there once, what stands there instead, and what
that does to a ball. tests/support/planted.py plants them.
"""

from __future__ import annotations

from typing import NamedTuple


class Fault(NamedTuple):
    """One fault."""

    module: str
    right: str
    wrong: str
    words: str


FAULTS = [
    Fault("aero", "- 1.644) * held) + 1.250", "- 1.644) * held) + 1.150", "less lift"),
    Fault("aero", "+ 0.2148) * held + 0.2049", "+ 0.2148) * held + 0.2149", "more drag"),
    Fault("aero", "return radius * cross / max(square", "return 2.0 * radius * cross / max(square",
          "the spin ratio by the diameter"),
    Fault("aero", "(7.5e4 - Re)", "(6.5e4 - Re)", "the drag crisis at a higher speed"),
    Fault("flight", "minus(velocity, three(world, WIND))", "plus(velocity, three(world, WIND))",
          "the wind from the other side"),
    Fault("flight", "c = cross(spin, v)", "c = cross(v, spin)", "lift to the other side"),
    Fault("flight", "+ lift * c[2] - world[GRAVITY]", "+ lift * c[2] - 1.01 * world[GRAVITY]", "more gravity"),
    Fault("flight", "times(spin, np.exp(-world[SPIN_DECAY] * air)))",
          "times(spin, np.exp(world[SPIN_DECAY] * air)))", "spin that grows"),
    Fault("approach", "gap = away - radius", "gap = away - 0.9 * radius", "a smaller ball"),
    Fault("approach", "if gap <= TOUCHING and closing < 0.0:", "if gap <= TOUCHING and closing < -5.0:",
          "grazing touches are missed"),
    Fault("approach", "return 2.0 * gap / max(root - closing, 1.0e-300)",
          "return 3.0 * gap / max(root - closing, 1.0e-300)", "steps past a touch"),
    Fault("nearest", "if found[j, 1] <= soonest + tie and rank < lowest:", "if rank < lowest:",
          "the part of lowest rank, not the first"),
    Fault("nearest", "return (TOUCHED, part, tau, normal) if part >= 0 else (GOES_ON, -1, 1.0, normal)",
          "return (TOUCHED, part, tau, normal) if part > 0 else (GOES_ON, -1, 1.0, normal)",
          "the first part is never touched"),
    Fault("nearest", "bits &= bay.masks[at + 2 * last, word] & bay.masks[at + 2 * first + 1, word]",
          "bits &= bay.masks[at + 2 * first, word] & bay.masks[at + 2 * last + 1, word]",
          "parts are not looked at that reach into a piece's box"),
    Fault("leaving", "if how != TOUCHES or not tau < soonest:", "if how != TOUCHES:",
          "out by the last way, not by the first"),
    Fault("leaving", "which, soonest, outward = min(j, openings), tau, direction",
          "which, soonest, outward = min(j + 1, openings), tau, direction", "the opening beside it"),
    Fault("shapes", "return away - row[CORNER], normal", "return away, normal", "rounded edges are not there"),
    Fault("shapes", "inside = inside and eu * pv - ev * pu >= 0.0", "inside = inside or eu * pv - ev * pu >= 0.0",
          "polygons without corners"),
    Fault("shapes", "return away, turned_back(row, AXES, local)", "return away, turned(row, AXES, local)",
          "the normal of a polygon turned the wrong way"),
    Fault("shapes", "abs(height) - row[CORE]\n", "abs(height) - 1.5 * row[CORE]\n", "longer tubes"),
    Fault("shapes", "normal = turned_back(row, AXES, normal)", "normal = turned(row, AXES, normal)",
          "the normal of a box turned the wrong way"),
    Fault("faces", "min(max(0.88 - 0.0023 * speed, 0.60), 0.90)", "min(max(0.88 - 0.0033 * speed, 0.60), 0.90)",
          "a duller bounce"),
    Fault("faces", "over = max(energy - row[FOAM], 0.0)", "over = max(energy - 2.0 * row[FOAM], 0.0)",
          "foam that takes twice as much"),
    Fault("faces", "share = (x - pool[xs + j - 1]) / (pool[xs + j] - pool[xs + j - 1])",
          "share = (pool[xs + j] - x) / (pool[xs + j] - pool[xs + j - 1])", "tables read backward between their places"),
    Fault("faces", "times(cross(spin, normal), radius))\n    slip = minus(slip, times(normal",
          "times(cross(normal, spin), radius))\n    slip = minus(slip, times(normal", "spin that grips the other way"),
    Fault("faces", "push = min(grip, friction * (1.0 + e) * inward)", "push = max(grip, friction * (1.0 + e) * inward)",
          "friction without its limit"),
    Fault("faces", "grip = (1.0 + tangential) * slide / (1.0 + 1.0 / inertia)",
          "grip = (1.0 + tangential) * slide / (1.0 + inertia)", "the wrong mass at the contact"),
    Fault("faces", "if length(after) < row[HOLD] and inward > SEPARATE:", "if inward < row[HOLD] and inward > SEPARATE:",
          "held by how it comes, not by how it leaves"),
    Fault("faces", "share = min(1.0, MOST_DRAG * (1.0 + e) * inward / max(size, TINY))", "share = 1.0",
          "cloth that drags without a limit"),
    Fault("hit", "energy = 0.5 * bay.world[MASS] * inward * inward",
          "energy = 0.5 * bay.world[MASS] * dot(velocity, velocity)", "energy of the whole speed"),
    Fault("hit", "energy >= bay.solids[k, DAMAGE]:", "energy >= 2.0 * bay.solids[k, DAMAGE]:",
          "half of what breaks is told"),
    Fault("hit", "through = energy >= bay.solids[k, BROKEN]", "through = energy > 4.0 * bay.solids[k, BROKEN]",
          "things that do not break"),
    Fault("hit", "dot(velocity, velocity) - 2.0 * bay.solids[k, BROKEN]", "dot(velocity, velocity) - bay.solids[k, BROKEN]",
          "speed behind what broke"),
    Fault("hit", "if bay.codes[k, ROLE] == UNPROTECTED and", "if bay.codes[k, ROLE] == GUARD_ROLE and",
          "guards count as unprotected"),
    Fault("hit", "normal[2] > NEARLY_LEVEL and hop < SETTLES", "normal[2] > NEARLY_LEVEL and hop < 4.0 * SETTLES",
          "balls that hop are laid down"),
    Fault("hit", "    ball.marks[SLIPPED] = -1\n", "    ball.marks[SLIPPED] = ball.marks[SLIPPED]\n",
          "a guard that keeps a ball in makes nothing up"),
    Fault("cloth", "return pool[at + DAMPING] * max(_of_three", "return max(_of_three", "nets without damping"),
    Fault("cloth", "kept = 1.0 - sunk * np.sqrt(sunk)", "kept = sunk * np.sqrt(sunk)",
          "the speed lost, not the one kept, past an edge"),
    Fault("cloth", "from_edge = pool[at + WIDTH] - across", "from_edge = across", "the right edge where the left one is"),
    Fault("behind", "if how == TOUCHED and left >= bay.world[HARM_SPEED]:", "if how == TOUCHED and left < 0.0:",
          "what is struck through cloth is not told"),
    Fault("behind", "return speed * (1.0 - (1.0 - kept) * depth * np.sqrt(depth))",
          "return speed * (1.0 - (1.0 - kept) * depth)", "speed lost evenly in cloth"),
    Fault("behind", "way = minus(times(sideways, min(1.0, STEEPEST / max(steep, 1.0e-9))), normal)",
          "way = times(normal, -1.0)", "straight into the cloth, whichever way the ball goes"),
    Fault("people", "return np.inf if how == MISSES else tau if how == UNDECIDED else when",
          
          "return np.inf if how == MISSES or how == UNDECIDED else when", "whoever starts inside is not met"),
    Fault("people", "fastest = max(fastest, length(rate(arc, at)))", "fastest = min(fastest, length(rate(arc, at)))",
          "the slowest speed in a zone"),
    Fault("people", "if speed >= harm and note(", "if speed >= 2.0 * harm and note(", "hits below twice the harm"),
    Fault("ball", "(bay.codes[row, OWN] == 1 and told.whole[shot, CONTACTS] == 0)",
          "(bay.codes[row, OWN] == 1 and told.whole[shot, CONTACTS] <= 1)", "the hitter's first return is not counted"),
    Fault("ball", "2.0 * world[GRAVITY] * height)\n", "0.0 * world[GRAVITY] * height)\n",
          "a fall outside adds nothing"),
    Fault("ball", "if landing >= world[HARM_SPEED]:", "if landing >= 3.0 * world[HARM_SPEED]:", "out, and not told"),
    Fault("rolling", "slip = minus(velocity, times(cross(spin, normal), radius))",
          "slip = plus(velocity, times(cross(spin, normal), radius))", "a ball that slips the other way"),
    Fault("rolling", "gains = minus(pull, times(way, grip))",
          "gains = minus(pull, times(way, 0.5 * grip))", "half of the rolling friction"),
    Fault("told", "if speed <= told.floats[ball, WORST + flag]:", "if speed > told.floats[ball, WORST + flag]:",
          "the least, not the worst"),
    Fault("bay_arrays", "shape.half - shape.corner_radius, shape.corner_radius",
          "shape.half, shape.corner_radius", "boxes that are larger by their rounding"),
]  # fmt: skip
