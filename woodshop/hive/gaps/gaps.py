"""Measures every named gap of a hive (at its board, cover, frames and boxes) on the placed parts."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise, product

from woodshop.hive.creatures import OpeningName, PartName, as_met, worker
from woodshop.hive.gaps.faces import (
    EVERYWHERE,
    SIDE_AXIS,
    SIDES,
    Faces,
    Gap,
    GapKind,
    GapName,
    Side,
    StackPart,
    Window,
    X,
    Y,
    Z,
    faces_of,
)
from woodshop.hive.stacking.place import STANDING, TierKind
from woodshop.hive.stacking.stack import Stack, Tier, lifted_by
from woodshop.reference.facts import fact
from woodshop.shape.part import Cuboid, Role


def ceiling(faces: Faces, above: int) -> tuple[str, tuple[StackPart, ...]] | None:
    """The name and parts of the first floor, panel or top that closes the space above a tier, if there is one."""
    for n in range(above + 1, len(faces.stack.tiers)):
        place = faces.stack.tiers[n].place
        pieces = faces.named(n, *place.ceiling)
        if pieces:
            return place.ceiling_name, pieces
    return None


def all_board_gaps(faces: Faces) -> Iterator[Gap]:
    """All gaps in the space between the top bars and the part that closes the hive above them."""
    box = faces.tiers(TierKind.BOX)[-1]
    place = faces.stack.tiers[box].name
    bars = faces.named(box, PartName.TOP_BAR)
    strips = tuple(piece for n in faces.tiers(TierKind.ON_BARS) for piece in faces.named(n, "strip"))
    mesh = tuple(piece for n in faces.tiers(TierKind.BOARD) for piece in faces.named(n, "mesh"))
    yield from _strips(faces, box, bars, strips, mesh)
    yield from _between_strips(faces, box, strips)
    for lane, window in _lanes(strips):
        where = f"{place}, lane {lane}" if strips else place
        for sheet in mesh:
            for bar in bars:
                yield from faces.least("mesh over top bars", where, "mesh over bars", bar, sheet, Z, window)
    if not mesh and not any(faces.stack.tiers[n].spaces for n in faces.tiers(TierKind.BOARD, TierKind.SHIM)):
        yield from _bars_to_ceiling(faces, box, place, bars)
    yield from _sugar(faces, bars, mesh)


def _lanes(strips: tuple[StackPart, ...]) -> list[tuple[int, Window]]:
    """The lanes between strips, the lane in front of all strips, and the lane behind them, numbered from the front."""
    across = sorted(strips, key=lambda strip: strip.block[0])
    fronts = [None, *(strip.block[3] for strip in across)]
    backs = [*(strip.block[0] for strip in across), None]
    pairs = enumerate(zip(fronts, backs, strict=True), 1)
    return [(n, (front, None, None, back, None, None)) for n, (front, back) in pairs]


def _between_strips(faces: Faces, box: int, strips: tuple[StackPart, ...]) -> list[Gap]:
    """The widths of the lanes between neighbors: the front wall, the strips from front to back, and the back wall."""
    if not strips:
        return []
    walls, across = faces.walls(box), sorted(strips, key=lambda strip: strip.block[X])
    place = faces.stack.tiers[box].name
    return [
        faces.between("lane between strips", place, "declared", pair, X, pair[1].block[X] - pair[0].block[X + 3])
        for pair in pairwise((walls["front"], *across, walls["back"]))
    ]


def _strips(
    faces: Faces, box: int, bars: tuple[StackPart, ...], strips: tuple[StackPart, ...], mesh: tuple[StackPart, ...]
) -> Iterator[Gap]:
    walls = faces.walls(box)
    for number, strip in enumerate(strips, 1):
        place = f"{faces.stack.tiers[box].name}, strip {number}"
        for bar in bars:
            yield from faces.least("strip on top bars", place, "contact", bar, strip, Z)
        for sheet in mesh:
            yield from faces.least(GapName.STRIP_TO_MESH, place, "contact", strip, sheet, Z)
        if mesh:
            for bar in bars:
                high = strip.block[Z + 3] - bar.block[Z + 3]
                yield faces.between("strip top over top bars", place, "mesh on strip", (bar, strip), Z, high)
        ends = (("left", walls["left"], strip), ("right", strip, walls["right"]))
        for side, left, right in ends:
            by = right.block[Y] - left.block[Y + 3]
            yield faces.between("strip end to side wall", f"{place}, {side}", "sealed", (left, right), Y, by)


def _bars_to_ceiling(faces: Faces, box: int, place: str, bars: tuple[StackPart, ...]) -> Iterator[Gap]:
    """The gaps from the top bars up to the part that closes the hive.

    The gaps are wide by design if an item between the faces declares a space. If that item holds up the cover, the gap
    counts as the item's gap, although both faces belong to the user's parts.
    """
    closed = ceiling(faces, box)
    if closed is None:
        return
    name, pieces = closed
    between = [tier for tier in faces.stack.tiers[box + 1 : pieces[0].tier] if tier.is_own]
    by = " and ".join(lifted_by(faces.stack, pieces[0].tier)) if between and not pieces[0].own else ""
    spaces = [space.box for tier in between for space in tier.spaces]
    for bar in bars:
        for piece in pieces:
            way = Cuboid(bar.placed.box.low, (*bar.placed.box.high[:2], piece.placed.box.low[Z]))
            kind: GapKind = "declared" if any(way.meet(space) for space in spaces) else "bees' way"
            for gap in faces.least(f"top bars to {name}", place, kind, bar, piece, Z):
                yield replace(gap, own=gap.own or bool(by), lifted_by=by)


def looked_through(stack: Stack) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The tiers over the frames that close the hive with parts that no gap is measured to, and these parts' names.

    Gaps are measured up to the parts named as a `ceiling`. All other parts are ignored, which is correct for only three
    kinds: parts that leave most of the opening free and let a worker pass; parts that she passes through or carries
    away (mesh, filling); and strips and the mesh of a board, which have gaps of their own. All parts of a tier are
    considered together, as seen from above.
    """
    faces = faces_of(stack)
    box, found = faces.tiers(TierKind.BOX)[-1], []
    walls = {side: wall.block for side, wall in faces.walls(box).items()}
    low, high = (walls["front"][3], walls["left"][4]), (walls["back"][X], walls["right"][Y])
    for n in range(box + 1, len(stack.tiers)):
        tier = stack.tiers[n]
        sheets = as_met(tier.placed, worker())[1]
        measured = (*tier.place.ceiling, *_MEASURED.get(tier.kind, ()))
        names, flats = [], []
        for piece in faces.pieces[n]:
            if piece.placed.role is Role.FILLING or piece.name in measured or piece.placed in sheets:
                continue
            for x0, y0, _, x1, y1, _ in piece.cells:
                if x0 < high[X] and low[X] < x1 and y0 < high[Y] and low[Y] < y1:
                    names.append(piece.name)
                    flats.append((max(x0, low[X]), max(y0, low[Y]), min(x1, high[X]), min(y1, high[Y])))
        area = (high[X] - low[X]) * (high[Y] - low[Y])
        if flats and (2 * _covered(flats) > area or not _leaves_a_way(flats, low, high, faces.whole(worker().size))):
            inner = [name for name in names if name not in tier.place.walls]
            found.append((tier.name, tuple(dict.fromkeys(inner or names))))
    return tuple(found)


