"""The assembly chapter. For each item: a picture with part marks, a corner in detail, a row for each box, the steps."""

import re
from collections.abc import Sequence
from dataclasses import replace

from woodshop.design.batch import Batch, Unit, hives_fitted, packed_boards
from woodshop.documents.packet.cautions import caution_lines, unit_topics
from woodshop.documents.packet.layouts import needs_of, numbered_layouts, ranges
from woodshop.documents.packet.packing import packing_blocks_of, weight_sources
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Column,
    Dimension,
    Drawing,
    Figure,
    Heading,
    Kind,
    Label,
    Line,
    Paragraph,
    Section,
    Side,
    Steps,
    Table,
    View,
    page_of,
)
from woodshop.drawing.views.part import corner_views
from woodshop.drawing.views.pictorial import pictorial, picture, spot_of
from woodshop.hardware.items.fondant_rim import corner_screws
from woodshop.hardware.items.packing_blocks import any_board_for, packing_steps
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.counts import unit_work
from woodshop.shape.part import Assembly, Cuboid, Fastener, Part, Placed, Pose, Role, counted
from woodshop.units.lengths import ZERO, Length, inch
from woodshop.units.wording import minutes_text

Marks = dict[tuple[str, Part], str]
"""The mark of each part needed, keyed by the name of its item and the part."""


def assembly_section(planned: PlannedBatch) -> Section:
    """A sheet for each item made, in the order of the design: picture, corner, steps, and the marks for every box."""
    marks = {
        (need.address.partition(" / ")[0], need.part): need.mark for need in (*planned.cut_before, *needs_of(planned))
    }
    by_item: dict[str, list[Unit]] = {}
    for unit in planned.units:
        if unit.line.count:
            by_item.setdefault(unit.line.item.name, []).append(unit)
    blocks: list[Block] = []
    seen: set[str] = set()
    for units in by_item.values():
        blocks += _sheet(units, planned, marks, seen)
    return Section("Assembly", tuple(blocks))


def _clamped(units: list[Unit], planned: PlannedBatch, seen: set[str]) -> list[Block]:
    """How long glued frames stay in clamps, once, if the days of work take time for it."""
    minutes, clamps = planned.batch.crew.clamp_minutes, planned.batch.crew.clamps
    glued = any(unit_work(unit, unit.line.count).bench.get("glue_up") for unit in units)
    if not glued or not minutes or _CLAMPS in seen:
        return []
    seen.add(_CLAMPS)
    text = (
        f"Leave each glued frame in clamps for {minutes_text(minutes)}, with its screws in. The glue's label comes "
        f"first. The days of work count on clamps for {clamps} frame{'s' if clamps > 1 else ''} at once."
    )
    return [Paragraph(text, lead=_CLAMPS)]


def _painted(units: list[Unit], coats: int) -> list[Block]:
    """How to paint the outside, if the shop paints and the item has an outside."""
    if not coats or not any(unit_work(unit, unit.line.count).bench.get("paint") for unit in units):
        return []
    text = (
        f"{f'{coats} coats' if coats > 1 else '1 coat'} of exterior paint on the four outer faces only, when the glue "
        "is hard and before mesh or cloth goes on. Paint the first one when it has been tried on the hive. Keep paint "
        "off the inside, off openings, and off the edges where boxes rest: bees and their food must never touch it. "
        "Let each coat dry, and the last one cure, as the can's label says. Follow its warnings, and air the room."
    )
    return [Paragraph(text, lead="Paint:")]


Made = tuple[Unit, str, int]
"""Identical units made together: one of them, the boxes that they are for, and how many are made."""


def _sheet(units: list[Unit], planned: PlannedBatch, marks: Marks, seen: set[str]) -> list[Block]:
    first = units[0]
    count = sum(u.line.count for u in units)
    sets = "" if first.line.item.board_part is not BoardPart.STRIPS else " set" if count == 1 else " sets"
    different = _different(units, planned.batch)
    steps, tables = _steps(different, planned), [*_table(different, marks), *_fasteners(different)]
    return [
        Heading(f"{first.line.item.title}, make {count}{sets}", 2, first.line.item.name.replace(" ", "-")),
        *caution_lines(unit_topics(first), seen),
        *_pictures(different, planned, marks, tables, steps),
        *_repaired(units),
        *_clamped(units, planned, seen),
        *_painted(units, planned.batch.work.coats),
    ]


