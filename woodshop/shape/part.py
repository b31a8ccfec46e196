"""A part is a block minus its cuts, a placed part has a pose and a role, and an assembly is a set of placed parts.

The block has its own axes: x along the grain from the left end, y across the grain from the lower edge, z through the
thickness from the back face to the show face.

        upper edge (y = width)
       +------------------------+
       |       show face        |   left end x = 0, right end x = length
       +------------------------+   back face z = 0, show face z = thickness
        lower edge (y = 0)
"""

from collections.abc import Iterable, Iterator
from dataclasses import KW_ONLY, dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from itertools import combinations, pairwise, product

from woodshop.reference.materials import Material
from woodshop.units.lengths import ZERO, Area, Length, Volume


class Face(StrEnum):
    """The six faces of a block, with the names that woodworkers use."""

    LEFT = "left end"
    RIGHT = "right end"
    LOWER = "lower edge"
    UPPER = "upper edge"
    BACK = "back face"
    SHOW = "show face"


# The block axis that each face closes (0 = x, 1 = y, 2 = z), and whether it is at the far end of that axis.
FACE_AXIS: dict[Face, tuple[int, bool]] = {
    Face.LEFT: (0, False),
    Face.RIGHT: (0, True),
    Face.LOWER: (1, False),
    Face.UPPER: (1, True),
    Face.BACK: (2, False),
    Face.SHOW: (2, True),
}


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle in a face; u and v are the two other block axes, in order."""

    u0: Length
    v0: Length
    u1: Length
    v1: Length

    def __post_init__(self) -> None:
        if self.u0 >= self.u1 or self.v0 >= self.v1:
            raise ValueError(f"a cut {self.u1 - self.u0} x {self.v1 - self.v0}: both must be more than 0")


@dataclass(frozen=True, slots=True)
class RoundOutline:
    """A circle in a face, by its center and diameter."""

    u: Length
    v: Length
    diameter: Length

    def __post_init__(self) -> None:
        if self.diameter <= ZERO:
            raise ValueError(f"a hole {self.diameter} across: it must be more than 0")

    @property
    def square(self) -> Rectangle:
        """The bounding square of the circle."""
        r = self.diameter / 2
        return Rectangle(self.u - r, self.v - r, self.u + r, self.v + r)


Outline = Rectangle | RoundOutline


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut in a block: an outline in one face, and a depth. `name` is the trade's word for it."""

    name: str
    face: Face
    outline: Outline
    depth: Length


@dataclass(frozen=True, slots=True)
class Cuboid:
    """An upright block in space or in a part: two opposite corners as (x, y, z)."""

    low: tuple[Length, Length, Length]
    high: tuple[Length, Length, Length]

    def size(self, axis: int) -> Length:
        """The extent along axis 0, 1 or 2."""
        return self.high[axis] - self.low[axis]

    @property
    def volume(self) -> Volume:
        """Length times width times height."""
        return (self.size(0) * self.size(1)) * self.size(2)

    def meet(self, other: "Cuboid") -> "Cuboid | None":
        """The intersection of two blocks, or None if it has no volume."""
        low: list[Length] = []
        high: list[Length] = []
        for axis in range(3):  # most blocks are apart along the first axis
            start = max(self.low[axis], other.low[axis])
            end = min(self.high[axis], other.high[axis])
            if start >= end:
                return None
            low.append(start)
            high.append(end)
        return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))


@dataclass(frozen=True, slots=True)
class Fold:
    """A fold in a flat sheet: a line across it, `at` above its lower edge. `how` describes the fold."""

    at: Length
    how: str


