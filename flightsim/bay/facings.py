"""What the face of a part is made of, as a word of the scenario file.

The words that come with flightsim are in flightsim/contact/facings.yaml; a scenario or a plugin adds its own. Which
words are known is checked once the plugins are loaded: until then a facing is text.
"""

from typing import Annotated


class FacingMark:
    """Marks the fields of a section that hold the name of a facing."""


Facing = Annotated[str, FacingMark()]
