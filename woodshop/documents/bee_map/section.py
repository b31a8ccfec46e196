"""One plane of a bee-space map on paper: solids by what they are, free space by its grade, inside a window."""

from dataclasses import dataclass

from woodshop.drawing.arranging.patterns import Pattern, borders, cut_to, filled, slabs
from woodshop.drawing.values.paper import Box, Mark, Spot, Stroke
from woodshop.drawing.values.style import POINTS_PER_MM
from woodshop.hive.gaps.grading import Grade
from woodshop.hive.passages.bee_map import GRADES, MapSection, MapSolid
from woodshop.reference.materials import Form
from woodshop.shape.part import Rectangle, Role
from woodshop.units.lengths import Length

_PER_MM = float(POINTS_PER_MM)

PATTERNS: dict[Grade, Pattern] = {
    Grade.TOO_TIGHT: Pattern.BLACK,
    Grade.SLIGHTLY_TIGHT: Pattern.BARS,
    Grade.BEE_SPACE: Pattern.WHITE,
    Grade.SLIGHTLY_WIDE: Pattern.GRID,
    Grade.TOO_WIDE: Pattern.NET,
    Grade.WIDE_BY_DESIGN: Pattern.RINGS,
    Grade.SEALED: Pattern.CROSSES,
}


@dataclass(frozen=True, slots=True)
class Stuff:
    """How a solid is drawn: what it is, its pattern and the weight of its outline."""

    what: str
    pattern: Pattern
    weight: float


OURS = Stuff("made for this batch", Pattern.CLOSE_GRAIN, 1.5)
THEIRS = Stuff("there already", Pattern.GRAIN, 0.6)
MESH = Stuff("wire mesh", Pattern.WIRES, 0.4)
SUGAR = Stuff("sugar", Pattern.SPECKS, 0.6)
COMB = Stuff("comb", Pattern.BRICKS, 0.4)
CLOTH = Stuff("cloth", Pattern.BLACK, 0.4)
SHAVINGS = Stuff("shavings", Pattern.CURLS, 0.4)
STUFFS = (OURS, THEIRS, MESH, SUGAR, COMB, CLOTH, SHAVINGS)


def stuff_of(solid: MapSolid) -> Stuff:
    """How a solid is drawn."""
    if solid.material.mesh is not None:
        return MESH
    if solid.role is Role.FILLING or solid.material.form is Form.LOOSE:
        return SHAVINGS if solid.material.kind.layer == "shavings" else SUGAR
    if solid.name == "comb":
        return COMB
    if solid.material.kind.layer == "cloth":
        return CLOTH
    return OURS if solid.own else THEIRS


@dataclass(frozen=True, slots=True)
class Paper:
    """From a window of a plane to paper: `scale` is paper over real; the window's lower left corner is (0, 0)."""

    window: Rectangle
    scale: float

    def spot(self, u: Length, v: Length) -> Spot:
        """A place of the plane on paper, in points; what lies on one line of the plane lies on one line on paper."""
        return self._at(u, self.window.u0), self._at(v, self.window.v0)

    def _at(self, place: Length, start: Length) -> float:
        return round((float(place.mm) - float(start.mm)) * _PER_MM * self.scale, 4)

    def box(self, rectangle: Rectangle) -> Box:
        """A rectangle of the plane on paper."""
        return Box(*self.spot(rectangle.u0, rectangle.v0), *self.spot(rectangle.u1, rectangle.v1))

    @property
    def frame(self) -> Box:
        """The whole window on paper."""
        return self.box(self.window)


def section_marks(section: MapSection, paper: Paper, small: bool = False) -> list[Mark]:
    """A plane inside a window: first the free space by grade, then what is solid. `small`: with lighter lines."""
    frame, marks = paper.frame, []
    for grade in GRADES:
        for region in section.with_grade(grade):
            rings = [[paper.spot(*at) for at in ring] for ring in (region.patch.outer, *region.patch.holes)]
            cut = [inner for box in slabs(rings) if (inner := cut_to(box, frame))]
            marks += filled(cut, PATTERNS[grade])
    for solid in section.solids:
        cut = shown(solid, paper)
        if not cut:
            continue
        how = stuff_of(solid)
        marks += filled(cut, how.pattern)
        weight = how.weight * (0.6 if small else 1.0)
        marks += [Stroke(line, weight) for line in borders(cut, frame)]
    return marks


def shown(solid: MapSolid, paper: Paper) -> list[Box]:
    """What the window shows of a solid."""
    frame = paper.frame
    return [inner for each in solid.rectangles if (inner := cut_to(paper.box(each), frame))]
