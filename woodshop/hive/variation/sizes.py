"""Lists the varying sizes of a hive and their effects on the placed parts, and remakes the hive with changed sizes."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction
from typing import Any

from woodshop.hive.creatures import PartName
from woodshop.hive.stacking.place import Place, Varying
from woodshop.hive.stacking.place import Work as Work
from woodshop.hive.stacking.stack import Load, Stack, Woodenware, stack_up
from woodshop.shape.part import FACE_AXIS, Assembly, Cuboid, Cut, Part, Placed, Pose, Rectangle, Role, RoundOutline
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Move:
    """Moves every face that is between `low` and `high` on an axis, by a multiple of the change in a size.

    It applies to the faces of the named parts or, if `cuts` is given, only to the faces of the named cuts in these
    parts. If `low` or `high` is None, there is no limit at that end.
    """

    parts: frozenset[str]
    axis: int
    low: Length | None
    _: KW_ONLY
    high: Length | None
    share: Fraction
    cuts: frozenset[str] | None = None

    def holds(self, at: Length) -> bool:
        """Whether this move applies to a face at that position."""
        return (self.low is None or self.low <= at) and (self.high is None or at <= self.high)


def warped(made: Assembly, moves: Iterable[tuple[Move, Length]]) -> Assembly:
    """The assembly with its faces moved, each by its multiple of the changes.

    All moves start from the original positions. Raises ValueError if a part has no size left.
    """
    shifts = [(move, move.share * by) for move, by in moves if by]
    if not shifts:
        return made
    return replace(made, placed=tuple(_warped(each, shifts) for each in made.placed))


def _warped(placed: Placed, moves: list[tuple[Move, Length]]) -> Placed:
    part = placed.part
    own = [(move, by) for move, by in moves if part.name in move.parts]
    if not own:
        return placed
    block = _moved(placed.box, [each for each in own if each[0].cuts is None])
    pose = _pose(placed.pose, block)
    size = _placed_size(pose, block)
    cuts = tuple(
        _cut(
            cut, pose, size, _moved(hollow, [each for each in own if each[0].cuts is None or cut.name in each[0].cuts])
        )
        for cut, hollow in zip(part.cuts, placed.hollows, strict=True)
    )
    made = Part(part.name, part.material, *size, cuts=cuts, on_edge=part.on_edge, notes=part.notes, folds=part.folds)
    return Placed(made, pose, placed.role)


def _moved(box: Cuboid, moves: list[tuple[Move, Length]]) -> Cuboid:
    low, high = list(box.low), list(box.high)
    for move, by in moves:
        for ends, was in ((low, box.low), (high, box.high)):
            if move.holds(was[move.axis]):
                ends[move.axis] += by
    return Cuboid((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _directions(pose: Pose) -> tuple[tuple[int, bool], ...]:
    return tuple(("xyz".index(word[1]), word[0] == "-") for word in (pose.along, pose.across, pose.through))


def _pose(pose: Pose, block: Cuboid) -> Pose:
    """The pose that makes a part fill the block, with the rotation unchanged."""
    origin = [ZERO] * 3
    for axis, back in _directions(pose):
        origin[axis] = (block.high if back else block.low)[axis]
    return replace(pose, origin=(origin[0], origin[1], origin[2]))


def _placed_size(pose: Pose, block: Cuboid) -> tuple[Length, Length, Length]:
    long, wide, thick = (block.size(axis) for axis, _ in _directions(pose))
    return long, wide, thick


def _cut(cut: Cut, pose: Pose, size: tuple[Length, Length, Length], hollow: Cuboid) -> Cut:
    """The cut that removes this block, given in world coordinates, within the part. A round cut keeps its diameter."""
    local = pose.local(hollow)
    axis, far = FACE_AXIS[cut.face]
    u, v = (i for i in range(3) if i != axis)
    depth = size[axis] - local.low[axis] if far else local.high[axis]
    if isinstance(cut.outline, RoundOutline):
        middle = [(local.low[i] + local.high[i]) / 2 for i in (u, v)]
        return replace(cut, outline=RoundOutline(middle[0], middle[1], cut.outline.diameter), depth=depth)
    low = [max(local.low[i], ZERO) for i in (u, v)]
    high = [min(local.high[i], size[i]) for i in (u, v)]
    return replace(cut, outline=Rectangle(low[0], low[1], high[0], high[1]), depth=min(depth, size[axis]))


Target = tuple[str, int]
"""The owner of a size: "box", "bar" or "frame" with the number of the box, or "bottom", "inner", "cover"."""


@dataclass(frozen=True, slots=True)
class HiveSize:
    """A size that can vary. `swells` is how much of its length is wood across the grain.

    `made` is true for our own items. `fields` are the fields of the user's parts that change with the size, each with
    its multiple. `moves` are the moves of faces of made units.
    """

    name: str
    nominal: Length
    _: KW_ONLY
    work: Work
    swells: Length = ZERO
    made: bool = False
    fields: tuple[tuple[Target, str, Fraction], ...] = ()
    moves: tuple[tuple[Place, Move], ...] = ()


ONE, HALF = Fraction(1), Fraction(1, 2)
_ON_MESH = ("mesh", PartName.SUGAR, "bar", "half bar")
_INSIDE = (PartName.SUGAR, "shavings")
_SCREEN = ("vent screen",)
X, Y, Z = 0, 1, 2


def made_sizes(place: Place, made: Assembly, ripped: bool = False) -> Iterator[HiveSize]:
    """Every size of an item that can vary, as declared by its place. The result is empty if it declares none."""
    if place.rim:
        yield from _walled(place, made, ripped)
    for each in place.varying:
        yield from _declared(place, each, made)


def _size(
    place: Place, name: str, nominal: Length, *, work: Work, moves: tuple[Move, ...], swells: bool, made: bool = True
) -> HiveSize:
    wood = nominal if swells else ZERO
    return HiveSize(name, nominal, work=work, swells=wood, made=made, moves=tuple((place, move) for move in moves))


def _declared(place: Place, of: Varying, made: Assembly) -> Iterator[HiveSize]:
    """The varying sizes of some parts: each different height, or one length that grows equally at both ends."""
    boxes = [each.box for each in made.named(of.part)]
    for high, tall in sorted({(box.high[Z], box.size(Z)) for box in boxes}) if of.axis == Z else ():
        top = _at((of.part, *of.along), Z, high)
        yield _size(place, of.name, tall, work=of.work, moves=(top,), swells=of.swells, made=of.made)
    for box in boxes[:1] if of.axis != Z else ():
        middle = (box.low[of.axis] + box.high[of.axis]) / 2
        moves = _spread((of.part, *of.along), of.axis, middle, middle)
        yield _size(place, of.name, box.size(of.axis), work=of.work, moves=moves, swells=of.swells, made=of.made)


def _walled(place: Place, made: Assembly, ripped: bool) -> Iterator[HiveSize]:
    """The sizes of an item with four walls: their height, the length of its sides, and the width of its ends."""
    word, (side_name, *end_names) = place.rim, place.walls
    sides = made.named(side_name)
    ends = tuple(each for name in end_names for each in made.named(name))
    walls = (*sides, *ends)
    if not sides or not ends:
        return
    names, ours = (side_name, *end_names), walls[0].role is Role.MADE
    screen = max((each.part.thickness for each in made.named(*_SCREEN)), default=ZERO)  # stapled inside the walls
    high, wood = max(each.box.high[Z] for each in walls), sides[0].part.thickness
    as_it_comes, cut = (Work.BOARD, Work.TAPE) if ours else (Work.BOX, Work.BOX)
    work = Work.SAW if ripped and ours else as_it_comes
    yield _size(place, f"height of the {word}", high, work=work, moves=(_at(names, Z, high),), swells=True, made=ours)
    for title, axis, of in (("sides", X, sides), ("ends", Y, ends)):
        low, far = _ends(walls, axis)
        moves = (
            *_spread((*names, *_INSIDE), axis, low + wood, far - wood),
            *_spread(_SCREEN, axis, low + wood + screen, far - wood - screen),
        )
        name = f"length of the {word}'s {title}"
        yield _size(place, name, of[0].part.length, work=cut, moves=moves, swells=False, made=ours)
    thick = (
        *_thicker(names, walls, sides, others=ends, wood=wood, screen=screen),
        *_thicker(names, walls, ends, others=sides, wood=wood, screen=screen),
    )
    yield _size(place, f"thickness of the {word}'s wood", wood, work=as_it_comes, moves=thick, swells=True, made=ours)
    yield from _mesh_height(place, walls, names)
    for hollow in (each for name in place.passages for each in _hollows(walls, name)):
        top = hollow[1]
        opening = Move(frozenset(names), Z, top, high=top, share=ONE, cuts=frozenset(place.passages))
        yield _size(
            place, f"upper edge of the entrance in the {word}", top, work=cut, moves=(opening,), swells=True, made=ours
        )


def _mesh_height(place: Place, walls: Iterable[Placed], names: tuple[str, ...]) -> Iterator[HiveSize]:
    """The size that sets the height of the mesh: the height of its rabbet, or of the wood below its groove."""
    on_mesh = Move(frozenset(_ON_MESH), Z, None, high=None, share=ONE)
    for name, title, end in (
        ("mesh rabbet", "height of the mesh rabbet", 1),
        ("mesh groove", "wood below the mesh groove", 0),
    ):
        hollows = sorted(set(_hollows(walls, name)))
        if hollows:
            low, high = hollows[0]
            faces = (high,) if end else (low, high)
            moves = tuple(
                Move(frozenset(names), Z, face, high=face, share=ONE, cuts=frozenset({name})) for face in faces
            )
            at = hollows[0][end]
            yield _size(place, title, at, work=Work.RABBET, moves=(*moves, on_mesh), swells=True)


def _hollows(walls: Iterable[Placed], name: str) -> list[tuple[Length, Length]]:
    """The lower and upper edges of every cut with this name."""
    return [
        (hollow.low[Z], hollow.high[Z])
        for each in walls
        for cut, hollow in zip(each.part.cuts, each.hollows, strict=True)
        if cut.name == name
    ]


def _ends(parts: Iterable[Placed], axis: int) -> tuple[Length, Length]:
    boxes = [each.box for each in parts]
    return min(box.low[axis] for box in boxes), max(box.high[axis] for box in boxes)


def _at(parts: tuple[str, ...], axis: int, at: Length) -> Move:
    """A move of the faces at one position."""
    return Move(frozenset(parts), axis, at, high=at, share=ONE)


def _spread(parts: tuple[str, ...], axis: int, low: Length, high: Length) -> tuple[Move, ...]:
    """Moves of the faces below `low` and above `high`, each by half the change, in opposite directions."""
    names = frozenset(parts)
    return Move(names, axis, None, high=low, share=-HALF), Move(names, axis, high, high=None, share=HALF)


def _thicker(
    names: tuple[str, ...],
    walls: tuple[Placed, ...],
    these: tuple[Placed, ...],
    *,
    others: tuple[Placed, ...],
    wood: Length,
    screen: Length,
) -> tuple[Move, ...]:
    """The moves that thicken these walls: outward if the other walls end against them, otherwise inward.

    If they thicken outward, the other walls keep their length. If inward, their inner
    face moves, and with it every face of another part that touches it.
    """
    axis = X if these[0].box.size(X) < these[0].box.size(Y) else Y
    low, high = _ends(walls, axis)
    stop = others[0].box.low[axis] > low
    found = []
    for sign, edge, inner in ((-1, low, low + wood), (1, high, high - wood)):
        if stop:
            found.append(Move(frozenset(names), axis, edge, high=edge, share=ONE * sign))
        else:
            found.append(Move(frozenset((*names, *_INSIDE)), axis, inner, high=inner, share=-ONE * sign))
            ends = sorted((inner, inner - screen * sign))
            found.append(Move(frozenset(_SCREEN), axis, ends[0], high=ends[1], share=-ONE * sign))
    return tuple(found)


ONE, TWO = Fraction(1), Fraction(2)
GAP_OVER, LUGS = "gap over the top bars", "thickness of the lugs"


@dataclass(frozen=True, slots=True)
class HiveBuild:
    """The parts for assembling a hive: the user's parts, and the units on, under or in front of them.

    `ripped` are the places of items whose walls are ripped to height; other walls have the full width of a board.
    """

    name: str
    ware: Woodenware
    loads: tuple[Load, ...] = ()
    ripped: frozenset[Place] = frozenset()

    @property
    def stack(self) -> Stack:
        """The assembled hive."""
        return stack_up(self.name, self.ware, self.loads)


def dimensions_of(build: HiveBuild) -> tuple[HiveSize, ...]:
    """Every size of a hive that can vary: made sizes first, then the user's own from bottom to top."""
    made = [
        size
        for each in build.loads
        for size in made_sizes(each.place, each.assembly, ripped=each.place in build.ripped)
    ]
    return (*made, *_of_ware(build.ware))


