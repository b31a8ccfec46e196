"""Full-size templates: a sheet to lay on the wood for each different cut that is worth one, to be printed at 100 %."""

from dataclasses import dataclass, replace
from fractions import Fraction

from woodshop.design.batch import Unit
from woodshop.design.lumber import Need
from woodshop.documents.fullsize.template_views import Stretch, stretches
from woodshop.documents.packet.parts import needs_of
from woodshop.drawing.arranging.arrange import arranged
from woodshop.drawing.pages.plates import Plate, block, footed, page_size, room_on, stacked, to_scale, write_plates
from woodshop.drawing.values.model import Dimension, Drawing, Kind, Line, Region, Side, View
from woodshop.drawing.values.paper import Sheet, sheet_of
from woodshop.drawing.views.tiles import Tile, tiles_of
from woodshop.hardware.board import Void
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import ZERO, Length, inch, millimetre

TITLE = "Templates, full size"
_WALL = inch("3/8")  # of a wall, hatched beside a foot
_BEYOND = inch("3/4")  # how far a wall's line runs past a foot
_STEP = inch("1/8")
_MOST_LINES = 10  # of text over a drawing; more stand by themselves
_MOST_MARKS = 8  # in one of them


@dataclass(frozen=True, slots=True)
class Template:
    """One sheet's drawing: what it is, what it is for (a line for each use), and how it is laid."""

    title: str
    words: tuple[str, ...]
    view: View


def templates_pdf(planned: PlannedBatch) -> bytes:
    """Every different template of the batch, tiled where one is larger than the paper."""
    batch = planned.batch
    return write_plates(
        template_plates(planned), title=f"{TITLE}: {batch.pages.title}", subject="Templates to lay on the wood"
    )


def template_plates(planned: PlannedBatch) -> list[Plate]:
    """The pages: small templates together on upright pages, then long ones, tile by tile, on pages laid across."""
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
            on = f"{title}, more parts that it serves"
            small.append((on, block(on, more[first : first + _MOST_LINES], sheet_of([]), room.wide)))
    head = f"{TITLE}: {batch.pages.title}"
    plates = [*stacked(small, upright, head, banner), *stacked(large, lying, head, banner)]
    counted = f"{len(found)} template{'' if len(found) == 1 else 's'}"
    count = f"{counted}, {whole_ones} whole and {len(found) - whole_ones} tiled" if whole_ones < len(found) else counted
    return footed(plates, batch.name, count)


def templates(planned: PlannedBatch) -> tuple[Template, ...]:
    """Each different template once, in the order of the parts' marks, with every part that it serves."""
    unit = planned.batch.unit
    groups: dict[object, list[tuple[Need, Stretch]]] = {}
    for need in needs_of(planned):
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
    return Template(first.title + of, tuple(each.strip() for each in words), first.view)


def _feet(planned: PlannedBatch, unit: str) -> list[Template]:
    """The feet of the packing blocks as they stand on the mesh, seen from above with the front of the hive away."""
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
    """Paper x runs across the hive from its left wall, y from its back to its front."""
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
    dimensions = (
        Dimension((ZERO, ZERO), (wide, ZERO), Side.BELOW),
        Dimension((wide, ZERO), (wide, deep), Side.RIGHT),
    )
    where = (
        "against the inside of the front end (hatched), its middle on the middle of the upper entrance"
        if at_front
        else "in the left rear corner, against side and back end (hatched); turned over, in the right rear corner"
    )
    sizes = f"{max(wide, deep).number(word)} x {min(wide, deep).text(word)}"
    title = f"Foot of the packing block, {'channel' if at_front else 'corner vent'}"
    view = View("", lines=tuple(lines), regions=tuple(regions), dimensions=dimensions)
    words = f"Seen from above, the front of the hive away from you; the block, {sizes}, stands {where}."
    return Template(title, (words, f"For {unit.assembly.title.lower()}, before the sugar goes on the mesh."), view)


def _drawn(view: View, unit: str) -> Sheet:
    return to_scale(arranged(Drawing("", "", (view,), unit=unit), _FULL))


def _tiled(
    title: str, template: Template, size: tuple[float, float], unit: str, banner: bool
) -> list[tuple[str, Sheet]]:
    """The tiles of a template, each as large as its words and dimensions leave room for on the page."""
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
    """How a tile is joined to its neighbours: the one to the right and the one below lie under it."""
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
            words.append(f"To the dashed line {where} comes the cut edge of {other}, marks on marks.")
    if tile.column > 1:
        words[0] += f" The line is {tile.left.text(unit)} from the left end of the whole."
    return words


def _mm(paper: float) -> Length:
    """Points of paper as a whole number of millimetres."""
    return millimetre(int(paper * 25.4 / 72))


_FULL = Fraction(1)  # paper over real
