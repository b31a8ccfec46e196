"""Finds places for dimensions, labels, leaders, grain arrows and balloons outside and inside a view.

Dimensions go in lanes outside the view, short ones closest, and no text covers a line or other text.

There is no search for the best arrangement. The dimensions are placed one by one, shortest first. Each takes the first
lane and the first place for its text that are clear of everything already placed and of later extension lines. If no
place is clear, it takes the place with the fewest conflicts, so that no dimension is omitted.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from woodshop.drawing.values.model import Dimension, Label, Point, Side
from woodshop.drawing.values.paper import Box, Mark, Ring, Segment, Spot, Stroke, Word, centred
from woodshop.drawing.values.style import REGULAR, STYLE, width


@dataclass
class Board:
    """The drawing contents so far: text as boxes, lines as segments, leader targets as points.

    `clashes` counts the items without a free place, `tangles` the leaders that cross another leader.
    """

    boxes: list[Box] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    leaders: list[Segment] = field(default_factory=list)
    clashes: int = 0
    tangles: int = 0

    def copy(self) -> "Board":
        """A copy on which to try a placement."""
        lists = [*self.boxes], [*self.segments], [*self.spots], [*self.leaders]
        return Board(*lists, self.clashes, self.tangles)

    def conflicts(self, box: Box, most: float = math.inf) -> int:
        """The number of labels, leader targets and lines that a new label would touch. Counting stops above `most`."""
        wide = box.grown(STYLE.clearance)
        left, bottom, right, top = wide.left, wide.bottom, wide.right, wide.top
        count = sum([left < x < right and bottom < y < top for x, y in self.spots])
        count += sum([b.left < right and left < b.right and b.bottom < top and bottom < b.top for b in self.boxes])
        for a, b in self.segments:
            if count > most:
                break
            (x0, y0), (x1, y1) = a, b
            if (x0 <= left and x1 <= left) or (x0 >= right and x1 >= right):
                continue
            if (y0 <= bottom and y1 <= bottom) or (y0 >= top and y1 >= top):
                continue
            count += wide.crossed_by(a, b)
        return count

    def crossings(self, segments: Iterable[Segment]) -> int:
        """The number of labels that new lines would cross."""
        more = STYLE.clearance / 2
        count = 0
        for a, b in segments:
            low, high = min(a[0], b[0]) - more, max(a[0], b[0]) + more
            count += sum(box.grown(more).crossed_by(a, b) for box in self.boxes if box.left < high and low < box.right)
        return count

    def tangled(self, leader: Segment) -> int:
        """The number of leaders that a new leader would cross."""
        return sum(crosses(leader, other) for other in self.leaders)


def crosses(one: Segment, other: Segment) -> bool:
    """Whether two straight lines cross. Lines that only touch at their ends do not count."""
    (a, b), (c, d) = one, other
    return _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0


def _turn(a: Spot, b: Spot, c: Spot) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@dataclass(frozen=True, slots=True)
class PlacedDimension:
    """A dimension on paper: its line, its text, and all its strokes."""

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
    """Places every dimension on paper with `spot`, with its text in `unit`, and adds it to the board."""
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


_DISTANCES = (14.0, 22.0, 32.0, 44.0, 60.0, 80.0, 105.0, 135.0, 170.0, 210.0, 260.0, 320.0, 400.0)

_CONFLICT = 500.0  # the cost of touching text or a line, in points of a longer leader
_TANGLE = 150.0  # the cost of a leader over another one, in points of a longer leader
_SIDE_BY_SIDE = 5.0  # points between pieces that still count as neighbors


def place_remark(text: str, target: Spot, near: Spot, *, strong: bool, board: Board, outline: Box) -> list[Mark]:
    """A callout with a leader to its target, in the best place found. If `strong` is true, the text is bold.

    What counts, in order of importance: the callout and its leader touch nothing else; the callout is close to `near`;
    it is within the width of the view.
    """
    best: tuple[float, Word, Segment] | None = None
    for word, leader, distance in _around(text, target, near, strong):
        if best is not None and distance >= best[0]:
            break
        box = word.box
        beyond = max(box.right - outline.right, 0.0) + max(outline.left - box.left, 0.0)
        tangled = board.tangled(leader)
        most = math.inf if best is None else (best[0] - _TANGLE * tangled - distance - 1.5 * beyond) / _CONFLICT
        if most < 0:
            continue
        conflicts = board.conflicts(box, most) + board.crossings([leader])
        cost = _CONFLICT * conflicts + _TANGLE * tangled + distance + 1.5 * beyond
        if best is None or cost < best[0]:
            best = (cost, word, leader)
    if best is None:
        raise AssertionError("there are always places to try")
    cost, word, leader = best
    board.clashes += cost >= _CONFLICT
    board.boxes.append(word.box)
    board.segments.append(leader)
    board.tangles += board.tangled(leader)
    board.leaders.append(leader)
    return [Stroke(leader, STYLE.thin), Ring(*target, 1.5, weight=0.0, fill="ink"), word]


def neighbours(labels: Sequence[Label], spot: Callable[[Point], Spot]) -> list[list[Label]]:
    """Groups of labels that have the same text and adjacent rectangles."""
    groups: list[tuple[list[Label], list[Box]]] = []
    for label in labels:
        low, high = label.within or (label.at, label.at)
        box = Box(*spot(low), *spot(high)).grown(_SIDE_BY_SIDE / 2)
        touching = [g for g in groups if _wording(g[0][0]) == _wording(label) and any(box.meets(b) for b in g[1])]
        merged = ([each for g in touching for each in g[0]] + [label], [b for g in touching for b in g[1]] + [box])
        groups = [g for g in groups if g not in touching]
        groups.append(merged)
    return [members for members, _ in groups]


def _wording(label: Label) -> str:
    return label.shorter[-1] if label.shorter else label.text


def _around(text: str, target: Spot, near: Spot, strong: bool) -> Iterator[tuple[Word, Segment, float]]:
    wanted = math.atan2(near[1] - target[1], near[0] - target[0])
    size = STYLE.label_text
    word = centred(text, 0.0, 0.0, size, strong)
    box = word.box
    half = ((box.right - box.left) / 2, (box.top - box.bottom) / 2)
    for distance in _DISTANCES:
        for turn in (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7, -7, 8):
            angle = wanted + turn * math.pi / 8
            x = target[0] + distance * math.cos(angle)
            y = target[1] + distance * math.sin(angle)
            to_right = math.cos(angle) >= -1e-9
            centre = x + (half[0] + 3.0) * (1 if to_right else -1)
            yield word.moved(centre, y), (target, (x, y)), distance


def place_grain(text: str, start: Spot, end: Spot, board: Board) -> list[Mark]:
    """A double arrow along the grain with its `text`, inside the view if it fits, otherwise next to it."""
    upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    extent = (abs(end[0] - start[0]) / 2, abs(end[1] - start[1]) / 2)
    half = min(26.0, max(extent) * 0.45)
    for share in (0.0, -0.35, 0.35, -0.6, 0.6, -0.8, 0.8):
        for step in (0.0, 10.0, -10.0, 20.0, -20.0, 30.0, -30.0):
            if upright:
                at = (middle[0] + step, middle[1] + share * extent[1])
            else:
                at = (middle[0] + share * extent[0], middle[1] + step)
            marks, box = _grain(text, at, half, upright)
            if board.conflicts(box, 0) == 0:
                board.boxes.append(box)
                return marks
    every = board.boxes[0] if board.boxes else Box(0, 0, 0, 0)
    for box in board.boxes:
        every = every.joined(box)
    for a, b in board.segments:
        every = every.joined(Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])))
    marks, box = _grain(text, (middle[0], every.top + 16.0), half, upright)
    if upright:
        marks, box = _grain(text, (every.right + 16.0, middle[1]), half, upright)
    board.boxes.append(box)
    return marks


def _grain(text: str, at: Spot, half: float, upright: bool) -> tuple[list[Mark], Box]:
    size = STYLE.label_text
    if upright:
        word = centred(text, at[0] + 9.0, at[1], size, turn=True)
        a, b = (at[0], at[1] - half), (at[0], at[1] + half)
    else:
        word = centred(text, at[0], at[1] + 6.0, size)
        a, b = (at[0] - half, at[1] - 5.0), (at[0] + half, at[1] - 5.0)
    marks: list[Mark] = [Stroke((a, b), STYLE.hidden), *_heads(a, b), word]
    box = word.box.joined(Box(a[0] - 3, a[1] - 3, b[0] + 3, b[1] + 3))
    return marks, box


def _heads(a: Spot, b: Spot) -> list[Mark]:
    """Filled arrowheads at both ends, pointing outward."""
    long, wide = 8.0, 2.4
    heads: list[Mark] = []
    for tip, sign in ((a, 1.0), (b, -1.0)):
        if a[1] == b[1]:
            points = (tip, (tip[0] + sign * long, tip[1] + wide), (tip[0] + sign * long, tip[1] - wide))
        else:
            points = (tip, (tip[0] + wide, tip[1] + sign * long), (tip[0] - wide, tip[1] + sign * long))
        heads.append(Stroke(points, 0.0, closed=True, fill="ink"))
    return heads


def place_balloons(numbers: Sequence[tuple[int, Spot]], outline: Box) -> list[Mark]:
    """Numbers in circles, in a column on either side, each with a line to its target. Circles do not overlap."""
    middle = (outline.left + outline.right) / 2
    columns: tuple[list[tuple[int, Spot]], list[tuple[int, Spot]]] = ([], [])
    for number, target in sorted(numbers, key=lambda n: (n[1][0], n[1][1], n[0])):
        left = target[0] < middle
        if abs(len(columns[0]) - len(columns[1])) > len(numbers) // 2:
            left = len(columns[0]) < len(columns[1])
        columns[0 if left else 1].append((number, target))
    r = STYLE.balloon_radius
    marks: list[Mark] = []
    for column, x in ((columns[0], outline.left - 3.2 * r), (columns[1], outline.right + 3.2 * r)):
        heights = spread([target[1] for _, target in sorted(column, key=_height)], 2 * r + 5.0)
        for (number, target), y in zip(sorted(column, key=_height), heights, strict=True):
            reach = math.hypot(target[0] - x, target[1] - y)
            edge = (x + (target[0] - x) * r / reach, y + (target[1] - y) * r / reach)
            marks.append(Stroke((edge, target), STYLE.thin))
            marks.append(Ring(*target, 1.8, weight=0.0, fill="ink"))
            marks.append(Ring(x, y, r, weight=STYLE.outline, fill="paper"))
            marks.append(centred(str(number), x, y, STYLE.balloon_text, strong=True))
    return marks


def _height(entry: tuple[int, Spot]) -> tuple[float, int]:
    return entry[1][1], entry[0]


def spread(wanted: Sequence[float], apart: float) -> list[float]:
    """Heights at least `apart`, in the order of the wanted heights and as close to these as possible (least squares).

    >>> spread([0.0, 1.0, 50.0], 10.0)
    [-4.5, 5.5, 50.0]
    """
    groups: list[tuple[float, int]] = []  # (mean of wanted heights minus places in the group, count)
    for i, height in enumerate(wanted):
        groups.append((height - i * apart, 1))
        while len(groups) > 1 and groups[-2][0] >= groups[-1][0]:
            (m1, n1), (m2, n2) = groups[-2], groups[-1]
            groups[-2:] = [((m1 * n1 + m2 * n2) / (n1 + n2), n1 + n2)]
    levels = [mean for mean, count in groups for _ in range(count)]
    return [level + i * apart for i, level in enumerate(levels)]
