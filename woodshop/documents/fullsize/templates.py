"""Full-size templates to lay on the wood: finds the stretches of a part that need one, and draws a sheet for each."""

from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.design.batch import Unit
from woodshop.design.lumber import Need
from woodshop.documents.packet.layouts import needs_of
from woodshop.drawing.arranging.arrange import arranged
from woodshop.drawing.pages.plates import Plate, block, footed, page_size, room_on, stacked, to_scale, write_plates
from woodshop.drawing.values.model import Dimension, Drawing, Kind, Label, Line, Point, Region, Side, View
from woodshop.drawing.values.paper import Sheet, sheet_of
from woodshop.drawing.views.projection import Sight, flat, projected, sight
from woodshop.drawing.views.tiles import Tile, tiles_of, windowed
from woodshop.hardware.board import Void
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import FACE_AXIS, Cut, Face, Fold, Part, Rectangle, RoundOutline, cut_box
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import wording_of

_AROUND = inch("3/4")  # the length of the part shown beyond a cut
_APART = inch(2)  # cuts closer to each other than this are on one template, and so are a cut and an end
_MOST = inch(6)  # a part no longer than this is shown completely, and so is a part with cuts over a longer stretch

_SHOW_FACE = {
    Face.LOWER: ", the show face up",
    Face.UPPER: ", the show face down",
    Face.LEFT: ", the show face to the right",
    Face.RIGHT: ", the show face to the left",
}
_DIAGONAL = Fraction(7071, 10000)

Rect = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Span:
    """The extent shown along one axis of a view, and the ends at which the part continues."""

    low: Length
    high: Length
    goes_on_low: bool
    goes_on_high: bool


@dataclass(frozen=True, slots=True)
class Stretch:
    """A template's view, and its position on the part.

    `title` names the cuts, and `seen` the visible side. `reference` is the position, on this part, of the line or end
    that the sheet is aligned with. `key` is the same for sheets that differ only in `reference`.
    """

    title: str
    seen: str
    view: View
    _: KW_ONLY
    reference: str
    remarks: tuple[str, ...]
    key: object


def stretches(part: Part, unit: str) -> tuple[Stretch, ...]:
    """Every distinct template of a part: for faces and edges with cuts, and for the profile with lengthwise cuts."""
    by_view: dict[Face | None, list[Cut]] = {}
    for cut in part.cuts:
        by_view.setdefault(_seen_from(part, cut), []).append(cut)
    found: dict[object, Stretch] = {}
    for face, cuts in by_view.items():
        if face is None:
            each = _profile(part, cuts, unit)
            found[each.key] = each
            continue
        seen = sight(face, Face.BACK if face is Face.BACK else Face.SHOW)
        for group in _together(part, seen, cuts):
            each = _stretch(part, seen, group, unit)
            if each.key in found:
                first = found[each.key]
                both = "the same at both ends; turn the sheet over for the other end"
                found[each.key] = replace(first, remarks=tuple(dict.fromkeys((*first.remarks, both))))
            else:
                found[each.key] = each
    return tuple(found.values())


def _seen_from(part: Part, cut: Cut) -> Face | None:
    """The side with the outline of the cut, or None for a cut along the part, which is shown in section."""
    axis = FACE_AXIS[cut.face][0]
    box = cut_box(part, cut)
    if box.size(2) == part.thickness and (axis == 2 or isinstance(cut.outline, Rectangle)):
        return Face.SHOW
    if isinstance(cut.outline, RoundOutline):
        return cut.face
    if box.size(1) == part.width:
        return Face.LOWER
    return None if axis != 0 and box.size(0) * 2 > part.length else cut.face


