"""The frame's section of the scenario file: its tubes, joints, feet, and what it carries.

Tubes are cold-formed (EN 10219-2: outer corners of twice the wall). Clearances and padding: common practice, no source.
"""

from __future__ import annotations

from typing import Literal, Self, TypeAlias

from pydantic import Field, model_validator

from flightsim.contact.facings import shipped_facings
from flightsim.making.pieces import TubeSection
from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.quantities import Distance, Force, Size, Stored, Tension

Bars = Literal[
    "uprights", "top_bar", "side_bars", "front_bar", "legs", "hangers", "base_bars", "back_bar", "ribs", "wall_bars",
    "braces",
]  # fmt: skip
Brace: TypeAlias = Literal["canopy", "front", "base", "head", "plan"]

BARE, PADDED = "steel", "foam on steel"
CORDS = 0.050  # m between cloth and tube (common practice, no source)
CORNER = 2.0  # outer corner radius over wall (EN 10219-2)
PLAIN: tuple[Bars, ...] = ("wall_bars", "braces")  # have no foam unless named


class Tube(Model):
    """The tube that the frame is made of."""

    section: Literal["square", "round"] = Field("square", description="of the tube")
    size: Size = Field(0.050, description="outside width, or diameter; default 50 mm")
    wall: Size = Field(0.0025, description="thickness of the steel; default 2.5 mm")
    corner_radius: Distance | None = Field(None, description="of a square one's outer edges; default twice the wall")
    grade: Literal["S235", "S275", "S355", "A500B", "A500C"] = Field(
        "S235", description="of the steel (EN 10219-1; A500B, A500C: ASTM A500, shaped); default S235"
    )

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.wall >= self.size / 2.0:
            raise ValueError("a tube's wall must be less than half its size")
        if self.corner_radius is not None and self.section == "round":
            raise ValueError("a round tube has no corner_radius")
        if self.rounding() > self.size / 2.0:
            raise ValueError("a tube's corner_radius can be half its size at most; it is twice the wall unless given")
        return self

    def rounding(self) -> float:
        """Outer corner radius, m; nought of a round one, which has no corners."""
        if self.section == "round":
            return 0.0
        return CORNER * self.wall if self.corner_radius is None else self.corner_radius

    def as_bought(self) -> TubeSection:
        """For the cut list and the checks."""
        return TubeSection(self.section, self.size, self.wall, self.rounding())


class Joint(Model):
    """How bars are joined: a stub of tube that slides into (or over) the bar and is bolted, or a weld."""

    kind: Literal["sleeve", "welded"] = Field("sleeve", description="default a telescoping sleeve")
    fits: Literal["inside", "outside"] = Field("inside", description="where the sleeve goes; default inside the bar")
    size: Size | None = Field(None, description="of the sleeve's tube; default the tabled one with the least play")
    wall: Size | None = Field(None, description="of the sleeve's tube; default the thickest of that size")
    clearance: Distance = Field(0.0005, description="least play a side; default 0.5 mm (common practice, no source)")
    overlap: Size = Field(0.100, description="sleeve in the bar; default 100 mm (twice the tube; common practice)")
    bolt: Size = Field(0.008, description="of the bolts through it; default 8 mm (M8)")
    bolts: int = Field(2, ge=1, le=6, description="through each sleeve; default 2")

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.size is None) != (self.wall is None):
            raise ValueError("give the sleeve's size and its wall, or neither")
        return self


class Anchoring(Model):
    """What fixes feet and brackets: capacities and least measures are its maker's; unknown is not passed."""

    count: int = Field(2, ge=1, le=8, description="anchors in each foot or bracket; default 2")
    pull_capacity: Force | None = Field(None, description="design pull of one anchor, by its maker, in this base")
    shear_capacity: Force | None = Field(None, description="design shear of one anchor, by its maker, in this base")
    base_thickness: Size | None = Field(None, description="of the slab, wall or joist that they go into, as measured")
    base_needed: Size | None = Field(None, description="least thickness, by the maker")
    edge_distance: Size | None = Field(None, description="from the nearest edge of the base, as measured")
    edge_needed: Size | None = Field(None, description="least distance, by the maker")


class Carries(Model):
    """What acts on the frame beside its own weight."""

    cord_pull: Tension = Field(100.0, description="of the screen's cords along its edges; default 100 N/m (practice)")
    canopy_mass: Stored | None = Field(None, description="default from the canopy's thickness and underside")
    stored_on_top: Stored | None = Field(
        None, description="on the canopies; default none on cloth or net, 10 kg/m2 on a board (judgement)"
    )
    person: Force = Field(1000.0, description="somebody hanging on a canopy's edge; default 1 kN, commonly 0.5 to 1 kN")
    sideways: Force = Field(500.0, description="push at the top, each way; default 0.5 kN")
    ball: Force = Field(500.0, description="a ball's push through the cords; default 0.5 kN, of 80 m/s in cloth")


