"""What the commands list: items with their settings, findings, facts with their sources; plain values for JSON."""

from difflib import get_close_matches
from typing import Any

from woodshop.errors import InputError, Problem
from woodshop.findings import Report
from woodshop.hardware.board import Board
from woodshop.hardware.registry import Parameter, fields_as_parameters, find_item, items
from woodshop.reference.facts import all_facts, fact
from woodshop.reference.listing import listing_lines, sources_listing


def items_listing() -> list[dict[str, Any]]:
    """Every item: its name, title, what it is needed for each of, and its first sentence."""
    return [{"name": each.name, "title": each.title, "per": each.per, "summary": each.summary} for each in items()]


def item_listing(name: str) -> dict[str, Any]:
    """One item with all that can be set of it. Raises InputError for an unknown name, with a near one."""
    known = [each.name for each in items()]
    if name not in known:
        near = get_close_matches(name, known, n=1)
        do = f"Did you mean {near[0]!r}?" if near else "Choose one of them."
        raise InputError(Problem("items", repr(name), "one of " + ", ".join(known), do))
    one = find_item(name)
    return {
        "name": one.name,
        "title": one.title,
        "per": one.per,
        "summary": one.summary,
        "picture": one.picture,
        "parameters": [_row(p) for p in one.parameters],
        "board": [_row(p) for p in fields_as_parameters(Board)],
    }


def _row(parameter: Parameter) -> dict[str, str]:
    param = parameter.param
    if param.fact is not None:
        row = fact(param.fact)
        default, source = row.value, row.cite
    else:
        default = _plain(parameter.default)
        source = param.source or "common practice, no source"
    return {
        "name": parameter.name,
        "help": param.help,
        "default": default,
        "source": source,
        "least": param.least or "",
        "most": param.most or "",
    }


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
