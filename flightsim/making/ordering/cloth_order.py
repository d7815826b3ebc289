"""What to order a screen or net as: finished and cut size, hem, eyelets, cords; as drawn, and as measured.

Allowances are common practice, no source, unless a line says otherwise: what builders do, not what is enough.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi

from flightsim.errors import BadInputError
from flightsim.making.pieces import Cloth, TubeSection
from flightsim.making.structure import Structure
from flightsim.scenario.reading.display import Display

LEAST_CORD_ROOM = 0.010  # m a side: with less the cords cannot be laced (judgement)
CORD_ROOM = 0.050  # m a side, where no frame says (common practice, no source)
LEAST_CLOTH = 0.100  # m: less is a slip of the tape (judgement)
NEAR_PEOPLE = 0.020  # m, clear mesh (common practice, no source)
SAME = 0.005  # m: as near as a tape tells (judgement)


@dataclass(frozen=True)
class ClothAllowances:
    """How a cloth is made up, m. Common practice, no source; hem, pitch, stretch, fullness [making-up]: judgement."""

    foot_fold: float = 0.150  # onto the floor: 100 mm, 150 to 300 better
    hem: float = 0.050  # turned over on every side
    eyelet_pitch: float = 0.200  # at most
    eyelet_inset: float = 0.025  # from the finished edge
    cord_diameter: float = 0.006
    cord_stretch: float = 0.25  # of its slack length, when hung
    net_fullness: float = 0.10  # more net than opening, each way, so that it hangs slack
    lacing: float = 1.5  # cord over the edge that it laces
    mesh: float = 0.025  # clear; 20 mm near people
    roll_width: float | None = None  # of the cloth; wider needs seams


@dataclass(frozen=True)
class Opening:
    """The clear opening that a screen hangs in, m: between the uprights, and slab to the underside of the top bar."""

    width: float
    height: float
    tube: TubeSection | None = None


OUNCE_A_YARD = 0.45359237 / 16.0 / 0.9144**2  # kg/m2 of an ounce a square yard (exact, 1959)


@dataclass(frozen=True)
class ClothOrder:
    """One cloth or net to order. basis: whether its size is that of the drawing or of the opening as measured."""

    name: str
    kind: str
    material: str
    system: str
    basis: str  # "as drawn", "as measured"
    finished_width: float
    finished_height: float  # foot fold included
    cut_width: float
    cut_height: float
    room_each_side: float | None  # cloth's edge to the tube, for the cords
    room_above: float | None
    foot_fold: float
    eyelets: int
    pitch_across: float
    pitch_up: float
    cords: int
    cord_length: float  # slack, each; of a net, all of it
    cord_total: float
    seams: int
    notes: tuple[str, ...]
    problems: tuple[str, ...] = ()
    areal_mass: float | None = None  # kg/m2, as it was flown

    def weighing(self, areal_mass: float | None, show: Display) -> ClothOrder:
        """The order with the weight of cloth that was flown, kg/m2."""
        if areal_mass is None:
            return self
        note = f"{weight(areal_mass, show)}, as flown: another weight gives and throws back otherwise, fly that first"
        return replace(self, areal_mass=areal_mass, notes=(note, *self.notes))


def weight(areal_mass: float, show: Display) -> str:
    """600 g/m2, or 17.7 oz/yd2, of cloth. areal_mass: kg/m2."""
    return f"{areal_mass / OUNCE_A_YARD:.1f} oz/yd2" if show.units == "imperial" else f"{areal_mass * 1e3:.0f} g/m2"


def drawn_opening(name: str, structures: tuple[Structure, ...]) -> Opening | None:
    """The clear opening of the frame that carries this screen, from its bars; None where none does."""
    for structure in structures:
        hung = structure.screen
        if hung is None or hung.name != name:
            continue
        sides = [structure.bar(side) for side in hung.sides]
        top = structure.bar(hung.top)
        across = [bar.start[1] for bar in sides]
        half = sides[0].section.size / 2.0
        return Opening(max(across) - min(across) - 2.0 * half, top.start[2] - top.section.size / 2.0, top.section)
    return None


def order_screen(
    cloth: Cloth, drawn: Opening | None, measured: Opening | None, allow: ClothAllowances, show: Display
) -> ClothOrder:
    """A screen for its opening as measured, with the room for cords that was drawn; as drawn where none is."""
    foot = cloth.above_floor or 0.0
    side = None if drawn is None else (drawn.width - cloth.width) / 2.0
    above = None if drawn is None else drawn.height - foot - cloth.height
    width, height, problems = cloth.width, cloth.height, list[str]()
    if measured is not None:
        side, above = (CORD_ROOM if room is None else room for room in (side, above))
        width, height = measured.width - 2.0 * side, measured.height - above - foot
        problems += _misfits(cloth, measured, width, height, show)
    if min(width, height) < LEAST_CLOTH:
        raise BadInputError(
            f"build.measured: the opening of {cloth.name} leaves {show.to_cut(width)} x "
            f"{show.to_cut(height)} of cloth\n"
            "  allowed: an opening that is larger than the room for its cords\n  try: measure it again, in one unit"
        )
    fold = cloth.flap if cloth.flap > 0.0 else allow.foot_fold
    notes = [] if cloth.flap > 0.0 else [f"foot fold of {show.to_cut(fold)}: not in the bay's file, common practice"]
    full = height + fold
    tube = (measured and measured.tube) or (drawn and drawn.tube) or None
    return _made_up(cloth, "as drawn" if measured is None else "as measured", width, full, fold, side, above, tube,
                    allow, tuple(notes), tuple(problems))  # fmt: skip


def order_net(cloth: Cloth, allow: ClothAllowances, show: Display) -> ClothOrder:
    """A net or a slack sheet: larger than what it covers by the fullness, laced along its edges."""
    more = 1.0 + allow.net_fullness if cloth.kind == "net" else 1.0
    width, height = cloth.width * more, cloth.height * more
    edge = 2.0 * (cloth.width + cloth.height)
    mesh = cloth.mesh or allow.mesh
    notes = (
        (f"clear mesh {show.to_cut(mesh)} at most; {show.to_cut(NEAR_PEOPLE)} near people (practice)",)
        if cloth.kind == "net"
        else ()
    )
    seams = 0 if allow.roll_width is None else max(ceil(width / allow.roll_width - 1e-9) - 1, 0)
    total = edge * allow.lacing
    hem = 0.0 if cloth.kind == "net" else allow.hem
    return ClothOrder(
        cloth.name, cloth.kind, cloth.material, cloth.system, "as drawn", width, height, width + 2.0 * hem,
        height + 2.0 * hem, None, None, 0.0, 0, 0.0, 0.0, 1, total, total, seams, notes,
    )  # fmt: skip


def _misfits(cloth: Cloth, measured: Opening, width: float, height: float, show: Display) -> list[str]:
    """What a builder must know where the opening is not what was drawn."""
    tape, foot = show.to_cut, cloth.above_floor or 0.0
    found = []
    if measured.width - cloth.width < 2.0 * LEAST_CORD_ROOM:
        found.append(
            f"{cloth.name}: {tape(cloth.width)} wide as drawn, it no longer fits its opening of {tape(measured.width)} "
            "as measured."
        )
    if measured.height - foot - cloth.height < LEAST_CORD_ROOM:
        found.append(
            f"{cloth.name}: {tape(cloth.height)} high as drawn, it no longer fits below the top bar, measured at "
            f"{tape(measured.height)}."
        )
    for way, was, now in (("width", cloth.width, width), ("height", cloth.height, height)):
        if abs(was - now) > SAME:
            found.append(
                f"{cloth.name}: {way} {tape(was)} was flown; {tape(now)} fits the frame as measured. Set screen.{way} "
                "to that, run the bay again, and order after that."
            )
    return found


def _made_up(
    cloth: Cloth, basis: str, width: float, full: float, fold: float, side: float | None, above: float | None,
    tube: TubeSection | None, allow: ClothAllowances, notes: tuple[str, ...], problems: tuple[str, ...],
) -> ClothOrder:  # fmt: skip
    """Eyelets at even pitch along top and sides, one in each corner; a cord for each."""
    hung = full - fold
    across = max(ceil((width - 2.0 * allow.eyelet_inset) / allow.eyelet_pitch - 1e-9), 1)
    up = max(ceil((hung - allow.eyelet_inset) / allow.eyelet_pitch - 1e-9), 1)
    eyelets = across + 1 + 2 * up  # the top row holds both corners
    pitch_across, pitch_up = (width - 2.0 * allow.eyelet_inset) / across, (hung - allow.eyelet_inset) / up
    cord = _cord(side if side is not None else CORD_ROOM, tube, allow)
    seams = 0 if allow.roll_width is None else max(ceil(width / allow.roll_width - 1e-9) - 1, 0)
    return ClothOrder(
        cloth.name, cloth.kind, cloth.material, cloth.system, basis, width, full, width + 2.0 * allow.hem,
        full + 2.0 * allow.hem, side, above, fold, eyelets, pitch_across, pitch_up, eyelets, cord, cord * eyelets,
        seams,         (*notes, *_asked_for(seams)), problems,
    )  # fmt: skip


def _cord(room: float, tube: TubeSection | None, allow: ClothAllowances) -> float:
    """Slack length of a loop from an eyelet round the tube and back, m."""
    size = tube.size if tube is not None else 0.05
    legs = 2.0 * (room + allow.eyelet_inset)
    wrap = 3.0 * size if tube is None or tube.shape == "square" else (1.0 + pi / 2.0) * size
    return (legs + wrap) / (1.0 + allow.cord_stretch)


def _asked_for(seams: int) -> tuple[str, ...]:
    """What to ask the maker of a screen."""
    return (
        "printed or coated side toward the tee",
        "seams" + (f": {seams}, upright, away from the middle" if seams else ": none, where the roll is wide enough"),
        "fire rating: ask for a certificate of the class that local rules want (Europe: EN 13501-1 class; "
        "elsewhere the local one); none is assumed here",
        "finished size is what to order; the cut size is for sewing it yourself",
    )
