"""What the commands list: items with their settings, findings, facts with their sources; plain values for JSON."""

from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from woodshop.errors import InputError, Problem
from woodshop.findings import Report
from woodshop.hardware.board import Board
from woodshop.hardware.catalogue import items
from woodshop.hardware.item_names import near_item
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters
from woodshop.reference.facts import all_facts, fact
from woodshop.reference.listing import listing_lines, sources_listing
from woodshop.units.lengths import Length


def items_listing() -> list[dict[str, Any]]:
    """Every item: its name, title, what it is needed for each of, and its first sentence."""
    return [{"name": each.name, "title": each.title, "per": each.per, "summary": each.summary} for each in items()]


def named_item(name: str) -> Item:
    """The item of that name. Raises InputError for an unknown name, with a near one."""
    known = {each.name: each for each in items()}
    if name not in known:
        raise InputError(Problem("items", repr(name), "one of " + ", ".join(known), near_item(name, known)))
    return known[name]


def item_listing(name: str) -> dict[str, Any]:
    """One item with all that can be set of it. Raises InputError for an unknown name, with a near one."""
    one = named_item(name)
    return {
        "name": one.name,
        "title": one.title,
        "per": one.per,
        "summary": one.summary,
        "picture": one.picture,
        "parameters": [parameter_row(p) for p in one.parameters],
        "board": [parameter_row(p) for p in fields_as_parameters(Board)],
    }


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


def findings_json(report: Report) -> dict[str, Any]:
    """The report as plain values."""
    return {"findings": [finding.to_json() for finding in report.findings]}


def sources_told(word: str | None) -> dict[str, Any]:
    """Every fact, caution and source with the counts; with a word, only the facts that mention it."""
    if word is None:
        return sources_listing()
    return {
        "facts": [
            {"key": f.key, "value": f.value, "what": f.what, "standing": f.standing, "cite": f.cite}
            for f in all_facts()
            if _mentions(f, word)
        ]
    }


def sources_lines(word: str | None) -> tuple[str, ...]:
    """The same as lines of text. Raises InputError when nothing mentions the word."""
    if word is None:
        return listing_lines()
    lines = tuple(f"{f.key} = {f.value}  {f.what} [{f.trust}] {f.cite}" for f in all_facts() if _mentions(f, word))
    if not lines:
        raise InputError(
            Problem("sources", repr(word), "a word that some fact mentions", "Run woodshop sources to see them all.")
        )
    return lines


def _mentions(row: Any, word: str) -> bool:
    return word.lower() in f"{row.key} {row.what} {row.cite}".lower()