def _pictures(
    different: list[Made], planned: PlannedBatch, marks: Marks, tables: list[Block], steps: list[Block]
) -> list[Block]:
    """The assembled item and its corner detail, then `tables` and `steps`. If there is no corner detail, `tables`
    and `steps` go beside the picture of the item.
    """
    first = different[0][0]
    units = [unit for unit, _, _ in different]
    lain = _strips(units, marks)
    drawing = lain or assembled_drawing(units, planned.units, marks)
    if drawing is None:
        return [*tables, *steps]
    caption = f"Drawn for {hives_fitted(first.line.fits, planned.batch)}." if len(different) > 1 else ""
    corner = _corner(units, marks)
    is_low = corner is None or len(corner[0].views[1].circles) <= _LOW
    high = inch("1 3/4") if is_low else inch("2 1/8")
    if lain is None and len(drawing.views[0].labels) == 1:
        high = inch("1 1/8")  # height of a single piece
    figure = Figure(drawing, caption, high, say_scale=False, free_scale=True)
    if corner is not None:
        detail = Figure(*corner, high, say_scale=False, free_scale=True)
        return [Beside((figure,), (detail,)), *tables, *steps]
    return [Beside((figure,), (*tables, *steps))]


_CLAMPS = "Clamps:"
_LOW = 2  # screws at a corner that fit in a low picture


def assembled_drawing(units: Sequence[Unit], all_units: Sequence[Unit], marks: Marks) -> Drawing | None:
    """A drawing of the first unit assembled, with each part's marks for every box; None if nothing is made.

    The front, top and show face are marked; if walls enclose the item, so are its outside sizes. A mesh is shown on its
    rim, which is turned over. If identical pieces are far apart, only one is drawn.
    """
    first = units[0]
    made = first.assembly.with_role(Role.MADE, Role.BOUGHT)
    if not made:
        return None
    if _are_specks(first.assembly):
        made = made[:1]
    shown, names = list(made), _worded(units, marks)
    walls = _walls(made)
    if first.line.item.board_part is BoardPart.FLOOR:
        rims = [u for u in all_units if u.line.item.board_part is BoardPart.RIM and u.line.hives == first.line.hives]
        for rim in rims[:1]:
            under = rim.assembly.with_role(Role.MADE, Role.EXISTING)
            names |= dict.fromkeys((each.part for each in under), "rim, turned over")
            shown += under
        shown = [_turned_over(each) for each in shown]
    texts = list(dict.fromkeys(names.values()))
    numbers = {part: texts.index(text) + 1 for part, text in names.items()}
    view = picture([(each, numbers.get(each.part, 0)) for each in shown])
    middle = _middle(view)
    if walls:
        texts = [f"{text}, SHOW FACE out" if text.startswith("side") else text for text in texts]
    labels = [Label(texts[b.number - 1], _outward(b.target, middle), b.target) for b in view.balloons]
    lines = view.lines
    if walls:
        more_lines, more_labels = _orientation(units)
        lines, labels = (*lines, *more_lines), [*labels, *more_labels]
    view = replace(view, lines=lines, labels=tuple(labels), balloons=())
    return Drawing(first.line.item.title, first.line.address, (view,), unit=first.line.setting.unit)


def _walls(made: Sequence[Placed]) -> bool:
    """Whether the item has four walls around it."""
    return {"side"} <= {each.part.name for each in made} and len({each.box.low for each in made}) > 3


def _outside(unit: Unit) -> Cuboid:
    """The block that just encloses the walls, without parts fixed under or inside them."""
    walls = [each for each in unit.assembly.placed if each.part.name.endswith(("side", "end"))]
    return Assembly("", "", tuple(walls)).box


