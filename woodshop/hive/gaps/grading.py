"""Grades gaps. The same rule applies to findings, tables, maps, variation and the first article."""

from dataclasses import dataclass
from enum import StrEnum

from woodshop.findings import Severity
from woodshop.hive.creatures import closed_limit, worker
from woodshop.hive.gaps.faces import Gap, GapKind, GapName
from woodshop.reference.facts import Fact, fact
from woodshop.reference.limits import DEFAULT_BAND, band, outer_limits
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit, wording_of

ON_WALL = " on wall"
LOADED = "mesh over top bars, loaded"


class Grade(StrEnum):
    """Every grade of a gap, as printed, worst first. The grades of contacts are last."""

    TOO_TIGHT = "too tight"
    TOO_WIDE = "too wide"
    SLIGHTLY_TIGHT = "slightly tight"
    SLIGHTLY_WIDE = "slightly wide"
    APART = "does not touch"
    OVERLAPS = "overlaps"
    PAST_EDGE = "too much overhang"
    BEE_SPACE = "bee space"
    SEALED = "sealed"
    WIDE_BY_DESIGN = "wide by design"
    TOUCHES = "touches"
    TOUCHES_LOADED = "touches once the mesh sags"
    BRIDGED = "bridged by the part between"
    IN_WALL = "held in the wall"
    FLUSH = "flush"
    NEARLY_FLUSH = "nearly flush"
    BEHIND_SKIRT = "behind the skirt"
    NO_LIMIT = "no limit"

    @property
    def is_good(self) -> bool:
        """Whether a gap of this grade is acceptable."""
        return self not in _OUT

    @property
    def severity(self) -> Severity:
        """The severity of a finding about a gap with this grade if one face of the gap is on one of our parts."""
        if self in (Grade.SLIGHTLY_TIGHT, Grade.SLIGHTLY_WIDE):
            return Severity.WARNING
        return Severity.NOTE if self.is_good else Severity.ERROR

    @property
    def rank(self) -> int:
        """The rank of this grade, counted from worst to best."""
        return _RANK[self]


_RANK = {grade: n for n, grade in enumerate(Grade)}
_OUT = frozenset(grade for grade in Grade if grade.rank < Grade.BEE_SPACE.rank)
FITTING = frozenset((Grade.TOUCHES, Grade.BRIDGED, Grade.IN_WALL, Grade.FLUSH))
"""Grades of contacts that tables omit."""


@dataclass(frozen=True, slots=True)
class BeeSpace:
    """A published range of bee space, both ends included, its margins, and its source.

    `mesh_least` is the minimum space between the top bars and sagging mesh that bees pass through. `unit`, the unit of
    the design, is used for limits that are not quoted from a source.
    """

    name: str
    least: Length
    most: Length
    tightest: Length
    widest: Length
    mesh_least: Length
    cite: str
    unit: LengthUnit = "in"

    @property
    def words(self) -> str:
        """The range as text.

        >>> bee_space().words
        '1/4 to 3/8 in'
        >>> bee_space("six to nine").words
        '6 to 9 mm'
        """
        return wording_of(self.unit).quoted(band(self.name).row.value)

    @property
    def is_default(self) -> bool:
        """Whether this is the default range."""
        return self.name == DEFAULT_BAND

    @property
    def limits(self) -> "GapLimits":
        """The limits for a gap that bees use."""
        return GapLimits(self.least, self.most, self.words, self.cite, margins=(self.tightest, self.widest))


@dataclass(frozen=True, slots=True)
class MeshSag:
    """The effect of fresh sugar on mesh over the bars: its total sag, and its sag below the strips (`between`).

    If the mesh does not rest on strips, `between` is None, and `sag` reduces the space over the bars. If the mesh rests
    on strips, the space is the height of the strips minus `between`, whatever the gap without sugar is.
    """

    sag: Length = ZERO
    between: Length | None = None