_MEASURED = {TierKind.ON_BARS: ("strip",), TierKind.BOARD: ("mesh",)}
_Flat = tuple[int, int, int, int]  # as seen from above: x0, y0, x1, y1


def _covered(flats: list[_Flat]) -> int:
    """The area of the union of some rectangles."""
    xs, ys = (pairwise(sorted({mark for flat in flats for mark in flat[axis::2]})) for axis in (X, Y))
    return sum(
        (x1 - x0) * (y1 - y0)
        for (x0, x1), (y0, y1) in product(xs, ys)
        if any(a <= x0 and b <= y0 and x1 <= c and y1 <= d for a, b, c, d in flats)
    )


def _leaves_a_way(flats: list[_Flat], low: tuple[int, int], high: tuple[int, int], size: Fraction) -> bool:
    """Whether a square of this size fits between the rectangles. Testing positions that touch two edges is enough."""
    return any(
        x + size <= high[X]
        and y + size <= high[Y]
        and not any(x < c and a < x + size and y < d and b < y + size for a, b, c, d in flats)
        for x, y in product({low[X], *(flat[2] for flat in flats)}, {low[Y], *(flat[3] for flat in flats)})
    )


def _sugar(faces: Faces, bars: tuple[StackPart, ...], mesh: tuple[StackPart, ...]) -> Iterator[Gap]:
    """The contact below the sugar, and the space over the sugar. A space that the item declares is wide by design."""
    for n in faces.tiers(TierKind.BOARD, TierKind.SHIM):
        tier = faces.stack.tiers[n]
        kind: GapKind = "declared" if tier.spaces else "bees' way"
        closed = ceiling(faces, n)
        for sugar in faces.named(n, PartName.SUGAR, "sugar cake"):
            lies = mesh if tier.kind is TierKind.BOARD else bars
            for under in lies:
                yield from faces.least("sugar on what carries it", tier.name, "contact", under, sugar, Z)
            for piece in closed[1] if closed else ():
                yield from faces.least("head room over the sugar", tier.name, kind, sugar, piece, Z)


