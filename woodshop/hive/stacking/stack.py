"""Assembles the hive. Each item is centered on the parts below it and lowered until it touches them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache, lru_cache
from math import lcm

from woodshop.errors import InputError, Problem
from woodshop.hive.creatures import PartName
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.hive.woodenware.bottom import BottomBoard, folded, lay_bottom
from woodshop.hive.woodenware.box import Frame, HiveBox, hang, walls_of
from woodshop.hive.woodenware.cover import Cover, InnerCover, lay_cover, lay_inner_cover
from woodshop.reference.facts import fact
from woodshop.shape.part import Assembly, Cuboid, Part, Placed, Point, Pose, Space, solid_boxes
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Contact:
    """Two parts in contact: the name of the upper part, in this tier, and the name and tier of the lower part."""

    part: str
    on: str
    on_tier: str


Spot = tuple[Length, Length]
Block = tuple[int, int, int, int, int, int]
"""A solid block on an integer grid: x0, y0, z0, x1, y1, z1."""


def marks_per_mm(placed: Iterable[Placed]) -> int:
    """The steps per millimeter of the coarsest grid that contains every edge of these parts."""
    every = tuple(placed)
    parts = {id(each.part): each.part for each in every}
    found = {m.mm.denominator for each in every for m in each.pose.origin}
    return lcm(*found.union(*(_solid(part)[1] for part in parts.values())))


def blocks_of(placed: Sequence[Placed], marks: int) -> list[tuple[Block, ...]]:
    """The solid blocks of each part on a grid with `marks` steps per mm.

    A part that is placed many times is scaled once.
    """
    scaled: dict[int, tuple[tuple[int, ...], ...]] = {}
    found = []
    for each in placed:
        cells = scaled.get(id(each.part))
        if cells is None:
            cells = tuple(tuple(_whole(mark, marks) for mark in cell) for cell in _solid(each.part)[0])
            scaled[id(each.part)] = cells
        x, y, z = (_whole(m.mm, marks) for m in each.pose.origin)
        picks = _picks(each.pose.along, each.pose.across, each.pose.through)
        (ax, sx), (ay, sy), (az, sz), (bx, _), (by, _), (bz, _) = picks
        found.append(
            tuple(
                (x + sx * c[ax], y + sy * c[ay], z + sz * c[az], x + sx * c[bx], y + sy * c[by], z + sz * c[bz])
                for c in cells
            )
        )
    return found


@cache
def _picks(along: str, across: str, through: str) -> tuple[tuple[int, int], ...]:
    """For each coordinate x0 to z1 of a rotated cell, the index of the coordinate before the rotation, and its sign."""
    low, high = [(0, 0)] * 3, [(0, 0)] * 3
    for i, word in enumerate((along, across, through)):
        axis, sign = "xyz".index(word[1]), 1 if word[0] == "+" else -1
        low[axis], high[axis] = ((i, 1), (i + 3, 1)) if sign > 0 else ((i + 3, -1), (i, -1))
    return (*low, *high)


def _whole(mark: Fraction, marks: int) -> int:
    top, bottom = mark.as_integer_ratio()
    return top * (marks // bottom)


@cache
def _solid(part: Part) -> tuple[tuple[tuple[Fraction, ...], ...], frozenset[int]]:
    """The solid cells of a part in its own axes, in mm, and their denominators. Cached, because frames repeat."""
    cells = solid_boxes(Placed(part, Pose((ZERO, ZERO, ZERO))))
    edges = tuple(tuple(m.mm for m in (*cell.low, *cell.high)) for cell in cells)
    return edges, frozenset(edge.denominator for cell in edges for edge in cell)


def come_down(
    name: str, moving: tuple[Placed, ...], fixed: Iterable[tuple[str, Placed]]
) -> tuple[Length, tuple[Contact, ...]]:
    """How far to move an assembly along z until it touches the parts below it, and the first contacts.

    `fixed` are the parts in place, each with the name of its tier. Raises InputError if no part is below; `name` is the
    name of the assembly in the message.
    """
    standing = tuple(fixed)
    marks = marks_per_mm((*moving, *(placed for _, placed in standing)))
    solid = zip(moving, blocks_of(moving, marks), strict=True)
    falling = [(block, placed.part.name) for placed, own in solid for block in own]
    lowest = min((block[2] for block, _ in falling), default=0)
    best: int | None = None
    touching: list[tuple[int, int, Contact]] = []
    # From the highest top down, rounded up: a part lower than the best one found cannot be the first to touch.
    tops = [-(-placed.box.high[2].mm.numerator * marks // placed.box.high[2].mm.denominator) for _, placed in standing]
    for n in sorted(range(len(standing)), key=lambda n: -tops[n]):
        if best is not None and tops[n] - lowest < best:
            break
        tier, placed = standing[n]
        for fx0, fy0, _, fx1, fy1, top in blocks_of([placed], marks)[0]:
            for m, ((x0, y0, low, x1, y1, _), part) in enumerate(falling):
                rise = top - low
                if (best is None or rise >= best) and fx0 < x1 and x0 < fx1 and fy0 < y1 and y0 < fy1:
                    if best is None or rise > best:
                        best, touching = rise, []
                    touching.append((m, n, Contact(part, placed.part.name, tier)))
    if best is None:
        raise InputError(Problem(name, "nothing below it", "a part to rest on", "Check the sizes given for it."))
    touching.sort(key=lambda each: each[:2])
    return Length(Fraction(best, marks)), tuple(dict.fromkeys(contact for _, _, contact in touching))


def lifted_by(stack: "Stack", n: int) -> tuple[str, ...]:
    """Our items, from bottom to top, that raise one of the user's tiers above the height it would have without them."""
    theirs: list[tuple[str, Placed]] = []
    by = ZERO
    for tier in stack.tiers[: n + 1]:
        if not tier.is_own:
            over = tier.kind in (TierKind.INNER_COVER, TierKind.COVER)
            by = come_down(tier.name, tier.placed, theirs)[0] if over else ZERO
            theirs += [(tier.name, placed.moved((ZERO, ZERO, by))) for placed in tier.placed]
    carry, found = {stack.tiers[n].name}, []
    for tier in reversed(stack.tiers[: n + 1] if by < ZERO else ()):
        if tier.name in carry:
            carry |= {contact.on_tier for contact in tier.rests}
            found += [tier.name] if tier.is_own else []
    return tuple(reversed(found))