def remade(build: HiveBuild, by: Mapping[str, Length]) -> HiveBuild:
    """The hive with the named sizes changed by these amounts, and the others unchanged.

    Items stay centered on the boxes. Raises KeyError for an unknown name, ValueError if a part has no size left, and
    InputError if a part no longer has anything to rest on.
    """
    known = {each.name: each for each in dimensions_of(build)}
    changed = [(known[name], amount) for name, amount in by.items()]
    return replace(build, ware=_ware(build.ware, changed), loads=_loads(build, changed))


def _loads(build: HiveBuild, changed: list[tuple[HiveSize, Length]]) -> tuple[Load, ...]:
    """The loads with changed sizes.

    Each load stays centered by the designed size of its box, even if the size of the box changes.
    """
    top = build.ware.boxes[-1][0]
    found = []
    for each in build.loads:
        moves = [(move, by) for size, by in changed for place, move in size.moves if place == each.place]
        made_for = each.made_for or (top.length, top.width)
        found.append(replace(each, assembly=warped(each.assembly, moves), made_for=made_for))
    return tuple(found)


def _ware(ware: Woodenware, changed: list[tuple[HiveSize, Length]]) -> Woodenware:
    totals: dict[Target, dict[str, Length]] = {}
    for size, by in changed:
        for target, field, share in size.fields:
            of = totals.setdefault(target, {})
            of[field] = of.get(field, ZERO) + share * by

    def with_changes(thing: Any, target: Target) -> Any:
        of = totals.get(target)
        return thing if of is None else replace(thing, **{name: getattr(thing, name) + by for name, by in of.items()})

    boxes = tuple(
        (
            with_changes(replace(box, bar=with_changes(box.bar, ("bar", n))), ("box", n)),
            with_changes(frame, ("frame", n)),
        )
        for n, (box, frame) in enumerate(ware.boxes)
    )
    bottom, inner, cover = (
        None if thing is None else with_changes(thing, (name, 0))
        for name, thing in (("bottom", ware.bottom), ("inner", ware.inner), ("cover", ware.cover))
    )
    return Woodenware(boxes, bottom, inner, cover)


