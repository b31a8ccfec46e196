"""Lists for the commands: items with their settings and pictures, findings, and facts with their sources."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import read_design_text
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, Offer
from woodshop.design.make_units import make_units
from woodshop.design.schema import limit_texts
from woodshop.design.settle.settle import settle
from woodshop.documents.packet.assembly import item_drawing
from woodshop.drawing.values.model import (
    Align,
    Block,
    Column,
    Document,
    Drawing,
    Figure,
    Heading,
    KeyValues,
    Paragraph,
    Section,
    Table,
    Verbatim,
)
from woodshop.drawing.views.pictorial import parts_list
from woodshop.errors import InputError, Problem
from woodshop.findings import Report
from woodshop.hardware.board import BoardSettings, Gauge, MeshName
from woodshop.hardware.catalogue import item_hint, items
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters
from woodshop.reference.cautions import all_cautions
from woodshop.reference.facts import TABLES, TRUSTS, WORDS, Fact, all_facts, count_by_origin, fact, facts_in, sources
from woodshop.reference.materials import board_material, dressed, mesh, mesh_names, nominal_names
from woodshop.shape.part import Placed, Role
from woodshop.units.lengths import Length, Money, inch
from woodshop.units.wording import LengthUnit, wording_of

BOARD_TOO = "settings of [board] apply to all parts of a fondant board. See: woodshop items --board."


def items_section() -> Section:
    """Every item: its name, its title, its unit of count, and its first sentence."""
    columns = (
        Column("item", key="name"),
        Column("title", key="title", shown=False),
        Column("for each", key="per", shown=False),
        Column("what it is", key="summary"),
    )
    table = Table(columns, tuple((each.name, each.title, each.per, each.summary) for each in items()))
    more = Paragraph('See "woodshop items NAME" for what can be set.')
    return Section("", (table, more), {"items": table.records})


def named_item(name: str) -> Item:
    """The item with this name. Raises InputError that suggests a similar name if there is none."""
    known = {each.name: each for each in items()}
    if name not in known:
        raise InputError(Problem("items", repr(name), "one of " + ", ".join(known), item_hint(name, known)))
    return known[name]


def item_section(name: str, with_board: bool = False, unit: LengthUnit = "in") -> Section:
    """One item with its settings and, if `with_board` is true, the board's settings. The data always has both.

    Sizes are in `unit`.

    If the name is unknown, raises InputError that suggests a similar name.
    """
    one = named_item(name)
    (title, own), (shared, board) = settings_of(one, unit)
    tables = _settings_table(title, own) if own else ()
    more = _settings_table(shared, board) if with_board else (Paragraph(f"{len(board)} {BOARD_TOO}"),)
    data = {"name": one.name, "title": one.title, "per": one.per, "summary": one.summary, "picture": one.picture}
    blocks = (Paragraph(wording_of(unit).said(f"{one.name}: {one.summary}")), Verbatim(one.picture), *tables, *more)
    return Section("", blocks, data | {"parameters": own, "board": board})


def board_section(unit: LengthUnit = "in") -> Section:
    """The settings of the board, shared by all of its parts, with sizes in `unit`."""
    rows = [parameter_row(each, unit) for each in fields_as_parameters(BoardSettings)]
    return Section("", _settings_table("Settings of the board", rows), {"board": rows})


def _settings_table(title: str, rows: list[dict[str, str]]) -> tuple[Block, ...]:
    columns = (Column("setting"), Column("what it is"), Column("default"), Column("source of the default"))
    return (Heading(title, 2), Table(columns, tuple(setting_cells(row) for row in rows)))


def settings_of(item: Item, unit: LengthUnit = "in") -> tuple[tuple[str, list[dict[str, str]]], ...]:
    """The settings of an item and of the board, each list below its heading, with sizes in `unit`."""
    return (
        ("Settings of its own", [parameter_row(each, unit) for each in item.parameters]),
        ("Settings of the board", [parameter_row(each, unit) for each in fields_as_parameters(BoardSettings)]),
    )


def setting_cells(row: dict[str, str]) -> tuple[str, str, str, str]:
    """A setting as a row of a table: name, meaning and limits, default, and the source of the default."""
    return row["name"], "; ".join(filter(None, (row["help"], span(row)))), row["default"], row["source"]


def parameter_row(parameter: Parameter, unit: LengthUnit = "in") -> dict[str, str]:
    """A parameter as plain text in `unit`: name, meaning, default, the source of the default, limits, choices.

    Missing limits or choices are "". A default of "worked out" means that the default is not fixed.
    """
    param = parameter.param
    if param.fact is not None:
        row = fact(param.fact)
        default, source = row.value_in(unit), row.cite
        if MeshName in _kinds(parameter.type):
            default = mesh(default).sold(unit)
    else:
        default = _plain(parameter.default)
        source = param.source or "common practice, no source"
    kind = next((each for each in _kinds(parameter.type) if isinstance(each, type)), str)
    wording = wording_of(unit)
    least, most = limit_texts(kind, param.least, param.most, unit)
    return {
        "name": parameter.name,
        "help": wording.said(param.help),
        "default": wording.said(default),
        "source": wording.said(source) if source.startswith(WORDS) else wording.quoted(source),
        "least": least,
        "most": most,
        "choices": ", ".join(f'"{each}"' for each in _choices(parameter.type, unit)),
        "only": f"{param.only[0]} = {param.only[1]}" if param.only and param.only[0] != parameter.name else "",
    }


def span(row: dict[str, str]) -> str:
    """The allowed values of a parameter as text: its limits, its choices, or ""."""
    if row["least"] or row["most"]:
        return f"{row['least'] or 'any'} to {row['most'] or 'any'}"
    return f"one of {row['choices']}" if row["choices"] else ""


def _kinds(kind: Any) -> tuple[Any, ...]:
    return get_args(kind) if get_origin(kind) in (Union, UnionType) else (kind,)


def _choices(kind: Any, unit: str) -> tuple[str, ...]:
    """The values to choose from, as they are written in a design with this unit; a metric gauge is a thickness."""
    if unit == "mm" and MeshName in _kinds(kind):
        return mesh_names(unit)
    arms = (arm for arm in _kinds(kind) if get_origin(arm) is Literal and not (unit == "mm" and arm == Gauge))
    return tuple(str(each) for arm in arms for each in get_args(arm))


def _plain(value: Any) -> str:
    if value is None:
        return "worked out"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def sources_section(word: str | None = None) -> Section:
    """All facts, cautions and sources, with counts, or only the facts that mention `word`.

    Raises InputError if there are none.
    """
    if word is not None:
        found = _fact_table((f for f in all_facts() if _mentions(f, word)), ("key", "value", "what", "origin", "cite"))
        if not found.rows:
            do = "Run woodshop sources to see them all."
            raise InputError(Problem("sources", repr(word), "a word used in a fact", do))
        return Section("", (found,), {"facts": found.records})
    tables = {table: _fact_table(facts_in(table), tuple(_FACT), hidden=("what",)) for table in TABLES}
    counts = count_by_origin()
    used = [row.source for row in all_facts()] + [row.source for row in all_cautions()]
    blocks = [block for name, table in tables.items() for block in (Heading(name, 2), table)]
    return Section(
        "",
        (*blocks, KeyValues(tuple(counts.items()))),
        {
            "counts": counts,
            "trust": dict(TRUSTS),
            "tables": {name: table.records for name, table in tables.items()},
            "cautions": [
                {"topic": row.topic, "text": row.text, "cite": row.cite, "trust": row.trust, "defer": row.defer}
                for row in all_cautions()
            ],
            "sources": [{"id": each.id, "cite": each.cite, "rows": used.count(each.id)} for each in sources()],
        },
    )


_FACT = {"key": "fact", "value": "value", "what": "what it is", "origin": "", "source": "", "locator": "",
         "trust": "trust", "cite": "source"}  # fmt: skip


def _fact_table(rows: Iterable[Fact], keys: tuple[str, ...], hidden: tuple[str, ...] = ()) -> Table:
    """Facts with their values, and the records of the table."""
    columns = tuple(
        Column(heading, key=name if name in keys else "", shown=bool(heading) and name not in hidden)
        for name, heading in _FACT.items()
    )
    return Table(columns, tuple(tuple(str(getattr(row, name)) for name in _FACT) for row in rows))


def _mentions(row: Any, word: str) -> bool:
    return word.lower() in f"{row.key} {row.what} {row.cite}".lower()


FRAMES = 10


def every_board(thicknesses: Iterable[Length] = ()) -> Lumberyard:
    """A made-up lumberyard that sells every nominal board, 8 ft long, at no cost; used only for trial units.

    It has boards of these `thicknesses` too, as wide as the nominal ones.
    """
    offers = []
    sizes = {name: dressed(name) for name in nominal_names()}
    for thickness in dict.fromkeys(thicknesses):
        sizes |= {f"{thickness} x {wide}": (thickness, wide) for _, wide in tuple(sizes.values())}
    for name, (thick, wide) in sizes.items():
        offers.append(
            Offer(
                id=name,
                material=board_material(thick),
                what=name,
                length=inch(96),
                width=wide,
                price=Money(0, "USD"),
                count=None,
                thickness=thick,
            )
        )
    return Lumberyard(
        name="every nominal board",
        currency="USD",
        seen=date.min,
        unit="in",
        shared_wires=False,
        offers=tuple(offers),
        packs=(),
        left_out=(),
    )


def tried(text: str, name: str) -> tuple[Batch, tuple[Unit, ...], Report]:
    """Reads the text of a design file and settles it with a lumberyard of every nominal board.

    `name` is the name of the file. Raises InputError with all problems.
    """
    batch = _settled(text, name)
    units, report = check_batch(batch)
    return batch, units, report


def _settled(text: str, name: str) -> Batch:
    design = read_design_text(text, Path(name))
    woods = [design.wood, *(each.wood for each in design.makes)]
    return settle(design, every_board(wood for wood in woods if wood is not None))


def specimen(item: Item) -> Unit:
    """A sample of the item for a default 10-frame box and default settings. Raises InputError if it cannot be made."""
    text = f"""format = "woodshop-design/2"