@dataclass(frozen=True, slots=True)
class Part:
    """One piece: a block minus its cuts, and the material it is cut from.

    `length` runs along the grain (for mesh and cloth, along the longer side), `width` across it, and `thickness` is the
    third size. `on_edge` marks a strip ripped so that its width is the thickness of the board. `notes` are short
    remarks for the person who makes it; `folds` are made after cutting.
    """

    name: str
    material: Material
    length: Length
    width: Length
    thickness: Length
    _: KW_ONLY
    cuts: tuple[Cut, ...] = ()
    on_edge: bool = False
    notes: tuple[str, ...] = ()
    folds: tuple[Fold, ...] = ()

    def __post_init__(self) -> None:
        for word, value in zip(("length", "width", "thickness"), self.size, strict=True):
            if value <= ZERO:
                raise ValueError(f"{self.name}: {word} {value} is not more than 0")
        for cut in self.cuts:
            removed = cut_box(self, cut)
            outside = any(removed.low[i] < ZERO or removed.high[i] > self.size[i] for i in range(3))
            if outside or cut.depth <= ZERO:
                raise ValueError(f"{self.name}: the {cut.name} does not lie in the block")
        for fold in self.folds:
            if not ZERO < fold.at < self.width:
                raise ValueError(f"{self.name}: the fold does not lie between its edges")

    def __hash__(self) -> int:  # parts are often used as keys; few of them differ only in a cut
        return hash((self.name, self.material, self.length, self.width, self.thickness, len(self.cuts)))

    @property
    def size(self) -> tuple[Length, Length, Length]:
        """Length, width and thickness."""
        return (self.length, self.width, self.thickness)

    @property
    def is_plain(self) -> bool:
        """Whether the part is a block without cuts or folds."""
        return not self.cuts and not self.folds


def cut_box(part: Part, cut: Cut) -> Cuboid:
    """The block removed by a cut, or the bounding block of a round cut."""
    axis, far = FACE_AXIS[cut.face]
    rectangle = cut.outline if isinstance(cut.outline, Rectangle) else cut.outline.square
    low, high = [ZERO] * 3, [ZERO] * 3
    u, v = (i for i in range(3) if i != axis)
    low[u], high[u] = rectangle.u0, rectangle.u1
    low[v], high[v] = rectangle.v0, rectangle.v1
    full = part.size[axis]
    low[axis], high[axis] = (full - cut.depth, full) if far else (ZERO, cut.depth)
    return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))


class Role(StrEnum):
    """The role of a placed part: only parts to be made are cut from stock, but all parts are measured."""

    MADE = "made"
    BOUGHT = "bought"
    FILLING = "filling"
    EXISTING = "existing"


Point = tuple[Length, Length, Length]


@dataclass(frozen=True, slots=True)
class Pose:
    """The pose of a part: the position of its own corner (0, 0, 0), and the world directions of its axes.

    Directions are "+x", "-y" and so on. Only rotations are allowed. To a woodworker, a mirror image is a different
    part.
    """

    origin: Point
    along: str = "+x"
    across: str = "+y"
    through: str = "+z"

    def __post_init__(self) -> None:
        axes = [_axis(word) for word in (self.along, self.across, self.through)]
        if sorted(axis for axis, _ in axes) != [0, 1, 2]:
            raise ValueError(f"a pose needs three different axes, not {self}")
        order = [axis for axis, _ in axes]
        odd = order in ([0, 2, 1], [1, 0, 2], [2, 1, 0])
        if (sum(sign < 0 for _, sign in axes) + odd) % 2:
            raise ValueError(f"this pose mirrors the part: {self}")

    def place(self, box: Cuboid) -> Cuboid:
        """A block in the part's own axes, converted to world coordinates."""
        low, high = list(self.origin), list(self.origin)
        for i, word in enumerate((self.along, self.across, self.through)):
            axis, sign = _axis(word)
            a, b, at = box.low[i], box.high[i], self.origin[axis]
            low[axis], high[axis] = (at + a, at + b) if sign > 0 else (at - b, at - a)
        return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))

    def local(self, box: Cuboid) -> Cuboid:
        """A block in world coordinates, converted to the part's own axes."""
        low, high = [ZERO] * 3, [ZERO] * 3
        for i, word in enumerate((self.along, self.across, self.through)):
            axis, sign = _axis(word)
            a = (box.low[axis] - self.origin[axis]) * sign
            b = (box.high[axis] - self.origin[axis]) * sign
            low[i], high[i] = min(a, b), max(a, b)
        return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))

    def moved(self, by: Point) -> "Pose":
        """The same pose, moved."""
        x, y, z = (a + b if b else a for a, b in zip(self.origin, by, strict=True))
        return Pose((x, y, z), self.along, self.across, self.through)


