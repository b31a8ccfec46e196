"""A made thing with some of its faces elsewhere: how a size that strays shows on its placed parts.

A maker decides (strips, cells, widths of boards); a size that strays must not decide anew. So what strays is moved
on the parts as they were placed.
"""

from collections.abc import Iterable
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.shape.part import FACE_AXIS, Assembly, Box, Circle, Cut, Part, Placed, Pose, Rectangle
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Move:
    """Every face across an axis that lies from `low` to `high` moves by so many times what the size strays.

    Of the parts of these names; with `cuts`, only the faces of cuts of those names. None as an end: no end.
    """

    parts: frozenset[str]
    axis: int
    low: Length | None
    _: KW_ONLY
    high: Length | None
    share: Fraction
    cuts: frozenset[str] | None = None

    def holds(self, at: Length) -> bool:
        """Whether a face there is moved."""
        return (self.low is None or self.low <= at) and (self.high is None or at <= self.high)


def warped(made: Assembly, moves: Iterable[tuple[Move, Length]]) -> Assembly:
    """The same thing with its faces moved, each by its share of what was strayed; all at once, from where they were.

    Raises ValueError when a part is left with no size.
    """
    wanted = [(move, move.share * by) for move, by in moves if by]
    if not wanted:
        return made
    return replace(made, placed=tuple(_warped(each, wanted) for each in made.placed))


def _warped(placed: Placed, moves: list[tuple[Move, Length]]) -> Placed:
    part = placed.part
    own = [(move, by) for move, by in moves if part.name in move.parts]
    if not own:
        return placed
    block = _moved(placed.box, [each for each in own if each[0].cuts is None])
    pose = _pose(placed.pose, block)
    size = _size(pose, block)
    cuts = tuple(
        _cut(
            cut, pose, size, _moved(hollow, [each for each in own if each[0].cuts is None or cut.name in each[0].cuts])
        )
        for cut, hollow in zip(part.cuts, placed.hollows, strict=True)
    )
    made = Part(part.name, part.material, *size, cuts=cuts, on_edge=part.on_edge, notes=part.notes, folds=part.folds)
    return Placed(made, pose, placed.role)


def _moved(box: Box, moves: list[tuple[Move, Length]]) -> Box:
    low, high = list(box.low), list(box.high)
    for move, by in moves:
        for ends, was in ((low, box.low), (high, box.high)):
            if move.holds(was[move.axis]):
                ends[move.axis] += by
    return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _directions(pose: Pose) -> tuple[tuple[int, bool], ...]:
    return tuple(("xyz".index(word[1]), word[0] == "-") for word in (pose.along, pose.across, pose.through))


def _pose(pose: Pose, block: Box) -> Pose:
    """The pose of a part that fills the block, turned as it was."""
    origin = [ZERO] * 3
    for axis, back in _directions(pose):
        origin[axis] = (block.high if back else block.low)[axis]
    return replace(pose, origin=(origin[0], origin[1], origin[2]))


def _size(pose: Pose, block: Box) -> tuple[Length, Length, Length]:
    long, wide, thick = (block.size(axis) for axis, _ in _directions(pose))
    return long, wide, thick


def _cut(cut: Cut, pose: Pose, size: tuple[Length, Length, Length], hollow: Box) -> Cut:
    """The cut that takes this block of the world out, kept within the part; a round one keeps its diameter."""
    local = pose.local(hollow)
    axis, far = FACE_AXIS[cut.face]
    u, v = (i for i in range(3) if i != axis)
    depth = size[axis] - local.low[axis] if far else local.high[axis]
    if isinstance(cut.outline, Circle):
        middle = [(local.low[i] + local.high[i]) / 2 for i in (u, v)]
        return replace(cut, outline=Circle(middle[0], middle[1], cut.outline.diameter), depth=depth)
    low = [max(local.low[i], ZERO) for i in (u, v)]
    high = [min(local.high[i], size[i]) for i in (u, v)]
    return replace(cut, outline=Rectangle(low[0], low[1], high[0], high[1]), depth=min(depth, size[axis]))
