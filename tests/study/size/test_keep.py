"""`--keep`: what must hold whatever the size."""

import pytest

from flightsim.errors import BadInputError
from flightsim.study.size.keep import parse_keeps


def test_more_and_less_are_read_with_any_unit_of_length():
    more, less = parse_keeps(["swing_room > 150 mm", "swing_room.canopy <= 1 ft"])
    assert (more.name, more.more, more.limit) == ("swing_room", True, pytest.approx(0.15))
    assert (less.name, less.more, less.limit) == ("swing_room.canopy", False, pytest.approx(0.3048))
    assert more.holds({"swing_room": 0.151})
    assert not more.holds({"swing_room": 0.15})
    assert less.holds({"swing_room.canopy": 0.3})


@pytest.mark.parametrize(("text", "words"), [("swing_room 0.15 m", "cannot be read"), ("swing_room > 0.15", "0.15 m")])
def test_what_cannot_be_read_is_refused_with_an_example(text, words):
    with pytest.raises(BadInputError, match=words):
        parse_keeps([text])


def test_what_nothing_measures_is_refused_with_the_nearest_name():
    (keep,) = parse_keeps(["swing_rom > 0.15 m"])
    with pytest.raises(BadInputError, match=r"swing_room > 0\.15 m"):
        keep.holds({"swing_room": 0.2})