def _profile(part: Part, cuts: list[Cut], unit: str) -> Stretch:
    """The section across the part with its lengthwise cuts."""
    run: list[Cut] = []
    stops: list[str] = []
    for cut in cuts:
        box = cut_box(part, cut)
        if isinstance(cut.outline, Rectangle):  # length is the first axis of every face except the ends
            run.append(replace(cut, outline=replace(cut.outline, u0=ZERO, u1=part.length)))
        short = {end: stop for end, stop in _ends(part, cut).items() if stop}
        if len(short) == 2 and len(set(short.values())) == 1:
            stops.append(f"the {cut.name} stops {box.low[0].text(unit)} short of either end")
        else:
            stops += [f"the {cut.name} stops {stop.text(unit)} short of the {end}" for end, stop in short.items()]
    bare = replace(part, cuts=tuple(run))
    seen = sight(Face.RIGHT, Face.SHOW)
    lines, _ = projected(bare, seen)
    full = (part.thickness, part.width)
    rects = [_rect(bare, seen, cut) for cut in run]
    spans = (
        Span(ZERO, full[0], False, False),
        _span(min(a[1] for a, _ in rects), max(b[1] for _, b in rects), full[1], True),
    )
    dimensions = [d for rect in rects for axis in (0, 1) for d in _sizes(rect, axis, full, spans)]
    level = ZERO if not spans[1].goes_on_low else full[1]
    dimensions.append(Dimension((ZERO, level), (full[0], level), Side.ABOVE if level else Side.BELOW))
    view = _seen_through(View("", lines=lines), spans)
    view = replace(view, dimensions=_once(dimensions), regions=_waste(rects, run, spans))
    words = "end of the part, its show face to the left"
    key = ("profile", full[0], *_from_edge(rects, full, spans[1]))
    return Stretch(
        f"Profile of the {' and '.join(dict.fromkeys(cut.name for cut in cuts))}",
        words,
        view,
        reference=", ".join(stops),
        remarks=(),
        key=key,
    )


def _ends(part: Part, cut: Cut) -> dict[Face, Length]:
    box = cut_box(part, cut)
    return {Face.LEFT: box.low[0], Face.RIGHT: part.length - box.high[0]}


def _seen_through(view: View, spans: tuple[Span, Span]) -> View:
    """The view reduced to the visible extent, with break lines at the ends where the part continues."""
    across, up = spans
    sides = (
        (Side.LEFT, across.goes_on_low),
        (Side.RIGHT, across.goes_on_high),
        (Side.BELOW, up.goes_on_low),
        (Side.ABOVE, up.goes_on_high),
    )
    broken = tuple(side for side, goes_on in sides if goes_on)
    return windowed(view, (across.low, up.low), (across.high, up.high), broken)


def _from_edge(rects: list[Rect], full: Point, up: Span) -> tuple[object, ...]:
    """The positions of cuts in the section, measured from the visible edge."""
    if up.goes_on_low:
        return ("upper", tuple(sorted(((a[0], full[1] - b[1]), (b[0], full[1] - a[1])) for a, b in rects)))
    return ("lower" if up.goes_on_high else full[1], tuple(sorted(rects)))


def _together(part: Part, seen: Sight, cuts: list[Cut]) -> list[list[Cut]]:
    """The cuts in groups, from left to right. Within a group, each cut is close to the next."""
    spans = sorted((_rect(part, seen, cut), n) for n, cut in enumerate(cuts))
    groups: list[tuple[Length, list[Cut]]] = []
    for (low, high), n in spans:
        if groups and low[0] - groups[-1][0] <= _APART:
            groups[-1] = (max(groups[-1][0], high[0]), [*groups[-1][1], cuts[n]])
        else:
            groups.append((high[0], [cuts[n]]))
    return [group for _, group in groups]


