"""The guide: Markdown topics in the package, with lists filled in from the program."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from woodshop.design.keys import DesignKey, keys_of, table_names
from woodshop.design.settings.times import ALL_BY_KEY
from woodshop.design.tables import BoxKeys
from woodshop.documents.answers.listings import parameter_row, span
from woodshop.documents.answers.set_keys import as_toml
from woodshop.documents.fullsize.drawings import MEANINGS
from woodshop.documents.report.report import FINDINGS, NOT_CHECKED
from woodshop.drawing.pens.dxf import LAYERS
from woodshop.drawing.values.model import Column, Paragraph, Section, Table, Verbatim
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import fields_as_parameters
from woodshop.records.kinds import FIELDS, KINDS
from woodshop.reference.cautions import cautions, defer
from woodshop.reference.cautions import topics as caution_topics
from woodshop.reference.materials import sheet_kinds, size_example

_LENGTHS = "Lengths may be in inches or millimeters in every file: 16 1/4 in, 413 mm. Most examples are in inches."
_COLORS = {1: "red", 3: "green", 4: "cyan", 5: "blue", 6: "magenta", 8: "gray"}


@dataclass(frozen=True, slots=True)
class Topic:
    """A topic of the guide: its word, its title, a one-line summary, and its complete Markdown."""

    name: str
    title: str
    summary: str
    markdown: str


def guide_section(topic: str | None, commands: Mapping[str, str]) -> Section:
    """The topic's Markdown, or every topic with its summary.

    `commands` are the program's commands with their summaries. Raises InputError, which suggests a similar
    topic, if `topic` is unknown.
    """
    known = {each.name: each for each in topics()}
    if topic is None:
        columns = (Column("topic", key="topic"), Column("what it covers", key="summary"))
        table = Table(columns, tuple((each.name, each.summary) for each in known.values()))
        return Section(
            "", (table, Paragraph(_LENGTHS), Paragraph("Read one: woodshop guide TOPIC")), {"topics": table.records}
        )
    if topic not in known:
        do = did_you_mean(topic.lower(), known, "See: woodshop guide.")
        raise InputError(Problem("guide", repr(topic), "one of " + ", ".join(known), do))
    one = known[topic]
    text = one.markdown
    for mark, written in (_LISTS | {"commands": lambda: _table(("command", "what it does"), commands.items())}).items():
        if f"<!-- {mark} -->" in text:
            text = text.replace(f"<!-- {mark} -->", "\n".join(written()))
    data = {"topic": one.name, "title": one.title, "summary": one.summary, "markdown": text}
    return Section("", (Verbatim(text),), data)


@cache
def topics() -> tuple[Topic, ...]:
    """Every topic, in the order of the file names."""
    folder = resources.files("woodshop") / "guide"
    files = sorted((each for each in folder.iterdir() if each.name.endswith(".md")), key=lambda each: each.name)
    found = []
    for file in files:
        text = file.read_text(encoding="utf-8")
        title, _, summary = text.splitlines()[:3]
        found.append(Topic(file.name[3:-3], title.removeprefix("# "), summary, text))
    return tuple(found)


def _table(heads: tuple[str, ...], rows: Iterable[Iterable[str]]) -> Iterator[str]:
    yield f"| {' | '.join(heads)} |"
    yield f"|{' --- |' * len(heads)}"
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in row)} |"


def _design_keys() -> Iterator[str]:
    for table, written in table_names().items():
        if table not in ("order", "box.body"):  # the keys of a box in orders are those of [[hives]]
            yield f"### {written if table else 'At the head of the file'}\n"
            known = keys_of(table)
            if table == "box":
                yield "The keys of `[[hives]]` that describe boxes and frames, and:\n"
                known = tuple(k for k in known if k.name not in BoxKeys.model_fields or k.address in table_names())
            yield from map(_key, known)
            yield ""


def _key(key: DesignKey) -> str:
    value, source = key.default(frames=10)
    left_out = f"Left out: {value} ({source})." if value else key.otherwise
    text = " ".join(filter(None, (key.meaning, left_out)))
    if key.address in table_names():
        return f"- `{key.kind.partition(',')[0]}`: {text}"
    example = key.example or (as_toml(value) if value else "")
    return f"- `{key.name} = {example}`: {text}" if example else f"- `{key.name}`, {key.kind}: {text}"


def _board_settings() -> Iterator[str]:
    for row in (parameter_row(each) for each in fields_as_parameters(BoardSettings)):
        may = f"; {span(row)}" if span(row) else ""
        yield f"- `{row['name']}`: {row['help']}{may}. Left out: {row['default']} ({row['source']})."


def _order_columns() -> Iterator[str]:
    rows = ((f"`{key.name}`", f"{key.meaning} {key.otherwise}", f"`{key.example}`") for key in keys_of("order"))
    return _table(("heading", "what it holds", "example"), rows)


def _minutes() -> Iterator[str]:
    tables = {"time": "[times]", "setup": "[setup]"}
    rows = ((tables[table], f"`{key}`", each.name, each.one, f"{float(each.minutes):g}")
            for (table, key), each in ALL_BY_KEY.items())  # fmt: skip
    return _table(("table", "key", "what", "minutes for each", "minutes"), rows)


def _layers() -> Iterator[str]:
    rows = (
        (f"`{name}`", f"{color} ({_COLORS[color]})", MEANINGS.get(task, "blind cut, as deep as its name says"))
        for task, (name, color) in LAYERS.items()
    )
    return _table(("layer", "color", "what"), rows)


def _event_kinds() -> Iterator[str]:
    rows = (
        (kind.name, kind.meaning, ", ".join((*(f"**{name}**" for name in kind.required), *kind.optional)))
        for kind in KINDS.values()
    )
    return _table(("event", "what happened", "fields"), rows)


def _event_fields() -> Iterator[str]:
    rows = ((f"`{field.name}`", field.type.value, field.meaning) for field in FIELDS.values())
    return _table(("field", "type", "what it holds"), rows)


def _cautions() -> Iterator[str]:
    for topic in caution_topics():
        yield f"## {topic[:1].upper()}{topic[1:]}\n"
        yield from (f"- {row.text}" for row in cautions(topic))
        yield f"\n{defer(topic)}\n"


_LISTS: dict[str, Callable[[], Iterator[str]]] = {
    "items": lambda: _table(("item", "what it is"), ((f"`{each.name}`", each.summary) for each in items())),
    "design keys": _design_keys,
    "board settings": _board_settings,
    "order columns": _order_columns,
    "minutes": _minutes,
    "layers": _layers,
    "sheets": lambda: _table(("key", "its value"), ((f"`{kind}`", size_example(kind)) for kind in sheet_kinds())),
    "findings": lambda: (f"- **{code}**: {text}" for code, (text, _) in FINDINGS.items()),
    "not checked": lambda: (f"- {text}" for text in NOT_CHECKED),
    "cautions": _cautions,
    "event kinds": _event_kinds,
    "event fields": _event_fields,
}
