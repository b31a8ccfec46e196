"""The machine cuts of a part, face by face: exact closed outlines with their depths, as seen from that face.

The block is divided into cells by the planes of its rectangular cuts. Seen from a face, a cell of the view is open down
to the first solid cell. An area of one depth is one pocket; where there is no solid cell, the part is cut through. Each
removed cell is cut from only one face: if possible, from the broad face that reaches the most cells, otherwise from
another face. Round cuts remain circles and belong to their own face. The complete circle is given even if it meets
another cut, because both remove the overlap.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise, product

from woodshop.drawing.values.model import Point
from woodshop.drawing.views.projection import Sight, doubled_area, flat, planes_of, sight
from woodshop.shape import part as shape
from woodshop.shape.part import FACE_AXIS, Cut, Face, Part, cut_box
from woodshop.units.lengths import ZERO, Length

_ORDER = (Face.SHOW, Face.BACK, Face.UPPER, Face.LOWER, Face.LEFT, Face.RIGHT)
_Cell = tuple[int, int, int]
_Spot = tuple[int, int]


class Task(StrEnum):
    """The operation along a shape. The operations are in machining order. Stock and folds are not cut."""

    STOCK = "stock"
    FOLD = "fold"
    POCKET = "pocket"
    BORE = "bore"
    INNER = "inner"
    OUTER = "outer"


@dataclass(frozen=True, slots=True)
class Path:
    """One closed shape: a polygon by its corners, or a circle by its center and diameter.

    A fold is a line of two points.

    A polygon runs counterclockwise around the part (OUTER) or the material to remove (other tasks), and clockwise
    around an island. `depth` is the depth of a pocket from the face, or None if the task cuts through or cuts nothing.
    """

    task: Task
    corners: tuple[Point, ...] = ()
    centre: Point = (ZERO, ZERO)
    diameter: Length = ZERO
    depth: Length | None = None

    @property
    def is_round(self) -> bool:
        """Whether the shape is a circle."""
        return not self.corners


@dataclass(frozen=True, slots=True)
class WorkedFace:
    """All cuts from one face, as seen from outside, from (0, 0) at its lower left. The first face has the outline."""

    face: Face
    size: Point
    thickness: Length
    paths: tuple[Path, ...]


def worked_faces(part: Part) -> tuple[WorkedFace, ...]:
    """The faces from which a part is machined: first the face from which it is cut out, then others if needed."""
    planes = planes_of(part)
    gone = _gone(part, planes)
    flats = (Face.UPPER, Face.LOWER) if part.on_edge else (Face.SHOW, Face.BACK)
    rounds = [cut for cut in part.cuts if isinstance(cut.outline, shape.RoundOutline)]
    named = {cut.face for cut in part.cuts}
    reach = {face: _reached(face, gone, planes) for face in _ORDER if face in named or face in flats}
    first = max(flats, key=lambda f: (_worth(part, f, reach[f], planes, rounds), -_ORDER.index(f)))
    left, faces = gone - reach[first], [first]
    rest = [f for f in _ORDER if f in reach and f is not first]
    while left:
        best = max(rest, key=lambda f: (len(reach[f] & left), -_ORDER.index(f)))
        rest.remove(best)
        faces.append(best)
        left -= reach[best]
    faces += [f for f in rest if any(_is_left_for(part, c, f, first) for c in rounds)]
    found: list[WorkedFace] = []
    done: set[_Cell] = set()
    for face in faces:
        found.append(_worked(part, face, faces[0], planes=planes, gone=gone, own=reach[face] - done, rounds=rounds))
        done |= reach[face]
    return tuple(found)


def in_order(paths: Iterable[Path]) -> tuple[Path, ...]:
    """The paths in cutting order: stock, pockets from shallow to deep, round holes, openings, and outlines last."""
    tasks = list(Task)
    return tuple(sorted(paths, key=lambda p: (tasks.index(p.task), p.depth or ZERO)))


def laid(face: WorkedFace, at: Point, turned: bool) -> tuple[Path, ...]:
    """The paths of a face at its position on a board, rotated 90° to the left if `turned` is true, never mirrored."""

    def put(point: Point) -> Point:
        x, y = (face.size[1] - point[1], point[0]) if turned else point
        return x + at[0], y + at[1]

    return tuple(
        replace(p, centre=put(p.centre)) if p.is_round else replace(p, corners=tuple(put(c) for c in p.corners))
        for p in face.paths
    )


def frame(size: Point) -> Path:
    """The outline of a board, sheet or block. The machine does not cut it."""
    return Path(Task.STOCK, ((ZERO, ZERO), (size[0], ZERO), size, (ZERO, size[1])))


def _gone(part: Part, planes: list[list[Length]]) -> set[_Cell]:
    """The cells removed by rectangular cuts."""
    at = [{value: i for i, value in enumerate(axis)} for axis in planes]
    gone: set[_Cell] = set()
    for cut in part.cuts:
        if isinstance(cut.outline, shape.Rectangle):
            box = cut_box(part, cut)
            x, y, z = (range(at[a][box.low[a]], at[a][box.high[a]]) for a in range(3))
            gone.update(product(x, y, z))
    return gone


def _columns(face: Face, planes: list[list[Length]]) -> Iterator[list[_Cell]]:
    """The cells behind each cell of a face, from the face inward."""
    axis, far = FACE_AXIS[face]
    counts = [len(values) - 1 for values in planes]
    inward = range(counts[axis])[::-1] if far else range(counts[axis])
    u, v = (i for i in range(3) if i != axis)
    for i, j in product(range(counts[u]), range(counts[v])):
        cell = {u: i, v: j}
        yield [((cell | {axis: k})[0], (cell | {axis: k})[1], (cell | {axis: k})[2]) for k in inward]


def _open(column: list[_Cell], gone: set[_Cell]) -> list[_Cell]:
    """The part of a column that is open to its face."""
    count = next((n for n, cell in enumerate(column) if cell not in gone), len(column))
    return column[:count]


def _reached(face: Face, gone: set[_Cell], planes: list[list[Length]]) -> set[_Cell]:
    return {cell for column in _columns(face, planes) for cell in _open(column, gone)}


def _worth(part: Part, face: Face, reach: set[_Cell], planes: list[list[Length]], rounds: list[Cut]) -> object:
    """A measure of how much can be cut from a face, used to choose the first face."""
    volume = sum(
        (planes[0][x + 1] - planes[0][x]).mm
        * (planes[1][y + 1] - planes[1][y]).mm
        * (planes[2][z + 1] - planes[2][z]).mm
        for x, y, z in reach
    )
    return volume + sum(cut_box(part, c).volume.mm3 for c in rounds if _is_bored_from(part, c, face))


def _is_bored_from(part: Part, cut: Cut, face: Face) -> bool:
    """Whether a round cut can be made from a face: its own face, or the opposite one if the cut goes through."""
    axis, _ = FACE_AXIS[cut.face]
    return cut.face is face or (FACE_AXIS[face][0] == axis and cut.depth == part.size[axis])


def _is_left_for(part: Part, cut: Cut, face: Face, first: Face) -> bool:
    """Whether a round cut must be made from its own face, because the first face does not reach it."""
    return cut.face is face and not _is_bored_from(part, cut, first)


def _worked(
    part: Part,
    face: Face,
    first: Face,
    *,
    planes: list[list[Length]],
    gone: set[_Cell],
    own: set[_Cell],
    rounds: list[Cut],
) -> WorkedFace:
    """One face: the pockets and openings for its cells, its circles and, on the first face, the outline."""
    seen = sight(face, Face.BACK if first is Face.BACK else Face.SHOW)
    axis, far = FACE_AXIS[face]
    full = part.size[axis]
    pockets: dict[Length, set[_Spot]] = {}
    through: set[_Spot] = set()
    solid: set[_Spot] = set()
    for column in _columns(face, planes):
        taken = _open(column, gone)
        spot = (column[0][seen.right[0]], column[0][seen.up[0]])
        if len(taken) < len(column):
            solid.add(spot)
        if not own.intersection(taken):
            continue
        last = planes[axis][taken[-1][axis] + (0 if far else 1)]
        if len(taken) == len(column):
            through.add(spot)
        else:
            pockets.setdefault(full - last if far else last, set()).add(spot)
    place = _places(part, seen, planes)
    paths = [
        Path(Task.POCKET, loop, depth=depth) for depth, spots in pockets.items() for loop in outlines(spots, *place)
    ]
    for cut in rounds:
        if not (_is_bored_from(part, cut, face) if face is first else _is_left_for(part, cut, face, first)):
            continue
        assert isinstance(cut.outline, shape.RoundOutline)
        task, depth = (Task.BORE, None) if cut.depth == full else (Task.POCKET, cut.depth)
        paths.append(Path(task, centre=_middle(part, seen, cut), diameter=cut.outline.diameter, depth=depth))
    size = (part.size[seen.right[0]], part.size[seen.up[0]])
    if face is first:
        loops = outlines(solid, *place)
        paths += [Path(Task.OUTER, loop) for loop in loops if doubled_area(loop) > 0]
        paths += [Path(Task.INNER, loop[::-1]) for loop in loops if doubled_area(loop) < 0]
        paths += [Path(Task.FOLD, ((ZERO, fold.at), (part.length, fold.at))) for fold in part.folds]
    else:
        paths += [frame(size), *(Path(Task.INNER, loop) for loop in outlines(through, *place))]
    return WorkedFace(face, size, full, in_order(paths))


def _places(part: Part, seen: Sight, planes: list[list[Length]]) -> tuple[list[Length], list[Length]]:
    """The positions of the planes of both axes in the view."""

    def along(axis: int, mirrored: bool) -> list[Length]:
        return [part.size[axis] - value if mirrored else value for value in planes[axis]]

    return along(*seen.right), along(*seen.up)


def _middle(part: Part, seen: Sight, cut: Cut) -> Point:
    box = cut_box(part, cut)
    return flat(part, seen, tuple((a + b) / 2 for a, b in zip(box.low, box.high, strict=True)))  # type: ignore[arg-type]


def outlines(cells: set[_Spot], xs: list[Length], ys: list[Length]) -> list[tuple[Point, ...]]:
    """The closed outlines of cells in a grid of lines at `xs` and `ys`, in a fixed order, each as its corners.

    They run counterclockwise around the cells and clockwise around holes. Where cells touch only at a corner, the
    outlines touch there and do not cross.

    >>> from woodshop.units.lengths import inch
    >>> (loop,) = outlines({(0, 0), (1, 0)}, [ZERO, inch(1), inch(2)], [ZERO, inch(1)])
    >>> [(x.number(), y.number()) for x, y in loop]
    [('0', '0'), ('2', '0'), ('2', '1'), ('0', '1')]
    """
    ahead: dict[_Spot, list[_Spot]] = {}
    wide, high = len(xs) - 1, len(ys) - 1
    flip_x, flip_y = xs[0] > xs[-1], ys[0] > ys[-1]
    placed = {((wide - 1 - i) if flip_x else i, (high - 1 - j) if flip_y else j) for i, j in cells}
    for i, j in placed:
        corners = ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1))
        beside = ((i, j - 1), (i + 1, j), (i, j + 1), (i - 1, j))
        for a, b, other in zip(corners, (*corners[1:], corners[0]), beside, strict=True):
            if other not in placed:
                ahead.setdefault(a, []).append(b)
    xs, ys = sorted(xs), sorted(ys)
    found: list[tuple[Point, ...]] = []
    for start in sorted(ahead):
        while ahead[start]:
            path = [start, ahead[start].pop()]
            while path[-1] != start:
                (ax, ay), (bx, by) = path[-2:]
                ways = ahead[path[-1]]
                left = (bx - (by - ay), by + (bx - ax))
                path.append(left if left in ways else ways[0])
                ways.remove(path[-1])
            for ring in _apart(path[:-1]):
                around = [ring[-1], *ring, ring[0]]
                turns = [b for (a, b), (_, c) in pairwise(pairwise(around)) if (a[0] == b[0]) != (b[0] == c[0])]
                found.append(tuple((xs[x], ys[y]) for x, y in turns))
    return found


def _apart(path: list[_Spot]) -> Iterator[list[_Spot]]:
    """Splits a closed outline that touches itself at corners into outlines that do not touch themselves."""
    rest: list[_Spot] = []
    for spot in path:
        if spot in rest:
            at = rest.index(spot)
            yield rest[at:]
            del rest[at:]
        rest.append(spot)
    yield rest
