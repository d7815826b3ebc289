"""A bay's maps in words and rows: shares of all directions, nearest escapes, what is shown closed, the string check."""

from __future__ import annotations

from math import degrees

from flightsim.contact.fates import Flag
from flightsim.report.words.common_words import FLAG_WORDS, digits, one_in, percent
from flightsim.report.words.map_ways import at_its_speed, way_words
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display
from flightsim.study.map.bay_map import BayMap, ClubMap
from flightsim.study.map.direction_map import Share
from flightsim.study.map.directions import EACH
from flightsim.study.map.envelope import WIDER
from flightsim.study.map.nearest_escapes import FACTORS, Escape
from flightsim.study.map.shooting import Meets
from flightsim.study.map.string_check import EdgeString

MEETS_WORDS = {
    Meets.GUARD: "protection",
    Meets.UNPROTECTED: "unprotected",
    Meets.FLOOR: "floor",
    Meets.OUT: "way out",
    Meets.UNKNOWN: "not followed",
}
WAYS_SAID = (
    "Ways: over, left, right and under are told by where the nearest protection is as seen from the ball; a gap has "
    "protection within 10 deg on both sides; what looks down with no protection below it is told by its name; "
    "backward is more than 135 deg off the target line."
)
DIRECTIONS_SAID = (
    "Every launch direction counts alike, by its solid angle, whatever a player does: these shares are sizes of holes, "
    "not how often a ball goes there."
)
FLOOR_SAID = (
    "Where the floor may come first nothing is shown: those directions are told by the balls flown in them, and no "
    "more."
)
STRINGS_SAID = (
    "String check: hold a string from the ball's middle to that point of the edge and lay a level on it. A ball whose "
    "path lies within its own radius of the string clips the edge."
)
REGIONS_TITLE = (
    "What stops the ball first: its share of all directions; how much of that gets past, rebounds included; its part "
    "of the outline"
)
FEWEST = 0.0005  # of all directions: smaller regions are gathered in one row
MOST_STRINGS, MOST_ESCAPES = 12, 8  # told on a terminal


def title(club: ClubMap, found: BayMap) -> str:
    """Whose map it is: `7-iron, 47.0 m/s`."""
    several = len({aim.aim.spot for aim in found.clubs}) > 1
    name = club.aim.name
    if several and club.aim.spot not in name:
        name = f"{name} from {club.aim.spot}"
    if len({c.aim.hand for c in found.clubs}) > 1:
        name = f"{name}, {club.aim.hand}-handed"
    speed = _display(found).speed(club.map.shooter.ball_speed)
    return f"{name}, {speed}" + (f" ({club.map.factor:g} of its normal speed)" if club.map.factor != 1.0 else "")


def _display(found: BayMap) -> Display:
    return Display(found.opened.scenario.units)


def share_words(share: Share, of: str = "all directions") -> str:
    """`4.9 % of all directions (4.4 to 5.5 %)`."""
    if share.most <= 0.0:
        return f"none found of {of}"
    words = f"{_fine(share.found)} of {of}" if share.found > 0.0 else f"next to none of {of}"
    return f"{words} ({_fine(share.least)} to {_fine(share.most)})"


def _fine(share: float) -> str:
    """A share in percent with a digit more, so that the ends of a narrow range differ."""
    return f"{digits(100.0 * share, 3)} %" if 1e-6 < share < 0.99 else _percent(share)


def _percent(share: float) -> str:
    """A share in percent; what rounding left of all or nothing is all or nothing."""
    return "0" if share <= 1e-12 else percent(1.0 if share > 1.0 - 1e-9 else share)


def verdict(club: ClubMap, found: BayMap) -> list[str]:
    """What the map says, in a few sentences."""
    first, within = club.map.share(club.map.first), club.reach_first
    sentences = [
        f"In its first flight a ball gets past the protection in {share_words(first)}, whatever a player does.",
        f"Of what this club can launch at all (the outline on the map, {percent(club.map.reached)} of all directions) "
        f"that is {share_words(within, 'it')} in the first flight; a rebound does harm after {percent_of(club)} of it.",
        normal_words(club, found),
    ]
    nearest = at_its_speed(club)
    if nearest:
        sentences.append(
            f"The smallest turn of a normal {club.aim.club} shot that gets past in its first flight: "
            f"{turn_words(nearest[0])}; {way_words(nearest[0], found)}, to the {nearest[0].shot.region.name}."
        )
    return [*sentences, shown_words(club)]