def _of_ware(ware: Woodenware) -> Iterable[HiveSize]:
    if ware.bottom is not None:
        high = ware.bottom.entrance_height
        yield HiveSize(
            "height of the entrance",
            high,
            work=Work.BOX,
            swells=high,
            fields=((("bottom", 0), "entrance_height", ONE),),
        )
    for n in range(len(ware.boxes)):
        yield from _of_frames(ware, n)
        yield from _of_box(ware, n)
    if ware.inner is not None:
        thick = ware.inner.thickness
        yield HiveSize(
            "thickness of the inner cover",
            thick,
            work=Work.BOX,
            swells=thick,
            fields=((("inner", 0), "thickness", ONE),),
        )
    if ware.cover is not None:
        for word, field in (("length", "length"), ("width", "width")):
            name = f"inside {word} of the cover"
            yield HiveSize(name, getattr(ware.cover, field), work=Work.BOX, fields=((("cover", 0), field, ONE),))
        if not ware.cover.is_flat:
            skirt = ware.cover.skirt
            yield HiveSize(
                "depth of the cover's skirt", skirt, work=Work.BOX, swells=skirt, fields=((("cover", 0), "skirt", ONE),)
            )


def _of_box(ware: Woodenware, n: int) -> Iterable[HiveSize]:
    """The varying sizes of a box: the sides, the ends between them, and the gap over the bars."""
    box, at, where = ware.boxes[n][0], ("box", n), f"box {n + 1}"
    yield HiveSize(
        f"{GAP_OVER}, {where}", box.gap, work=Work.GAP, swells=box.gap + box.bar.lug, fields=((at, "gap", ONE),)
    )
    yield HiveSize(f"height of {where}", box.height, work=Work.HEIGHT, swells=box.height, fields=((at, "height", ONE),))
    yield HiveSize(f"length of {where}", box.length, work=Work.BOX, fields=((at, "length", ONE),))
    yield HiveSize(f"inside width of {where}", box.inside_width, work=Work.BOX, fields=((at, "width", ONE),))
    thick = ((at, "wall", ONE), (at, "width", TWO))
    yield HiveSize(f"thickness of the walls, {where}", box.wall, work=Work.BOARD, swells=box.wall, fields=thick)