_KEPT = 256  # assembled hives that are cached, because checks, drawings and maps need the same hives


BOTTOM = Place(kind=TierKind.BOTTOM, name="bottom board", walls=("bottom side", "bottom back"), own=False)
BOX = Place(kind=TierKind.BOX, name="box", walls=("box side", "box end"), own=False)
INNER_COVER = Place(
    kind=TierKind.INNER_COVER,
    name="inner cover",
    walls=("inner cover side", "inner cover end"),
    block="inner cover panel",
    ceiling=("inner cover panel",),
    ceiling_name="inner cover",
    own=False,
)
COVER = Place(
    kind=TierKind.COVER,
    name="cover",
    walls=("skirt side", "skirt end"),
    block=PartName.COVER_TOP,
    rim="cover",
    ceiling=(PartName.COVER_TOP,),
    ceiling_name="cover",
    own=False,
)
"""The places of the user's own parts. The places of our items are declared with the items."""


@dataclass(frozen=True, slots=True)
class Tier:
    """One tier of the hive in place. `rests` are its first contacts when it was lowered."""

    name: str
    place: Place
    placed: tuple[Placed, ...]
    spaces: tuple[Space, ...] = ()
    rests: tuple[Contact, ...] = ()

    @property
    def kind(self) -> TierKind:
        """The kind of tier."""
        return self.place.kind

    @property
    def is_own(self) -> bool:
        """Whether this tier is one of our items."""
        return self.place.own

    @property
    def walls(self) -> tuple[Placed, ...]:
        """The outer walls of the tier, or the block itself for a single block."""
        found = self.named(*self.place.walls)
        return found or (self.named(self.place.block) if self.place.block else ())

    @property
    def ceiling(self) -> tuple[Placed, ...]:
        """The parts that close the space below the tier."""
        return self.named(*self.place.ceiling)

    def named(self, *names: str) -> tuple[Placed, ...]:
        """Every placed part with one of these names, in the order of the tier."""
        return tuple(placed for placed in self.placed if placed.part.name in names)

    def moved(self, by: Point) -> "Tier":
        """A copy of the tier at a new position."""
        placed = tuple(each.moved(by) for each in self.placed)
        spaces = tuple(Space(each.name, Pose(by).place(each.box), each.why) for each in self.spaces)
        return replace(self, placed=placed, spaces=spaces)


@dataclass(frozen=True, slots=True)
class Stack:
    """An assembled hive, from bottom to top."""

    name: str
    tiers: tuple[Tier, ...]

    def of(self, *kinds: TierKind) -> tuple[Tier, ...]:
        """Every tier of these kinds, from bottom to top."""
        return tuple(tier for tier in self.tiers if tier.kind in kinds)

    @property
    def top_box(self) -> Tier:
        """The box below the hardware."""
        return self.of(TierKind.BOX)[-1]

    @property
    def placed(self) -> tuple[Placed, ...]:
        """Every placed part, from bottom to top."""
        return tuple(placed for tier in self.tiers for placed in tier.placed)