def percent_of(club: ClubMap) -> str:
    """How much of the outline does harm only after a rebound."""
    more = max(0.0, club.reach_open.found - club.reach_first.found)
    return percent(more) if more > 0.0 else "none"


def normal_words(club: ClubMap, found: BayMap) -> str:
    """What becomes of the normal shot."""
    display = _display(found)
    aim = club.aim
    words = (
        f"A normal shot (up {display.angle(aim.elevation)}, {_side(aim.azimuth)}) meets the {club.normal.meets} first"
    )
    if not club.normal.flags:
        return f"{words}, and this one ball does no harm from there: `flightsim run` flies many."
    flags = ", ".join(
        f"{FLAG_WORDS[flag]} at {display.speed(club.normal.flags[flag.key])}"
        for flag in Flag
        if flag.key in club.normal.flags
    )
    return f"{words}, and then {flags}."


def shown_words(club: ClubMap) -> str:
    """What is shown by a bound within the envelope, and what is not."""
    shown, whole = club.closure, club.map.reached
    if club.nothing_open and shown.floor == 0.0:
        return (
            "Nothing open: of what this club can launch, every direction is shown to meet protection first, cell by "
            "cell, with room to spare, and no ball flown in it got past."
        )
    parts = [f"{percent(shown.closed / whole)} is shown to meet protection first, whatever the direction within a cell"]
    if shown.floor > 0.0:
        parts.append(f"{percent(shown.floor / whole)} may meet the floor first, and is told by flown balls only")
    if shown.bare > 0.0:
        parts.append(f"{percent(shown.bare / whole)} is bare")
    if shown.left:
        why = "the work that was allowed for it was done" if shown.spent else "the smallest cells were reached"
        parts.append(
            f"{percent(shown.undecided / whole)} is undecided, and counts as open ({shown.left:,} cells of "
            f"{degrees(shown.smallest):.2g} deg, where {why})"
        )
    words = f"Of what this club can launch {'; '.join(parts)}."
    if club.nothing_open:
        words = f"Nothing open was found, and nothing bare can be reached but off the floor. {words}"
    return f"{words} {FLOOR_SAID}" if shown.floor > 0.0 else words


def region_table(club: ClubMap) -> Table:
    """What is met first, with its share of all directions, what of that gets past, and its part of the envelope."""
    rows, rest = [], [0.0] * 3
    for row in club.map.by_region():
        reach = row.reach.found / club.map.reached
        if row.share.found < FEWEST and row.reach.found == 0.0:
            rest = [rest[0] + row.share.found, rest[1] + row.open.found, rest[2] + reach]
            continue
        error = max(row.share.most - row.share.found, row.share.found - row.share.least)
        rows.append((row.region.name, MEETS_WORDS[row.region.meets],
                     *_region_cells(row.share.found, error, row.open.found, reach)))  # fmt: skip
    if rest[0] > 0.0:
        rows.append(("all else", "", *_region_cells(rest[0], None, rest[1], rest[2])))
    head = ("met first", "", "of all", "directions", "past", "outline")
    return Table(REGIONS_TITLE, head, tuple(rows), frozenset({3, 4, 5}))


def _region_cells(share: float, error: float | None, opens: float, reach: float) -> tuple[str, ...]:
    """Share in words, as percent with its error; what part of it gets past; its part of the envelope."""
    with_error = f"{100.0 * share:.2f} %" + ("" if error is None else f" +-{100.0 * error:.2f}")
    return one_in(share), with_error, _percent(opens / share if share > 0.0 else 0.0), _percent(reach)