def all_cover_gaps(faces: Faces) -> Iterator[Gap]:
    """The gaps between each tier and the one below it, and the gaps of the cover."""
    standing = faces.tiers(TierKind.BOTTOM, *STANDING)
    for lower, upper in pairwise(standing):
        yield from _stands(faces, lower, upper)
    for cover in faces.tiers(TierKind.COVER):
        yield from _cover(faces, cover, standing[-1])


def _stands(faces: Faces, lower: int, upper: int) -> Iterator[Gap]:
    """The gaps where one tier rests on another: the overhang at each side, and the gaps under its walls and floors."""
    low, high = faces.walls(lower), faces.walls(upper)
    name = f"{faces.stack.tiers[upper].name} on {faces.stack.tiers[lower].name}"
    for side in SIDES:
        if side not in low or side not in high:
            continue
        yield overhang(faces, name, side, low[side], high[side])
        for piece in (high[side], *faces.named(upper, *faces.stack.tiers[upper].place.floors)):
            said = GapName.WALL_ON_WALL if piece is high[side] else f"{piece.name} on wall"
            yield from _lies_on(faces, said, f"{name}, {side}", low[side], piece)


def _lies_on(faces: Faces, said: str, place: str, low: StackPart, high: StackPart) -> Iterator[Gap]:
    """The gap from the upper edge of a wall to the part on it. If the wall has a frame rest, its outer lip counts."""
    if high.is_over(low):
        yield faces.between(said, place, "contact", (low, high), Z, high.block[Z] - low.block[Z + 3])


def overhang(faces: Faces, place: str, side: Side, low: StackPart, high: StackPart) -> Gap:
    """The overhang of the upper wall over the lower wall at this side. It is negative if the upper wall stops short."""
    axis, far = SIDE_AXIS[side]
    if far:
        by = high.block[axis + 3] - low.block[axis + 3]
        return faces.between(GapName.OVERHANG, f"{place}, {side}", "contact", (low, high), axis, by)
    by = low.block[axis] - high.block[axis]
    return faces.between(GapName.OVERHANG, f"{place}, {side}", "contact", (high, low), axis, by)


