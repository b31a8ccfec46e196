"""Where dimensions stand: in lanes outside the view, short ones nearest, no text on a line or another text.

An exact best arrangement is not sought: each dimension in turn, shortest first, takes the first lane
and the first place for its text that is free of everything already placed, and that leaves free
the extension lines still to come. If no place is free the least bad one is taken, so that nothing is left out.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from woodshop.drawing.values.fonts import REGULAR, width
from woodshop.drawing.values.model import Dimension, Point, Side
from woodshop.drawing.values.paper import Box, Mark, Segment, Spot, Stroke, Word, centred
from woodshop.drawing.values.style import STYLE


@dataclass
class Board:
    """What stands already: texts as boxes, lines as segments, spots that leaders will point to.

    `clashes` counts the things that found no free place, `tangles` how often one leader runs over another.
    """

    boxes: list[Box] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    leaders: list[Segment] = field(default_factory=list)
    clashes: int = 0
    tangles: int = 0

    def copy(self) -> "Board":
        """The same, to try something on."""
        lists = [*self.boxes], [*self.segments], [*self.spots], [*self.leaders]
        return Board(*lists, self.clashes, self.tangles)

    def conflicts(self, box: Box) -> int:
        """How many texts, spots and lines a new text would touch."""
        wide = box.grown(STYLE.clearance)
        left, bottom, right, top = wide.left, wide.bottom, wide.right, wide.top
        count = sum(left < x < right and bottom < y < top for x, y in self.spots)
        count += sum(wide.meets(b) for b in self.boxes)
        for a, b in self.segments:
            if (a[0] <= left and b[0] <= left) or (a[0] >= right and b[0] >= right):
                continue
            if (a[1] <= bottom and b[1] <= bottom) or (a[1] >= top and b[1] >= top):
                continue
            count += wide.crossed_by(a, b)
        return count

    def crossings(self, segments: Iterable[Segment]) -> int:
        """How many texts new lines would run through."""
        more = STYLE.clearance / 2
        count = 0
        for a, b in segments:
            low, high = min(a[0], b[0]) - more, max(a[0], b[0]) + more
            count += sum(box.grown(more).crossed_by(a, b) for box in self.boxes if box.left < high and low < box.right)
        return count

    def tangled(self, leader: Segment) -> int:
        """How many leaders a new one would run over."""
        return sum(crosses(leader, other) for other in self.leaders)


def crosses(one: Segment, other: Segment) -> bool:
    """Whether two straight lines cross; ends that only touch do not count."""
    (a, b), (c, d) = one, other
    return _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0


def _turn(a: Spot, b: Spot, c: Spot) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@dataclass(frozen=True, slots=True)
class PlacedDimension:
    """A dimension on paper: where its line runs, where its text stands, and all its strokes."""

    dimension: Dimension
    start: Spot
    end: Spot
    word: Word
    segments: tuple[Segment, ...]

    @property
    def marks(self) -> list[Mark]:
        """The strokes and the text."""
        t = STYLE.tick / 2
        ticks = [((x - t, y - t), (x + t, y + t)) for x, y in (self.start, self.end)]
        marks: list[Mark] = [Stroke(s, STYLE.thin) for s in self.segments]
        marks += [Stroke(tick, STYLE.outline) for tick in ticks]
        return [*marks, self.word]


def place_dimensions(
    dimensions: Sequence[Dimension], spot: Callable[[Point], Spot], outline: Box, unit: str, board: Board
) -> list[PlacedDimension]:
    """Every dimension with its place; the board is told of all of them."""
    placed: list[PlacedDimension] = []
    for side in (Side.BELOW, Side.ABOVE, Side.LEFT, Side.RIGHT):
        mine = [d for d in dimensions if d.side is side]
        mine.sort(key=lambda d: (d.length, sorted((d.start[d.axis], d.end[d.axis]))))
        depth = STYLE.lane_gap + _depth(mine, unit)
        lanes: list[list[tuple[float, float]]] = []
        for i, dimension in enumerate(mine):
            later = [spot(p)[d.axis] for d in mine[i + 1 :] for p in (d.start, d.end)]
            best = _best(dimension, spot, outline, unit=unit, board=board, depth=depth, lanes=lanes, later=later)
            placed.append(best)
            board.boxes.append(best.word.box)
            board.segments += best.segments
    return placed


def _depth(dimensions: Sequence[Dimension], unit: str) -> float:
    size = STYLE.dimension_text
    if not dimensions or dimensions[0].axis == 0:
        return size
    return max(width(d.text(unit), size, REGULAR) for d in dimensions)


def _best(
    dimension: Dimension,
    spot: Callable[[Point], Spot],
    outline: Box,
    *,
    unit: str,
    board: Board,
    depth: float,
    lanes: list[list[tuple[float, float]]],
    later: Sequence[float],
) -> PlacedDimension:
    axis = dimension.axis
    low, high = sorted((spot(dimension.start)[axis], spot(dimension.end)[axis]))
    inside = [i for i, lane in enumerate(lanes) for a, b in lane if low <= a and b <= high and (a, b) != (low, high)]
    least = max(inside, default=-1) + 1
    best: tuple[int, int, PlacedDimension] | None = None
    for lane in range(least, len(lanes) + 3):
        taken = lanes[lane] if lane < len(lanes) else []
        if any(a < high - 1e-6 and low + 1e-6 < b for a, b in taken):
            continue
        for each in _candidates(dimension, spot, outline, unit, depth * (lane + 0.5) + STYLE.lane_gap / 2):
            box = each.word.box
            reach = (box.left, box.right) if axis == 0 else (box.bottom, box.top)
            blocked = sum(reach[0] - STYLE.clearance < a < reach[1] + STYLE.clearance for a in later)
            cost = 2 * board.conflicts(box) + 2 * board.crossings(each.segments) + blocked
            if best is None or cost < best[0]:
                best = (cost, lane, each)
            if cost == 0:
                break
        if best and best[0] == 0:
            break
    if best is None:
        raise AssertionError("a new lane is always free")
    while len(lanes) <= best[1]:
        lanes.append([])
    lanes[best[1]].append((low, high))
    board.clashes += best[0] > 0
    return best[2]


def _candidates(
    dimension: Dimension, spot: Callable[[Point], Spot], outline: Box, unit: str, out: float
) -> Iterator[PlacedDimension]:
    axis, side = dimension.axis, dimension.side
    ends = sorted((spot(dimension.start), spot(dimension.end)), key=lambda p: p[axis])
    line = {
        Side.BELOW: outline.bottom - out,
        Side.ABOVE: outline.top + out,
        Side.LEFT: outline.left - out,
        Side.RIGHT: outline.right + out,
    }[side]
    away = 1.0 if side in (Side.ABOVE, Side.RIGHT) else -1.0

    def at(along: float, across: float) -> Spot:
        return (along, across) if axis == 0 else (across, along)

    low, high = ends[0][axis], ends[1][axis]
    text, size = dimension.text(unit), STYLE.dimension_text
    box = centred(text, 0.0, 0.0, size).box
    half = (box.right - box.left) / 2 if axis == 0 else (box.top - box.bottom) / 2
    gap = STYLE.clearance + 1.0
    extensions: list[Segment] = []
    for end in ends:
        start = end[1 - axis] + away * 2.0
        stop = line + away * 3.0
        if (stop - start) * away > 0:
            extensions.append((at(end[axis], start), at(end[axis], stop)))

    def made(centre: float) -> PlacedDimension:
        word = centred(text, *at(centre, line), size)
        if centre - half > high:
            parts = [(low, centre - half - gap / 2)]
        elif centre + half < low:
            parts = [(centre + half + gap / 2, high)]
        else:
            parts = [(low, centre - half - gap / 2), (centre + half + gap / 2, high)]
        lines = [(at(a, line), at(b, line)) for a, b in parts if b > a]
        return PlacedDimension(dimension, at(low, line), at(high, line), word, (*extensions, *lines))

    spare = (high - low) / 2 - half - (gap + 3.0 if axis == 0 else 2.0)
    if spare >= 0:
        middle = (low + high) / 2
        for share in (0.0, 0.35, -0.35, 0.7, -0.7, 1.0, -1.0):
            yield made(middle + share * spare)
    for more in (0.0, 8.0, 20.0):
        yield made(high + gap + 4.0 + more + half)
        yield made(low - gap - 4.0 - more - half)