@dataclass(frozen=True, slots=True)
class GapLimits:
    """The limits `least` and `most` of a gap.

    Both are inclusive, but if `under` is true, the gap must be less than `most`. None means that there is no limit. A
    gap outside a limit but within the margin on that side is slightly tight or wide. `note` says what the limits
    include. `within` is the grade of a gap inside the limits.
    """

    least: Length | None = None
    most: Length | None = None
    words: str = ""
    source: str = "geometry"
    under: bool = False
    margins: tuple[Length | None, Length | None] = (None, None)
    note: str = ""
    within: Grade = Grade.BEE_SPACE

    @property
    def is_set(self) -> bool:
        """Whether there is any limit."""
        return self.least is not None or self.most is not None

    def holds(self, gap: Length) -> bool:
        """Whether a gap of this size is within the limits."""
        if self.least is not None and gap < self.least:
            return False
        return self.most is None or gap < self.most or (gap == self.most and not self.under)

    def off(self, gap: Length) -> Length:
        """How far a gap of this size is outside the limits, or zero if it is within them."""
        short = ZERO if self.least is None else self.least - gap
        return max(ZERO, short, ZERO if self.most is None else gap - self.most)

    def grade(self, least: Length, most: Length | None = None) -> Grade:
        """The grade of a gap of this size or, for a range of sizes, the worse of the grades of its two ends.

        >>> from woodshop.units.lengths import inch
        >>> print(bee_space().limits.grade(inch("1/4"), inch("3/8")), "/", bee_space().limits.grade(inch("3/16")))
        bee space / slightly tight
        """
        return min((self._of(least), self._of(least if most is None else most)), key=lambda grade: grade.rank)

    def _of(self, gap: Length) -> Grade:
        low, high = self.margins
        if self.holds(gap):
            return self.within
        if self.least is not None and gap < self.least:
            return Grade.SLIGHTLY_TIGHT if low is not None and gap >= low else Grade.TOO_TIGHT
        return Grade.SLIGHTLY_WIDE if high is not None and gap <= high else Grade.TOO_WIDE


@dataclass(frozen=True, slots=True)
class GradedGap:
    """A measured gap with its grade and limits."""

    gap: Gap
    grade: Grade
    limits: GapLimits


def bee_space(name: str = DEFAULT_BAND, unit: LengthUnit = "in") -> BeeSpace:
    """The published range with this name, with its margins. Raises KeyError for an unknown name."""
    chosen, (low, high) = band(name), outer_limits()
    return BeeSpace(
        name,
        chosen.least,
        chosen.most,
        min(low, chosen.least),
        max(high, chosen.most),
        fact("bee_space.tightest").length,
        chosen.cite,
        unit,
    )


def loaded_limits(space: BeeSpace) -> GapLimits:
    """The limits for the space between mesh and bars under fresh sugar. The upper limit is checked without sugar.

    Because bees pass up through the mesh, the space is too tight only if a worker cannot get under the mesh.
    """
    row = fact("bee_space.tightest")
    return GapLimits(space.mesh_least, None, f"{_said(row, space)} or more", row.cite, margins=(worker().size, None))


def _said(row: Fact, space: BeeSpace) -> str:
    return row.worded(wording_of(space.unit))


