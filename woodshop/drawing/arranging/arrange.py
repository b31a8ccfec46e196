"""Turns a drawing in real lengths into marks on paper at one scale, and finds a place for every label and line."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from woodshop.drawing.arranging.patterns import hatched
from woodshop.drawing.arranging.places import (
    Board,
    PlacedDimension,
    neighbours,
    place_balloons,
    place_dimensions,
    place_grain,
    place_remark,
)
from woodshop.drawing.values.model import Circle, Drawing, Fill, Kind, Label, Point, Region, View
from woodshop.drawing.values.paper import Box, Mark, Ring, Segment, Sheet, Spot, Stroke, Word, centred, sheet_of
from woodshop.drawing.values.style import POINTS_PER_MM, SCALES, STYLE, TONES, clean

WEIGHT = {
    Kind.OUTLINE: STYLE.outline,
    Kind.HIDDEN: STYLE.hidden,
    Kind.CENTRE: STYLE.thin,
    Kind.CUT: STYLE.outline,
    Kind.THIN: STYLE.thin,
    Kind.FOLD: STYLE.thin,
    Kind.REFERENCE: STYLE.reference,
}
DASH: dict[Kind, tuple[float, ...]] = {
    Kind.HIDDEN: STYLE.hidden_dash,
    Kind.CENTRE: STYLE.centre_dash,
    Kind.CUT: STYLE.cut_dash,
}
_LARGEST_ENLARGED = 216.0  # points; nothing is enlarged beyond 3 in
_ROUNDING = 1e-6  # points: sums of floats may differ by less
_KEPT = 256  # views: a figure is tried as wide as a column and as the page, and at several heights


@dataclass(frozen=True, slots=True)
class LaidView:
    """A view on paper: its geometry, its dimensions, its labels with their leaders, and the box around all of them.

    `crowded` says whether a label touches something or a dimension is too short to read.
    """

    view: View
    geometry: tuple[Mark, ...]
    dimensions: tuple[PlacedDimension, ...]
    words: tuple[Mark, ...]
    box: Box
    crowded: bool

    @property
    def marks(self) -> list[Mark]:
        """All marks of the view, in drawing order."""
        return [*self.geometry, *(mark for placed in self.dimensions for mark in placed.marks), *self.words]


@dataclass(frozen=True, slots=True)
class Fitted:
    """A drawing on paper: its scale, the arranged drawing (possibly with less stretch), its views and its marks."""

    scale: Fraction
    drawing: Drawing
    views: list[tuple[LaidView, Spot]]
    sheet: Sheet


def fitted(drawing: Drawing, width: float, height: float, scales: Sequence[Fraction] = ()) -> Fitted:
    """The drawing at the largest of `scales` (standard scales if empty) that fits in `width` x `height` points.

    Stretched and enlarged views are reduced before a smaller scale is tried. Raises ValueError if the drawing does not
    fit at any scale, because a label is wider than the page.
    """
    sizes = [tuple((b - a).mm for a, b in zip(*view.bounds, strict=True)) for view in drawing.views]
    for scale in scales or SCALES[drawing.unit]:
        for tried in _variants(drawing):
            if not _may_fit(tried, sizes, scale, width, height):
                continue
            _, (wide, high) = _tracks([(view.cell, _framed(view, scale, tried.unit).laid.box) for view in tried.views])
            if wide > width + _ROUNDING or high > height + _ROUNDING:
                continue
            placed = placed_views(tried, scale)
            sheet = _sheet(placed)
            if sheet.size[0] <= width and sheet.size[1] <= height:
                return Fitted(scale, tried, placed, sheet)
    raise ValueError(f"the drawing {drawing.title!r} does not fit into {width:.0f} x {height:.0f} points")


def _variants(drawing: Drawing) -> Iterator[Drawing]:
    """The drawing unchanged, then copies with its views stretched or enlarged less and less."""
    most = max((max(int(view.stretch), view.enlarged) for view in drawing.views), default=1)
    for limit in range(most, 0, -1):
        views = [
            v
            if v.stretch <= limit and v.enlarged <= limit
            else replace(v, stretch=min(v.stretch, Fraction(limit)), enlarged=min(v.enlarged, limit))
            for v in drawing.views
        ]
        yield replace(drawing, views=tuple(views))


def _may_fit(drawing: Drawing, sizes: list[tuple[Fraction, ...]], scale: Fraction, width: float, height: float) -> bool:
    """Whether the geometry alone fits, and no view is enlarged more than needed."""
    for view, size in zip(drawing.views, sizes, strict=True):
        wide, tall = (float(each * scale * POINTS_PER_MM * view.enlarged) for each in size)
        if wide > width or tall * float(view.stretch) > height:
            return False
        if scale > 1 and max(wide, tall) > _LARGEST_ENLARGED:
            return False
    return True


def arranged(drawing: Drawing, scale: Fraction) -> Sheet:
    """All views of a drawing at a scale (paper size over real size), arranged by their cells."""
    return _sheet(placed_views(drawing, scale))


def _sheet(views: list[tuple[LaidView, Spot]]) -> Sheet:
    marks = [mark.moved(*spot) for laid, spot in views for mark in laid.marks]
    return replace(sheet_of(marks), crowded=any(laid.crowded for laid, _ in views))


def placed_views(drawing: Drawing, scale: Fraction) -> list[tuple[LaidView, Spot]]:
    """Each arranged view, with the position of its origin. Views in one column share x, views in one row share y."""
    laid = [lay_view(view, scale, drawing.unit) for view in drawing.views]
    (xs, ys), _ = _tracks([(each.view.cell, each.box) for each in laid])
    return [(each, (xs[each.view.cell[0]], ys[each.view.cell[1]])) for each in laid]


def _tracks(boxes: list[tuple[tuple[int, int], Box]]) -> tuple[list[dict[int, float]], list[float]]:
    """The positions of the origins of the columns and rows of views, and the total width and height."""
    places: list[dict[int, float]] = [{}, {}]
    sizes = []
    for n, place in enumerate(places):
        reaches = [(cell[n], *((box.left, box.right), (box.bottom, box.top))[n]) for cell, box in boxes]
        at = 0.0
        for key in sorted({k for k, _, _ in reaches}):
            low = min(a for k, a, _ in reaches if k == key)
            high = max(b for k, _, b in reaches if k == key)
            place[key] = at - low
            at += high - low + STYLE.view_gap
        sizes.append(at - STYLE.view_gap)
    return places, sizes


def spots(view: View, scale: Fraction) -> Callable[[Point], Spot]:
    """A function that converts a point of the view to a position on paper. The view's origin is the origin on paper."""
    across, up = (scale * POINTS_PER_MM * view.enlarged * each for each in (1, view.stretch))
    (a, b), (c, d) = across.as_integer_ratio(), up.as_integer_ratio()

    def spot(point: Point) -> Spot:  # dividing integers gives the float of the exact product
        x, y = point[0].mm, point[1].mm
        return (x.numerator * a) / (x.denominator * b), (y.numerator * c) / (y.denominator * d)

    return spot


