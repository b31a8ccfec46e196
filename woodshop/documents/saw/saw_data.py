"""The steps at the saw as data for the saw page: each setting in the order of the packet, with its boards.

Every size is a text in inches and one in millimeters, in the words of the packet. Rectangles are whole numbers in the
unit of the material's cutting job, so that the page draws them exactly. Parts are known by their letters; customers,
prices and places are left out.
"""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.batch import Batch
from woodshop.design.lumberyard.lumberyard_file import ON_HAND
from woodshop.design.settings.saw import CIRCULAR_SAW, HAND_SAW, TABLE_SAW
from woodshop.documents.packet.cut_cautions import NAILS, ToolCut, cautions_of, in_sight, of_the_saw
from woodshop.documents.packet.cutting import SawSetting, is_by_setting, notes_before, settings_of, which_wire
from woodshop.documents.packet.first_article import articles_of
from woodshop.documents.packet.layouts import (
    NumberedLayout,
    bad_stretches,
    groups_of,
    kept_offcuts,
    numbered_layouts,
    of_times,
)
from woodshop.documents.packet.measure_first import bad_when_squared, limits_of, nearest, said_of, thickness_of
from woodshop.documents.packet.parts import in_line
from woodshop.documents.saw.planed import planed_steps
from woodshop.drawing.values.model import Block, Paragraph, with_pages
from woodshop.hardware.catalogue import find_item
from woodshop.plan.first_boards import first_boards
from woodshop.plan.lumber_at_home import is_whole
from woodshop.plan.rest.earlier_plan import has_no_rest
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.cut_tools import has_no_stop, is_short, other_tools, saw_of
from woodshop.units.lengths import Length, inch, lengths_in
from woodshop.units.wording import LengthUnit, wording_of

SAW_FORMAT = "woodshop-saw/2"
FIRST_ARTICLE = "first-article"  # the anchor of the packet's chapter; its page is 0 until it is known
_AT_STOP = (
    "This is the strip, not the fence. For each strip, switch the saw off, move the fence until the board touches the "
    "stop, and lock it."
)
_WITH = {
    f"{CIRCULAR_SAW}, guide": f"{CIRCULAR_SAW} and guide",
    f"{TABLE_SAW}, sled": f"sled on the {TABLE_SAW}",
}
_FALLS = "The strip falls on the side of the blade away from the fence."
_UNITS: tuple[LengthUnit, LengthUnit] = ("in", "mm")
_T = TypeVar("_T")
_SECTION = re.compile(r"(?:section|block) [0-9]+")
_INCHES = re.compile(r"((?:[0-9]+ )?[0-9]+(?:/[0-9]+)?) in\b")


@dataclass(frozen=True, slots=True)
class CuttingList:
    """Layouts of one material whose cuts are listed together, in one list of settings. `so_far` counts the pieces of
    the material that earlier lists give."""

    title: str
    layouts: tuple[NumberedLayout, ...]
    so_far: int


def cutting_lists(planned: PlannedBatch, *, is_all: bool = False) -> tuple[CuttingList, ...]:
    """The lists of settings in the order in which the packet prints them: first boards, then all others, by material.

    If `is_all` is true, no boards are cut first, as in the rest of a plan.
    """
    groups = groups_of(planned)
    first = [replace(of, is_cut_first=of.is_cut_first and not is_all) for of in first_boards(planned)]
    found: list[CuttingList] = []
    done: list[int] = []
    for group, of in zip(groups, first, strict=True):
        layouts = of_times(group, of.times) if of.is_cut_first else []
        found += _alone("First boards", layouts, 0)
        done.append(_pieces(layouts))
    for group, of, so_far in zip(groups, first, done, strict=True):
        times = of.times if of.is_cut_first else (0,) * len(group)
        layouts = of_times(group, [lay.times - count for lay, count in zip(group, times, strict=True)])
        if layouts and is_by_setting(sum(lay.times for lay in layouts), planned.batch):
            found.append(CuttingList("Cutting", tuple(layouts), so_far))
        else:
            found += _alone("Cutting", layouts, so_far)
    return tuple(found)


def _alone(title: str, layouts: Sequence[NumberedLayout], so_far: int) -> Iterator[CuttingList]:
    """A list for each layout."""
    for layout in layouts:
        yield CuttingList(title, (layout,), so_far)
        so_far += _pieces([layout])


