"""What decides when a ball touches, rests, is out or is given up: each number once, with where it is from."""

from __future__ import annotations

# ---- touches
TIE = 1.0e-6  # m of path: touches closer than this are one, and go to what is no guard, then by name
TOUCHING = 1.0e-7  # m: a gap this small is a touch
GRAZING = 1.0e-5  # m: what counts as a touch when a grazing approach does not close in further
INSIDE = 1.0e-6  # m: a ball this far into a part never came there by flying
MAX_LOOKS = 400  # steps of one approach

# ---- one ball
LONGEST_ARC = 0.35  # s: longer first tries miss the tolerance more often than they save arcs
MAX_ARCS = 400  # to the first contact
MAX_STEPS = 2000  # to the end
MAX_FLIGHT_TIME = 30.0  # s: nothing flies longer indoors
MAX_CONTACTS = 200  # a ball that still bounces then is unresolved
WEDGED = 40  # touches in a row, slow or jammed, within a few millimetres: the ball lies between two things (judgement)
WEDGE = 5.0e-3  # m
JAMS = 1.0e-5  # m: a ball that comes no further from one thing to the next is jammed between them, however fast it is
GRAZES = 1.0e-3  # m/s: slower into a face that is not nearly level, nothing parts a ball but what it has along
HARDLY_MOVES = 0.1  # m/s: a touch slower than this is a slow one

# ---- on a face
SETTLES = 0.35  # m/s: a ball that would leave a face that carries it slower (a hop of 6 mm) rolls on it: judgement
ROLLS_FROM = 0.5  # upward part of the face's normal, 60 deg: judgement; steeper, a ball hops down
LIFT = 5.0e-7  # m: a rolling ball is kept this far off its face, so that seams are no obstacles; less than INSIDE
LONGEST_ROLL = 0.25  # s an arc: its friction keeps the direction that it began with
SLIPS = 0.01  # m/s at the contact: below, a ball rolls
STILL = 1.0e-6  # m/s
OFF_FACE = 1.0e-3  # m: a face further below the ball than this no longer carries it
EDGE_LOOKS = 16  # at a rolling ball's arc: does the face still carry it?
EDGE_HALVINGS = 12  # of the time between two looks

# ---- into cloth
SLOWING = 1.5  # exponent of the speed left: [cloth-form]
STEEPEST = 1.0  # sideways way over depth that is followed at most: beyond 45 deg the ball slides along the cloth

# ---- out of the room
CLEAR_OF_BOX = 1.0e-3  # m past the box: openings in its faces are named first
ON_OUTLINE = 1.0e-6  # m

# ---- behind the tee, m above the slab. Lower balls meet feet and bags; higher ones pass over the tallest (judgement:
# 2 m is taller than 99 of 100 men). A ball that comes down from above comes through what is between.
BEHIND_LOW, BEHIND_HIGH = 0.3, 2.0