class Frame(Model):
    """The tubes around a screen, and those that carry its canopies."""

    name: Called = Field("frame", min_length=1, description="what people call it; needed where there are several")
    screen: str | None = Field(None, description="the screen that it carries, where there are several")
    canopies: tuple[str, ...] | None = Field(None, description="those that it carries; default all of its screen")
    tube: Tube = Field(Tube(), description="of all bars")
    clearance: Distance = Field(CORDS, description="edge of the cloth to the tube, for the cords; default 50 mm")
    canopy_bars: Literal["around", "above", "beside"] = Field(
        "around", description="level with the canopy and outside its edges; or on top of it; or outside its edges and "
        "level with ribs that lie on it",
    )  # fmt: skip
    canopy_clearance: Distance | None = Field(
        None, description="edge of the canopy to bars around it; default as clearance for cloth, 0 m for a board"
    )
    front_support: Literal["none", "legs", "hangers"] = Field(
        "none", description="what carries the canopy's front corners: legs to the floor, hangers to the roof"
    )
    base_length: Distance = Field(
        0.0, description="of bars on the floor, from each upright toward the tee; default none"
    )
    post_top: Literal["top_bar", "canopy"] = Field(
        "top_bar", description="how high the uprights go: to the top bar, or up to the canopy's side bars"
    )
    wall_bars: Literal["none", "straight", "braced"] = Field(
        "none", description="from the uprights' heads back to the end wall, with brackets; braced: and slanting ones"
    )
    braces: tuple[Brace, ...] = Field(
        (), description="canopy: under each arm; front: leg to front bar; base: on bars on the floor; head: behind the "
        "screen's top corners; plan: on the canopy's front corners",
    )  # fmt: skip
    brace_length: Size = Field(0.400, description="each way from the corner; default 400 mm")
    back_bar: bool = Field(
        False, description="a bar along the canopy's screen-side edge; with canopy_bars: above or beside"
    )
    ribs: int = Field(0, ge=0, le=20, description="bars from the back bar to the front bar; default none")
    feet: Literal["standing", "anchored"] = Field("standing", description="on the floor: standing, or bolted down")
    joint: Joint = Field(Joint(), description="how bars are joined")
    anchors: Anchoring = Field(Anchoring(), description="of feet and brackets")
    carries: Carries = Field(Carries(), description="what acts on it")
    opening_width: Size | None = Field(None, description="clear, between the uprights, to be held against the screen")
    opening_height: Size | None = Field(None, description="clear, slab to the top bar, to be held against the screen")
    outer_width: Size | None = Field(None, description="over the uprights, to be held against opening and tube")
    outer_height: Size | None = Field(None, description="slab to the top bar's top, to be held against the rest")
    padding: Literal["none", "foam"] = Field("none", description="foam around the tubes")
    padding_thickness: Size = Field(0.040, description="of the foam, all round; default 40 mm")
    padded: tuple[Bars, ...] = Field(
        (), description="which bars have it, where there is padding; default all but braces and wall bars"
    )

    @model_validator(mode="after")
    def _ribs_lie_on_bars(self) -> Self:
        if self.ribs and not self.back_bar:
            raise ValueError("ribs need something at their back: back_bar: true")
        if self.back_bar and self.canopy_bars == "around":
            raise ValueError("a back bar and ribs lie on the canopy: canopy_bars: beside, or above")
        if "front" in self.braces and self.front_support != "legs":
            raise ValueError("braces at the front go from legs: front_support: legs")
        if "head" in self.braces and self.wall_bars == "braced":
            raise ValueError("braced wall bars hold the head already, where its braces would be: leave out one of them")
        if "base" in self.braces and self.base_length == 0.0:
            raise ValueError("braces at the base stand on bars on the floor: give base_length")
        return self

    def foam_on(self, bars: Bars) -> float:
        """Thickness of the foam around these bars, m."""
        padded = bars in self.padded if self.padded else bars not in PLAIN
        return self.padding_thickness if self.padding == "foam" and padded else 0.0

    def half(self, bars: Bars) -> float:
        """Half the outside width of these bars, foam included, m."""
        return self.tube.size / 2.0 + self.foam_on(bars)

    def facing(self, bars: Bars) -> str:
        """What a ball meets."""
        return padded_name(self.padding_thickness) if self.foam_on(bars) else BARE


def padded_name(thickness: float) -> str:
    """The facing's name of foam of this thickness, m, on steel."""
    base = shipped_facings()[PADDED].foam
    same = base is not None and abs(base.thickness - thickness) < 1e-9
    return PADDED if same else f"{thickness * 1000.0:g} mm {PADDED}"
