"""What the face of a part is made of, in plain words.

The word decides, once rebounds are computed, how a ball comes back. A part says what it is made of already now,
so that scenario files need not change then.
"""

from typing import Literal

Facing = Literal[
    "brick",
    "cloth",
    "concrete",
    "foam",
    "foam on plywood",
    "foam on steel",
    "glass",
    "gypsum",
    "net",
    "plastic",
    "plywood",
    "rubber",
    "steel",
    "timber",
    "turf",
]