def _stretch(part: Part, seen: Sight, cuts: list[Cut], unit: str) -> Stretch:
    """The stretch of the part around these cuts. Its reference is the nearest end, the middle or the first cut."""
    full = (part.size[seen.right[0]], part.size[seen.up[0]])
    rects = [_rect(part, seen, cut) for cut in cuts]
    low = (min(a[0] for a, _ in rects), min(a[1] for a, _ in rects))
    high = (max(b[0] for _, b in rects), max(b[1] for _, b in rects))
    spans = (_span(low[0], high[0], full[0], False), _span(low[1], high[1], full[1], True))
    across, up = spans
    lines, circles = projected(part, seen)
    view = _seen_through(View("", lines=lines, circles=circles), spans)
    free = across.goes_on_low and across.goes_on_high
    is_middle = free and low[0] == full[0] - high[0]
    line = full[0] / 2 if is_middle else low[0]
    dimensions = _dimensions(cuts, rects, full, spans, line if free else None)
    extra: tuple[Line, ...] = ()
    reference, remarks = "", []
    if free:
        extra = (Line(((line, up.low - _AROUND / 2), (line, up.high + _AROUND / 2)), Kind.CENTRE),)
        where = "from either end" if is_middle else f"from the {_end(seen, False)}"
        reference = f"{'center' if is_middle else 'dash-dot'} line {line.text(unit)} {where}"
    elif across.goes_on_low or across.goes_on_high:
        remarks.append(f"lay it by the {_end(seen, across.goes_on_low)}; the part continues at the break line")
    folds = part.folds if seen.face is Face.SHOW and spans == (Span(ZERO, full[0], False, False), spans[1]) else ()
    dimensions += [Dimension((ZERO, ZERO), (ZERO, fold.at), Side.LEFT) for fold in folds]
    view = replace(
        view,
        lines=view.lines + extra + tuple(Line(((ZERO, fold.at), (full[0], fold.at)), Kind.FOLD) for fold in folds),
        regions=_waste(rects, cuts, spans),
        dimensions=_once(dimensions),
        labels=(*_labels(part, seen, cuts, rects, unit), *(_fold_label(part, fold) for fold in folds)),
    )
    key = (_key(part, seen, cuts, rects=rects, full=full, spans=spans, line=line if free else None), folds)
    words = str(seen.face) + _SHOW_FACE.get(seen.face, "")
    return Stretch(_names(part, cuts), words, view, reference=reference, remarks=tuple(remarks), key=key)


def _fold_label(part: Part, fold: Fold) -> Label:
    target = (part.length / 3, fold.at)
    return Label(fold.how, (target[0] + part.width, target[1] - part.width), target)


def _end(seen: Sight, right: bool) -> str:
    """The name of the end of the part at the right or left of the view."""
    if seen.right[0] != 0:
        return "right edge of the sheet" if right else "left edge of the sheet"
    return str(Face.RIGHT if right != seen.right[1] else Face.LEFT)


def _span(low: Length, high: Length, full: Length, is_up: bool) -> Span:
    """The extent to show along one axis for cuts from `low` to `high`.

    If `is_up` is true, the extent always includes the nearer edge.
    """
    if full <= _MOST / (3 if is_up else 1) or high - low > _MOST:
        return Span(ZERO, full, False, False)
    a, b = max(low - _AROUND, ZERO), min(high + _AROUND, full)
    near_low, off = low <= full - high, min(low, full - high)
    if is_up or off <= _APART:
        a, b = (ZERO, b) if near_low else (a, full)
    a, b = (ZERO if a <= _AROUND else a), (full if full - b <= _AROUND else b)
    return Span(a, b, a > ZERO, b < full)


def _rect(part: Part, seen: Sight, cut: Cut) -> Rect:
    """The bounding rectangle of a cut in the view."""
    box = cut_box(part, cut)
    a, b = flat(part, seen, box.low), flat(part, seen, box.high)
    return (min(a[0], b[0]), min(a[1], b[1])), (max(a[0], b[0]), max(a[1], b[1]))


def _dimensions(
    cuts: list[Cut], rects: list[Rect], full: Point, spans: tuple[Span, Span], line: Length | None
) -> list[Dimension]:
    """Dimensions for the sizes and positions of cuts; for a row of identical holes, for its first hole and pitch."""
    found: list[Dimension] = []
    rows: dict[object, list[Rect]] = {}
    for cut, rect in zip(cuts, rects, strict=True):
        if not isinstance(cut.outline, RoundOutline):
            found += [d for axis in (0, 1) for d in _sizes(rect, axis, full, spans)]
            continue
        rows.setdefault((cut.name, rect[0][1], cut.outline.diameter), []).append(rect)
    for row in rows.values():
        centres = sorted(_middle(rect) for rect in row)
        first = centres[0]
        side = Side.BELOW if first[1] * 2 <= spans[1].low + spans[1].high else Side.ABOVE
        if line is None:
            start = ZERO if not spans[0].goes_on_low else full[0]
            found.append(Dimension((start, first[1]), first, side))
        elif first[0] != line:
            found.append(Dimension((line, first[1]), first, side))
        if len(centres) > 1:
            found.append(Dimension(centres[0], centres[1], side))
        edge = ZERO if not spans[1].goes_on_low and first[1] * 2 <= full[1] else full[1]
        near = Side.LEFT if first[0] * 2 <= spans[0].low + spans[0].high else Side.RIGHT
        found.append(Dimension((first[0], edge), first, near))
    if not any(each for span in spans for each in (span.goes_on_low, span.goes_on_high)):
        found += _overall(full)
    return found