@dataclass(frozen=True, slots=True)
class Woodenware:
    """The user's own parts: boxes from bottom to top, with their frames; bottom board, inner cover, cover.

    Without a cover, the stack ends at the top item; without a bottom board, it begins at the lowest box.
    `default_frames` lists the boxes that have default frames, numbered from 0 at the bottom.
    """

    boxes: tuple[tuple[HiveBox, Frame], ...]
    bottom: BottomBoard | None = None
    inner: InnerCover | None = None
    cover: Cover | None = None
    default_frames: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Load:
    """A unit that goes on, in front of or under the boxes, and how far off center it is.

    The unit is an assembly in the axes of a box. Its center is the middle of the box for which it was made. `made_for`
    is the outside length and width of that box, by default the top box.
    """

    place: Place
    assembly: Assembly
    made_for: tuple[Length, Length] | None = None
    shift: tuple[Length, Length] = (ZERO, ZERO)

    @property
    def kind(self) -> TierKind:
        """The kind of tier that the load becomes."""
        return self.place.kind


def load(place: Place, *assemblies: Assembly) -> Load:
    """A load of several assemblies that move as one, such as a rim, its mesh and its sugar."""
    first = assemblies[0]
    placed = tuple(placed for each in assemblies for placed in each.placed)
    spaces = tuple(space for each in assemblies for space in each.spaces)
    return Load(place, Assembly(first.item, first.title, placed, spaces=spaces))


def stack_up(
    name: str, ware: Woodenware, loads: tuple[Load, ...] = (), push: tuple[Length, Length] = (ZERO, ZERO)
) -> Stack:
    """The assembled hive called `name`. `push` shifts the cover back (x) and to the right (y) of center.

    Loads are stacked in the order of TierKind, and in the given order within a kind. Raises InputError for a load with
    nothing below it.
    """
    return Stack(name, tiers_up(ware, loads, push))


@lru_cache(_KEPT)
def tiers_up(ware: Woodenware, loads: tuple[Load, ...], push: tuple[Length, Length]) -> tuple[Tier, ...]:
    """The tiers of an assembled hive, regardless of its name; see `stack_up`."""
    building = _Building(ware, *_boxes_up(replace(ware, inner=None, cover=None, default_frames=())))
    ordered = sorted(loads, key=lambda each: list(TierKind).index(each.kind))
    spacers = tuple(each for each in ordered if each.kind is TierKind.UNDER_COVER)
    building.set_ground(tuple(each for each in ordered if each.kind in (TierKind.INSERT, TierKind.ENTRANCE)))
    for each in ordered:
        if each.kind not in (TierKind.INSERT, TierKind.ENTRANCE, TierKind.UNDER_COVER):
            building.set_load(each)
    if ware.inner is not None:
        inner = ware.inner
        building.set_down(INNER_COVER, lay_inner_cover(inner), (inner.length, inner.width))
    if ware.cover is not None:
        building.set_cover(ware.cover, spacers, push)
    return tuple(building.tiers)


@lru_cache(_KEPT)  # a change of what is made leaves the boxes as they are
def _boxes_up(ware: Woodenware) -> tuple[tuple[Tier, ...], Spot]:
    """The bottom board and the boxes in place, and the middle of what goes on them."""
    top = _size(ware.boxes[-1][0])
    building = _Building(ware, (), (top[0] / 2, top[1] / 2))
    if ware.bottom is not None:
        building.set_down(BOTTOM, lay_bottom(ware.bottom), _size(ware.boxes[0][0]))
    for n in range(len(ware.boxes)):
        building.set_box(n)
    return tuple(building.tiers), building.middle


