"""Where something can hang, in words."""

from __future__ import annotations

from math import degrees, radians

from flightsim.report.words.common_words import at_worst, percent
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.spot.places_to_hang import Box3, Place, Spots
from flightsim.study.spot.projector import Light

REACH = 2.0  # m above the floor: what a person reaches without a step (judgement)
SQUARE = radians(0.5)  # an angle that rounds to none
MOST_IN_THE_WAY = 3  # things that are named
NO_PLACE = "Nowhere: every place is in something's way, in the swing's, or does not see what it must."
BOUNDS = (
    "Touched means at any speed, by any ball, straight or after rebounds; at worst with 95 % confidence, "
    "for the luck of the draw only. What hangs there still needs a sound fixing, and its wires kept clear."
)
HEAT = (
    "Whatever makes heat needs the free air round it that its maker asks for, and somebody has to reach it for dust "
    "and lamps: both are told of each place. The mains it takes is a licensed electrician's work."
)


def title_words(opened: OpenBay, box: Box3) -> str:
    """What is looked for."""
    show = Display(opened.scenario.units).length
    size = f"{show(box.length)} along the room, {show(box.width)} across and {show(box.height)} high"
    return f"Where a box of {size} can hang in {opened.scenario.name}:"


def place_words(opened: OpenBay, place: Place) -> str:
    """One place: where, how many balls, room to a club, air and access, and the light of a projector."""
    show = Display(opened.scenario.units).length
    where = (
        f"{show(place.from_end_wall)} from the end wall, {show(place.from_left_wall)} from the left wall (nearest "
        f"sides), underside {show(place.above_floor)} above the slab"
    )
    hits = (
        f"{place.hits:,} of {place.shots:,} balls touch it"
        if place.hits
        else f"none of {place.shots:,} balls touched it"
    )
    near = Display(opened.scenario.units).estimate
    swing = "" if place.swing is None else f" Room to a swung club: at least {near(place.swing)}."
    low = "from the floor; so low that a head may meet it"
    reach = low if place.above_floor <= REACH else "by a ladder, with nobody hitting"
    air = f" Nearest to it: {place.beside}, {show(place.air)} of free air. Reached {reach}."
    light = "" if place.light is None else f" {light_words(opened, place.light)}"
    return f"{where}: {hits}, at worst {at_worst(place.upper)}.{swing}{air}{light}"


def light_words(opened: OpenBay, light: Light) -> str:
    """How far the light goes, how far off straight, and whose shadow is in it."""
    show = Display(opened.scenario.units).length
    side = (
        ""
        if abs(light.aside) < SQUARE
        else f" and {degrees(abs(light.aside)):.0f} deg to the " + ("left" if light.aside > 0.0 else "right")
    )
    down = f"{degrees(abs(light.down)):.0f} deg {'down' if light.down >= 0.0 else 'up'}"
    text = (
        f"Lens to cloth {show(light.throw)}; the whole picture is in clear light; its middle is {down}{side} of "
        "straight ahead, which the projector has to shift or correct."
    )
    if light.shadow <= 0.0:
        return f"{text} Who stands at the ball throws no shadow on it."
    head = f", the head alone {percent(light.head)}" if light.head > 0.0 else ", the head none"
    whoever = "Who stands at the ball, anywhere in the zone kept for that,"
    return f"{text} {whoever} may shade {percent(light.shadow)} of it{head}."


def fell_words(spots: Spots) -> str:
    """How many places were looked at, and why others were not taken."""
    over = [
        f"{count:,} {words}" for count, words in (
            (spots.in_the_way, "for going into something"), (spots.in_the_swing, "for being too near a swung club"),
            (spots.hidden, _not_seen(spots)),
        ) if count
    ]  # fmt: skip
    text = f"{spots.tried:,} places were thought of, and looked at least-hit first until five were found."
    text += f" Passed over: {', '.join(over)}." if over else ""
    if spots.behind:
        text += f" Left out: {spots.behind:,} behind the screen or close before it, where the cloth goes."
    if spots.out_of_throw:
        text += f" Left out: {spots.out_of_throw:,} nearer or farther than the projector throws."
    return text


def _not_seen(spots: Spots) -> str:
    """Words that something is in the light or in the view, and what that is at how many places."""
    unseen = (
        "whose light does not reach all of the picture"
        if spots.picture is not None
        else "for not seeing what they must"
    )
    most = [f"the {name} at {count:,}" for name, count in spots.hidden_by[:MOST_IN_THE_WAY]]
    more = len(spots.hidden_by) - len(most)
    rest = f" and {more} other thing{'s' if more > 1 else ''}" if more > 0 else ""
    return f"{unseen} (in the way: {', '.join(most)}{rest})" if most else unseen


def spot_lines(opened: OpenBay, box: Box3, spots: Spots) -> list[str]:
    """The answer in paragraphs, without the caution."""
    places = [f"{k}. {place_words(opened, place)}" for k, place in enumerate(spots.places, start=1)]
    return [title_words(opened, box), *(places or [NO_PLACE]), fell_words(spots), BOUNDS, HEAT]