batch = "specimen"
unit = "in"
lumberyard = "every board"
[[hives]]
frames = {FRAMES}
count = 1
[[make]]
item = "{item.name}"
"""
    return make_units(_settled(text, "specimen.toml"))[0]


ENDINGS = (".svg", ".pdf")
_SKETCH = (340.0, 220.0)  # points
_WIDE = 532.0  # points: a page between the margins


def item_picture(name: str, path: Path) -> bytes:
    """The item as the bytes of an SVG or PDF file, depending on the ending of `path`.

    It is made for a default 10-frame box, with default settings. Raises InputError for an unknown item, another ending,
    or an item that cannot be made.
    """
    kind = path.suffix.lower()
    if kind not in ENDINGS:
        given = f"the ending {path.suffix!r}" if path.suffix else "no ending"
        raise InputError(
            Problem(str(path), given, "a picture ending in .svg or .pdf", "Choose one of the two for --picture.")
        )
    unit = specimen(named_item(name))
    return _svg(unit) if kind == ".svg" else _pdf(unit)


def item_sketch(name: str) -> str:
    """The drawing of an item as the text of an SVG file, without its parts and settings.

    It is made for a default 10-frame box, with default settings. Raises InputError for an unknown item.
    """
    from woodshop.drawing.arranging.arrange import fitted
    from woodshop.drawing.pens.svg import svg_of

    unit = specimen(named_item(name))
    return svg_of(fitted(_drawing(unit), *_SKETCH).sheet, _title(unit))


def _shown(unit: Unit) -> Unit:
    """The parts to draw: the made parts, or the existing ones if none are made."""
    if unit.assembly.with_role(Role.MADE, Role.BOUGHT):
        return unit
    there = [Placed(each.part, each.pose, Role.MADE) for each in unit.assembly.with_role(Role.EXISTING)]
    return Unit(unit.line, replace(unit.assembly, placed=tuple(there)))


def _drawing(unit: Unit) -> Drawing:
    return item_drawing(_shown(unit), "in")


def _parts(unit: Unit) -> list[tuple[str, str, str, str]]:
    """Rows of balloon number, part, count and sizes."""
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
        Figure(_drawing(unit), "Drawn with default values.", say_scale=False),
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
        Document(_title(unit), unit.line.item.summary, (Section("", tuple(blocks)),), footer="all defaults")
    )


def _svg(unit: Unit) -> bytes:
    """The picture and below it, in small type, the parts and the settings with their defaults and sources."""
    from woodshop.drawing.arranging.arrange import fitted
    from woodshop.drawing.pens.svg import svg_of
    from woodshop.drawing.values.paper import Mark, Word, sheet_of
    from woodshop.drawing.values.style import STYLE, clean, wrapped

    drawn = fitted(_drawing(unit), _WIDE, 0.6 * _WIDE).sheet
    marks: list[Mark] = list(drawn.marks)
    left, y = drawn.box.left, drawn.box.bottom - STYLE.view_gap
    lines = [(_title(unit), True)]
    lines += [(f"{n}  {name}: {count} of {size}", False) for n, name, count, size in _parts(unit)]
    own, board = settings_of(unit.line.item)
    title, rows = own if own[1] else board  # every item shares the board's settings; the PDF lists them too
    lines += [(title, True)] if rows else []
    lines += [(f"{row['name']}: {row['help']}; default {row['default']} ({row['source']})", False) for row in rows]
    for text, strong in lines:
        for n, part in enumerate(wrapped(clean(text), STYLE.small, _WIDE - 12)):
            marks.append(Word(part, left + (12 if n else 0), y, size=STYLE.small, strong=strong))
            y -= STYLE.small * STYLE.leading
    return svg_of(sheet_of(marks), _title(unit)).encode("utf-8")