@lru_cache(20_000)  # similar parts have the same pose in many hives
def _standing(pose: Pose, size: Point) -> Cuboid:
    return pose.place(Cuboid((ZERO, ZERO, ZERO), size))


@cache
def _axis(word: str) -> tuple[int, int]:
    if len(word) != 2 or word[0] not in "+-" or word[1] not in "xyz":
        raise ValueError(f"a direction such as '+x', not {word!r}")
    return "xyz".index(word[1]), 1 if word[0] == "+" else -1


@dataclass(frozen=True)
class Placed:
    """A part in place, and its role. Its blocks are calculated once, and are not copied."""

    part: Part
    pose: Pose
    role: Role = Role.MADE

    def __reduce__(self) -> tuple[type["Placed"], tuple[Part, Pose, Role]]:
        return Placed, (self.part, self.pose, self.role)

    def __hash__(self) -> int:  # assembled hives are often used as keys, and have over a hundred placed parts
        return self._hash

    @cached_property
    def _hash(self) -> int:
        return hash((self.part, self.pose, self.role))

    @cached_property
    def box(self) -> Cuboid:
        """The bounding block of the part in the world."""
        return _standing(self.pose, self.part.size)

    @cached_property
    def hollows(self) -> tuple[Cuboid, ...]:
        """The blocks removed by its cuts, in the world, with bounding blocks for round cuts."""
        return tuple(self.pose.place(cut_box(self.part, cut)) for cut in self.part.cuts)

    def moved(self, by: Point) -> "Placed":
        """The same part, moved."""
        return Placed(self.part, self.pose.moved(by), self.role)


@dataclass(frozen=True, slots=True)
class Space:
    """A space that an item declares as wide by design, and the reason."""

    name: str
    box: Cuboid
    why: str


@dataclass(frozen=True, slots=True)
class Fastener:
    """A number of fasteners of one kind, and what they fasten."""

    kind: str
    count: int
    holds: str


