"""A picture of an item on a 10-frame box, with its parts and all that can be set of it: as SVG or as PDF."""

from dataclasses import replace
from pathlib import Path

from woodshop.design.batch import Unit
from woodshop.documents.answers.listings import named_item, setting_cells, settings_of
from woodshop.documents.answers.specimen import specimen
from woodshop.documents.packet.assembly import item_drawing
from woodshop.drawing.values.model import (
    Align,
    Block,
    Column,
    Document,
    Drawing,
    Figure,
    Heading,
    Paragraph,
    Section,
    Table,
)
from woodshop.drawing.views.pictorial import parts_list
from woodshop.errors import InputError, Problem
from woodshop.shape.part import Placed, Role

ENDINGS = (".svg", ".pdf")
_WIDE = 532.0  # points: a page between its margins


def item_picture(name: str, path: Path) -> bytes:
    """The item as an SVG or PDF file's bytes, by the ending of `path`.

    It is made for the table's 10-frame box, every value its default. Raises InputError for an unknown item, for
    another ending, and for an item that cannot be made so.
    """
    kind = path.suffix.lower()
    if kind not in ENDINGS:
        given = f"the ending {path.suffix!r}" if path.suffix else "no ending"
        raise InputError(
            Problem(str(path), given, "a picture ending in .svg or .pdf", "Choose one of the two for --picture.")
        )
    unit = specimen(named_item(name))
    return _svg(unit) if kind == ".svg" else _pdf(unit)


def _shown(unit: Unit) -> Unit:
    """What is drawn: what is made; and of an item of which nothing is made, what is there already."""
    if unit.assembly.with_role(Role.MADE, Role.BOUGHT):
        return unit
    there = [Placed(each.part, each.pose, Role.MADE) for each in unit.assembly.with_role(Role.EXISTING)]
    return Unit(unit.line, replace(unit.assembly, placed=tuple(there)))


def _drawing(unit: Unit) -> Drawing:
    return item_drawing(_shown(unit), "in")


def _parts(unit: Unit) -> list[tuple[str, str, str, str]]:
    """Balloon number, part, how many, sizes."""
    listed = parts_list(_shown(unit).assembly, (Role.MADE, Role.BOUGHT))
    return [
        (str(n), part.name, str(count), " x ".join(size.number() for size in part.size)) for n, part, count in listed
    ]


def _title(unit: Unit) -> str:
    return f"{unit.line.item.title}, {unit.line.fits}"


def _pdf(unit: Unit) -> bytes:
    from woodshop.drawing.pens.pdf import write_pdf

    columns = (Column("no.", weight=1), Column("part", weight=5), Column("count", Align.RIGHT, weight=2),
               Column("length x width x thickness, in", weight=8))  # fmt: skip
    blocks: list[Block] = [
        Heading(_title(unit), 1),
        Paragraph(unit.line.item.summary),
        Figure(_drawing(unit), "Drawn with every default.", say_scale=False),
        Table(columns, tuple(_parts(unit))),
        Table(
            (Column("", weight=3), Column("as drawn", weight=6)),
            tuple((each.name, each.value) for each in unit.assembly.facts),
        ),
    ]
    heads = (Column("setting", weight=4), Column("what it is", weight=7), Column("default", weight=4),
             Column("source of the default", weight=7))  # fmt: skip
    for title, rows in settings_of(unit.line.item):
        if rows:
            blocks += [Heading(title, 2), Table(heads, tuple(setting_cells(row) for row in rows))]
    return write_pdf(
        Document(_title(unit), unit.line.item.summary, (Section("", tuple(blocks)),), footer="every value its default")
    )


def _svg(unit: Unit) -> bytes:
    """The picture, and under it, in small type, its parts and its settings with their defaults and sources."""
    from woodshop.drawing.arranging.arrange import fitted
    from woodshop.drawing.pens.svg import svg_of
    from woodshop.drawing.values.fonts import clean, wrapped
    from woodshop.drawing.values.paper import Mark, Word, sheet_of
    from woodshop.drawing.values.style import STYLE

    drawn = fitted(_drawing(unit), _WIDE, 0.6 * _WIDE).sheet
    marks: list[Mark] = list(drawn.marks)
    left, y = drawn.box.left, drawn.box.bottom - STYLE.view_gap
    lines = [(_title(unit), True)]
    lines += [(f"{n}  {name}: {count} of {size}", False) for n, name, count, size in _parts(unit)]
    own, board = settings_of(unit.line.item)
    title, rows = own if own[1] else board  # every item shares the board's; the PDF lists them too
    lines += [(title, True)] if rows else []
    lines += [(f"{row['name']}: {row['help']}; default {row['default']} ({row['source']})", False) for row in rows]
    for text, strong in lines:
        for n, part in enumerate(wrapped(clean(text), STYLE.small, _WIDE - 12)):
            marks.append(Word(part, left + (12 if n else 0), y, size=STYLE.small, strong=strong))
            y -= STYLE.small * STYLE.leading
    return svg_of(sheet_of(marks), _title(unit)).encode("utf-8")
