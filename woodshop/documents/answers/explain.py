"""The meaning of a word: a setting, an item, a finding, a fact, a caution, or a term of the glossary."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches

from woodshop.design.keys import design_keys, table_names
from woodshop.design.tables import BoxKeys
from woodshop.documents.answers.file_keys import file_keys
from woodshop.documents.answers.listings import parameter_row, span
from woodshop.documents.report.report import FINDINGS
from woodshop.drawing.values.model import Align, Block, Column, Data, Heading, KeyValues, Paragraph, Section, Table
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters
from woodshop.reference.cautions import cautions, defer, topics
from woodshop.reference.facts import Fact, all_facts, fact, group, read_table
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit, wording_of


@dataclass(frozen=True, slots=True)
class Term:
    """A trade term: its meaning, and its synonyms and spellings."""

    name: str
    text: str
    also: tuple[str, ...] = ()


TERMS = tuple(Term(each["name"], each["text"], tuple(each.get("also", ()))) for each in read_table("terms")["term"])


def purpose_of(item: Item) -> str:
    """What an item is for: its entry in the glossary, or else what it is."""
    found = [term.text for term in TERMS if item.name in (term.name, *term.also)]
    return found[0] if found else item.summary


KINDS = ("item", "setting", "key", "finding", "fact", "caution", "term")
GROUPS = {f"{kind}s": kind for kind in KINDS}


@dataclass(frozen=True, slots=True)
class Meaning:
    """One meaning of a word. `kind` is one of KINDS, `details` are named texts, and `facts` are related facts."""

    kind: str
    name: str
    text: str
    details: dict[str, str]
    facts: tuple[Fact, ...] = ()


def word_section(word: str, unit: LengthUnit = "in") -> Section:
    """Every meaning of the word, with sizes in `unit`; what a source says keeps its own, with `unit` beside.

    A setting is found by its name, alone or after "board." or the name of its item. Case, "_" and "-" do not matter.
    The key of a fact also finds the rows below it. Raises InputError, with similar words, if there is no meaning.
    """
    wanted = _plain(word)
    found = [meaning for names, meaning in _meanings(unit) if wanted in names]
    if wanted and all(meaning.kind == "fact" for meaning in found):
        named = {meaning.name for meaning in found}
        found += [_of_fact(row, unit) for row in group(word.strip().lower()) if row.key not in named]
    if not found:
        raise InputError(Problem("explain", repr(word), "a known word", _hint(wanted)))
    columns = (
        Column("fact", key="key"),
        Column("value", key="value"),
        Column("what it is", key="what"),
        Column("source", key="cite"),
    )
    blocks: list[Block] = []
    meanings: list[Data] = []
    for each in found:
        rows = Table(columns, tuple((row.key, *_said(row, unit)) for row in each.facts))
        blocks += [Heading(f"{each.name} ({each.kind})", 3), Paragraph(each.text)]
        blocks += [KeyValues(tuple(each.details.items()))] if each.details else []
        blocks += [rows] if each.facts else []
        own = {"kind": each.kind, "name": each.name, "text": each.text}
        meanings.append({**own, "details": each.details, "facts": rows.records})
    return Section("", tuple(blocks), {"word": word, "meanings": meanings})


def words_section(group: str | None = None) -> Section:
    """Every group of words that can be explained, with the number of words; or the words of one `group` in GROUPS."""
    listed: dict[str, list[str]] = {kind: [] for kind in KINDS}
    for _, meaning in _meanings():
        listed[meaning.kind].append(meaning.name)
    if group is not None:
        names = listed[GROUPS[group]]
        by_table: dict[str, list[str]] = {}
        for name in names:
            by_table.setdefault(name.partition(".")[0] if "." in name else "", []).append(name)
        lines = tuple((table, ", ".join(each)) for table, each in by_table.items())
        block = KeyValues(lines) if len(lines) > 1 else Paragraph(", ".join(names))
        return Section("", (block,), {GROUPS[group]: names})
    columns = (Column("group"), Column("words", Align.RIGHT), Column("for example"))
    rows = tuple((group, str(len(listed[kind])), ", ".join(listed[kind][:3])) for group, kind in GROUPS.items())
    how = "List a group: woodshop explain GROUP. Ask about a word: woodshop explain WORD."
    return Section("", (Table(columns, rows), Paragraph(how)), listed)


def _plain(word: str) -> str:
    return re.sub(r"[\s_-]+", " ", word.strip().lower())


def _hint(wanted: str) -> str:
    known: dict[str, str] = {}
    for names, meaning in _meanings():
        known |= dict.fromkeys(names, meaning.name)
    close = list(dict.fromkeys(known[name] for name in get_close_matches(wanted, known, n=3)))
    if close:
        return f"Did you mean {' or '.join(map(repr, close))}?"
    return "woodshop explain lists all words; woodshop sources WORD lists facts that mention a word."


def _meanings(unit: LengthUnit = "in") -> Iterator[tuple[set[str], Meaning]]:
    """Every meaning, with the words for it."""
    wording = wording_of(unit)
    for item in items():
        words = {"needed for": "each hive" if item.is_per_hive else f"each of {item.per}"}
        text = wording.said(f"{item.title}. {item.summary}")
        yield {_plain(item.name), _plain(item.title)}, Meaning("item", item.name, text, words)
    for parameter in fields_as_parameters(BoardSettings):
        yield _setting("board", parameter, unit)
    for item in items():
        for parameter in item.parameters:
            yield _setting(item.name, parameter, unit)
    for key in (each.in_unit(unit) for each in design_keys()):
        details = {"stands in": table_names()[key.table], "value": key.kind}
        details |= {"example": f"{key.name} = {key.example}"} if key.example else {}
        text = " ".join(filter(None, (key.meaning, key.otherwise)))
        is_of_hives = key.table == "box" and key.name in BoxKeys.model_fields  # listed once, for [[hives]]
        names = {_plain(key.address)} if is_of_hives else {_plain(key.address), _plain(key.name)}
        yield names, Meaning("key", key.address, text, details, tuple(fact(row) for row in key.rows))
    for each in file_keys():
        key = each.key.in_unit(unit)
        details = {"stands in": each.stands_in, "value": key.kind}
        details |= {"example": f"{key.name} = {key.example}"} if key.example else {}
        text = " ".join(filter(None, (key.meaning, key.otherwise)))
        yield set(map(_plain, each.names)), Meaning("key", each.address, text, details, tuple(map(fact, key.rows)))
    for code, (text, keys) in FINDINGS.items():
        rows = tuple(row for prefix in keys for row in group(prefix))
        yield {_plain(code)}, Meaning("finding", code, wording.said(text), {}, rows)
    for row in all_facts():
        yield {_plain(row.key)}, _of_fact(row, unit)
    for topic in topics():
        with lengths_in(unit):
            rows_of = cautions(topic)
        text = " ".join(row.text for row in rows_of)
        cites = "; ".join(dict.fromkeys(row.cite for row in rows_of))
        yield {_plain(topic)}, Meaning("caution", topic, text, {"before it": defer(topic), "after": cites})
    for term in TERMS:
        yield (
            {_plain(name) for name in (term.name, *term.also)},
            Meaning("term", term.name, wording.said(term.text), {"also": ", ".join(term.also)} if term.also else {}),
        )


def _setting(table: str, parameter: Parameter, unit: LengthUnit) -> tuple[set[str], Meaning]:
    row = parameter_row(parameter, unit)
    details = {"default": row["default"], "source": row["source"]}
    details |= {"allowed": span(row)} if span(row) else {}
    details |= {"matters where": row["only"]} if row["only"] else {}
    details["stands in"] = (
        "[board], for all parts of the board" if table == "board" else f'[[make]] with item = "{table}"'
    )
    name = f"{table}.{parameter.name}"
    names = {_plain(name), _plain(parameter.name), _plain(f"{table} {parameter.name}")}
    return names, Meaning("setting", name, f"{row['help'][:1].upper()}{row['help'][1:]}.", details)


def _of_fact(row: Fact, unit: LengthUnit) -> Meaning:
    value, what, cite = _said(row, unit)
    details = {"value": value, "source": cite, "origin": row.origin}
    more = {name: wording_of(unit).quoted(text) for name, text in row.more if (name, unit) != ("metric", "mm")}
    return Meaning("fact", row.key, what, details | more)


def _said(row: Fact, unit: LengthUnit) -> tuple[str, str, str]:
    """The value, the meaning and the source of a fact in `unit`; a published value keeps its own beside it."""
    wording = wording_of(unit)
    value = wording.said(row.value_in(unit)) if row.is_own else wording.quoted(row.value)
    return value, (wording.said if row.is_own else wording.quoted)(row.what), wording.quoted(row.cite)