def _worded(units: Sequence[Unit], marks: Marks) -> dict[Part, str]:
    """The label of each part of the first unit: its name, and its marks in all units, such as "front end B, D, F"."""
    shown = [list(counted(unit.assembly.with_role(Role.MADE, Role.BOUGHT))) for unit in units]
    found = {}
    for n, (part, _) in enumerate(shown[0]):
        own = dict.fromkeys(
            marks.get((unit.line.item.name, parts[n][0]), "")
            for unit, parts in zip(units, shown, strict=True)
            if n < len(parts)
        )
        letters = [mark for mark in own if mark]
        found[part] = f"{part.name} {', '.join(letters)}" if len(letters) <= _MOST_MARKS else part.name
    return found


_MOST_MARKS = 4  # for a part in a picture; more marks are only in the table


def _turned_over(each: Placed) -> Placed:
    """The part in its position after the item is turned over around its long axis."""
    turn = {"+y": "-y", "-y": "+y", "+z": "-z", "-z": "+z"}
    pose, (x, y, z) = each.pose, each.pose.origin
    words = (turn.get(word, word) for word in (pose.along, pose.across, pose.through))
    return replace(each, pose=Pose((x, ZERO - y, ZERO - z), *words))


def _middle(view: View) -> tuple[Length, Length]:
    low, high = view.bounds
    return (low[0] + high[0]) / 2, (low[1] + high[1]) / 2


def _outward(target: tuple[Length, Length], middle: tuple[Length, Length]) -> tuple[Length, Length]:
    """A point farther from the middle than `target`, for the label of the target."""
    return target[0] * 2 - middle[0], target[1] * 2 - middle[1]


def _orientation(units: Sequence[Unit]) -> tuple[list[Line], list[Label]]:
    """The marks for the front and top of an item with four walls, and the outside sizes that all boxes share.

    Other sizes are in the table.
    """
    boxes = [_outside(unit) for unit in units]
    (x0, y0, z0), (x1, y1, z1) = boxes[0].low, boxes[0].high
    off = (y1 - y0) / 6
    lines, labels = [], []
    ends = (
        ("long", (x0, y0 - off, z0), (x1, y0 - off, z0)),
        ("wide", (x0 - off, y0, z0), (x0 - off, y1, z0)),
        ("high", (x1 + off, y0, z0), (x1 + off, y0, z1)),
    )
    for axis, (name, start, end) in enumerate(ends):
        if len({box.size(axis) for box in boxes}) == 1:
            a, b = spot_of(*start), spot_of(*end)
            at = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            lines.append(Line((a, b), Kind.THIN))
            size = boxes[0].size(axis).text(units[0].line.setting.unit)
            labels.append(Label(f"{size} {name}", (at[0] + off, at[1] - off), at))
    front = spot_of(x0, (y0 + y1 * 3) / 4, (z0 + z1) / 2)
    labels.append(Label("FRONT", (front[0] - off, front[1] - off), front, strong=True))
    top = spot_of((x0 + x1 * 3) / 4, y1, z1)
    labels.append(Label("TOP", (top[0] - off, top[1] + off), top, strong=True))
    return lines, labels


def _corner(units: Sequence[Unit], marks: Marks) -> tuple[Drawing, str] | None:
    """The front left corner, from above and from outside the screwed wall, and a list of the screws."""
    unit = units[0]
    setting, assembly = unit.line.setting, unit.assembly
    sides = [each for each in assembly.named("side") if each.role is Role.MADE]
    ends = [each for each in (*assembly.named("front end"), *assembly.named("end")) if each.role is Role.MADE]
    if not sides or not ends or not any(f.holds == "corners" for f in assembly.fasteners):
        return None
    side = min(sides, key=lambda each: each.box.low[1])
    end = min(ends, key=lambda each: each.box.low[0])
    screws = corner_screws(setting, side.part.width)
    pilot = setting.corner_screw.pilot
    words = f"Each corner: {len(screws.heights)} screws {setting.corner_screw.size}"
    words += "." if pilot is None else f", pilot {setting.wording.on_drill(pilot)} dia."
    names = _worded(units, marks)
    views = corner_views(
        side,
        end,
        through_end=screws.through == "end",
        heights=screws.heights,
        from_corner=screws.from_corner,
        length=setting.corner_screw.length,
        names=(names[side.part], names[end.part]),
    )
    return Drawing(f"Corner, {unit.line.item.title}", unit.line.address, views, unit=setting.unit), words


