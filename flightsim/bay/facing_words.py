"""What the face of a part is made of, as a word of the scenario file.

The words that come with flightsim are in flightsim/contact/facings.yaml; a scenario or a plugin adds its own. Which
words are known is checked once the plugins are loaded: until then a facing is text.
"""

from typing import Annotated

from pydantic import AfterValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

# For editors and the reference, which need no physics; a test holds them to the data file.
SHIPPED = (
    "brick", "concrete", "steel", "foam on steel", "timber", "plywood", "thick plywood", "foam on plywood", "foam",
    "gypsum", "glass", "toughened glass", "plastic", "rubber", "cloth", "net", "curtain", "turf",
)  # fmt: skip


class FacingMark:
    """Marks the fields of a section that hold the name of a facing."""


def _a_word(facing: str) -> str:
    if not facing.strip():
        refusal = {"found": "a blank facing", "allowed": "a word or more", "fix": "plywood"}
        raise PydanticCustomError("quantity", "{found}; allowed: {allowed}; try: {fix}", refusal)
    return facing


_AS_JSON = WithJsonSchema({"type": "string", "minLength": 1, "examples": list(SHIPPED)})
Facing = Annotated[str, FacingMark(), AfterValidator(_a_word), _AS_JSON]
