"""What the commands list: items with their settings, findings, facts with their sources."""

from collections.abc import Iterable
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from woodshop.drawing.values.model import Block, Column, Heading, KeyValues, Paragraph, Section, Table, Verbatim
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items, near_item
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters
from woodshop.reference.cautions import all_cautions
from woodshop.reference.facts import TABLES, TRUSTS, Fact, all_facts, count_by_standing, fact, facts_in, sources
from woodshop.units.lengths import Length

BOARD_TOO = "settings of [board] hold for all parts of a fondant board. See: woodshop items --board."


def items_section() -> Section:
    """Every item: its name, title, what it is needed for each of, and its first sentence."""
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
    """The item of that name. Raises InputError for an unknown name, with a near one."""
    known = {each.name: each for each in items()}
    if name not in known:
        raise InputError(Problem("items", repr(name), "one of " + ", ".join(known), near_item(name, known)))
    return known[name]


def item_section(name: str, with_board: bool = False) -> Section:
    """One item with its settings, and where asked those of the board, which are always in the data.

    Raises InputError for an unknown name, with a near one.
    """
    one = named_item(name)
    (title, own), (shared, board) = settings_of(one)
    tables = _settings_table(title, own) if own else ()
    more = _settings_table(shared, board) if with_board else (Paragraph(f"{len(board)} {BOARD_TOO}"),)
    data = {"name": one.name, "title": one.title, "per": one.per, "summary": one.summary, "picture": one.picture}
    blocks = (Paragraph(f"{one.name}: {one.summary}"), Verbatim(one.picture), *tables, *more)
    return Section("", blocks, data | {"parameters": own, "board": board})


def board_section() -> Section:
    """The settings of the board, which all of its parts share."""
    rows = [parameter_row(each) for each in fields_as_parameters(BoardSettings)]
    return Section("", _settings_table("Settings of the board", rows), {"board": rows})


def _settings_table(title: str, rows: list[dict[str, str]]) -> tuple[Block, ...]:
    columns = (Column("setting"), Column("what it is"), Column("default"), Column("source of the default"))
    return (Heading(title, 2), Table(columns, tuple(setting_cells(row) for row in rows)))


def settings_of(item: Item) -> tuple[tuple[str, list[dict[str, str]]], ...]:
    """The settings of an item and those of the board, each list below its heading."""
    return (
        ("Settings of its own", [parameter_row(each) for each in item.parameters]),
        ("Settings of the board", [parameter_row(each) for each in fields_as_parameters(BoardSettings)]),
    )


def setting_cells(row: dict[str, str]) -> tuple[str, str, str, str]:
    """A setting as a row of a table: name, what it is and may be, default, the default's source."""
    return row["name"], "; ".join(filter(None, (row["help"], span(row)))), row["default"], row["source"]


def parameter_row(parameter: Parameter, unit: str = "in") -> dict[str, str]:
    """A parameter as plain text: name, meaning, default, the default's source, least and most, choices.

    What has no limits or no choices has "" there; a default of "worked out" stands for none.
    """
    param = parameter.param
    if param.fact is not None:
        row = fact(param.fact)
        default, source = row.value, row.cite
        if unit == "mm" and row.column("metric"):
            default = row.column("metric")
    else:
        default = _plain(parameter.default)
        source = param.source or "common practice, no source"
    unit = " in" if Length in _kinds(parameter.type) else ""
    return {
        "name": parameter.name,
        "help": param.help,
        "default": default,
        "source": source,
        "least": f"{param.least}{unit}" if param.least else "",
        "most": f"{param.most}{unit}" if param.most else "",
        "choices": ", ".join(f'"{each}"' for each in _choices(parameter.type)),
        "only": f"{param.only[0]} = {param.only[1]}" if param.only else "",
    }


def span(row: dict[str, str]) -> str:
    """What a parameter may be, as text: its limits, or its choices, or nothing."""
    if row["least"] or row["most"]:
        return f"{row['least'] or 'any'} to {row['most'] or 'any'}"
    return f"one of {row['choices']}" if row["choices"] else ""


def _kinds(kind: Any) -> tuple[Any, ...]:
    return get_args(kind) if get_origin(kind) in (Union, UnionType) else (kind,)


def _choices(kind: Any) -> tuple[str, ...]:
    return tuple(str(each) for arm in _kinds(kind) if get_origin(arm) is Literal for each in get_args(arm))


def _plain(value: Any) -> str:
    if value is None:
        return "worked out"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def sources_section(word: str | None = None) -> Section:
    """Every fact, caution and source with the counts; with a word, the facts that mention it.

    Raises InputError when nothing mentions the word.
    """
    if word is not None:
        found = _fact_table(
            (f for f in all_facts() if _mentions(f, word)), ("key", "value", "what", "standing", "cite")
        )
        if not found.rows:
            do = "Run woodshop sources to see them all."
            raise InputError(Problem("sources", repr(word), "a word that some fact mentions", do))
        return Section("", (found,), {"facts": found.records})
    tables = {table: _fact_table(facts_in(table), tuple(_FACT), hidden=("what",)) for table in TABLES}
    counts = count_by_standing()
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


_FACT = {"key": "fact", "value": "value", "what": "what it is", "standing": "", "source": "", "locator": "",
         "trust": "trust", "cite": "source"}  # fmt: skip


def _fact_table(rows: Iterable[Fact], keys: tuple[str, ...], hidden: tuple[str, ...] = ()) -> Table:
    """Facts with those of their values that are listed, and those that are in the table's records."""
    columns = tuple(
        Column(
            heading,
            key=name if name in keys else "",
            shown=bool(heading) and name not in hidden,
        )
        for name, heading in _FACT.items()
    )
    return Table(columns, tuple(tuple(str(getattr(row, name)) for name in _FACT) for row in rows))


def _mentions(row: Any, word: str) -> bool:
    return word.lower() in f"{row.key} {row.what} {row.cite}".lower()
