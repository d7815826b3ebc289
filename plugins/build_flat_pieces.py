"""What a flat guard is made of: boards with the foam on them, a net or a sheet, by its facing and its thickness."""

from __future__ import annotations

from typing import Literal

from flightsim.contact.facings import shipped_facings
from flightsim.making.pieces import Board, Cloth, Fitting, Length, Pieces, thick

HUNG = {"net": "net", "cloth": "cloth", "curtain": "curtain"}  # facings of what hangs and has no thickness
PLY_DENSITY, FOAM_DENSITY = 750.0, 30.0  # kg/m3: birch ply, upper end; foam [sheets]
SCREWS = 0.150  # m between screws along a board's edges (common practice, no source)


def flat_pieces(
    name: str, facing: str, thickness: float, width: float, height: float, system: str, mesh: float | None = None,
    above_floor: float | None = None,
) -> Pieces:  # fmt: skip
    """The pieces of one flat guard, as drawn; a board drawn without thickness is as thick as its facing says."""
    if facing in HUNG and thickness == 0.0:
        kind: Literal["net", "cloth"] = "net" if facing == "net" else "cloth"
        return Pieces(cloths=(Cloth(name, kind, HUNG[facing], width, height, system, above_floor, mesh=mesh),))
    known = shipped_facings().get(facing)
    foam = known.foam.thickness if known is not None and known.foam is not None else 0.0
    plate = known.plate.thickness if known is not None and known.plate is not None else 0.0
    if plate == 0.0:  # foam by itself, gypsum, timber: one board of that
        solid = thickness or foam or 0.0
        if solid == 0.0:
            return Pieces(notes=(f"{name}: made of {facing}, thickness not in the bay's file: not listed",))
        material = f"{'foam' if foam else facing} {thick(solid)}"
        density = FOAM_DENSITY if foam else None
        return Pieces(boards=(_board(name, material, solid, width, height, system, density),))
    solid = thickness or plate
    drawn = () if thickness else (f"{name}: drawn without thickness, listed as {facing} of {plate * 1e3:g} mm",)
    base = "plywood" if "plywood" in facing else facing.rpartition(" on ")[2]
    density = PLY_DENSITY if base == "plywood" else None
    boards = [_board(name, f"{base} {thick(solid)}", solid, width, height, system, density)]
    if foam:
        boards.append(_board(f"{name}, foam", f"foam {thick(foam)}", foam, width, height, system, FOAM_DENSITY))
    count = 2 * max(round((width + height) / SCREWS), 2)
    screws = Fitting(
        f"screw for {name}, edges at 150 mm (common practice)", "wood or self-drilling screw", count, system
    )
    return Pieces(boards=tuple(boards), fittings=(screws,), notes=drawn)


def foam_strip(name: str, width: float, thickness: float, length: float, system: str) -> Pieces:
    """A strip of foam along an edge, bought by its length."""
    material = f"foam strip {width * 1e3:.0f} x {thickness * 1e3:g} mm"
    return Pieces(lengths=(Length("", name, material, length, system),))


def together(*pieces: Pieces) -> Pieces:
    """The pieces of all, in one list."""
    return Pieces(
        bars=tuple(bar for piece_list in pieces for bar in piece_list.bars),
        boards=tuple(board for piece_list in pieces for board in piece_list.boards),
        lengths=tuple(length for piece_list in pieces for length in piece_list.lengths),
        fittings=tuple(fitting for piece_list in pieces for fitting in piece_list.fittings),
        cloths=tuple(cloth for piece_list in pieces for cloth in piece_list.cloths),
        floor=tuple(piece for piece_list in pieces for piece in piece_list.floor),
        notes=tuple(note for piece_list in pieces for note in piece_list.notes),
        markings=tuple(marking for piece_list in pieces for marking in piece_list.markings),
    )


def _board(
    name: str, material: str, thickness: float, width: float, height: float, system: str, density: float | None
) -> Board:
    mass = None if density is None else density * thickness
    return Board("", name, material, thickness, width, height, system, mass_per_area=mass)