def _sizes(rect: Rect, axis: int, full: Point, spans: tuple[Span, Span]) -> Iterator[Dimension]:
    """The size of a cut along an axis, and its distance from the nearer visible edge."""
    (low, high), span = (rect[0][axis], rect[1][axis]), spans[axis]
    if low == ZERO and high == full[axis]:
        return
    across = 1 - axis
    beyond = rect[0][across] + rect[1][across] > spans[across].low + spans[across].high
    side = ((Side.BELOW, Side.ABOVE), (Side.LEFT, Side.RIGHT))[axis][beyond]
    level = rect[1][across] if beyond else rect[0][across]
    stated = [(low, high)]
    if low > ZERO and high < full[axis]:
        if not span.goes_on_low and (low <= full[axis] - high or span.goes_on_high):
            stated.append((ZERO, low))
        elif not span.goes_on_high:
            stated.append((high, full[axis]))
    for a, b in stated:
        yield Dimension(*((((a, level), (b, level))) if axis == 0 else ((level, a), (level, b))), side)


def _overall(full: Point) -> list[Dimension]:
    low, right, top = (ZERO, ZERO), (full[0], ZERO), (ZERO, full[1])
    return [Dimension(low, right, Side.BELOW), Dimension(low, top, Side.LEFT)]


def _once(dimensions: list[Dimension]) -> tuple[Dimension, ...]:
    """The dimensions, but only one of those with the same ends on the same axis."""
    kept: dict[tuple[int, Length, Length], Dimension] = {}
    for each in dimensions:
        a, b = sorted((each.start[each.axis], each.end[each.axis]))
        if a < b:
            kept.setdefault((each.axis, a, b), each)
    return tuple(kept.values())


def _labels(part: Part, seen: Sight, cuts: list[Cut], rects: list[Rect], unit: str) -> Iterator[Label]:
    """A label for each kind of cut: name, count, diameter if round, and depth if blind."""
    kinds: dict[tuple[str, Length | None, Length], list[Rect]] = {}
    for cut, rect in zip(cuts, rects, strict=True):
        size = cut.outline.diameter if isinstance(cut.outline, RoundOutline) else None
        kinds.setdefault((cut.name, size, cut_box(part, cut).size(seen.depth)), []).append(rect)
    for (name, size, depth), members in kinds.items():
        words = [f"{len(members)} x {name}" if len(members) > 1 else name]
        words += [f"dia. {wording_of(unit).drill(size)}"] if size else []
        if depth < part.size[seen.depth]:
            words.append(f"{depth.text(unit)} deep")

        others = [rect for rect in rects if rect not in members]
        target = _upper_right(members[0]) if size else _target(members[0], others)
        yield Label(", ".join(words), (target[0] + part.width, target[1] + part.width), target)


def _key(
    part: Part,
    seen: Sight,
    cuts: list[Cut],
    *,
    rects: list[Rect],
    full: Point,
    spans: tuple[Span, Span],
    line: Length | None,
) -> object:
    """A key with the content of the sheet, measured from its reference.

    At the right end the content is mirrored, because the sheet is turned over there.
    """
    across, up = spans
    at_right = line is None and across.goes_on_low
    mine = []
    for cut, ((x0, y0), (x1, y1)) in zip(cuts, rects, strict=True):
        deep = cut_box(part, cut).size(seen.depth)
        through = deep == part.size[seen.depth]
        xs = (full[0] - x1, full[0] - x0) if at_right else (x0 - (line or ZERO), x1 - (line or ZERO))
        ys = (full[1] - y1, full[1] - y0) if up.goes_on_low else (y0, y1)
        mine.append((cut.name, isinstance(cut.outline, RoundOutline), xs, ys, None if through else deep))
    wide = None if line is not None else across.high - across.low
    return (seen.face, line is None, wide, up.high - up.low, up.goes_on_low, tuple(sorted(mine, key=repr)))