def _pieces(layouts: Sequence[NumberedLayout]) -> int:
    return sum(lay.times * len(lay.pieces) for lay in layouts)


def saw_data(
    planned: PlannedBatch, plan: str, *, is_rest: bool = False, files: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """The data of the saw page, as JSON values with texts in both units. `plan` is the digest of the plan's file.

    `is_rest` says that the plan is the rest of an earlier one; `files` names the design and the book, if known. Each
    step has a key of its own, which changes if the step does.
    """
    as_read = {unit: _in_unit(planned, unit) for unit in _UNITS}
    lists = [cutting_lists(each, is_all=is_rest) for each in as_read.values()]
    steps: list[dict[str, Any]] = []
    for n, one in enumerate(lists[0]):  # all boards rest at the same time, before any is cut
        steps += _keyed(planed_steps(n, one.layouts, as_read), len(steps))
    for n, own in enumerate(zip(*lists, strict=True)):
        rows = [_rows(each, as_read[unit]) for unit, each in zip(_UNITS, own, strict=True)]
        for both in zip(*rows, strict=True):
            steps += _keyed([(_step(n, own, both, as_read), _shown(own, both, as_read))], len(steps))
    layouts = [numbered_layouts(as_read[unit]) for unit in _UNITS]
    wording = planned.batch.wording
    units = list(_UNITS) if wording.unit == "in" or wording.both else [wording.unit]
    data = {
        "format": SAW_FORMAT,
        "batch": planned.batch.name,
        "plan": plan,
        "unit": planned.batch.unit,
        "units": units,
        "has_book": planned.batch.inventory is not None,
        "do_not_cut": planned.report.has_errors,
        "is_rest": is_rest,
        "has_no_rest": has_no_rest(planned),
        "first_article": {"page": 0} if _is_tried_first(planned, lists[0]) else {},
        "files": dict(files or {}),
        "lists": [
            {
                "title": own[0].title,
                "material": own[0].layouts[0].material.name,
                "spoken": _both([_spoken(own[0].layouts[0], unit) for unit in _UNITS]),
                "notes": _both([_notes(each, as_read[unit]) for unit, each in zip(_UNITS, own, strict=True)]),
                "pieces": _pieces(own[0].layouts),
            }
            for own in zip(*lists, strict=True)
        ],
        "layouts": [_layout(both, as_read) for both in zip(*layouts, strict=True)],
        "parts": _parts(layouts[0]),
        "steps": steps,
    }
    return {name: _only(units, value) for name, value in data.items()}


def _is_tried_first(planned: PlannedBatch, lists: Sequence[CuttingList]) -> bool:
    """Whether boards are cut first, to build first articles that are measured before the rest is cut."""
    return any(each.title == "First boards" for each in lists) and bool(articles_of(planned))


def _keyed(found: Iterable[tuple[dict[str, Any], dict[str, Any]]], before: int) -> Iterator[dict[str, Any]]:
    """The steps with their keys and with what they also show. `before` is the number of steps before them."""
    for n, (step, shown) in enumerate(found, before + 1):
        text = json.dumps(step, sort_keys=True, separators=(",", ":"))
        yield {**step, "key": f"{n}-{hashlib.sha256(text.encode()).hexdigest()[:6]}", **shown}


def _only(units: Sequence[str], value: Any) -> Any:
    """The value with its texts in these units alone: a metric design has no inches, unless it asks for both units."""
    if isinstance(value, list):
        return [_only(units, each) for each in value]
    if isinstance(value, dict):
        kept = units if value.keys() == set(_UNITS) else value
        return {name: _only(units, value[name]) for name in kept}
    return value


def _parts(layouts: Sequence[NumberedLayout]) -> dict[str, dict[str, Any]]:
    """Each part by its letter: its material, its size, its name and the item that it is a part of."""
    found: dict[str, dict[str, Any]] = {}
    for layout in layouts:
        for piece in layout.pieces:
            long, wide = (piece.width, piece.length) if piece.turned else (piece.length, piece.width)
            size = _size(long, wide)
            item, _, name = piece.address.split(" / ", 2)
            words = {"name": name, "item": in_line(find_item(item).title)}
            found.setdefault(piece.mark, {"material": layout.material.name, "size": size, **words})
    return dict(sorted(found.items()))


def _size(one: Length, other: Length) -> dict[str, str]:
    return _both([f"{nearest(one, unit).number(unit)} x {nearest(other, unit).text(unit)}" for unit in _UNITS])


def _in_unit(planned: PlannedBatch, unit: LengthUnit) -> PlannedBatch:
    """The same plan, with its quantities printed in `unit`. Inches of a metric design are to the nearest 1/64 in."""
    batch = planned.batch
    if batch.unit == unit:
        return planned
    saw = replace(batch.saw, mark=inch("1/64")) if unit == "in" else batch.saw
    return replace(planned, batch=replace(batch, wording=wording_of(unit), saw=saw))


def _rows(own: CuttingList, planned: PlannedBatch) -> list[SawSetting]:
    with lengths_in(planned.batch.unit):
        return settings_of(own.layouts, planned)


def _notes(own: CuttingList, planned: PlannedBatch) -> list[list[str]]:
    with lengths_in(planned.batch.unit):
        return _texts(notes_before(own.layouts, planned))


def _said(layout: NumberedLayout, planned: PlannedBatch) -> str:
    with lengths_in(planned.batch.unit):
        said = said_of(layout, saw_cuts(layout.plan.job.job, layout.layout), planned.batch)
        thick = thickness_of(layout) if layout.is_sawn else None
        return said if thick is None else f"Thickness {limits_of(thick, planned.batch)}, w{said.removeprefix('W')}"


def _when_squared(layout: NumberedLayout, planned: PlannedBatch) -> str:
    with lengths_in(planned.batch.unit):
        return bad_when_squared(layout, planned.batch)


def _loose(layout: NumberedLayout, cuts: Sequence[SawCut]) -> dict[str, list[Any]]:
    """The lengths that these cuts take off a board to be cut further, and those that they are made on: what is written
    on each, and its size."""
    every = saw_cuts(layout.plan.job.job, layout.layout)
    cut_on = {found[0] for cut in every if cut.count and (found := _SECTION.match(cut.of))}
    boxes = {name: box for cut in every for name, box in zip(cut.yields, cut.places, strict=False) if name in cut_on}

    def named(labels: Iterable[str]) -> list[Any]:
        grid, found = layout.plan.job.grid, []
        for label in dict.fromkeys(labels):
            x0, x1, y0, y1 = boxes[label]
            number = list(boxes).index(label)
            letter = chr(ord("a") + number) if number < 26 else f"-{number + 1}"
            found.append([f"{layout.number}{letter}", _size(grid * (y1 - y0), grid * (x1 - x0))])
        return found

    return {
        "gives": named(name for cut in cuts for name in cut.yields if name in boxes),
        "of": named(found[0] for cut in cuts if (found := _SECTION.match(cut.of)) and found[0] in boxes),
    }


def _both(texts: Sequence[_T]) -> dict[str, _T]:
    return dict(zip(_UNITS, texts, strict=True))


def _texts(blocks: Sequence[Block]) -> list[list[str]]:
    """The lead and text of each paragraph, for a page without page numbers."""
    return [[each.lead, with_pages(each.text, {})] for each in blocks if isinstance(each, Paragraph)]


def _with_tool(own: CuttingList, row: SawSetting) -> list[ToolCut]:
    return [(own.layouts[n], cut, row.tool) for n, cut in row.cuts]


def _step(
    number: int, lists: Sequence[CuttingList], rows: Sequence[SawSetting], as_read: dict[LengthUnit, PlannedBatch]
) -> dict[str, Any]:
    """One setting, with every board that it cuts. `lists` and `rows` have the list and the setting in each unit."""
    layouts, row = lists[0].layouts, rows[0]
    deeds = [each.deed.split("\n") for each in rows]
    by_layout: dict[int, list[SawCut]] = {}
    for n, cut in row.cuts:
        by_layout.setdefault(n, []).append(cut)
    first, cut = layouts[row.cuts[0][0]], row.cuts[0][1]
    gives = {each.name: each.gives.removesuffix(" each") for each in row.boards}
    cautions = []
    for unit, own in zip(_UNITS, lists, strict=True):
        with lengths_in(unit):
            cautions.append(_texts(cautions_of(_with_tool(own, row), as_read[unit].batch)))
    return {
        "list": number,
        "deed": deeds[0][0],
        "more": _both([" ".join(f"{line[:1].upper()}{line[1:]}." for line in each[1:]) for each in deeds]),
        "is_cut": bool(row.set_to),
        "set": _set_by(first, cut, row.tool, as_read["in"]) if row.set_to else "",
        "to": _both([each.set_to for each in rows]),
        "is_length": first.material.mesh is None,
        "gives": row.gives,
        "pieces": sum(row.pieces.values()),
        "cautions": _both(cautions) if row.set_to else _both([[], []]),
        "boards": [
            {
                "layout": int(layouts[n].number),
                "times": layouts[n].times,
                "is_trim": all(each.kind == "trim" for each in cuts),
                "pieces": row.each[n].total(),
                "gives": gives[layouts[n].number],
                "cuts": [[each.along, [list(place) for place in each.places]] for each in cuts],
            }
            for n, cuts in sorted(by_layout.items())
        ],
    }


def _shown(
    lists: Sequence[CuttingList], rows: Sequence[SawSetting], as_read: dict[LengthUnit, PlannedBatch]
) -> dict[str, Any]:
    """What a step also shows, which is not in its key: its kind of tool, what stays in sight, how to set and measure,
    and the finished pieces of one board for each mark, by layout."""
    layouts, row = lists[0].layouts, rows[0]
    first, cut = layouts[row.cuts[0][0]], row.cuts[0][1]
    sight = []
    for unit, own in zip(_UNITS, lists, strict=True):
        with lengths_in(unit):
            sight.append(in_sight(_with_tool(own, row), as_read[unit].batch))
    how: str | dict[str, str] = ""
    if row.set_to and first.material.mesh is not None:
        how = which_wire(as_read["in"])
    elif row.set_to and first.is_sawn and cut.is_narrow:
        how = _FALLS if as_read["in"].batch.saw.thin_rip != "stop" else f"{_AT_STOP} {_FALLS}"
    elif row.set_to and first.is_sawn and cut.kind == "trim":
        trued = [
            _trued([(own.layouts[n], each) for n, each in row.cuts], unit)
            for unit, own in zip(_UNITS, lists, strict=True)
        ]
        how = _both([f"{each}The kerf is included." for each in trued]) if any(trued) else "The kerf is included."
    elif row.set_to and _set_by(first, cut, row.tool, as_read["in"]) == "Mark at":
        how = "Measure from the squared end. Cut on the waste side of the mark."
    return {
        "cut_with": first.material.kind.cut_with,
        "without": _without_tool(_with_tool(lists[0], row), as_read["in"].batch) if row.set_to else [],
        "sight": _both(sight) if row.set_to else _both([[], []]),
        "how": how,
        "saw": _texts(of_the_saw(_with_tool(lists[0], row))) if row.set_to else [],
        "marks": {layouts[n].number: dict(sorted(marks.items())) for n, marks in sorted(row.each.items())},
        "loose": {
            layouts[n].number: _loose(layouts[n], [cut for of, cut in row.cuts if of == n]) for n in sorted(row.each)
        },
    }


def _trued(cuts: Sequence[tuple[NumberedLayout, SawCut]], unit: LengthUnit) -> str:
    """How much comes off each edge of boards whose both edges are cut, and how wide they are then, if all are alike.
    The result is empty for any other trim."""
    if not all(cut.kind == "trim" and cut.along and len(cut.places) == 2 for _, cut in cuts):
        return ""
    found = {(own.plan.job.grid * cut.setting, own.width - own.plan.job.grid * cut.setting * 2) for own, cut in cuts}
    off, wide = ({nearest(each[n], unit).text(unit) for each in found} for n in (0, 1))
    if len(off) > 1:
        return ""
    return f"{off.pop()} off each edge{f', to {wide.pop()} wide' if len(wide) == 1 else ''}. "


def _without_tool(cuts: Sequence[ToolCut], batch: Batch) -> list[str]:
    """What to do without the saw of these cuts: a question, and its answer from the tools that the design names."""
    layout, cut, tool = cuts[0]
    if not layout.is_sawn:
        return []
    could: dict[str, None] | None = None
    for own, each, _ in cuts:
        also = other_tools(own, saw_cuts(own.plan.job.job, own.layout), batch)[each]
        names = [name.removesuffix(", supported") for name in also]
        could = dict.fromkeys(name for name in names if could is None or name in could)
    question = f"No {saw_of(tool)}?"
    if could:
        named = [_WITH.get(name, name) for name in could]
        words = f"This cut can also be made with a {', or with a '.join(named)}."
        if cut.kind != "trim" and not has_no_stop(tool) and any(has_no_stop(name) for name in could):
            words += " Without a stop, mark each piece and cut on the waste side of the mark."
        return [question, f"{words} Follow that tool's own manual and cautions."]
    if tool.startswith(TABLE_SAW) and cut.along:
        return [question, "Ask who planned it: boards or strips bought in the right width need no rip."]
    if any(is_short(own, each) for own, each, _ in cuts) or tool.startswith(HAND_SAW):
        return [question, "Ask who planned it. Do not cut short or thin pieces with a power saw."]
    return [question, "Ask who planned it: the plan can be made for the saws you have."]


def _spoken(layout: NumberedLayout, unit: LengthUnit) -> str:
    """The name of the layout's material, with its size in `unit`."""
    name = layout.material.spoken
    return name if unit == "in" else _INCHES.sub(lambda found: inch(found[1]).text(unit), name)


def _set_by(layout: NumberedLayout, cut: SawCut, tool: str, planned: PlannedBatch) -> str:
    """What is set for a cut: the fence, a stop, or a mark on the board."""
    if not layout.is_sawn:
        return "Cut at"
    if cut.kind == "trim":
        return "Trim"
    if cut.is_narrow:
        return "Strip beside the thin-rip stop" if planned.batch.saw.thin_rip == "stop" else "Fence"
    if has_no_stop(tool) or is_short(layout, cut):
        return "Mark at"
    return "Fence" if cut.along else "Stop"


def _layout(both: Sequence[NumberedLayout], as_read: dict[LengthUnit, PlannedBatch]) -> dict[str, Any]:
    """The drawing of a layout, its notes, and the names by which the book knows its board."""
    layout = both[0]
    grid = layout.plan.job.grid
    kept = kept_offcuts(as_read["in"])[layout.name]

    def steps(length: Length) -> int:
        return int(length / grid)

    return {
        "number": int(layout.number),
        "material": layout.material.name,
        "what": layout.what.partition(":")[0].removesuffix(f", {ON_HAND}"),
        "form": layout.raw,
        "times": layout.times,
        "how_marked": layout.material.how_marked,
        "code": next(offer.chalked for offer in layout.plan.job.offers if offer.id == layout.layout.stock),
        "length": steps(layout.length),
        "width": steps(layout.width),
        "unit": [grid.mm.numerator, grid.mm.denominator],
        "size": _size(layout.width, layout.length),
        "notes": _both([_said(each, as_read[unit]) for unit, each in zip(_UNITS, both, strict=True)]),
        "when_squared": _both([_when_squared(each, as_read[unit]) for unit, each in zip(_UNITS, both, strict=True)]),
        "first": NAILS if layout.is_offcut else "",
        "pieces": [
            [steps(p.x), steps(p.y), steps(p.length), steps(p.width) or steps(layout.width), p.mark]
            for p in layout.pieces
        ],
        "kept": [[*map(steps, (each.x, each.y, each.length, each.width)), each.number] for each in kept],
        "bad": [[*map(steps, each)] for each in bad_stretches(layout)],
        "book": _in_book(layout) if as_read["in"].batch.inventory is not None else {},
    }


def _in_book(layout: NumberedLayout) -> dict[str, str]:
    """The field that names the layout's board in an event of the book. A leftover board keeps its name as bought.

    There is none for a part of a board, which the book does not have.
    """
    if not is_whole(layout.layout.stock):
        return {}
    offer = next(offer for offer in layout.plan.job.offers if offer.id == layout.layout.stock)
    if offer.chalked:
        return {"board": offer.chalked}
    if offer.is_offcut:
        mark = offer.label.removeprefix("board ")
        return {"board": mark} if offer.id.startswith("offcut_board_") else {"offcut": mark}
    return {"stock": layout.what.partition(":")[0].removesuffix(f", {ON_HAND}")}