@dataclass(frozen=True, slots=True)
class _Framed:
    """A view on paper before its callouts are placed, and everything that the callouts must avoid."""

    laid: LaidView
    remarks: tuple[Label, ...]
    board: Board
    outline: Box


@lru_cache(_KEPT)
def _framed(view: View, scale: Fraction, unit: str) -> _Framed:
    spot = spots(view, scale)
    lines, board, outline = _geometry(view, spot)
    words: list[Mark] = []
    remarks: list[Label] = []
    for label in view.labels:
        word = _standing(label, spot)
        if word is None:
            remarks.append(label)
            continue
        words.append(word)
        board.boxes.append(word.box)
    dimensions = place_dimensions(view.dimensions, spot, outline, unit, board)
    board.spots += [spot(label.target or label.at) for label in remarks]
    box = sheet_of([*lines, *(mark for placed in dimensions for mark in placed.marks), *words]).box
    laid = LaidView(view, tuple(lines), tuple(dimensions), tuple(words), box, False)
    return _Framed(laid, tuple(remarks), board, outline)


@lru_cache(_KEPT)
def lay_view(view: View, scale: Fraction, unit: str) -> LaidView:
    """One view at a scale, with its origin at (0, 0). Dimensions are in `unit`."""
    spot, framed = spots(view, scale), _framed(view, scale, unit)
    laid, outline = framed.laid, framed.outline
    marks, board = _remarks_placed([e for e in framed.remarks if e.target is not None], spot, framed.board, outline)
    words = [*laid.words, *marks]
    for alike in neighbours([each for each in framed.remarks if each.target is None], spot):
        words += _common_remark(alike, spot, board, outline)
    for arrow in view.arrows:
        words += place_grain(clean(arrow.text), spot(arrow.start), spot(arrow.end), board)
    words += place_balloons([(b.number, spot(b.target)) for b in view.balloons], outline)
    spans = [math.dist(placed.start, placed.end) for placed in laid.dimensions]
    crowded = board.clashes > 0 or min(spans, default=99.0) < STYLE.tick
    words = [each for word in words for each in (*_cleared(word, view, spot), word)]
    laid = replace(laid, words=tuple(words), crowded=crowded)
    whole = sheet_of(laid.marks).box
    if view.name:
        x = (outline.left + outline.right) / 2
        name = view.name if view.enlarged == 1 else f"{view.name}, drawn {view.enlarged}x"
        title = centred(clean(name), x, whole.bottom - STYLE.view_title, STYLE.view_title, strong=True)
        laid, whole = replace(laid, words=(*words, title)), whole.joined(title.box)
    return replace(laid, box=whole)