def _strips(units: Sequence[Unit], marks: Marks) -> Drawing | None:
    """The strips from above, measured from the outside of the front end of the box, or None for other items."""
    unit = units[0]
    if unit.line.item.board_part is not BoardPart.STRIPS:
        return None
    box = unit.line.setting.box
    lines = [Line(_rectangle(ZERO, ZERO, box.length, box.width), closed=True)]
    dimensions = []
    for each in unit.assembly.with_role(Role.MADE):
        (x, y, _), (x1, y1, _) = each.box.low, each.box.high
        lines.append(Line(_rectangle(x, y, x1, y1), closed=True))
        dimensions.append(Dimension((ZERO, box.width), (x, box.width), Side.ABOVE))
    front = Label("FRONT", (box.length / 12, box.width / 2), strong=True, turn=True)
    (name,) = _worded(units, marks).values()
    labels = (front, Label(name, (box.length * 5 / 4, box.width / 2), (x1, (y + y1) / 2)))
    view = View("Box from above", tuple(lines), dimensions=tuple(dimensions), labels=labels)
    return Drawing("Where the strips lie", unit.line.address, (view,), unit=unit.line.setting.unit)


def _rectangle(x0: Length, y0: Length, x1: Length, y1: Length) -> tuple[tuple[Length, Length], ...]:
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _table(different: list[Made], marks: Marks) -> list[Block]:
    """A row for each box: the number made, the marks of the parts, the outside width, and figures for the bench."""
    shown = [list(counted(unit.assembly.with_role(Role.MADE, Role.BOUGHT))) for unit, _, _ in different]
    first = different[0][0]
    if not any(shown) or not first.line.item.is_per_hive:
        return []
    walls = _walls(first.assembly.with_role(Role.MADE))
    every = dict.fromkeys(fact.name for unit, _, _ in different for fact in unit.assembly.facts)
    facts = [name for name in every if name in _BENCH_FACTS]
    varied = _varied(different)
    columns = (
        Column("for", weight=7),
        Column("make", Align.RIGHT, weight=2),
        *(Column(part.name, weight=3) for part, _ in shown[0]),
        *((Column("wide", weight=4),) if walls else ()),
        *(Column(name, weight=4) for name in facts),
        *(Column(f"{kind.rpartition(' ')[2]}s", Align.RIGHT, weight=2) for kind in varied),
    )
    rows = []
    for (unit, boxes, count), parts in zip(different, shown, strict=True):
        cells = [_marked(marks.get((unit.line.item.name, part), ""), n) for part, n in parts[: len(shown[0])]]
        cells += [""] * (len(shown[0]) - len(cells))
        if walls:
            cells.append(_outside(unit).size(1).text(unit.line.setting.unit))
        cells += [next((f.value for f in unit.assembly.facts if f.name == name), "") for name in facts]
        cells += [str(sum(f.count for f in unit.assembly.fasteners if f.kind == kind)) for kind in varied]
        rows.append((boxes, str(count), *cells))
    return [Table(columns, tuple(rows))]


def _varied(different: list[Made]) -> list[str]:
    """The kinds of fasteners whose number differs between boxes; the table lists the numbers."""
    kinds = [{f.kind: f.count for f in unit.assembly.fasteners} for unit, _, _ in different]
    return [kind for kind, count in kinds[0].items() if any(each.get(kind) != count for each in kinds)]


def _marked(mark: str, count: int) -> str:
    return f"{count} x {mark}" if mark else str(count)


_BENCH_FACTS = ("both diagonals",)  # facts shown in a table of assembly; the report has all of them


def item_figures_section(planned: PlannedBatch) -> Section:
    """A table for the report: every figure of each item, such as the sugar's depth, and the boxes that share it."""
    rows: dict[tuple[str, str, str], dict[str, None]] = {}
    for unit in planned.units:
        for fact in unit.assembly.facts if unit.line.count else ():
            rows.setdefault((unit.line.item.name, fact.name, fact.value), {})[unit.line.fits] = None
    cells = tuple((item, name, value, ", ".join(boxes)) for (item, name, value), boxes in rows.items())
    columns = (
        Column("item", weight=4, key="item"),
        Column("figure", weight=6, key="figure"),
        Column("value", weight=7, key="value"),
        Column("for", weight=6, key="for"),
    )
    table = Table(columns, cells, small=True)
    packed = (weight_sources(),) if packing_blocks_of(planned) else ()
    return Section("Figures of each item", (table, *packed) if cells else (), {"figures": table.records})


