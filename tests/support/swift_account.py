"""What the swift referee keeps of one ball: marks, facts, its worst speed of each flag, and lines of touches."""

from __future__ import annotations

from numba import njit
from swift_faces import ZONE_HARM

UNRESOLVED, PERSON, GOT_OUT, BROKE, EDGE, STRUCK, BARE = range(7)
# Of marks, whole numbers of the ball.
LAST, ON, PAST, PAST_2, SLOW_ONES, TOUCHES, KEPT, RESTED, SLIPPED, FAILED, LEFT, CAME_FROM = range(12)
MARKS = 12
# Of facts, other numbers of it.
SINCE, NORMAL, SLIP, BEHIND, AT_HEIGHT, LEFT_AT = 0, 3, 6, 7, 8, 9
FACTS = 12
# Of a line of the log.
L_PART, L_TIME, L_POINT, L_V, L_AFTER, L_NORMAL, L_SPIN, L_SPIN_AFTER = 0, 1, 2, 5, 8, 11, 14, 17
L_FROM, L_FROM_TIME = 20, 23
LOG = 24


@njit(cache=True)
def note(worst, place, flag, speed, where):
    """That this happened; whether it is the worst so far."""
    if speed <= worst[flag]:
        return False
    worst[flag], place[flag] = speed, where
    return True


@njit(cache=True)
def slip_told(marks, facts, worst, place):
    """It got past the protection."""
    if marks[SLIPPED] >= 0:
        note(worst, place, EDGE, facts[SLIP], marks[SLIPPED])
        marks[SLIPPED] = -1


@njit(cache=True)
def meet(nums, parts, marks, facts, worst, place, zones, zone_from, k, speed, height):
    """A person in zone k: it keeps its own worst, and from the harm speed there on it is a hit."""
    zone = k - parts
    if not speed <= zones[zone]:
        zones[zone], zone_from[zone] = speed, marks[LAST]
    if speed >= nums[k, ZONE_HARM] and note(worst, place, PERSON, speed, zone):
        marks[CAME_FROM], facts[AT_HEIGHT] = marks[LAST], height
