"""Parts and machining: the list of parts, one drawing for each family with its sizes, and the setup for each cut."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from woodshop.checks.first_article import ENTRANCE, FirstArticle
from woodshop.design.batch import Batch, Hives, due_dates, first_needed, hives_fitted
from woodshop.design.lumber import Need
from woodshop.documents.fullsize.templates import templates
from woodshop.documents.packet.due import BatchDates
from woodshop.documents.packet.layouts import needs_of, to_machine
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Column,
    Columns,
    Drawing,
    Figure,
    Heading,
    Paragraph,
    Section,
    Steps,
    Table,
    page_of,
)
from woodshop.drawing.views.part import Lettered, cut_text, family_drawing, part_drawing, pattern_of, pitch_of, runs
from woodshop.hardware.catalogue import find_item
from woodshop.hardware.registry import Item
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.counts import operation_of
from woodshop.shape.part import FACE_AXIS, Cuboid, Cut, Part, RoundOutline, cut_box
from woodshop.units.lengths import Length, inch
from woodshop.units.wording import Wording, in_short


def has_grain(part: Part) -> bool:
    """Whether the material is wood; mesh and cloth have no grain to draw."""
    return part.material.is_lumber


@dataclass(frozen=True, slots=True)
class Family:
    """Parts with the same item, name and pattern of cuts, which share one drawing and a table of sizes."""

    item: Item
    needs: tuple[Need, ...]
    drawing: Drawing
    letters: Lettered

    @property
    def marks(self) -> str:
        """The marks of the family's parts."""
        return ", ".join(need.mark for need in self.needs)


def families_of(needs: Iterable[Need], said: Wording) -> list[Family]:
    """The families of all parts that are not plain rectangles, in the order of work at the bench."""
    groups: dict[object, list[tuple[Need, Drawing]]] = {}
    for need in needs:
        if not need.part.is_plain:
            drawing = part_drawing(
                need.part, address=need.address, count=need.count, wording=said, grain=has_grain(need.part)
            )
            key = (need.address.partition(" / ")[0], need.part.name, need.part.material, pattern_of(drawing))
            groups.setdefault(key, []).append((need, drawing))
    found = []
    for rows in groups.values():
        members = tuple(need for need, _ in rows)
        drawing, letters = family_drawing([need.part for need in members], [each for _, each in rows])
        found.append(Family(find_item(members[0].address.partition(" / ")[0]), members, drawing, letters))
    return sorted(found, key=lambda each: min(map(_turn, each.needs)))


def _turn(need: Need) -> int:
    """The sort key for the order of work at the bench: the part's first operation; parts without any are last."""
    part = need.part
    turns = [_TURNS.index(operation_of(part, cut)[0]) for cut in part.cuts]
    return min(turns, default=len(_TURNS))


_TURNS = ("rabbet", "groove", "finger", "notch", "drill", "punch", "passage")


def parts_section(
    planned: PlannedBatch, found: Sequence[FirstArticle] = (), dates: BatchDates | None = None
) -> Section:
    """The list of all parts; then for each family the drawing, the sizes and the setup for each cut.

    `found` are the limits of the first article. If a size is at one of its limits, its setup starts with a warning.
    `dates` come from the schedule, if any.
    """
    said = planned.batch.wording
    needs = sorted(needs_of(planned), key=by_mark)
    families = families_of(sorted(to_machine(planned), key=by_mark), said)
    metric = f", {_UNITS[said.other]} beside them in parentheses" if said.both else ""
    intro = (
        f"Sizes in {_UNITS[said.unit]}{metric}. Length runs along the grain. Write the letter on every piece. A part "
        "without a drawing is a plain rectangle."
    )
    if planned.there:
        intro += " The list counts the pieces still to cut; the drawings also count those already cut."
    table = parts_list(needs, said)
    blocks: list[Block] = [
        Paragraph(intro),
        table if said.both else Columns((table,)),
        *_whose(needs, planned.batch),
        *_snipped(needs, said.unit),
    ]
    if families:
        words = (
            "Work in this order. The heavy line is the reference: set fences to the lower edge and stops to the left "
            "end. Try each set-up on an offcut."
        )
        head = (Heading("Set-ups and drawings", 2), Paragraph(words))
        blocks += [
            *head,
            *(
                block
                for n, family in enumerate(families, 1)
                for block in _family_blocks(n, family, planned, found, dates)
            ),
        ]
    return Section("Parts and machining", tuple(blocks))