def _cover(faces: Faces, cover: int, under: int) -> Iterator[Gap]:
    """The gaps between the cover and the tier on which it rests: the slit or contact, and the skirt at each side."""
    (top,) = faces.named(cover, PartName.COVER_TOP)
    walls = faces.walls(under)
    place = f"{faces.stack.tiers[cover].name} on {faces.stack.tiers[under].name}"
    spacers = tuple(piece for n in faces.tiers(TierKind.UNDER_COVER) for piece in faces.pieces[n])
    said: tuple[str, GapKind] = ("vent slit", "sealed") if spacers else (GapName.COVER_ON_WALL, "contact")
    for side, wall in _once(walls):
        yield from faces.least(said[0], f"{place}, {side}", said[1], wall, top, Z)
        for number, square in enumerate(spacers, 1):
            if faces.steps(wall, square, Z):
                yield from faces.least(GapName.SPACER_ON_WALL, f"spacer {number}, {side}", "contact", wall, square, Z)
    for number, square in enumerate(spacers, 1):
        yield from faces.least("spacer under cover", f"spacer {number}", "contact", square, top, Z)
    yield from _skirt(faces, cover, under, place)


def _once(walls: dict[Side, StackPart]) -> list[tuple[str, StackPart]]:
    """The walls with their sides. A single block that forms all four sides is listed only once."""
    if len(set(map(id, walls.values()))) == 1:
        return [("all around", next(iter(walls.values())))]
    return list(walls.items())


def _skirt(faces: Faces, cover: int, under: int, place: str) -> Iterator[Gap]:
    if not faces.named(cover, "skirt side"):
        return
    skirts, walls = faces.walls(cover), faces.walls(under)
    for side in SIDES:
        skirt, (axis, far) = skirts[side], SIDE_AXIS[side]
        for n in faces.tiers(*STANDING):
            wall = faces.walls(n)[side]
            pair = (wall, skirt) if far else (skirt, wall)
            where = f"{faces.stack.tiers[cover].name} over {faces.stack.tiers[n].name}, {side}"
            yield from faces.least("cover skirt to wall", where, "declared", *pair, axis)
        by = walls[side].block[Z + 3] - skirt.block[Z]
        pair = (skirt, walls[side])
        yield faces.between("skirt overlap", f"{place}, {side}", "declared", pair, Z, by)
    yield from _notch(faces, skirts)


def _notch(faces: Faces, skirts: dict[Side, StackPart]) -> Iterator[Gap]:
    """The gap from the upper edge of the upper entrance to the edge of the skirt.

    The gap is negative if the skirt covers the upper edge of the entrance. Under a quilt box or a feeder, the cover is
    far from the entrance, and there is no such gap.
    """
    if faces.tiers(TierKind.TOP_BOX, TierKind.FEEDER):
        return
    for n in faces.tiers(TierKind.BOARD):
        for end in faces.named(n, "front end"):
            for cut, hollow in zip(end.placed.part.cuts, end.placed.hollows, strict=True):
                if cut.name == OpeningName.UPPER_ENTRANCE:
                    by = skirts["front"].block[Z] - int(faces.whole(hollow.high[Z]))
                    pair = (end, skirts["front"])
                    place = faces.stack.tiers[n].name
                    yield faces.between(GapName.ENTRANCE_TO_SKIRT, place, "declared", pair, Z, by)