def _remarks_placed(
    remarks: list[Label], spot: Callable[[Point], Spot], board: Board, outline: Box
) -> tuple[list[Mark], Board]:
    """The callouts with their leaders, and the board with them added.

    It tries three sequences, and uses the first that adds no clashes or tangles or, if all do, the one that adds the
    fewest.
    """
    best: tuple[list[Mark], Board] | None = None
    for order in (remarks, sorted(remarks, key=lambda each: -len(each.text)), remarks[::-1]):
        trial = board.copy()
        marks: list[Mark] = []
        for label in order:
            target, near = spot(label.target or label.at), spot(label.at)
            marks += place_remark(clean(label.text), target, near, strong=label.strong, board=trial, outline=outline)
        if best is None or (trial.clashes, trial.tangles) < (best[1].clashes, best[1].tangles):
            best = (marks, trial)
        if (trial.clashes, trial.tangles) == (board.clashes, board.tangles):
            break
    if best is None:
        raise AssertionError("one order at least was tried")
    return best


def _is_inside(b: Box, room: Box) -> bool:
    return b.left >= room.left and b.right <= room.right and b.bottom >= room.bottom and b.top <= room.top


def _standing(label: Label, spot: Callable[[Point], Spot]) -> Word | None:
    """A label at its own position, if it fits there, or None if it needs a leader."""
    if label.target is not None:
        return None
    size = STYLE.label_text
    if label.within is None:
        return centred(clean(label.text), *spot(label.at), size, label.strong, label.turn)
    low, high = (spot(point) for point in label.within)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    place = Box(*low, *high)
    room = place.grown(-STYLE.clearance)
    for text in (label.text, *label.shorter):
        for turn in (False, True):
            word = centred(clean(text), *middle, size, label.strong, turn)
            if _is_inside(word.box, room):
                if not turn or len(word.text) > 1:
                    return word
                upright = centred(word.text, *middle, size, label.strong)  # rotated, an N would be a Z
                return upright if _is_inside(upright.box, place) else None
    return None