def _of_frames(ware: Woodenware, n: int) -> Iterable[HiveSize]:
    """The varying sizes of the frames. Frames hang by their lugs, so a thicker lug raises the bar and the frame."""
    box, frame = ware.boxes[n]
    at, bar, of, where = ("box", n), ("bar", n), ("frame", n), f"box {n + 1}"
    rises = ((bar, "lug", ONE), (at, "gap", -ONE), (of, "depth", ONE))
    yield HiveSize(f"{LUGS}, {where}", box.bar.lug, work=Work.FRAME, swells=box.bar.lug, fields=rises)
    long = ((of, "depth", ONE),)
    yield HiveSize(f"height of the end bars, {where}", frame.depth - box.bar.lug, work=Work.FRAME, fields=long)
    wide: tuple[tuple[Target, str, Fraction], ...] = ((of, "end_width", ONE),)
    straight = frame.end_below == frame.end_width
    if straight:
        wide = (*wide, (of, "end_below", ONE))
    if box.bar.spacing == frame.end_width:
        wide = ((bar, "spacing", ONE), *wide)
    else:
        pitch = ((bar, "spacing", ONE),)
        yield HiveSize(f"spacing of the frames, {where}", box.bar.spacing, work=Work.FRAME, fields=pitch)
    yield HiveSize(
        f"width of the end bars, {where}", frame.end_width, work=Work.FRAME, swells=frame.end_width, fields=wide
    )
    if not straight:
        yield HiveSize(
            f"width of the end bars below, {where}",
            frame.end_below,
            work=Work.FRAME,
            swells=frame.end_below,
            fields=((of, "end_below", ONE),),
        )
    yield HiveSize(
        f"width of the top bars, {where}",
        box.bar.width,
        work=Work.FRAME,
        swells=box.bar.width,
        fields=((bar, "width", ONE),),
    )
    yield HiveSize(f"length of the top bars, {where}", box.bar.length, work=Work.FRAME, fields=((bar, "length", ONE),))
    yield HiveSize(f"length of the frames, {where}", frame.length, work=Work.FRAME, fields=((of, "length", ONE),))