def box_gaps(faces: Faces, tier: int) -> Iterator[Gap]:
    """The gaps that bees use inside one box."""
    place = faces.stack.tiers[tier].name
    bars, combs = faces.named(tier, PartName.TOP_BAR), faces.named(tier, "comb")
    walls, ends = faces.walls(tier), faces.named(tier, "end bar")
    for name, row in (("between top bars", bars), ("between combs", combs)):
        for one, other in pairwise(row):
            yield from faces.least(name, place, "bees' way", one, other, Y)
    for word, row in (("front", ends[::2]), ("back", ends[1::2])):
        for one, other in pairwise(row):
            yield from _end_bars(faces, f"{place}, {word}", one, other)
    beside: dict[Side, StackPart] = {"left": walls["left"], "right": walls["right"]}
    for board in faces.named(tier, PartName.FOLLOWER):
        beside["left" if board.block[Y] < bars[0].block[Y] else "right"] = board
    for name, rows in (("end bar", (ends[::2], ends[1::2])), ("comb", (combs,)), (PartName.TOP_BAR, (bars,))):
        for row in rows:
            if row:
                yield from _outer(faces, f"{place}, left", name, beside["left"], row[0])
                yield from _outer(faces, f"{place}, right", name, row[-1], beside["right"])
    for side, board in beside.items():
        if board.name == PartName.FOLLOWER:
            yield from _follower(faces, place, side, board, walls)
    for front, back in zip(ends[::2], ends[1::2], strict=True):
        yield from faces.least("end bar to end wall", f"{place}, front", "bees' way", walls["front"], front, X)
        yield from faces.least("end bar to end wall", f"{place}, back", "bees' way", back, walls["back"], X)
    for bar in bars:
        yield from _lugs(faces, place, bar, walls)


def _outer(faces: Faces, place: str, name: str, one: StackPart, other: StackPart) -> Iterator[Gap]:
    """The gap beside an outer frame, to the wall or to the follower board, which end bars are meant to touch."""
    if PartName.FOLLOWER not in (one.name, other.name):
        yield from faces.least(f"outer {name} to side wall", place, "bees' way", one, other, Y)
        return
    for gap in faces.least(f"outer {name} to follower board", place, "bees' way", one, other, Y):
        touches = name == "end bar" and gap.least < worker().size
        yield replace(gap, kind="contact") if touches else gap