def _repaired(units: list[Unit]) -> list[Block]:
    """How to replace this item on old fondant boards, such as the rusted mesh of a rim."""
    blocks: list[Block] = []
    for unit in units:
        if unit.line.repaired:
            what = unit.line.item.name
            steps = (
                f"Take the old {what} off. Pull every old staple and stub of wire, and scrape the lower edge clean.",
                "Measure the old rim (First article). If it is outside its limits, make a new rim.",
                f"Put the new {what} on as in the steps above.",
            )
            old = unit.line.repaired + unit.line.kept
            head = f"Put a new {what} on {unit.line.repaired} of your {old} old fondant boards ({unit.line.hives.name})"
            blocks += [Heading(head, 3), Steps(steps)]
    return blocks


def _from_planned(unit: Unit, planned: PlannedBatch) -> tuple[str, ...]:
    """The steps of an item. Packing blocks are cut from the planned board, if there is one."""
    steps = unit.assembly.steps
    if unit.line.item.board_part is not BoardPart.BLOCKS or any(each.plan is None for each in planned.plans):
        return steps
    block = unit.assembly.placed[0].part
    names = {need.address for need in needs_of(planned) if need.part == block}
    own = [lay for lay in numbered_layouts(planned) if any(piece.address in names for piece in lay.pieces)]
    if not own:
        return steps
    boards = " or ".join(
        f"the {what} of layout {ranges([int(lay.number) for lay in own if lay.what.partition(',')[0] == what])}"
        for what in dict.fromkeys(lay.what.partition(",")[0] for lay in own)
    )
    return tuple(step.replace(f"from {any_board_for(block, unit.line.setting)}.", f"from {boards}.") for step in steps)


def _steps(different: list[Made], planned: PlannedBatch) -> list[Block]:
    """The steps, given once with the figures for every box, or box by box if the steps themselves differ.

    The steps for packing sugar are omitted if the page on mixing lists them.
    """
    later = packing_steps(planned.units[0].line.setting) if packed_boards(planned.batch, planned.units) else ()
    named = tuple((boxes, _but(_from_planned(unit, planned), later)) for unit, boxes, _ in different)
    merged = merged_steps(named)
    if merged is not None:
        return [Steps(merged)]
    return [block for box, steps in named for block in (Heading(f"For {box}", 3), Steps(steps))]


def _but(steps: tuple[str, ...], later: tuple[str, ...]) -> tuple[str, ...]:
    """The steps that the page about mixing does not repeat. If any are left out, a last step refers to that page."""
    own = tuple(step for step in steps if step not in later)
    if len(own) == len(steps):
        return steps
    return (*own, f"Use them when you pack the sugar ({page_of('mix-and-pack', otherwise='Mix and pack')}).")


def _different(units: list[Unit], batch: Batch) -> list[Made]:
    """One unit of each distinct assembly, with the hives that it is for and the number made."""
    groups: dict[Assembly, list[Unit]] = {}
    for unit in units:
        groups.setdefault(unit.assembly, []).append(unit)
    found = []
    for alike in groups.values():
        names = dict.fromkeys(u.line.hives.name or u.line.fits for u in alike)
        boxes = dict.fromkeys(hives_fitted(u.line.fits, batch) for u in alike)
        found.append(
            (alike[0], ", ".join(names if len(names) <= len(boxes) else boxes), sum(u.line.count for u in alike))
        )
    return found


def item_drawing(unit: Unit, length_unit: str) -> Drawing:
    """A pictorial view of the item with its parts pulled apart, without sugar or shavings.

    If identical pieces are far apart, only one is drawn, because all of them would be too small.
    """
    solid = Assembly(unit.assembly.item, unit.assembly.title, unit.assembly.with_role(Role.MADE, Role.BOUGHT))
    if _are_specks(solid):
        solid = Assembly(solid.item, solid.title, solid.placed[:1])
    view = pictorial(solid, exploded=inch(3) if len(solid.placed) > 1 else None)
    return Drawing(unit.line.item.title, unit.line.address, (view,), unit=length_unit)


