"""Makes the bee-space map: planes through a hive, with their free space graded.

Each plane shows solid parts and free space. Each place in free space is graded by the largest cube that fits around it:
too tight, bee space or too wide, with warning margins in between. Space that workers cannot reach from between the
frames is sealed.
"""

from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.hive.gaps.grading import BeeSpace, Grade
from woodshop.hive.passages.inside import Inside, Plane, Z, ceiling_over, planes_of
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.reference.materials import Material
from woodshop.shape.clear import ClearPatch, clear_classes, split
from woodshop.shape.part import Cuboid, Placed, Rectangle, Role
from woodshop.shape.plane import Patch, section, sides
from woodshop.units.lengths import ZERO, Length

GRADES = (
    Grade.TOO_TIGHT,
    Grade.SLIGHTLY_TIGHT,
    Grade.BEE_SPACE,
    Grade.SLIGHTLY_WIDE,
    Grade.TOO_WIDE,
    Grade.WIDE_BY_DESIGN,
    Grade.SEALED,
)
"""The grades of free space, in the order of the map's legend."""
HAIR = Length(Fraction(1, 10**6))  # any size above a limit exceeds it by at least this


@dataclass(frozen=True, slots=True)
class MapSolid:
    """The section of one part in a plane, as rectangles that do not overlap. `own` is true for our parts.

    `rim` is the name of the item if the part is its outer wall, or "" for other parts.
    """

    name: str
    tier: str
    role: Role
    _: KW_ONLY
    material: Material
    rectangles: tuple[Rectangle, ...]
    own: bool
    rim: str = ""


@dataclass(frozen=True, slots=True)
class GradedRegion:
    """A connected region of free space with one grade, and the largest size limit that fits in it, if any."""

    grade: Grade
    patch: Patch
    clear: Length | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MapSection:
    """A section of a hive in the plane `axis` = `at`. In its window, u and v are the other two axes, in order.

    `band` names the published band of bee space used for the grades.
    """

    name: str
    caption: str
    axis: int
    at: Length
    window: Rectangle
    solids: tuple[MapSolid, ...]
    regions: tuple[GradedRegion, ...]
    band: str

    def with_grade(self, *grades: Grade) -> tuple[GradedRegion, ...]:
        """The regions with these grades."""
        return tuple(region for region in self.regions if region.grade in grades)


def bee_map(stack: Stack, space: BeeSpace, inside: Inside | None = None) -> tuple[MapSection, ...]:
    """The sections of a hive, graded by a published range of bee space and its margins.

    `inside` is the `Inside` of the same hive, if it exists already. Its cached walks are reused.
    """
    within = inside or Inside(stack)
    scale = _Scale.of(space)
    return tuple(_section(within, plane, scale) for plane in planes_of(within.stack))


@dataclass(frozen=True, slots=True)
class _Scale:
    """The limits in ascending order, the size to test for each, and the grades. `grades[0]` is below all limits."""

    band: str
    limits: tuple[Length, ...]
    sizes: tuple[Length, ...]
    grades: tuple[Grade, ...]

    @classmethod
    def of(cls, space: BeeSpace) -> "_Scale":
        """The sizes at which the grade changes. Limits are inclusive: a size equal to a limit is within it."""
        steps = [(space.tightest, ZERO), (space.least, ZERO), (space.most, HAIR), (space.widest, HAIR)]
        found: list[tuple[Length, Length, Grade]] = []
        for limit, hair in steps:
            grade = space.limits.grade(limit + hair)
            if grade is not (found[-1][2] if found else Grade.TOO_TIGHT):
                found.append((limit, limit + hair, grade))
        limits, sizes, grades = zip(*found, strict=True)
        return cls(space.name, limits, sizes, (Grade.TOO_TIGHT, *grades))


def _section(inside: Inside, plane: Plane, scale: _Scale) -> MapSection:
    stack, axis = inside.stack, plane.axis
    window = _window(inside, axis)
    found = clear_classes(inside.scene, axis, plane.at, window=window, sizes=scale.sizes)
    regions = _regions(inside, plane, window, scale, found)
    owners = {id(placed): tier for tier in stack.tiers for placed in tier.placed}
    solids = []
    for cross in section(inside.scene, axis, plane.at, window).solids:
        if isinstance(cross.thing, Placed):
            part, tier = cross.thing.part, owners[id(cross.thing)]
            rim = tier.place.rim if part.name in tier.place.walls else ""
            solids.append(
                MapSolid(
                    part.name,
                    tier.name,
                    cross.thing.role,
                    material=part.material,
                    rectangles=cross.rectangles,
                    own=tier.is_own,
                    rim=rim,
                )
            )
    return MapSection(
        name=plane.name, caption=plane.caption, axis=axis, at=plane.at, window=window,
        solids=tuple(solids), regions=regions, band=scale.band,
    )  # fmt: skip


def _window(inside: Inside, axis: int) -> Rectangle:
    """The window that contains all parts of the hive in the plane."""
    u, v = sides(axis)
    low, high = inside.extent.low, inside.extent.high
    return Rectangle(low[u], low[v], high[u], high[v])


def _regions(
    inside: Inside, plane: Plane, window: Rectangle, scale: _Scale, found: tuple[ClearPatch, ...]
) -> tuple[GradedRegion, ...]:
    """The regions of free space, divided where a declared space ends and where bees can go no farther."""
    declared = tuple(box for tier in inside.stack.tiers for box in _declared(inside.stack, tier))

    def grade(n: int, is_declared: bool, at_hand: bool) -> int:
        name = scale.grades[n]
        if not at_hand:
            name = Grade.SEALED
        elif is_declared and name in (Grade.SLIGHTLY_WIDE, Grade.TOO_WIDE):
            name = Grade.WIDE_BY_DESIGN
        return GRADES.index(name)

    reach = ((inside.walked, inside.reached), (inside.probed, inside.touched))
    pieces = split(
        inside.scene,
        plane.axis,
        plane.at,
        window=window,
        found=found,
        sizes=scale.sizes,
        marked=declared,
        walkers=reach,
        kind=grade,
    )
    return tuple(
        GradedRegion(GRADES[piece.kind], piece.patch, scale.limits[piece.best - 1] if piece.best else None)
        for piece in pieces
    )


def _declared(stack: Stack, tier: Tier) -> list[Cuboid]:
    """The spaces that a tier declares.

    If the declared space of a board or shim ends at the top of the walls, it is extended up to the part that closes it.
    """
    boxes = [space.box for space in tier.spaces]
    closed = ceiling_over(stack, tier) if tier.kind in (TierKind.BOARD, TierKind.SHIM) else None
    if closed is None or not boxes:
        return boxes
    roof = min(placed.box.low[Z] for placed in closed.ceiling)
    edge = max(placed.box.high[Z] for placed in tier.walls)
    return [Cuboid(box.low, (*box.high[:2], roof)) if edge <= box.high[Z] < roof else box for box in boxes]