def _follower(faces: Faces, place: str, side: Side, board: StackPart, walls: dict[Side, StackPart]) -> Iterator[Gap]:
    """The gaps of a follower board: to the side wall, at its lugs, and to the front and back wall below them."""
    pair = (walls[side], board) if side == "left" else (board, walls[side])
    yield from faces.least("follower board to side wall", f"{place}, {side}", "bees' way", *pair, Y)
    low: Window = (None, None, None, None, None, (board.block[Z] + board.block[Z + 3]) // 2)
    said = "follower board to end wall"
    yield from faces.least(said, f"{place}, front", "bees' way", walls["front"], board, X, low)
    yield from faces.least(said, f"{place}, back", "bees' way", board, walls["back"], X, low)
    yield from _lugs(faces, place, board, walls)


def _end_bars(faces: Faces, place: str, one: StackPart, other: StackPart) -> Iterator[Gap]:
    """The gaps between two end bars: where they are meant to touch, too close for a worker bee, and elsewhere."""
    steps = faces.steps(one, other, Y)
    if not steps:
        return
    touches = steps[0] < faces.whole(worker().size)
    if touches:
        yield faces.between("end bars, shoulder to shoulder", place, "contact", (one, other), Y, steps[0])
    elif len(steps) > 1:
        yield faces.between("between the shoulders of end bars", place, "bees' way", (one, other), Y, steps[0])
    if len(steps) > 1 or not touches:
        yield faces.between("between end bars", place, "bees' way", (one, other), Y, steps[-1])


def _lugs(faces: Faces, place: str, bar: StackPart, walls: dict[Side, StackPart]) -> Iterator[Gap]:
    """The gaps at the lugs: between their ends and the walls, and between their undersides and the frame rests."""
    front, back = walls["front"], walls["back"]
    x0, _, _, x1, _, high = bar.block
    under = min(cell[2] for cell in bar.cells if cell[0] == x0)
    upper: Window = (None, None, high - (high - under) // 4, None, None, None)
    before: Window = ((x0 + front.block[3]) // 2, *EVERYWHERE[1:])
    behind: Window = (*EVERYWHERE[:3], (x1 + back.block[0]) // 2, None, None)
    said = "lug end to wall in the frame rest"
    yield from faces.least(said, f"{place}, front", "sealed", front, bar, X, upper)
    yield from faces.least(said, f"{place}, back", "sealed", bar, back, X, upper)
    yield from faces.least("lug on rest", f"{place}, front", "contact", front, bar, Z, before)
    yield from faces.least("lug on rest", f"{place}, back", "contact", back, bar, Z, behind)


def tier_gaps(faces: Faces, lower: int, upper: int) -> list[Gap]:
    """The gaps from the top bars of a box to the bottom bars above them."""
    place = f"{faces.stack.tiers[lower].name} to {faces.stack.tiers[upper].name}"
    pairs = product(
        faces.named(lower, PartName.TOP_BAR, PartName.FOLLOWER), faces.named(upper, "bottom bar", PartName.FOLLOWER)
    )
    return [
        gap
        for bar, bottom in pairs
        for gap in faces.least("bottom bar to top bar beneath", place, "bees' way", bar, bottom, Z)
    ]


def floor_gaps(faces: Faces, bottom: int, box: int) -> list[Gap]:
    """The gap from the floor or screen of the bottom board to the lowest bottom bars. In winter it is deep by design.

    Only the depth of the bottom board is by design. If the frames are too shallow for their box, bees fill the gap with
    comb.
    """
    (floor,) = faces.named(bottom, "floor", "screen")
    place = faces.stack.tiers[box].name
    edge = min(wall.block[Z] for wall in faces.walls(box).values())
    most = int(faces.whole(fact("hive.under_frames_most").length))
    return [
        gap
        for bar in faces.named(box, "bottom bar", PartName.FOLLOWER)
        for kind in (("bees' way" if bar.block[Z] - edge > most else "declared"),)
        for gap in faces.least("bottom bar to floor", place, kind, floor, bar, Z)
    ]


def all_frame_gaps(faces: Faces) -> Iterator[Gap]:
    """Every gap of the boxes and their frames, from bottom to top."""
    boxes = faces.tiers(TierKind.BOX)
    for bottom in faces.tiers(TierKind.BOTTOM):
        yield from floor_gaps(faces, bottom, boxes[0])
    for box in boxes:
        yield from box_gaps(faces, box)
    for lower, upper in pairwise(boxes):
        yield from tier_gaps(faces, lower, upper)


_KEPT = 256  # hives whose gaps are cached, because checks and maps need the same gaps


@lru_cache(_KEPT)
def measure_gaps(stack: Stack) -> tuple[Gap, ...]:
    """Every gap between two faces of two parts, from bottom to top.

    If a part is shifted along an axis, only the gaps at its sides along that axis change, by exactly the shift.
    """
    faces = faces_of(stack)
    return (*_in_boxes(stack.of(TierKind.BOTTOM, TierKind.BOX)), *all_board_gaps(faces), *all_cover_gaps(faces))


@lru_cache(_KEPT)  # a change of what is made leaves the boxes as they are
def _in_boxes(tiers: tuple[Tier, ...]) -> tuple[Gap, ...]:
    """The gaps of the boxes of a hive, which depend on nothing but them and the bottom board."""
    return tuple(all_frame_gaps(Faces(Stack("", tiers))))


def gathered(gaps: tuple[Gap, ...]) -> tuple[Gap, ...]:
    """The gaps combined by name and place, each with its range and with the two parts where it is smallest.

    >>> from woodshop.units.lengths import inch
    >>> pair = ("top bar 1, box 1", "top bar 2, box 1")
    >>> size, kind = inch("3/8"), "bees' way"
    >>> wide = Gap(name="between bars", place="box 1", least=size, most=size, between=pair, kind=kind, own=False)
    >>> (one,) = gathered((wide, replace(wide, least=inch("1/4"), most=inch("1/4"))))
    >>> str(one.least), str(one.most)
    ('1/4 in', '3/8 in')
    """
    groups: dict[tuple[str, str], list[Gap]] = {}
    for gap in gaps:
        groups.setdefault((gap.name, gap.place), []).append(gap)
    found = []
    for alike in groups.values():
        least = min(alike, key=lambda gap: gap.least)
        found.append(replace(least, most=max(gap.most for gap in alike), own=any(gap.own for gap in alike)))
    return tuple(found)