def _common_remark(alike: list[Label], spot: Callable[[Point], Spot], board: Board, outline: Box) -> list[Mark]:
    """One callout for identical small neighbors, with their count, and a dot in each of them."""
    text = clean(alike[0].shorter[-1] if alike[0].shorter else alike[0].text)
    if len(alike) > 1:
        text = f"{len(alike)} x {text}"
    spots = [spot(label.at) for label in alike]
    middle = (sum(x for x, _ in spots) / len(spots), sum(y for _, y in spots) / len(spots))
    target = min(spots, key=lambda s: (math.dist(s, middle), s))
    up = 1.0 if target[1] * 2 >= outline.bottom + outline.top else -1.0
    near = (target[0] + 4.0, target[1] + 20.0 * up)
    low, high = map(spot, alike[0].within or (alike[0].at, alike[0].at))
    least = min(high[0] - low[0], high[1] - low[1])  # of the piece: a dot must leave its edges visible
    radius = min(1.5, 0.3 * least) if least else 1.5
    dots = [Ring(*each, radius, weight=0.0, fill="ink") for each in spots if each != target]
    return [*dots, *place_remark(text, target, near, strong=alike[0].strong, board=board, outline=outline)]


def _geometry(view: View, spot: Callable[[Point], Spot]) -> tuple[list[Mark], Board, Box]:
    low, high = view.bounds
    outline = Box(*spot(low), *spot(high))
    marks: list[Mark] = []
    board = Board()
    for region in view.regions:
        marks += _fill(region, spot)
    for line in view.lines:
        if line.kind is Kind.POCKET:
            continue
        points = tuple(spot(point) for point in line.points)
        marks.append(Stroke(points, WEIGHT[line.kind], DASH.get(line.kind, ()), line.closed))
        board.segments += list(pairwise(points))
        if line.closed:
            board.segments.append((points[-1], points[0]))
    for circle in view.circles:
        if circle.kind is Kind.POCKET:
            continue
        ring = _ring(circle, spot)
        marks.append(ring)
        board.segments += _octagon(ring)
    return marks, board, outline


def _ring(circle: Circle, spot: Callable[[Point], Spot]) -> Ring:
    x, y = spot(circle.centre)
    edge = spot((circle.centre[0] + circle.diameter / 2, circle.centre[1]))
    return Ring(x, y, edge[0] - x, weight=WEIGHT[circle.kind], dash=DASH.get(circle.kind, ()))


def _octagon(ring: Ring) -> list[Segment]:
    r, d = ring.radius, ring.radius * 0.7071
    around = [(r, 0.0), (d, d), (0.0, r), (-d, d), (-r, 0.0), (-d, -d), (0.0, -r), (d, -d)]
    points = [(ring.x + a, ring.y + b) for a, b in around]
    return list(zip(points, points[1:] + points[:1], strict=True))


def _fill(region: Region, spot: Callable[[Point], Spot]) -> list[Mark]:
    points = tuple(spot(point) for point in region.outline)
    if region.fill.value in TONES:
        return [Stroke(points, 0.0, closed=True, fill=region.fill.value)]
    if region.fill is Fill.BARE:
        return []
    lines = hatched(points, STYLE.hatch_pitch)
    if region.fill is Fill.CROSS:
        lines = hatched(points, 2 * STYLE.hatch_pitch) + hatched(points, 2 * STYLE.hatch_pitch, falling=True)
    return [Stroke(line, STYLE.thin) for line in lines]


def _cleared(mark: Mark, view: View, spot: Callable[[Point], Spot]) -> list[Mark]:
    """White paper behind text on hatching."""
    if not isinstance(mark, Word) or not any(_holds(region, spot, mark.box) for region in view.regions):
        return []
    b = mark.box.grown(1.0)
    corners = ((b.left, b.bottom), (b.right, b.bottom), (b.right, b.top), (b.left, b.top))
    return [Stroke(corners, 0.0, closed=True, fill="paper")]


def _holds(region: Region, spot: Callable[[Point], Spot], box: Box) -> bool:
    points = [spot(point) for point in region.outline]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return region.fill.value not in TONES and Box(min(xs), min(ys), max(xs), max(ys)).meets(box)