def by_mark(need: Need) -> tuple[int, str]:
    """The sort key that puts parts in the order of their marks."""
    return len(need.mark), need.mark


def _cut_already(family: Family, planned: PlannedBatch) -> Iterator[Paragraph]:
    """In the rest of a plan, a note about which pieces of the family are already cut."""
    cut = [f"{planned.there[each.address]} {each.mark}" for each in family.needs if planned.there.get(each.address)]
    if cut:
        words = f"{', '.join(cut)}. Skip those that are machined, or are in finished units."
        yield Paragraph(words, lead="Cut already:")


def parts_list(needs: Sequence[Need], said: Wording, counted: str = "make") -> Table:
    """Every part by its mark, listed below its item; `counted` is the heading of the counts."""
    rows: list[tuple[str, ...]] = []
    heads, anchors, last = [], [], ""
    for need in needs:
        item, _, name = need.address.split(" / ", 2)
        if item != last:
            heads.append(len(rows))
            rows.append(("", in_line(find_item(item).title), "", ""))
        anchors.append((len(rows), f"part-{need.mark}"))
        rows.append((need.mark, name, str(need.count), _size(need.part, said)))
        last = item
    columns = (
        Column("", weight=1),
        Column("part", weight=7),
        Column(counted, Align.RIGHT, weight=1),
        Column("length x width x thickness", weight=16, cut_size=True),
    )
    return Table(columns, tuple(rows), tuple(heads), anchors=tuple(anchors))


def in_line(title: str) -> str:
    """The title of an item, with its first letter in lower case, for use inside a line."""
    return title[:1].lower() + title[1:]


def _whose(needs: Iterable[Need], batch: Batch) -> list[Block]:
    """The hives that each part is for, unless all parts are for all hives."""
    marks: dict[str, list[str]] = {}
    shared = {line.item.name for line in batch.lines if not line.item.is_per_hive}
    for need in (need for need in needs if need.address.partition(" / ")[0] not in shared):
        marks.setdefault(hives_fitted(need.address.split(" / ", 2)[1], batch), []).append(need.mark)
    words = "; ".join(f"{where}: {', '.join(some)}" for where, some in marks.items())
    return [Paragraph(f"{words}.", lead="For which hives:")] if len(marks) > 1 else []


def _size(part: Part, said: Wording) -> str:
    if cells := cells_of(part):
        return f"{' x '.join(map(str, cells))} cells"
    sizes = part.size if part.material.is_lumber else part.size[:2]
    return " x ".join(said.pair_number(size) for size in sizes)


def cells_of(part: Part) -> tuple[int, ...]:
    """The number of cells along the length and width of mesh that is cut on its wires. Other parts have none.

    Where wires cross, a sheet is two wires thick. It is one wire longer than the total of its cells.
    """
    if part.material.mesh is None:
        return ()
    cell = part.material.mesh.pitch.mm
    counts = [(size - part.thickness / 2).mm / cell for size in part.size[:2]]
    return tuple(int(count) for count in counts) if all(count.denominator == 1 for count in counts) else ()


_UNITS = {"in": "inches", "mm": "millimeters"}
_HOLES = 3  # a part with this many round cuts has a table of them