@dataclass(frozen=True, slots=True)
class Spec:
    """A figure to print next to an assembly: its name, and its value as text."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Assembly:
    """A made unit: placed parts in one coordinate system.

    World axes: x from the front of the hive to the back, y from the left wall to the right, z up; (0, 0, 0) is the
    outside corner at the front left, at the unit's lower edge.
    """

    item: str
    title: str
    placed: tuple[Placed, ...]
    _: KW_ONLY
    spaces: tuple[Space, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    steps: tuple[str, ...] = ()
    facts: tuple[Spec, ...] = ()

    def named(self, name: str) -> tuple[Placed, ...]:
        """Every placed part with this name."""
        return tuple(placed for placed in self.placed if placed.part.name == name)

    def with_role(self, *roles: Role) -> tuple[Placed, ...]:
        """Every placed part with one of these roles."""
        return tuple(placed for placed in self.placed if placed.role in roles)

    @property
    def box(self) -> Cuboid:
        """The bounding block of all placed parts."""
        boxes = [placed.box for placed in self.placed]
        low = tuple(min(box.low[i] for box in boxes) for i in range(3))
        high = tuple(max(box.high[i] for box in boxes) for i in range(3))
        return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))

    def moved(self, by: Point) -> "Assembly":
        """A copy of the assembly at a new position."""
        placed = tuple(p.moved(by) for p in self.placed)
        spaces = tuple(Space(s.name, Pose(by).place(s.box), s.why) for s in self.spaces)
        return Assembly(
            self.item, self.title, placed, spaces=spaces, fasteners=self.fasteners, steps=self.steps, facts=self.facts
        )


def carve(placed: Placed, taken: Cuboid, name: str, face: Face) -> Placed:
    """The placed part minus a block, in world coordinates, that opens to `face`. Unchanged if they do not intersect.

    `name` is the name of the new cut. Raises ValueError if the intersection does not reach that face.
    """
    shared = placed.box.meet(taken)
    if shared is None:
        return placed
    local = placed.pose.local(shared)
    axis, far = FACE_AXIS[face]
    u, v = (i for i in range(3) if i != axis)
    if (local.high[axis] != placed.part.size[axis]) if far else bool(local.low[axis]):
        raise ValueError(f"{placed.part.name}: the {name} does not open to the {face}")
    cut = Cut(name, face, Rectangle(local.low[u], local.low[v], local.high[u], local.high[v]), local.size(axis))
    return replace(placed, part=replace(placed.part, cuts=(*placed.part.cuts, cut)))


def counted(placed: tuple[Placed, ...]) -> Iterator[tuple[Part, int]]:
    """Each distinct part once, in order of first appearance, with its count."""
    counts: dict[Part, int] = {}
    for each in placed:
        counts[each.part] = counts.get(each.part, 0) + 1
    yield from counts.items()


def solid_boxes(placed: Placed) -> tuple[Cuboid, ...]:
    """The part as disjoint upright blocks: its block minus its cuts."""
    whole, hollows = placed.box, placed.hollows
    if not hollows:
        return (whole,)
    steps = []
    for axis in range(3):
        marks = {whole.low[axis], whole.high[axis]}
        marks.update(m for h in hollows for m in (h.low[axis], h.high[axis]))
        steps.append(list(pairwise(sorted(marks))))
    cells = (Cuboid((x[0], y[0], z[0]), (x[1], y[1], z[1])) for x, y, z in product(*steps))
    return tuple(cell for cell in cells if not any(cell.meet(hollow) for hollow in hollows))


def gap(below: Iterable[Placed], above: Iterable[Placed], axis: int = 2) -> Length | None:
    """The minimum clearance along `axis` from the far faces of `below` to the near faces of `above`.

    Only places where one part is over the other count; if there is no such place, the result is None. It is negative if
    the parts overlap.
    """
    a, b = (i for i in range(3) if i != axis)
    lower = [box for placed in below for box in solid_boxes(placed)]
    upper = [box for placed in above for box in solid_boxes(placed)]
    gaps = [
        up.low[axis] - down.high[axis]
        for down in lower
        for up in upper
        if all(max(up.low[i], down.low[i]) < min(up.high[i], down.high[i]) for i in (a, b))
    ]
    return min(gaps, default=None)


def contact_area(below: Placed, above: Placed) -> Area:
    """The area over which one part rests flat on another, seen from above."""
    total = Area(Fraction(0))
    for down, up in product(solid_boxes(below), solid_boxes(above)):
        if down.high[2] == up.low[2]:
            sides = [min(up.high[i], down.high[i]) - max(up.low[i], down.low[i]) for i in (0, 1)]
            if all(side.mm > 0 for side in sides):
                total = total + sides[0] * sides[1]
    return total


def overlaps(parts: Iterable[Placed]) -> tuple[tuple[Placed, Placed, Volume], ...]:
    """Every pair of overlapping parts, with the volume they share. The result is empty if the unit can be built."""
    found = []
    for one, other in combinations(tuple(parts), 2):
        if not one.box.meet(other.box):
            continue
        shared = [m for a, b in product(solid_boxes(one), solid_boxes(other)) if (m := a.meet(b))]
        if shared:
            volume = shared[0].volume
            for box in shared[1:]:
                volume = volume + box.volume
            found.append((one, other, volume))
    return tuple(found)


def part_volume(placed: Placed) -> Volume:
    """The volume of the block minus its cuts; a round cut counts as its square."""
    boxes = solid_boxes(placed)
    volume = boxes[0].volume
    for box in boxes[1:]:
        volume = volume + box.volume
    return volume
