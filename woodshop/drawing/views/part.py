"""Makes the shop drawing of a part, with the size, position and depth of every cut, and views of a wall corner."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from woodshop.drawing.values.model import Arrow, Circle, Dimension, Drawing, Kind, Label, Line, Point, Side, View
from woodshop.drawing.views.projection import Sight, flat, pockets, projected, sight
from woodshop.shape import part as shape
from woodshop.shape.part import FACE_AXIS, Cuboid, Cut, Face, Fold, Part, Placed, RoundOutline, cut_box
from woodshop.units.lengths import ZERO, Length, inch
from woodshop.units.wording import INCHES, Wording, wording_of

_AXIS_WORDS = ("length", "width", "thickness")
_NEAR = (Face.LEFT, Face.LOWER, Face.BACK)
_FAR = (Face.RIGHT, Face.UPPER, Face.SHOW)
_LONG = 4  # times the width; the end view of a longer part would be too small next to it
_CELLS = {Face.UPPER: (0, 1), Face.LOWER: (0, -1)}


def part_drawing(part: Part, *, address: str, count: int, wording: Wording = INCHES, grain: bool = True) -> Drawing:
    """The drawing of the part at `address`, which is made `count` times, with its sizes in one unit or in both.

    `grain` draws the grain arrow along the length; set it to False for mesh and cloth.
    """
    said, unit = wording, wording.unit
    front = _front(part)
    shown: dict[Face, list[Cut]] = {front: []}
    for cut in part.cuts:
        for face in _faces_for(part, cut, front):
            shown.setdefault(face, []).append(cut)
    views = tuple(
        _view(part, front, face, cuts=cuts, shown=tuple(shown), said=said, grain=grain) for face, cuts in shown.items()
    )
    sizes = " x ".join(size.number(unit) for size in part.size)
    fields = (("Address", address), ("Make", str(count)), ("Material", part.material.name), ("Size", f"{sizes} {unit}"))
    notes = tuple(_run_text(part, run, unit) for run in runs(part.cuts))
    if part.on_edge:
        notes = (f"ripped on edge: the width is the thickness of the board, {part.width.text(unit)}", *notes)
    return Drawing(part.name, address, views, tuple(dict.fromkeys((*notes, *part.notes))), fields, unit)


Lettered = tuple[tuple[str, tuple[Length, ...]], ...]
"""Each letter in the drawing of a family, with its size in every part of the family."""


def pattern_of(drawing: Drawing) -> object:
    """A key made of views, dimensions and labels. It is the same for drawings that differ only in sizes."""
    return tuple(
        (
            view.name,
            view.cell,
            len(view.lines),
            tuple((each.side, each.axis) for each in view.dimensions),
            tuple(label.text for label in view.labels),
        )
        for view in drawing.views
    )


def family_drawing(parts: Sequence[Part], drawings: Sequence[Drawing]) -> tuple[Drawing, Lettered]:
    """One drawing for all parts of a pattern, based on the first part. The reference end and edge are heavy lines.

    A size that differs between the parts is shown as a letter. Raises ValueError if the patterns differ.
    """
    letters: dict[tuple[Length, ...], str] = {}
    views = []
    for n, view in enumerate(drawings[0].views):
        dimensions = []
        for rows in zip(*(each.views[n].dimensions for each in drawings), strict=True):
            sizes = tuple(each.length for each in rows)
            if len(set(sizes)) > 1:
                letter = letters.setdefault(sizes, _LETTERS[len(letters)])
                dimensions.append(replace(rows[0], letter=letter))
            else:
                dimensions.append(rows[0])
        lines = view.lines if n else (*view.lines, *_reference(parts[0]))
        views.append(replace(view, dimensions=tuple(dimensions), lines=lines))
    return replace(drawings[0], views=tuple(views)), tuple((word, sizes) for sizes, word in letters.items())


_LETTERS = "abcdefghjkmnpqrstuvwxyz"


def _reference(part: Part) -> tuple[Line, ...]:
    """The reference lines: the uncut parts of the left end and of the lower edge, from their corner."""
    front = _front(part)
    seen = sight(front, front)
    through = [cut_box(part, cut) for cut in part.cuts if _spans(part, cut)[2]]
    along = min((box.low[0] for box in through if not box.low[1]), default=part.length)
    up = min((box.low[1] for box in through if not box.low[0]), default=part.width)
    points = [(along, ZERO, ZERO)] * bool(along) + [(ZERO, ZERO, ZERO)] + [(ZERO, up, ZERO)] * bool(up)
    return (Line(tuple(flat(part, seen, point) for point in points), Kind.REFERENCE),) if points[1:] else ()


def _noted(wording: Wording, dimension: Dimension) -> Dimension:
    """The dimension with its text, followed by the other unit if both are printed."""
    return replace(dimension, note=wording.bracketed(dimension.length)) if wording.both else dimension


def cut_text(part: Part, cut: Cut, unit: str = "in") -> str:
    """A cut as text: its face, its size and position along both axes of that face, and its depth.

    >>> from woodshop.reference.materials import board_material
    >>> from woodshop.shape.part import Rectangle
    >>> from woodshop.units.lengths import inch
    >>> rabbet = Cut("rabbet", Face.BACK, Rectangle(ZERO, ZERO, inch(20), inch("3/8")), inch("3/8"))
    >>> cut_text(Part("side", board_material(inch("3/4")), inch(20), inch(3), inch("3/4"), cuts=(rabbet,)), rabbet)
    'rabbet, back face: over the whole length, 3/8 in of the width at the lower edge, 3/8 in deep'
    """
    axis, _ = FACE_AXIS[cut.face]
    through = cut.depth == part.size[axis]
    deep = "through" if through else f"{cut.depth.text(unit)} deep"
    box = cut_box(part, cut)
    words: list[str] = []
    for a in (i for i in range(3) if i != axis):
        low, high, full = box.low[a], box.high[a], part.size[a]
        size = (high - low).text(unit)
        if isinstance(cut.outline, shape.RoundOutline):
            words.append(f"center {((low + high) / 2).text(unit)} from the {_NEAR[a]}")
        elif low == ZERO and high == full:
            words.append(f"over the whole {_AXIS_WORDS[a]}")
        elif low == ZERO or high == full:
            words.append(f"{size} of the {_AXIS_WORDS[a]} at the {(_NEAR if low == ZERO else _FAR)[a]}")
        elif low == full - high:
            words.append(f"{size} in the middle of the {_AXIS_WORDS[a]}, {low.text(unit)} from each side")
        else:
            words.append(f"{size} of the {_AXIS_WORDS[a]}, {low.text(unit)} from the {_NEAR[a]}")
    if isinstance(cut.outline, shape.RoundOutline):
        words.insert(0, f"dia. {wording_of(unit).drill(cut.outline.diameter)}")
    return f"{cut.name}, {cut.face}: {', '.join(words)}, {deep}"


def _spans(part: Part, cut: Cut) -> list[bool]:
    """For each axis of the face of a cut, whether the cut runs from end to end."""
    if isinstance(cut.outline, shape.RoundOutline):
        axis, _ = FACE_AXIS[cut.face]
        return [i == axis and cut.depth == part.size[i] for i in range(3)]
    box = cut_box(part, cut)
    return [box.size(i) == part.size[i] for i in range(3)]


def _front(part: Part) -> Face:
    """The face to draw: the back if only it has blind cuts, otherwise the show face."""
    blind = [cut for cut in part.cuts if not _spans(part, cut)[2]]
    from_show = any(cut.face is Face.SHOW or cut_box(part, cut).high[2] == part.thickness for cut in blind)
    from_back = any(cut.face is Face.BACK or cut_box(part, cut).low[2] == ZERO for cut in blind)
    return Face.BACK if from_back and not from_show else Face.SHOW


def _faces_for(part: Part, cut: Cut, front: Face) -> tuple[Face, ...]:
    """The views that show the sizes of a cut: its profile and, for a blind cut, its own face."""
    spans = _spans(part, cut)
    end = Face.RIGHT if front is Face.SHOW else Face.LEFT
    if spans[0]:
        return (end,)
    if spans[1]:
        return (Face.UPPER,)
    if spans[2]:
        return (front,)
    axis, _ = FACE_AXIS[cut.face]
    return (front,) if axis == 2 else (cut.face,)


def _cell(face: Face, front: Face) -> tuple[int, int]:
    if face in (Face.LEFT, Face.RIGHT):
        return (1, 0) if (face is Face.RIGHT) == (front is Face.SHOW) else (-1, 0)
    return _CELLS.get(face, (0, 0))


def _view(
    part: Part, front: Face, face: Face, *, cuts: list[Cut], shown: tuple[Face, ...], said: Wording, grain: bool
) -> View:
    seen = sight(face, front)
    lines, circles = projected(part, seen)
    if face is front:
        pocket_lines, pocket_circles = pockets(part, seen)
        lines, circles = lines + pocket_lines, circles + pocket_circles
    dimensions = _overall(part, seen, front, shown)
    for run in runs(cuts):
        dimensions += _cut_dimensions(part, seen, run[0])
        dimensions += _pitch_dimension(part, seen, run)
    labels = _remarks(part, seen, cuts, said)
    if face is front:
        for fold in part.folds:
            lines += _fold_line(part, seen, fold)
            dimensions += _fold_dimension(part, seen, fold)
            labels.append(_fold_label(part, seen, fold, front))
    ends = (flat(part, seen, (ZERO, part.width / 2, ZERO)), flat(part, seen, (part.length, part.width / 2, ZERO)))
    name = str(face).capitalize()
    if face is front and shown == (front,):  # no other view states it
        name = f"{name}, {said.pair(part.thickness)} thick"
    return View(
        name=name,
        lines=lines,
        circles=circles,
        dimensions=tuple(_noted(said, each) for each in _without_repeats(dimensions)),
        labels=tuple(labels),
        arrows=(Arrow("grain", *ends),) if grain and face is front else (),
        cell=_cell(face, front),
        enlarged=2 if seen.right[0] == 2 and part.length >= part.width * _LONG else 1,
    )


def _fold_line(part: Part, seen: Sight, fold: Fold) -> tuple[Line, ...]:
    ends = (flat(part, seen, (ZERO, fold.at, ZERO)), flat(part, seen, (part.length, fold.at, ZERO)))
    return (Line(ends, Kind.FOLD),)


def _fold_dimension(part: Part, seen: Sight, fold: Fold) -> list[Dimension]:
    low, high = _extent(part, seen, ((ZERO, ZERO, ZERO), (part.length, fold.at, ZERO)))
    return [Dimension((high[0], low[1]), high, Side.RIGHT)]


def _fold_label(part: Part, seen: Sight, fold: Fold, front: Face) -> Label:
    """The instruction at the fold line. In a view from the back, "toward" becomes "away"."""
    target = flat(part, seen, (part.length * Fraction(9, 10), fold.at, ZERO))
    how = fold.how if front is Face.SHOW else f"{fold.how}, seen from the other face"
    return Label(how, (target[0] + part.length, target[1] - part.width), target)


def _overall(part: Part, seen: Sight, front: Face, shown: tuple[Face, ...]) -> list[Dimension]:
    """The dimensions for length and width on the front view, and for thickness on the first of the other views."""
    low, high = _extent(part, seen, ((ZERO,) * 3, part.size))
    corner = (low, (high[0], low[1]), (low[0], high[1]))
    if seen.face is front:
        return [Dimension(corner[0], corner[1], Side.BELOW), Dimension(corner[0], corner[2], Side.LEFT)]
    if seen.face is not next(face for face in shown if face is not front):
        return []
    if seen.right[0] == 2:
        return [Dimension(corner[0], corner[1], Side.BELOW)]
    return [Dimension(corner[0], corner[2], Side.LEFT)]


def _extent(part: Part, seen: Sight, box: tuple[tuple[Length, ...], tuple[Length, ...]]) -> tuple[Point, Point]:
    (a, b), (c, d) = (flat(part, seen, (p[0], p[1], p[2])) for p in box)
    return (min(a, c), min(b, d)), (max(a, c), max(b, d))


def _cut_dimensions(part: Part, seen: Sight, cut: Cut) -> list[Dimension]:
    """The size and position of a cut along both axes of the view."""
    box = cut_box(part, cut)
    low, high = _extent(part, seen, (box.low, box.high))
    full = part.size[seen.right[0]], part.size[seen.up[0]]
    found: list[Dimension] = []
    for axis in (0, 1):
        across = 1 - axis
        beyond = (low[across] + high[across]) > full[across]
        side = ((Side.BELOW, Side.ABOVE), (Side.LEFT, Side.RIGHT))[axis][beyond]
        if axis == 1 and low[0] == ZERO and high[0] == full[0]:
            side = Side.RIGHT
        level = high[across] if side in (Side.ABOVE, Side.RIGHT) else low[across]
        from_far = (seen.right, seen.up)[axis][1]  # the left end or the lower edge is the far side of the view
        for a, b in _stretches(
            low[axis], high[axis], full[axis], isinstance(cut.outline, shape.RoundOutline), from_far
        ):
            ends = ((a, level), (b, level)) if axis == 0 else ((level, a), (level, b))
            found.append(Dimension(*ends, side))
    return found


def runs(cuts: Sequence[Cut]) -> list[list[Cut]]:
    """Groups the cuts, in order: an evenly spaced row of identical cuts (five holes, for example) is one run."""
    rows: dict[object, list[Cut]] = {}
    for cut in cuts:
        o = cut.outline
        if isinstance(o, shape.RoundOutline):
            key: object = (cut.name, cut.face, o.v, o.diameter, cut.depth)
        else:
            key = (cut.name, cut.face, o.u0, o.u1, o.v1 - o.v0, cut.depth)
        rows.setdefault(key, []).append(cut)
    found: list[list[Cut]] = []
    for row in rows.values():
        row.sort(key=_start)
        pitches = {_start(b) - _start(a) for a, b in pairwise(row)}
        least = 5 if isinstance(row[0].outline, shape.RoundOutline) else 2
        found += [row] if len(row) >= least and len(pitches) == 1 else [[cut] for cut in row]
    return found


def _start(cut: Cut) -> Length:
    """The start of a cut along its run: the middle of a hole, or the lower side of a gap."""
    return cut.outline.u if isinstance(cut.outline, shape.RoundOutline) else cut.outline.v0


def pitch_of(run: Sequence[Cut]) -> Length:
    """The distance from one cut of a run to the next."""
    return _start(run[1]) - _start(run[0])


def _pitch_dimension(part: Part, seen: Sight, run: list[Cut]) -> list[Dimension]:
    """The distance from the first hole of a run to the second, if the view shows it."""
    if len(run) == 1:
        return []
    first, second = (_extent(part, seen, (box.low, box.high)) for box in (cut_box(part, cut) for cut in run[:2]))
    axis = 0 if first[0][0] != second[0][0] else 1
    beyond = (first[0][1 - axis] + first[1][1 - axis]) > part.size[(seen.up if axis == 0 else seen.right)[0]]
    side = ((Side.BELOW, Side.ABOVE), (Side.LEFT, Side.RIGHT))[axis][beyond]
    level = first[1 if beyond else 0][1 - axis]
    if isinstance(run[0].outline, shape.RoundOutline):
        a, b = sorted((each[0][axis] + each[1][axis]) / 2 for each in (first, second))
    else:
        a, b = sorted(each[0][axis] for each in (first, second))
    return [Dimension((a, level), (b, level), side) if axis == 0 else Dimension((level, a), (level, b), side)]


def _run_text(part: Part, run: list[Cut], unit: str) -> str:
    """A single cut as text or, for a run of identical cuts, the first cut and the pitch as text."""
    words = cut_text(part, run[0], unit)
    if len(run) == 1:
        return words
    pitch = pitch_of(run).text(unit)
    name = run[0].name
    return (
        f"{len(run)} x {words.replace(f'{name}, ', f'{name}, each {pitch} from the next, ', 1)}; position of the first"
    )


def _stretches(low: Length, high: Length, full: Length, is_round: bool, from_far: bool) -> list[tuple[Length, Length]]:
    """The lengths to state along one axis: the size of the cut, and its distance from the reference end or edge."""
    if is_round:
        middle = (low + high) / 2
        return [(middle, full) if from_far else (ZERO, middle)]
    if low == ZERO and high == full:
        return []
    if low == ZERO or high == full:
        return [(low, high)]
    return [(low, high), (high, full) if from_far else (ZERO, low)]


def _without_repeats(dimensions: list[Dimension]) -> tuple[Dimension, ...]:
    """The dimensions without those that repeat the same stretch along an axis."""
    kept: dict[tuple[int, Length, Length], Dimension] = {}
    for each in dimensions:
        a, b = sorted((each.start[each.axis], each.end[each.axis]))
        kept.setdefault((each.axis, a, b), each)
    return tuple(kept.values())


def _remarks(part: Part, seen: Sight, cuts: list[Cut], said: Wording) -> list[Label]:
    """Labels for sizes that have no dimension in the view: depths of blind cuts, diameters of round cuts."""
    groups: dict[tuple[str, Length | None, Length, bool], list[Cut]] = {}
    for cut in cuts:
        axis, _ = FACE_AXIS[cut.face]
        if axis == seen.depth:
            size = cut.outline.diameter if isinstance(cut.outline, shape.RoundOutline) else None
            key = (cut.name, size, cut.depth, cut.depth == part.size[axis])
            groups.setdefault(key, []).append(cut)
    labels: list[Label] = []
    middle = (part.size[seen.right[0]] / 2, part.size[seen.up[0]] / 2)
    for (name, size, depth, through), members in groups.items():
        words = [f"{len(members)} x {name}" if len(members) > 1 else name]
        words += [f"dia. {said.bore(size)}"] if size else []
        rows = runs(members)
        if all(len(row) > 1 for row in rows) and len({pitch_of(row) for row in rows}) == 1:
            words.append(
                f"{said.pair_number(pitch_of(rows[0]))} apart"
                if size
                else f"every {said.pair_number(pitch_of(rows[0]))}"
            )
        words.append("through" if through else f"{said.pair_number(depth)} deep")
        extents = [_extent(part, seen, (box.low, box.high)) for box in (cut_box(part, cut) for cut in members)]
        low, high = min(extents, key=lambda e: (abs(e[0][0] + e[1][0] - middle[0] * 2), e))
        if isinstance(members[0].outline, shape.RoundOutline):
            target = (low[0], (low[1] + high[1]) / 2)
        else:
            target = ((low[0] * 3 + high[0]) / 4, (low[1] + high[1]) / 2)
        toward = (target[0] * 2 - middle[0], target[1] + part.size[seen.up[0]])
        labels.append(Label(", ".join(words), toward, target))
    return labels


_SHOWN = inch(2)  # the length of each wall shown, from the corner


def corner_views(
    side: Placed,
    end: Placed,
    *,
    through_end: bool,
    heights: Sequence[Length],
    from_corner: Length,
    length: Length,
    names: tuple[str, str],
) -> tuple[View, View]:
    """The front left corner, where a side meets the front end, with its screws, seen from above and from outside.

    The screws are `length` long. They go through the end if `through_end` is true, otherwise through the side, at
    `heights`, `from_corner` from the outer edge of the corner. `names` are the names of side and end.
    """
    corner = (min(side.box.low[0], end.box.low[0]), min(side.box.low[1], end.box.low[1]))
    lines: list[Line] = []
    for wall in (side, end):
        lines += _outline(wall, corner)
    along, across = (1, 0) if through_end else (0, 1)  # along the wall with the heads, along the screws
    start, stop = [ZERO, ZERO], [ZERO, ZERO]
    start[along] = stop[along] = from_corner
    stop[across] = length
    lines.append(Line(((start[0], start[1]), (stop[0], stop[1])), Kind.CENTRE))
    place = Side.LEFT if through_end else Side.BELOW
    dimensions = (Dimension((ZERO, ZERO), (start[0], start[1]), place),)
    shown = _SHOWN
    wood = side.part.thickness
    labels = (
        Label(names[0], (shown, ZERO - wood), (shown * 3 / 4, wood / 2)),
        Label(names[1], (shown, shown), (wood / 2, shown * 3 / 4)),
    )
    above = View("From above", tuple(lines), dimensions=dimensions, labels=labels)
    return above, _outside(end if through_end else side, heights, from_corner)


def _outside(wall: Placed, heights: Sequence[Length], from_corner: Length) -> View:
    """The show face of the wall at its corner, with the screw heads."""
    high, size = wall.part.width, inch("1/4")
    lines = (Line(((_SHOWN, ZERO), (ZERO, ZERO), (ZERO, high), (_SHOWN, high))),)
    circles = tuple(Circle((from_corner, at), size) for at in heights)
    dimensions = [Dimension((ZERO, heights[0]), (from_corner, heights[0]), Side.BELOW)]
    dimensions.append(Dimension((ZERO, ZERO), (ZERO, heights[0]), Side.LEFT))
    if len(heights) > 1:  # evenly spaced: one distance, at the top, where no other figure is near
        note = "apart" if len(heights) > 2 else ""
        dimensions.append(Dimension((ZERO, heights[-2]), (ZERO, heights[-1]), Side.LEFT, note=note))
    return View(f"{wall.part.name.capitalize()}, show face", lines, circles, dimensions=tuple(dimensions), cell=(1, 0))


def _outline(wall: Placed, corner: tuple[Length, Length]) -> list[Line]:
    """A wall near the corner, seen from above, with its corner rabbet. The outline is open at the far end."""
    box = wall.box
    high = [min(box.high[i] - corner[i], _SHOWN) for i in (0, 1)]
    low = [box.low[i] - corner[i] for i in (0, 1)]
    points: list[Point] = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]
    for cut, hollow in zip(wall.part.cuts, wall.hollows, strict=True):
        if cut.name == "corner rabbet" and not isinstance(cut.outline, RoundOutline) and _is_near(hollow, corner):
            a = [hollow.low[i] - corner[i] for i in (0, 1)]
            b = [hollow.high[i] - corner[i] for i in (0, 1)]
            points = _less(points, a, b)
    run = 0 if high[0] - low[0] > high[1] - low[1] else 1  # the direction in which the wall is left open
    edges = list(zip(points, (*points[1:], points[0]), strict=True))
    return [Line(edge) for edge in edges if not all(point[run] == _SHOWN for point in edge)]


def _is_near(hollow: Cuboid, corner: tuple[Length, Length]) -> bool:
    return all(hollow.low[i] - corner[i] < _SHOWN for i in (0, 1))


def _less(points: list[Point], low: Sequence[Length], high: Sequence[Length]) -> list[Point]:
    """The six points of a rectangle after another rectangle is cut out of one corner."""
    found: list[Point] = []
    for n, (x, y) in enumerate(points):
        if low[0] <= x <= high[0] and low[1] <= y <= high[1]:
            inner_x = high[0] if x == low[0] else low[0]
            inner_y = high[1] if y == low[1] else low[1]
            steps = [(inner_x, y), (inner_x, inner_y), (x, inner_y)]
            before = points[n - 1]
            found += steps if before[1] == y else steps[::-1]
        else:
            found.append((x, y))
    return found