def _family_blocks(
    number: int, family: Family, planned: PlannedBatch, found: Sequence[FirstArticle], dates: BatchDates | None
) -> tuple[Block, ...]:
    """The blocks for one family: its heading, its drawing next to sizes and setups, and the table of its holes."""
    said = planned.batch.wording
    part = family.needs[0].part
    count = sum(need.count for need in family.needs)
    title = in_line(family.item.title)
    head = Heading(f"Drawing {number}. {part.name.capitalize()}, {title}: {family.marks} (make {count})", 3)
    figure = Figure(family.drawing, _caption(family, said), inch("1 3/8"), say_scale=False, free_scale=True)
    sizes = _sizes(family, planned, dates)
    steps = Steps((*_aimed(family, found, said), *_set_ups(family, said), *_by_template(family, planned)))
    if said.both:  # dimensions with brackets need the full width
        rest: tuple[Block, ...] = (figure, *sizes, steps)
    else:
        rest = (Beside((figure,), (*sizes, steps)),)
    return (head, *_cut_already(family, planned), *rest, *_holes(part, said))


def _caption(family: Family, said: Wording) -> str:
    part = family.needs[0].part
    letters = f" {', '.join(word for word, _ in family.letters)}: see the table." if family.letters else ""
    return f"{part.material.spoken}. Sizes in {_UNITS[said.unit]}.{letters}"


def _sizes(family: Family, planned: PlannedBatch, dates: BatchDates | None) -> tuple[Block, ...]:
    """The number of each part, the sizes lettered in the drawing, and the due dates if they differ."""
    said = planned.batch.wording
    dated = len(due_dates(planned.batch.hives)) > 1
    if len(family.needs) == 1 and not dated:
        return ()
    columns = (
        Column("part", weight=2),
        Column("make", Align.RIGHT, weight=2),
        *(Column(word, Align.RIGHT, weight=3, cut_size=True) for word, _ in family.letters),
        *((Column("needed by", weight=5),) if dated else ()),
    )
    rows = tuple(
        (
            need.mark,
            str(need.count),
            *(said.pair_number(sizes[n]) for _, sizes in family.letters),
            *((_needed_by(need, planned, dates),) if dated else ()),
        )
        for n, need in enumerate(family.needs)
    )
    return (Table(columns, rows),)


def _set_ups(family: Family, said: Wording) -> Iterator[str]:
    """How to make each cut of a family: tool, fence, stop, and test."""
    parts = [need.part for need in family.needs]

    def size(lengths: Iterable[Length]) -> str:
        """A size as in the drawing: a figure, or its letter."""
        all_of = tuple(lengths)
        letter = next((word for word, sizes in family.letters if sizes == all_of), "")
        if letter or len(set(all_of)) == 1:
            return letter or said.pair(all_of[0])
        return ", ".join(f"{said.pair(each)} ({need.mark})" for each, need in zip(all_of, family.needs, strict=True))

    lines: dict[str, None] = {}
    for rows in zip(*(runs(part.cuts) for part in parts), strict=True):
        first = rows[0][0]
        key = operation_of(parts[0], first)[0]
        boxes = [cut_box(part, row[0]) for part, row in zip(parts, rows, strict=True)]
        lines.setdefault(_set_up(key, parts, [row[0] for row in rows], boxes, size, said))
        if len(rows[0]) > 1 and key in ("drill", "punch"):
            lines.setdefault(
                f"Drill {len(rows[0])} of these holes, each {size(pitch_of(row) for row in rows)} from the last."
            )
    for fold in parts[0].folds:
        lines.setdefault(
            f"Fold line, {size(each.at for part in parts for each in part.folds[:1])} from the lower edge: {fold.how}. "
            "Clamp the part along the line between two straight boards, and bend it over the edge."
        )
    yield from lines


def _aimed(family: Family, found: Iterable[FirstArticle], said: Wording) -> Iterator[str]:
    """A warning if the drawn size of an upper entrance is at one of its limits."""
    if all(cut.name != "upper entrance" for cut in family.needs[0].part.cuts):
        return
    for each in (each for of in found for each in of.sizes if each.size.name.startswith(ENTRANCE)):
        if each.item == family.item.name and each.size.nominal in (each.least, each.most):
            limits = f"{said.pair_number(each.least)} to {said.pair(each.most)}"
            yield (
                f"The size in the drawing is at one end of its limits, {limits}. Try the blade in scrap, and stay "
                "within the limits."
            )
            return