def gap_limits(name: str, kind: GapKind, space: BeeSpace, mesh: MeshSag) -> GapLimits:
    """The limits for a gap with this name and kind; `mesh` is the effect of fresh sugar on the mesh over the bars."""
    row = fact("bee_space.tightest")
    if kind == "bees' way":
        return space.limits
    if kind == "mesh over bars":
        sag = mesh.sag if mesh.between is None else ZERO
        words = f"{_said(row, space)} once the mesh sags {sag.text(space.unit)}," if sag else _said(row, space)
        return GapLimits(
            space.mesh_least + sag,
            space.most,
            f"{words} to {space.most.text(space.unit)}",
            f"{row.cite}; {space.cite}",
            margins=(worker().size + sag, space.widest),
            note="under mesh",
        )
    if kind == "mesh on strip":
        if mesh.between is None:
            return GapLimits(words="no limit: no mesh rests on it", within=Grade.NO_LIMIT)
        return GapLimits(
            space.mesh_least + mesh.between,
            None,
            f"{_said(row, space)} plus {mesh.between.text(space.unit)} of sag between strips",
            row.cite,
            margins=(worker().size + mesh.between, None),
            note="under mesh, with its sag between strips",
        )
    if name == GapName.OVERHANG:
        row = fact("box.overhang_most")
        return GapLimits(
            ZERO - row.length, row.length, f"at most {_said(row, space)}", row.cite, within=Grade.NEARLY_FLUSH
        )
    if kind == "sealed":
        who = worker()
        return GapLimits(None, who.size, closed_limit(space.unit), who.row.cite, under=True, within=Grade.SEALED)
    if name == GapName.ENTRANCE_TO_SKIRT:
        return GapLimits(words="a way past the skirt, as walked", within=Grade.WIDE_BY_DESIGN)
    if kind == "declared":
        return GapLimits(ZERO, None, "more than 0", within=Grade.WIDE_BY_DESIGN)
    return GapLimits(words="contact", within=Grade.TOUCHES)


def varied_limits(name: str, kind: GapKind, made: Length, space: BeeSpace, mesh: MeshSag) -> GapLimits:
    """The limits for a gap with this name and kind if the sizes of its parts vary. `made` is the gap as designed.

    Parts stay in contact even if their sizes vary, so contacts have limits only where strips or sugar could lift a part
    that rests on the walls.
    """
    if kind == "contact" and name.endswith(ON_WALL):
        row = fact("strip.proud_most")
        return GapLimits(None, made + row.length, f"at most {_said(row, space)} off the wall", row.cite)
    return gap_limits(name, kind, space, mesh)


def grade_gap(gap: Gap, space: BeeSpace, mesh: MeshSag = MeshSag()) -> GradedGap:
    """The grade of a gap by its name and kind alone. `grade_gaps` also considers other gaps in the same place."""
    if gap.name == LOADED:
        limits = loaded_limits(space)
        return GradedGap(gap, limits.grade(gap.least), limits)
    limits = gap_limits(gap.name, gap.kind, space, mesh)
    if gap.name == GapName.OVERHANG:
        flush, kept = not gap.least and not gap.most, limits.holds(gap.least) and limits.holds(gap.most)
        grade = Grade.FLUSH if flush else limits.within if kept else Grade.PAST_EDGE
    elif gap.kind == "contact":
        grade = Grade.OVERLAPS if gap.least < ZERO else Grade.APART if gap.most > ZERO else Grade.TOUCHES
        if gap.name == GapName.STRIP_TO_MESH and grade is Grade.APART and mesh.between is not None:
            grade = Grade.TOUCHES_LOADED
    elif gap.name == GapName.ENTRANCE_TO_SKIRT and gap.least < ZERO:
        grade = Grade.BEHIND_SKIRT
    else:
        grade = limits.grade(gap.least, gap.most)
    return GradedGap(gap, grade, limits)


def grade_gaps(gaps: tuple[Gap, ...], space: BeeSpace, mesh: MeshSag) -> tuple[GradedGap, ...]:
    """Grades the combined gaps of one hive. The grade of a gap can depend on other gaps in the same place.

    For example, wood on mesh on wood counts as a contact. So does mesh in a rabbet or groove, which is above the wall
    below, if the rim itself rests on that wall.
    """
    carried = carried_places(gaps)
    found = []
    for gap in gaps:
        graded = grade_gap(gap, space, mesh)
        if graded.grade is Grade.APART and gap.name.endswith(ON_WALL) and gap.place in carried:
            grade = Grade.BRIDGED if gap.name == GapName.WALL_ON_WALL else Grade.IN_WALL
            graded = GradedGap(gap, grade, graded.limits)
        found.append(graded)
    return tuple(found)


def carried_places(gaps: tuple[Gap, ...]) -> frozenset[str]:
    """The places where a wall rests on the wall below, or on mesh or cloth on that wall."""
    return frozenset(gap.place for gap in gaps if gap.name.endswith(ON_WALL) and not gap.least and not gap.most)