def escape_table(club: ClubMap, found: BayMap, most: int | None = None) -> Table:
    """The nearest escape by each way, at the map's speed, and the turn that it takes at others."""
    rows = [
        (
            f"{number}", way_words(escape, found), turn_words(escape), escape.shot.region.name,
            _display(found).speed(escape.speed), _others(escape, club), nearer_words(escape),
        )
        for number, escape in enumerate(at_its_speed(club)[:most], start=1)
    ]  # fmt: skip
    head = (
        "",
        "way",
        f"turned from a normal {club.aim.club} shot",
        "meets",
        "at",
        "at other speeds",
        "0.02 deg nearer",
    )
    return Table("Nearest escapes, in the first flight", head, tuple(rows), frozenset({4}))


def escape_lines(club: ClubMap, found: BayMap, most: int) -> list[str]:
    """The nearest escapes, a line each, for a terminal."""
    speed = _display(found).speed
    return [
        f"{number}. {way_words(e, found)}: {turn_words(e)}; to the {e.shot.region.name} at {speed(e.speed)}"
        for number, e in enumerate(at_its_speed(club)[:most], start=1)
    ]


def turn_words(escape: Escape) -> str:
    """`2.30 deg higher and 1.10 deg further right: a turn of 2.55 deg`."""
    parts = []
    for value, plus, minus in ((escape.higher, "higher", "lower"), (escape.righter, "further right", "further left")):
        size = abs(degrees(value))
        if size >= 0.005:
            parts.append(f"{size:.2f} deg {plus if value > 0.0 else minus}")
    words = " and ".join(parts) or "no turn at all"
    return f"{words}: a turn of {degrees(escape.shot.turn):.2f} deg"


def _others(escape: Escape, club: ClubMap) -> str:
    """The turn at other speeds."""
    same = [other for other in club.escapes if other.route == escape.route and other.factor != 1.0]
    turns = {other.factor: f"{degrees(other.shot.turn):.2f} deg" for other in same}
    others = sorted({factor for factor in (*FACTORS, *turns) if factor != 1.0}) if club.map.factor == 1.0 else []
    return ", ".join(f"x {factor:g}: {turns.get(factor, 'none near')}" for factor in others)


def nearer_words(escape: Escape) -> str:
    """What the neighbour does."""
    if escape.closer is None:
        return ""
    if escape.closer.gets_out:
        return f"gets past too, elsewhere ({escape.closer.region.name})"
    return f"meets the {escape.closer.region.name}"


def string_table(club: ClubMap, found: BayMap, with_ends: bool = True) -> Table:
    """What a string from the ball's middle past each edge reads, nearest to the shot first."""
    display = _display(found)
    rows = [
        (
            edge.guard, edge.edge, f"{degrees(edge.nearest.elevation):.1f} deg", _side(edge.nearest.azimuth),
            display.length(edge.nearest.length), *((_ends(edge),) if with_ends else ()),
        )
        for edge in club.strings
    ]  # fmt: skip
    head = ("protection", "edge", "level reads", "left-right", "string", *(("at its ends",) if with_ends else ()))
    height = display.length(float(club.aim.start[2]))
    name = f"String check for the {title(club, found)}: from the ball's middle, {height} over the slab, to each edge's "
    name += "point nearest to the shot"
    return Table(name, head, tuple(rows), frozenset({2, 4}))


def _ends(edge: EdgeString) -> str:
    return " and ".join(f"{degrees(end.elevation):.1f} deg up, {_side(end.azimuth)}" for end in edge.ends)


def _side(azimuth: float) -> str:
    size = abs(degrees(azimuth))
    return "straight" if size < 0.05 else f"{size:.1f} deg {'right' if azimuth > 0.0 else 'left'}"


def envelope_words(club: ClubMap) -> str:
    """How the envelope was made."""
    kinds = ", ".join(club.aim.strikes)
    return (
        f"The outline is what this club can launch at all: {club.aim.drawn.shape[1]:,} launches drawn from the "
        f"scenario's own strikes ({kinds}), {EACH:,} of each kind whatever its share, so that rare ones count; every "
        f"cell within {degrees(WIDER):g} deg of one belongs to it, and what these enclose. Ball speed and spin on the "
        "map are those of a normal shot in every direction."
    )