def _by_template(family: Family, planned: PlannedBatch) -> Iterator[str]:
    """How to mark out the cuts with the template, and how to bore the holes without a drill press."""
    own = {need.mark for need in family.needs}
    sheets = [f"T{n}" for n, each in enumerate(templates(planned), 1) if own & set(each.marks)]
    is_drilled = any(operation_of(part, cut)[0] == "drill" for part in (family.needs[0].part,) for cut in part.cuts)
    if sheets:
        yield (
            f"{'If you have no drill press' if is_drilled else 'To mark the cut'}, print {', '.join(sheets)} of "
            f"templates.pdf at 100%, measure its check bars, {'' if is_drilled else 'and '}lay it on the reference "
            "edge and end"
            + (", and punch through the center. Hold a handheld drill square to the face." if is_drilled else ".")
        )


def _set_up(
    key: str,
    parts: Sequence[Part],
    cuts: Sequence[Cut],
    boxes: Sequence[Cuboid],
    size: Callable[[Iterable[Length]], str],
    said: Wording,
) -> str:
    """A text on the setup for one cut.

    `key` is the operation; `size` gives the text for a size of all parts of the family.
    """
    part, cut, box = parts[0], cuts[0], boxes[0]
    name = cut.name.capitalize()
    axis, _ = FACE_AXIS[cut.face]
    u, v = (i for i in range(3) if i != axis)
    low = [size(each.low[i] for each in boxes) for i in range(3)]
    high = [size(each.high[i] for each in boxes) for i in range(3)]
    wide = [size(each.size(i) for each in boxes) for i in range(3)]
    deep = size(each.depth for each in cuts)
    if isinstance(cut.outline, RoundOutline):
        at = [size((each.low[i] + each.high[i]) / 2 for each in boxes) for i in range(3)]
        dia = said.drill(cut.outline.diameter)
        if key == "punch":
            return (
                f"{name}: center-punch {at[u]} from the reference end and {at[v]} from the reference edge. Drill {dia} "
                "dia. with the blanks stacked and clamped flat between two pieces of scrap."
            )
        end = "through into scrap" if cut.depth == part.size[axis] else f"{deep} deep"
        return (
            f"{name}: use a drill press and a {dia} bit. Set the fence {at[v]} and the stop {at[u]} from the center of "
            f"the bit. Hold the reference edge against the fence and the reference end against the stop. Clamp each "
            f"piece and drill {end}."
        )
    if key == "finger":
        return (
            f"Fingers {wide[v]} wide and {deep} deep: saw them on a box-joint jig, as drawn. Try one corner in scrap."
        )
    if key == "passage":
        return f"{name}: snip {wide[u]} x {wide[v]} out beside the wires, {low[u]} from the left end; file the edges."
    whole = [all(each.size(i) == one.size[i] for one, each in zip(parts, boxes, strict=True)) for i in range(3)]
    if key in ("rabbet", "groove") and box.size(1) == part.width:
        return (
            f"{name}: across the {cut.face}, {wide[0]} wide and {deep} deep at both ends. Use a dado head {deep} high "
            f"and a miter gauge, with a stop so that the cut ends {wide[0]} from the end of the piece."
        )
    if key in ("rabbet", "groove"):
        stopped = "" if whole[0] else f" Stop it {low[0]} from each end: clamp stop blocks to the fence."
        tool = "Use a dado head or router table" if stopped == "" else "Use a router table"
        where = f"from the {'lower edge' if not box.low[1] else f'line {low[1]} above the lower edge'} up"
        words = f"{name}: {cut.face}, {wide[1]} wide {where}, {deep} deep."
        return f"{words} {tool} set {deep} high, with the lower edge to the fence.{stopped}"
    if cut.depth == part.size[axis] and axis == 2 and not box.low[1]:
        middle = all(each.low[0] == one.length - each.high[0] for one, each in zip(parts, boxes, strict=True))
        far = f"set the stop to {high[0]} for the far side"
        second = "turn the pieces end for end and cut again" if middle else far
        return (
            f"{name}: use the table saw, blade {high[1]} high, and a miter gauge with a tall backing board. "
            "Clamp up to four pieces of one letter to it, reference edge down. Set a stop on the miter "
            f"gauge, never on the rip fence, {low[0]} from the near side of the blade. Butt the reference ends against "
            f"the stop. Cut, {second}, then clear the waste in passes.{_tried(cut)} Caution: the cut does not "
            "go through the wood, so you cannot use a splitter. Follow the saw's manual for the guard and the riving "
            "knife, whose top must be below the top of the blade. Keep both hands above the clamps."
        )
    if cut.depth == part.size[axis]:
        return (
            f"{name}: mark it out {low[u]} from the reference end and {low[v]} from the reference edge, {wide[u]} x "
            f"{wide[v]}. Bore a hole at each end, saw between them, file it square.{_tried(cut)}"
        )
    return f"{cut_text(part, cut, said.unit).capitalize()}."


