"""What the face of a part is made of, as a word of the scenario file.

The words that come with flightsim are in flightsim/contact/facings.yaml; a scenario or a plugin adds its own. Which
words are known is checked once the plugins are loaded: until then a facing is text.
"""

from typing import Annotated

from pydantic import WithJsonSchema

# For editors and the reference, which need no physics; a test holds them to the data file.
SHIPPED = (
    "brick", "concrete", "steel", "foam on steel", "timber", "plywood", "thick plywood", "foam on plywood", "foam",
    "gypsum", "glass", "toughened glass", "plastic", "rubber", "cloth", "net", "curtain", "turf",
)  # fmt: skip


class FacingMark:
    """Marks the fields of a section that hold the name of a facing."""


Facing = Annotated[str, FacingMark(), WithJsonSchema({"type": "string", "minLength": 1, "examples": list(SHIPPED)})]
