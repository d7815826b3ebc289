"""The order of work, the tools, and the cautions, for what is on the lists and no more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from flightsim.making.build_list import BuildList
from flightsim.making.ordering.seams import base_of
from flightsim.making.pieces import Bar
from flightsim.making.settings import BuildSettings

CANOPY = ("side bar", "front bar", "back bar", "rib", "leg", "hanger")  # pushed together and lifted as one
LIFT_ALONE = 23.0  # kg: the most for one person in the best case [niosh], from memory


def steps(made: BuildList, settings: BuildSettings) -> tuple[str, ...]:
    """What to do first and what after."""
    return tuple(_steps(made, settings))


def _steps(made: BuildList, settings: BuildSettings) -> Iterator[str]:
    yield "Measure the room again; hold it against the bay's file. One that differs goes into the file first."
    if made.bars:
        yield "Cut the bars by the stock plan, longest first. Stamp each with its mark. Deburr the ends inside and out."
        if any(bar.holes for bar in made.bars):
            yield "Mark the holes from the end that the cut list names; drill one bar of each mark and try it first."
        if any("weld" in marking.what for marking in made.markings):
            yield ("Mark out what is welded by marking_out.csv: so far from that end, on that face. Tack it, try the "
                   "bar on it with a square, then weld. Put foot plates and brackets on last.")  # fmt: skip
        yield from _sleeved(made) if _slides(made.bars) else _welded()
        if any("both, clamped" in marking.what for marking in made.markings):
            yield "Clamp each brace that lies on a bar where marking_out.csv has it, and drill through both."
        if any(fitting.material == "anchor" for fitting in made.fittings):
            yield ("Set the anchors when the frame is plumb: bit, depth, distance from the edge and torque as their "
                   "maker says. Where each plate is: anchors.csv.")  # fmt: skip
    if any(cloth.kind == "screen" for cloth in made.cloths):
        if any(cloth.kind == "screen" and cloth.basis == "as drawn" for cloth in made.cloths):
            yield ("Measure the clear opening: width at three heights, height at three places. Put the least into "
                   "build.measured and build again. Order the screen only then.")  # fmt: skip
        else:
            yield "Order the screen at the size given as measured."
    if made.boards:
        yield "Cut the boards by the sheet plan. Fix them before the cloth is hung. The notes say what each seam is on."
    if made.floor:
        turf = any(laid.material == "turf" for laid in made.floor)
        feet = " and cut it out around the frame's feet (on_the_slab.csv)" if made.bars else ""
        later = f" Let turf lie for a day before its edges are trimmed{feet}." if turf else ""
        yield f"Lay the floor in the order of its numbers.{later}"
    if made.cloths:
        yield "Hang the cloth from the top middle outward, then the sides evenly. Stop when its wrinkles go."
        yield "Lace the nets slack: they stop balls by giving way."
    around = [length for length in made.lengths if length.material.startswith("pipe foam")]
    if around:
        yield "Slit the pipe foam and close it around its bars with tape or ties; cut it out around braces and bolts."
    if len(around) < len(made.lengths):
        yield "Fit the strips over the gaps last. No gap stays wider than half a ball (common practice)."
    yield "Hit soft shots first, from close, with nobody else in the room. Look at every joint, cord and anchor again."


def _welded() -> Iterator[str]:
    yield "Lay the frame out flat, corners loose. Both diagonals are equal to 3 mm (common practice)."
    yield "Raise the uprights with two people. Brace or fix them before anything is hung on them."
    yield "Fit the top bar, then the bars of the canopy from the screen outward, then braces. Tighten when plumb."


def _slides(bars: Sequence[Bar]) -> bool:
    return any(end.fitting.startswith("slides") for bar in bars for end in bar.ends)


def _sleeved(made: BuildList) -> Iterator[str]:
    """A bar with a sleeve at each end goes in only while what carries the sleeves can still move apart."""
    roles = {bar.role for bar in made.bars}
    yield ("Push uprights and top bar together flat on the floor: a bar between two sleeves goes in only while both "
           "can still move apart. Both diagonals are equal to 3 mm (common practice). Bolt it.")  # fmt: skip
    if "side bar" in roles:
        inner = "ribs between back and front bar, then " if "rib" in roles else ""
        under = " and the legs on their stubs" if "leg" in roles else " and the hangers on theirs"
        held = under if roles & {"leg", "hanger"} else ""
        weight = sum(bar.mass for bar in made.bars if bar.role in CANOPY)
        yield (f"Push the canopy's frame together on the floor: {inner}the side bars on to the front bar from both "
               f"sides{held}. It weighs {weight:.0f} kg: lift it with {max(2, ceil(weight / LIFT_ALONE))} or more."
               )  # fmt: skip
    if "wall bar" in roles:
        yield "Slide the wall bars on the uprights' stubs. Raise the screen's frame with two, and walk it to the wall."
    else:
        yield "Raise the screen's frame with two people. Brace or fix it before anything is hung on it."
    if "side bar" in roles:
        yield "Walk the canopy's frame to it and push its side bars on to the uprights' stubs, one person a corner."
    if any(role.startswith("brace") for role in roles):
        yield "Fit the braces. Tighten all bolts when it is plumb."


def tools(made: BuildList) -> tuple[str, ...]:
    """What it takes."""
    found = ["tape, square, level, marker, ladder"]
    if made.bars:
        found.append("metal saw with a stop, file, clamps, punch, drill and bits, spanners")
    if any("weld" in end.fitting for bar in made.bars for end in bar.ends):
        found.append("welder, mask, extraction, fire blanket")
    if made.boards:
        glue = ", glue that the foam's maker allows (not in the cost)" if any(
            base_of(board.name.partition(", part ")[0]) for board in made.boards
        ) else ""  # fmt: skip
        found.append(f"saw for boards with a guide, knife for foam, driver{glue}")
    if made.cloths:
        found.append("eyelet tool if you sew yourself, scissors, cord")
    return tuple(found)


def cautions(made: BuildList) -> tuple[str, ...]:
    """What can hurt somebody. Local codes and licensed people come first."""
    return tuple(_cautions(made))


def _cautions(made: BuildList) -> Iterator[str]:
    yield "Local building, fire and electrical rules come first; ask those who are licensed where they ask for it."
    if made.bars:
        yield "Cutting: eyes, ears and gloves off the blade; clamp the bar; let no offcut fall."
        if any("weld" in end.fitting for bar in made.bars for end in bar.ends):
            yield "Welding: fumes, above all of zinc, are poisonous. Grind zinc off, move the air, watch for fire."
        heavy = made.heaviest
        if heavy is not None:
            alone = "one person can lift it" if heavy.mass < LIFT_ALONE / 2.0 else "lift it with two"
            yield f"Lifting: the heaviest bar ({heavy.mark}, {heavy.name}) weighs {heavy.mass:.1f} kg; {alone}."
        yield "Overhead: nobody stands under what is not yet fixed. Nobody hangs on it afterwards."
        yield "Electricity: find cables before drilling; metal near them is bonded by somebody licensed."
    if any("foam" in board.material for board in made.boards) or made.lengths or made.cloths:
        yield "Fire: foam, cloth and nets burn fast and smoke. Ask for their fire rating; keep heaters and lamps away."
    yield "Way out: keep the doors and the path to them free of posts, nets and cords."


def carrying(made: BuildList, settings: BuildSettings) -> tuple[str, ...]:
    """The longest piece, and whether sheets come through the door."""
    found = []
    if made.longest is not None:
        found.append(f"Longest piece: {made.longest.mark}, {made.longest.name}, {made.longest.length * 1e3:.0f} mm.")
    longest = max(
        (plan_list.plan.order.stocks[bar.stock].length for plan_list in made.stock for bar in plan_list.plan.bars),
        default=0,
    )
    if longest:
        found.append(f"Longest bar to fetch: {longest / 1e6:.0f} mm; have it cut at the yard if it does not travel.")
    door = [side for side in (settings.door_width, settings.door_height) if side is not None]
    for plan_list in made.sheets:
        size = plan_list.plan.size
        least = min(size.length, size.width)
        if len(door) < 2:
            found.append(
                f"Sheets of {plan_list.material}: {least * 1e3:.0f} mm the narrow way; door not in the bay's file."
            )
        elif least > max(door):
            found.append(f"Sheets of {plan_list.material} do not pass the door whole: cut them outside.")
        else:
            found.append(f"Sheets of {plan_list.material} pass the door on edge.")
    return tuple(found)