def _middle(rect: Rect) -> Point:
    return (rect[0][0] + rect[1][0]) / 2, (rect[0][1] + rect[1][1]) / 2


def _waste(rects: list[Rect], cuts: list[Cut], spans: tuple[Span, Span]) -> tuple[Region, ...]:
    """The areas that rectangular cuts remove from the view, or none if these cuts overlap."""
    square = [rect for rect, cut in zip(rects, cuts, strict=True) if isinstance(cut.outline, Rectangle)]
    met = any(_overlap(a, b) for n, a in enumerate(square) for b in square[n + 1 :])
    regions = []
    for low, high in square if not met else ():
        (x0, x1), (y0, y1) = ((max(low[i], spans[i].low), min(high[i], spans[i].high)) for i in (0, 1))
        regions.append(Region(((x0, y0), (x1, y0), (x1, y1), (x0, y1))))
    return tuple(regions)


def _overlap(a: Rect, b: Rect) -> bool:
    return all(max(a[0][i], b[0][i]) < min(a[1][i], b[1][i]) for i in (0, 1))


def _upper_right(rect: Rect) -> Point:
    """A point on the circle in this square, at 45 degrees."""
    middle, r = _middle(rect), (rect[1][0] - rect[0][0]) / 2
    return middle[0] + r * _DIAGONAL, middle[1] + r * _DIAGONAL


def _target(rect: Rect, others: list[Rect]) -> Point:
    """A point in a cut, chosen to be inside as few other cuts as possible."""
    (x0, y0), (x1, y1) = rect
    spots = [(x0 + (x1 - x0) * u / 8, y0 + (y1 - y0) * v / 8) for u, v in ((2, 4), (7, 1), (1, 1), (7, 7), (1, 7))]
    covers = [sum(a[0] < x < b[0] and a[1] < y < b[1] for a, b in others) for x, y in spots]
    return spots[covers.index(min(covers))]


def _names(part: Part, cuts: list[Cut]) -> str:
    """The names of the cuts, or the part's name if there are many."""
    mine = {cut.name for cut in cuts}
    names = list(dict.fromkeys(cut.name for cut in part.cuts if cut.name in mine))
    words = " and ".join(names) if len(names) < 3 else part.name
    return words[:1].upper() + words[1:]


TITLE = "Templates, full size"
_WALL = inch("3/8")  # the thickness of a wall, hatched next to a footprint
_BEYOND = inch("3/4")  # how far the line of a wall extends past a footprint
_STEP = inch("1/8")
_MOST_LINES = 10  # lines of text above a drawing; a longer text has its own block
_MOST_MARKS = 8  # marks in one block


@dataclass(frozen=True, slots=True)
class Template:
    """One template sheet: its drawing, its uses (one line each), how to place it, and the marks of its parts."""

    title: str
    words: tuple[str, ...]
    view: View
    marks: tuple[str, ...] = ()


def templates_pdf(planned: PlannedBatch) -> bytes:
    """Every distinct template of the batch as a PDF, in tiles if it is larger than the paper."""
    batch = planned.batch
    return write_plates(
        template_plates(planned), title=f"{TITLE}: {batch.pages.title}", subject="Templates to lay on the wood"
    )


