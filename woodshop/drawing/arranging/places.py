"""Where words, leaders, grain arrows and balloons find room in a view that has its lines and dimensions."""

import math
from collections.abc import Callable, Iterator, Sequence

from woodshop.drawing.arranging.lanes import Board
from woodshop.drawing.values.model import Label, Point
from woodshop.drawing.values.paper import Box, Mark, Ring, Segment, Spot, Stroke, Word, centred
from woodshop.drawing.values.style import STYLE

_DISTANCES = (14.0, 22.0, 32.0, 44.0, 60.0, 80.0, 105.0, 135.0, 170.0, 210.0, 260.0, 320.0, 400.0)

_TANGLE = 150.0  # what a leader over another is worth, in points of a longer one
_SIDE_BY_SIDE = 5.0  # points between pieces that still count as neighbours


def place_remark(text: str, target: Spot, near: Spot, *, strong: bool, board: Board, outline: Box) -> list[Mark]:
    """A remark with a leader to its target: free of texts and lines first, its leader clear of the others, then near,
    then within the view's width.
    """
    best: tuple[float, Word, Segment] | None = None
    for word, leader, distance in _around(text, target, near, strong):
        if best is not None and distance >= best[0]:
            break
        conflicts = board.conflicts(word.box) + board.crossings([leader])
        beyond = max(word.box.right - outline.right, 0.0) + max(outline.left - word.box.left, 0.0)
        cost = 500.0 * conflicts + _TANGLE * board.tangled(leader) + distance + 1.5 * beyond
        if best is None or cost < best[0]:
            best = (cost, word, leader)
    if best is None:
        raise AssertionError("there are always places to try")
    cost, word, leader = best
    board.clashes += cost >= 500.0
    board.boxes.append(word.box)
    board.segments.append(leader)
    board.tangles += board.tangled(leader)
    board.leaders.append(leader)
    return [Stroke(leader, STYLE.thin), Ring(*target, 1.5, weight=0.0, fill="ink"), word]


def neighbours(labels: Sequence[Label], spot: Callable[[Point], Spot]) -> list[list[Label]]:
    """Labels of one wording whose rectangles lie side by side, together."""
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
    """A double arrow along the grain with its word, inside the view if there is room, else beside it."""
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
            if board.conflicts(box) == 0:
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
    """Filled arrow heads at both ends, pointing out."""
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
    """Numbers in circles, in a column at either side, each with a line to its target; no two overlap."""
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
    """Heights in the given rising order, at least `apart`, as near to the wanted ones as can be (least squares).

    >>> spread([0.0, 1.0, 50.0], 10.0)
    [-4.5, 5.5, 50.0]
    """
    groups: list[tuple[float, int]] = []  # (mean of wanted less the place in the row, how many)
    for i, height in enumerate(wanted):
        groups.append((height - i * apart, 1))
        while len(groups) > 1 and groups[-2][0] >= groups[-1][0]:
            (m1, n1), (m2, n2) = groups[-2], groups[-1]
            groups[-2:] = [((m1 * n1 + m2 * n2) / (n1 + n2), n1 + n2)]
    levels = [mean for mean, count in groups for _ in range(count)]
    return [level + i * apart for i, level in enumerate(levels)]