class _Building:
    """The growing stack. `middle` is the vertical line on which the next load is centered."""

    def __init__(self, ware: Woodenware, tiers: tuple[Tier, ...], middle: Spot) -> None:
        self.ware, self.tiers, self.middle = ware, list(tiers), middle
        self.top = _size(ware.boxes[-1][0])

    def centred(self, size: tuple[Length, Length], shift: tuple[Length, Length] = (ZERO, ZERO)) -> Point:
        """The move that centers a load of this size, plus its offset."""
        x, y = (m - s / 2 + by for m, s, by in zip(self.middle, size, shift, strict=True))
        return x, y, ZERO

    def set_down(
        self,
        place: Place,
        made: Assembly,
        size: tuple[Length, Length],
        shift: tuple[Length, Length] = (ZERO, ZERO),
        name: str = "",
    ) -> None:
        tier = Tier(name or place.name, place, made.placed, made.spaces).moved(self.centred(size, shift))
        self.tiers.append(self.let_down(tier, *place.rests_on) if self.tiers else tier)
        if place.kind is not TierKind.ON_BARS:
            self.middle = (self.middle[0] + shift[0], self.middle[1] + shift[1])

    def let_down(self, tier: Tier, *on: str) -> Tier:
        """The tier, lowered onto the stack or, if `on` is given, only onto the parts that `on` names.

        The guard and the insert never carry anything.
        """
        standing = [
            (each.name, placed)
            for each in self.tiers
            if each.kind not in (TierKind.INSERT, TierKind.ENTRANCE)
            for placed in each.placed
            if not on or placed.part.name in on
        ]
        rise, rests = come_down(tier.name, tier.placed, standing)
        return replace(tier.moved((ZERO, ZERO, rise)), rests=rests)

    def set_box(self, n: int) -> None:
        box, frame = self.ware.boxes[n]
        made = Assembly("box", box.name, (*walls_of(box), *hang(box, frame)))
        self.set_down(BOX, made, _size(box), name=f"box {n + 1}")
        if n == 0:
            low = min(each.box.low[2] for each in self.tiers[-1].named("box side", "box end"))
            self.tiers = [tier.moved((ZERO, ZERO, ZERO - low)) for tier in self.tiers]
            bars = min(each.box.low[2] for each in self.tiers[-1].named("bottom bar"))
            bars = min(bars, fact("hive.under_frames_most").length)
            self.tiers = [_open_to(tier, bars) if tier.kind is TierKind.BOTTOM else tier for tier in self.tiers]

    def set_ground(self, loads: tuple[Load, ...]) -> None:
        """Places the guard in front of the bottom board and the insert under it. Neither carries anything."""
        at = self.tiers.index(self._lowest)
        self.tiers[at:at] = [self._ground(each) for each in loads]

    @property
    def _lowest(self) -> Tier:
        return next(tier for tier in self.tiers if tier.kind is TierKind.BOX)

    def _ground(self, each: Load) -> Tier:
        move = self.centred(each.made_for or self.top, each.shift)
        bottom, name = self.ware.bottom, each.place.name
        if bottom is None:
            raise InputError(Problem(name, "a hive without a bottom board", "a bottom board", "Give its entrance."))
        if each.kind is TierKind.ENTRANCE:
            front = min(w.box.low[0] for w in self._lowest.named("box end"))
            placed = folded(each.assembly)
            floor = max(p.box.high[2] for p in self.tiers[0].named("floor", "landing board"))
            return Tier(name, each.place, placed).moved((front, move[1], floor))
        if not bottom.screened:
            raise InputError(Problem(name, "a bottom board with a solid floor", "a screened one", "Remove the insert."))
        placed = tuple(p for p in each.assembly.placed if p.part.name == each.place.block)
        return self.let_down(Tier(name, each.place, placed).moved(move), *each.place.rests_on)

    def set_load(self, each: Load) -> None:
        self.set_down(each.place, each.assembly, each.made_for or self.top, each.shift)

    def set_cover(self, cover: Cover, spacers: tuple[Load, ...], push: tuple[Length, Length]) -> None:
        """Places the cover and the spacers together, because the spacer squares are stapled under its top."""
        laid = lay_cover(cover)
        move = self.centred((cover.length, cover.width), push)
        under: tuple[Placed, ...] = ()
        for each in spacers:
            squares = tuple(p for p in each.assembly.placed if p.part.name == each.place.block)
            thick = max(p.part.thickness for p in squares)
            by = self.centred(each.made_for or self.top, push)
            under += tuple(p.moved((by[0], by[1], ZERO - thick)) for p in squares)
        above = tuple(p.moved(move) for p in laid.placed)
        both = self.let_down(Tier(cover.name, COVER, (*under, *above)))
        count = len(under)
        parts = {p.part.name for p in under}
        if under:
            rests = tuple(c for c in both.rests if c.part in parts)
            place = spacers[0].place
            self.tiers.append(Tier(place.name, place, both.placed[:count], (), rests))
        rests = tuple(c for c in both.rests if c.part not in parts)
        if under and not rests:
            rests = (Contact(PartName.COVER_TOP, spacers[0].place.block, spacers[0].place.name),)
        self.tiers.append(Tier(cover.name, COVER, both.placed[count:], (), rests))


def _open_to(bottom: Tier, height: Length) -> Tier:
    """The bottom board, with its space under the frames extended up to the frames in the box above."""
    spaces = []
    for space in bottom.spaces:
        (x, y, _), low = space.box.high, space.box.low
        spaces.append(replace(space, box=Cuboid(low, (x, y, max(height, space.box.high[2])))))
    return replace(bottom, spaces=tuple(spaces))


def _size(box: HiveBox) -> tuple[Length, Length]:
    return box.length, box.width