def template_plates(planned: PlannedBatch) -> list[Plate]:
    """The pages: small templates together on portrait pages, then long ones, tile by tile, on landscape pages."""
    batch = planned.batch
    banner = "DO NOT CUT" if planned.report.has_errors else ""
    upright, lying = page_size(batch.pages.paper), page_size(batch.pages.paper, lying=True)
    small: list[tuple[str, Sheet]] = []
    large: list[tuple[str, Sheet]] = []
    found = templates(planned)
    whole_ones = 0
    room = room_on(upright, bool(banner))
    for n, template in enumerate(found, 1):
        title = f"T{n}  {template.title}"
        more = template.words[_MOST_LINES:]
        template = replace(template, words=template.words[:_MOST_LINES])
        whole = block(title, template.words, _drawn(template.view, batch.unit), room.wide)
        if whole.size[0] <= room.wide and whole.size[1] <= room.high:
            small.append((title, whole))
            whole_ones += 1
        else:
            large += _tiled(title, template, lying, batch.unit, bool(banner))
        for first in range(0, len(more), _MOST_LINES):
            on = f"{title}, more parts it fits"
            small.append((on, block(on, more[first : first + _MOST_LINES], sheet_of([]), room.wide)))
    head = f"{TITLE}: {batch.pages.title}"
    has_inches = batch.unit == "in" or batch.wording.both
    plates = [
        *stacked(small, upright, head, banner, with_inches=has_inches),
        *stacked(large, lying, head, banner, with_inches=has_inches),
    ]
    counted = f"{len(found)} template{'' if len(found) == 1 else 's'}"
    count = f"{counted}, {whole_ones} whole and {len(found) - whole_ones} tiled" if whole_ones < len(found) else counted
    return footed(plates, batch.name, count)


FOOT = "Foot of the packing block"


def templates(planned: PlannedBatch) -> tuple[Template, ...]:
    """Each distinct template once, in the order of the marks of the parts, with every part that it fits."""
    unit = planned.batch.unit
    groups: dict[object, list[tuple[Need, Stretch]]] = {}
    needs = (*needs_of(planned), *planned.cut_before)
    for need in sorted(needs, key=lambda need: (len(need.mark), need.mark)):
        for stretch in stretches(need.part, unit):
            groups.setdefault(stretch.key, []).append((need, stretch))
    made = [_template(uses) for uses in groups.values()]
    return (*made, *_feet(planned, unit))


def _template(uses: list[tuple[Need, Stretch]]) -> Template:
    first = uses[0][1]
    lines: dict[str, list[str]] = {}
    for need, stretch in uses:
        lines.setdefault(stretch.reference, []).append(f"{need.mark} ({need.count} x {need.part.name})")
    waste = " Hatched goes." if first.view.regions else ""
    words = [f"Seen: {first.seen}.{waste} " + " ".join(f"{r[:1].upper()}{r[1:]}." for r in first.remarks)]
    words += [f"{note[:1].upper()}{note[1:]}." for note in uses[0][0].part.notes]
    for reference, marks in lines.items():
        for n in range(0, len(marks), _MOST_MARKS):
            some = ", ".join(marks[n : n + _MOST_MARKS])
            words.append(f"For {some}{': ' + reference if reference else ''}.")
    parts = list(dict.fromkeys(need.part.name for need, _ in uses))
    of = f" of {' and '.join(parts)}" if len(parts) < 3 and parts[0].lower() not in first.title.lower() else ""
    served = tuple(need.mark for need, _ in uses)
    return Template(first.title + of, tuple(each.strip() for each in words), first.view, served)


def _feet(planned: PlannedBatch, unit: str) -> list[Template]:
    """The footprints of the packing blocks on the mesh, as seen from above with the front of the hive at the top."""
    found: dict[object, Template] = {}
    for each in planned.units:
        if each.line.item.board_part is not BoardPart.BLOCKS or not each.line.count:
            continue
        inside = each.line.setting.inside
        for void in each.line.setting.voids:
            template = _foot(each, void, inside, unit)
            found.setdefault(template.title, template)
    return list(found.values())