def _tried(cut: Cut) -> str:
    """The step that measures the first upper entrance against its limits, or "" for other cuts."""
    if cut.name != "upper entrance":
        return ""
    return f" Measure the first against its limits ({page_of('entrance-limits', otherwise='First article')})."


def _snipped(needs: Iterable[Need], unit: str) -> list[Block]:
    """How to cut plain pieces of mesh, cloth and sheet: what to count, and which tool to use."""
    marks: dict[tuple[str, bool, bool], list[str]] = {}
    for need in needs:
        if not need.part.material.is_sawn:
            kind = need.part.material.kind
            marks.setdefault((kind.cut_with, bool(cells_of(need.part)), kind.turns), []).append(need.mark)
    steps = []
    for (tool, counted, turns), some in marks.items():
        words = f"{', '.join(some)}: "
        if counted:
            words += "count the cells, and snip just outside the last wire (39 cells have 40 wires). File the ends."
        elif tool == "tin snips":
            words += "mark the sheet, and snip to the line. File every edge. Wear gloves."
        else:
            lies = "the material as the layout shows" if turns else "the length along the flutes"
            words += (
                f"lay {lies} and draw the lines square. Cut on the lines with {'a knife' if tool == 'knife' else tool}."
            )
        steps.append(words)
    return [Heading("Pieces cut without a saw", 3), Steps(tuple(steps))] if steps else []


def _needed_by(need: Need, planned: PlannedBatch, dates: BatchDates | None) -> str:
    """The earliest day on which a part must be ready, as on the front page, and the first order that it is for."""
    hives: list[Hives] = []
    for unit in planned.units:
        if unit.line.count and any(placed.part == need.part for placed in unit.assembly.placed):
            hives += [unit.line.hives] if unit.line.item.is_per_hive else planned.batch.hives
    built = None if dates is None else dates.built_first(hives)
    if built is not None and built.build is not None:
        return built.build.isoformat() + next((f", order {each.order}" for each in built.groups if each.order), "")
    first = first_needed(hives, planned.batch, planned.units)
    if first is None:
        return ""
    return in_short(first.day) + next((f", order {each.order}" for each in first.hives if each.order), "")


def _holes(part: Part, said: Wording) -> tuple[Block, ...]:
    """The position of the center of every hole, measured from the same end and edge, so that errors do not add up."""
    bored = [cut for cut in part.cuts if isinstance(cut.outline, RoundOutline)]
    if len(bored) < _HOLES:
        return ()
    rows: dict[tuple[str, Length, Length], list[Length]] = {}
    for cut in bored:
        if isinstance(cut.outline, RoundOutline):
            rows.setdefault((cut.name, cut.outline.v, cut.outline.diameter), []).append(cut.outline.u)
    columns = (
        Column("holes", weight=3),
        Column("dia.", Align.RIGHT, weight=2),
        Column("above the lower edge", Align.RIGHT, weight=3),
        Column("centers, from the left end seen from the show face", weight=12),
    )
    return (
        Table(
            columns,
            tuple(
                (
                    f"{len(across)} x {name}",
                    said.bore(size),
                    said.pair_number(up),
                    "; ".join(said.pair_number(each) for each in sorted(across)),
                )
                for (name, up, size), across in rows.items()
            ),
        ),
    )