_FAR = 4  # times their size


def _are_specks(assembly: Assembly) -> bool:
    if len({placed.part for placed in assembly.placed}) != 1:
        return False
    one, box = assembly.placed[0].box, assembly.box
    return max(one.size(i) for i in range(3)) * _FAR < max(box.size(i) for i in range(3))


def _fasteners(different: list[Made]) -> list[Block]:
    varied = _varied(different)
    lines = tuple(tuple(_fastener(f, f.kind in varied) for f in unit.assembly.fasteners) for unit, _, _ in different)
    if not any(lines):
        return []
    named = tuple((boxes, each) for (_, boxes, _), each in zip(different, lines, strict=True))
    merged = merged_steps(named)
    if merged is not None:
        return [Paragraph(f"{'; '.join(merged)}.", lead="Each needs:")]
    return [Paragraph(f"{'; '.join(each)}.", lead=f"Each needs, {box}:") for box, each in named if each]


def _fastener(each: Fastener, is_varied: bool) -> str:
    """The number and kind of fasteners, and what they hold: "8 exterior screws, #8 x 2 in (corners)"."""
    name, mark, size = each.kind.partition(" #")
    many = "s" if each.count != 1 and each.count else ""
    words = f"{name}{many}, #{size}" if mark else f"{each.kind}{many}"
    if metric := re.fullmatch(r"(.* screw) (\d.*)", each.kind):
        words = f"{metric[1]}{many}, {metric[2]}"
    *sizes, thing = each.kind.split(", ")
    if sizes and not mark and not re.search(r"\d", thing):  # "3/8 in crown, 1/2 in leg, galvanized staple"
        words = f"{thing}{many} with {' and '.join(sizes)}"
    if is_varied:
        return f"{words} ({each.holds}), as many as the table lists"
    return f"{f'{each.count} ' if each.count else ''}{words} ({each.holds})"


# A length, a number or a word that may differ between boxes.
_TOKEN = re.compile(r"\d+(?: \d+/\d+|/\d+|\.\d+)?(?: (?:in|mm)\b)?|[^\s\d]+|\s+")


def merged_steps(of_boxes: Sequence[tuple[str, tuple[str, ...]]]) -> tuple[str, ...] | None:
    """One list of steps, merged from the steps of several boxes, which are given as (box, steps).

    Where boxes differ, each variant is followed by its boxes. Returns None if the number of steps differs.

    >>> merged_steps((("a 10", ("Cut it 16 1/4 in long.", "Glue it.")), ("an 8", ("Cut it 13 in long.", "Glue it."))))
    ('Cut it 16 1/4 in (for a 10) or 13 in (for an 8) long.', 'Glue it.')
    """
    if len({len(steps) for _, steps in of_boxes}) != 1:
        return None
    boxes = [box for box, _ in of_boxes]
    return tuple(_merged(boxes, texts) for texts in zip(*(steps for _, steps in of_boxes), strict=True))


def _merged(boxes: list[str], worded: tuple[str, ...]) -> str:
    texts = [_TOKEN.findall(text) for text in worded]
    first = texts[0]
    if all(text == first for text in texts):
        return worded[0]
    short = min(len(text) for text in texts)
    head = next((n for n in range(short) if any(text[n] != first[n] for text in texts)), short)
    tail = next((n for n in range(short - head) if any(text[-1 - n] != first[-1 - n] for text in texts)), short - head)
    groups: dict[str, dict[str, None]] = {}
    for box, text in zip(boxes, texts, strict=True):
        groups.setdefault("".join(text[head : len(text) - tail]).strip(), {})[box] = None
    if any(". " in middle for middle in groups):  # sentences that differ are not joined by "or"
        whole = dict.fromkeys(worded)
        of_text = ((text, [box for box, its in zip(boxes, worded, strict=True) if its == text]) for text in whole)
        return " ".join(f"For {', '.join(names)}: {text}" for text, names in of_text)
    said = " or ".join(f"{middle or 'without'} (for {', '.join(names)})" for middle, names in groups.items())
    return "".join(first[:head]) + said + "".join(first[len(first) - tail :])