def _foot(unit: Unit, void: Void, inside: Void, word: str) -> Template:
    """The template of one footprint.

    On paper, x runs across the hive from its left wall, y from its back to its front.
    """
    wide, deep = void.y1 - void.y0, void.x1 - void.x0
    at_front = void.x0 == inside.x0
    corner = not at_front
    left = ZERO - (ZERO if corner else _BEYOND)
    level = deep if at_front else ZERO
    wall = (level, level + _WALL) if at_front else (level - _WALL, level)
    regions = [Region(((left, wall[0]), (wide + _BEYOND, wall[0]), (wide + _BEYOND, wall[1]), (left, wall[1])))]
    lines = [
        Line(((ZERO, ZERO), (wide, ZERO), (wide, deep), (ZERO, deep)), closed=True),
        Line(((left, level), (wide + _BEYOND, level)), Kind.THIN),
    ]
    if corner:
        regions.append(Region(((ZERO - _WALL, ZERO - _WALL), (ZERO, ZERO - _WALL), (ZERO, deep + _BEYOND),
                               (ZERO - _WALL, deep + _BEYOND))))  # fmt: skip
        lines.append(Line(((ZERO, ZERO), (ZERO, deep + _BEYOND)), Kind.THIN))
    else:
        middle = wide / 2
        lines.append(Line(((middle, ZERO - _BEYOND / 2), (middle, deep + _WALL)), Kind.CENTRE))
    dimensions = (Dimension((ZERO, ZERO), (wide, ZERO), Side.BELOW), Dimension((wide, ZERO), (wide, deep), Side.RIGHT))
    where = (
        "against the inside of the front end (hatched), its middle on the middle of the upper entrance"
        if at_front
        else "in the left rear corner, against side and back end (hatched); turned over, in the right rear corner"
    )
    sizes = f"{max(wide, deep).number(word)} x {min(wide, deep).text(word)}"
    title = f"{FOOT}, {'channel' if at_front else 'corner vent'}"
    view = View("", lines=tuple(lines), regions=tuple(regions), dimensions=dimensions)
    words = f"Seen from above, the front of the hive away from you; the block, {sizes}, stands {where}."
    return Template(title, (words, f"For {unit.assembly.title.lower()}, before the sugar goes on the mesh."), view)


def _drawn(view: View, unit: str) -> Sheet:
    return to_scale(arranged(Drawing("", "", (view,), unit=unit), _FULL))


def _tiled(
    title: str, template: Template, size: tuple[float, float], unit: str, banner: bool
) -> list[tuple[str, Sheet]]:
    """The tiles of a template, each as large as the text and dimensions on the page allow."""
    room = room_on(size, banner)
    wide, high = _mm(room.wide), _mm(room.high)
    while True:
        tiles = tiles_of(template.view, wide, high)
        sheets = [(_named(title, t), _tile_block(title, template, t, unit, room.wide)) for t in tiles]
        over = [max(sheet.size[i] for _, sheet in sheets) - (room.wide, room.high)[i] for i in (0, 1)]
        if over[0] <= 0 and over[1] <= 0:
            return sheets
        wide -= _STEP if over[0] > 0 else ZERO
        high -= _STEP if over[1] > 0 else ZERO


def _tile_block(title: str, template: Template, tile: Tile, unit: str, most: float) -> Sheet:
    return block(_named(title, tile), [*template.words, *_joining(tile, unit)], _drawn(tile.view, unit), most)


def _named(title: str, tile: Tile) -> str:
    count = tile.rows * tile.columns
    return title if count == 1 else f"{title}: {_address(tile, tile.column, tile.row, f' of {count}')}"


def _address(tile: Tile, column: int, row: int, of: str = "") -> str:
    return f"sheet {(row - 1) * tile.columns + column}{of} (row {row}, column {column})"


def _joining(tile: Tile, unit: str) -> list[str]:
    """How to join a tile to its neighbors: the tiles to the right and below go under it."""
    words = []
    for side, column, row in tile.neighbours:
        other = _address(tile, column, row)
        if side in ("right", "below"):
            where = "on the right" if side == "right" else "at the foot"
            words.append(
                f"Cut along the dashed line {where}, and lay the edge on that line of {other}, marks on marks."
            )
        else:
            where = "on the left" if side == "left" else "at the head"
            words.append(f"Lay the cut edge of {other} on the dashed line {where}, marks on marks.")
    if tile.column > 1:
        words[0] += f" The line is {tile.left.text(unit)} from the left end of the whole."
    return words


def _mm(paper: float) -> Length:
    """A length on paper in whole millimeters."""
    return millimetre(int(paper * 25.4 / 72))


_FULL = Fraction(1)  # paper size over real size
