"""Writes a new design file from answers to a few questions: every key with its meaning and its value or default."""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import KW_ONLY, dataclass, replace
from typing import Any

from woodshop.design.keys import DesignKey, find_key, keys_of, table_names
from woodshop.design.tables import COUNT_MOST
from woodshop.documents.answers.listings import named_item, parameter_row, span, tried
from woodshop.documents.answers.set_keys import Settings, as_toml, given_setting, read_settings, refuse_unknown, set_key
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items_named
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters
from woodshop.reference.patterns import AMERICAN, MEASURES, find_pattern, patterns
from woodshop.units.lengths import lengths_in, unit_of_lengths
from woodshop.units.wording import LengthUnit, wording_of

BEGINNER, SHOP = "beginner", "shop"
BOARD_SET = ("fondant rim", "wire bottom", "spacer strips", "packing blocks")
DEFAULT_MAKES = {BEGINNER: BOARD_SET, SHOP: (*BOARD_SET, "quilt box")}
DEFAULT_LUMBERYARD = "creekside-lumberyard.toml"
BLANK = '"..."'
RAISED = {"in": "3/8 in", "mm": "10 mm"}
"""The height of a mesh over bars that are level with the box, in each unit."""
_WIDE = 110


@dataclass(frozen=True, slots=True)
class Group:
    """A group of hives as the user described it. Lengths are text as typed, or "" if not given."""

    frames: int
    count: int
    gaps: tuple[str, ...] = ()
    _: KW_ONLY
    width: str = ""
    name: str = ""
    customer: str = ""
    pattern: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """The content of the new file.

    `kind` is "beginner" or "shop"; `makes` are names of items, or empty for the usual items.

    `taped` are the sizes of a measured pattern, as typed; the pattern is then like `pattern`, if that is given.

    `raised` is the height at which the mesh of a board lies in a rabbet over hives whose bars are level with the box,
    or "". If there are other hives too, the board has a table for each of both.

    `settings` are (table, name, value). The table is "board", the name of an item, or a table of the design, "" for the
    file itself; the value is as the user typed it.
    """

    groups: tuple[Group, ...]
    kind: str = BEGINNER
    makes: tuple[str, ...] = ()
    batch: str = ""
    title: str = ""
    unit: LengthUnit = "in"
    lumberyards: tuple[str, ...] = (DEFAULT_LUMBERYARD,)
    on_by: str = ""
    pattern: str = ""
    taped: tuple[tuple[str, str], ...] = ()
    settings: Settings = ()
    raised: str = ""


def new_design(answers: Answers, file: str) -> str:
    """The text of the design file, read and settled as a test before it is returned. `file` is its name in messages.

    Raises InputError with all problems in the answers, as found by the reader of design files.
    """
    text = _text(answers)
    tried(text, file)
    return text


def measured_design(answers: Answers, file: str) -> tuple[str, tuple[str, ...], tuple[Problem, ...]]:
    """The text of a design with a pattern from a tape, the sizes that are still to measure, and problems of the others.

    The text has everything that was entered. Raises InputError for answers that do not make a design.
    """
    text = _text(answers)
    left = [name for name, value in answers.taped if not value]
    left += ["gap"] if any(not group.gaps for group in answers.groups) else []
    lacks = {*left, *(_BODY if any(name in left for name in _BODY) else ())}
    try:
        tried(text, file)
    except InputError as why:
        before = f"{MEASURED_NAME!r}, without "
        asked = {each: set(each.given.removeprefix(before).split(", ")) for each in why.problems}
        wrong = tuple(each for each in why.problems if not (each.given.startswith(before) and asked[each] <= lacks))
        return text, tuple(left), wrong
    return text, tuple(left), ()


def _text(answers: Answers) -> str:
    """The text of the design file, not yet read as a test. Raises InputError for answers that do not make a design."""
    if not answers.groups:
        raise InputError(
            Problem("new", "no hives", "how many frames a box holds, and how many hives", "Give --frames and --count.")
        )
    if answers.on_by and not re.fullmatch(r"\d{4}-\d\d-\d\d", answers.on_by, re.ASCII):
        raise InputError(
            Problem("new, on_by", repr(answers.on_by), "a day such as 2026-11-26", "Write the year first.")
        )
    makes = [
        named_item(each)
        for name in answers.makes or DEFAULT_MAKES[answers.kind]
        for each in items_named(name) or (name,)
    ]
    refuse_unknown(answers.settings, makes)
    with lengths_in(answers.unit):
        text = "\n".join(_lines(answers, _named(answers), makes)) + "\n"
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as why:
        given = ascii(text[max(why.start - 10, 0) : why.end + 10])
        raise InputError(Problem("new", given, "text in valid UTF-8", "Type the names again.")) from None
    return text


def batch_name(stem: str, kind: str) -> str:
    """The name of a batch from the name of its file, or a default name if that is not valid."""
    return stem if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,60}", stem, re.ASCII) else f"{kind}-winter"


def _named(answers: Answers) -> tuple[Group, ...]:
    """The groups, with names if they are needed: in a shop, or if there is more than one group."""
    if answers.kind == BEGINNER and len(answers.groups) == 1:
        return answers.groups
    given = [group.name for group in answers.groups]
    named: list[Group] = []
    for group in answers.groups:
        name = group.name
        if not name:
            kind = f"{group.pattern} hives" if group.pattern else f"{group.frames}-frame hives"
            stem = " ".join(filter(None, (group.customer, kind)))
            taken = {*given, *(each.name for each in named)}
            name = next(n for n in (stem, *(f"{stem} {k}" for k in range(2, len(given) + 2))) if n not in taken)
        named.append(replace(group, name=name))
    return tuple(named)


def _lines(answers: Answers, groups: tuple[Group, ...], makes: list[Item]) -> Iterator[str]:
    lengths = "413, 412.5 mm, 41.3 cm" if _unit() == "mm" else '16 1/4, 16-1/4", 413 mm, 1 ft 4 1/4 in'
    yield from _prose(
        "A design: your hives, and what to make for them. A key with # before it is not set; its default and the "
        "source of the default are beside it. To set a key, remove the # and put your value in place of "
        f'"...". Write lengths as you say them: {lengths}. Put text in quotes.'
    )
    yield from _prose("Next, run woodshop check THIS-FILE. If it finds no errors, run woodshop plan THIS-FILE.")
    yield ""
    yield from _top(answers)
    for n, group in enumerate(groups):
        yield from _group(answers, group, first=n == 0)
    yield from _pattern(answers)
    if answers.kind == SHOP:
        yield from _order()
        yield from _order_tables()
    yield from _shed(groups, makes)
    for table, written in table_names().items():
        if written == f"[{table}]" and keys_of(table):
            yield from _table(answers, table)
    yield from _board(answers, groups)
    yield from _makes(answers, groups, makes)


def _top(answers: Answers) -> Iterator[str]:
    lumberyards = answers.lumberyards[0] if len(answers.lumberyards) == 1 else list(answers.lumberyards)
    given: dict[str, str] = {
        "format": '"woodshop-design/2"',
        "batch": as_toml(answers.batch or f"{answers.kind}-winter"),
        "title": as_toml(answers.title) if answers.title else "",
        "unit": as_toml(answers.unit),
        "lumberyard": as_toml(lumberyards),
        "on_by": answers.on_by,
    }
    for key in keys_of(""):
        if key.name not in table_names():
            yield from _key(key, given.get(key.name, "") or set_key(answers.settings, key))


MEASURED_NAME = "my own"
_TO_MEASURE = "STILL TO MEASURE"


def _pattern(answers: Answers) -> Iterator[str]:
    """The table of a measured pattern: the sizes in the order of the tape, as comments if they were not given."""
    yield ""
    yield from _prose(find_key("", "pattern").meaning)
    taped = dict(answers.taped)
    yield "[[pattern]]" if taped else "# [[pattern]]"
    if not taped:
        for key in keys_of("pattern"):
            if key.address not in table_names():
                yield from _key(key, "")
    else:
        yield f"name = {as_toml(MEASURED_NAME)}"
        if answers.pattern:
            yield f"like = {as_toml(answers.pattern)}"
        for name in MEASURES:
            if taped.get(name):
                yield f"{name} = {as_toml(taped[name])}"
            elif name in taped:
                yield from _prose(f"{_TO_MEASURE}: {MEASURES[name]}.")
                yield f"# {name} = {BLANK}"
    is_body = bool(taped.get("height") and taped.get("frame_depth"))
    yield ""
    if not is_body and any(name in taped for name in _BODY):
        blank = " and ".join(what for name, what in _BODY.items() if not taped.get(name))
        yield from _prose(f"{_TO_MEASURE}: {blank}. Then remove the # before these four lines.")
        yield from ("# [[pattern.body]]", '# name = "deep"')
        yield from (f"# {name} = {as_toml(taped[name]) if taped.get(name) else BLANK}" for name in _BODY)
        return
    yield from _prose(find_key("pattern", "body").meaning)
    yield "[[pattern.body]]" if is_body else "# [[pattern.body]]"
    for key in keys_of("pattern.body"):
        given = {"name": "deep"} | taped if is_body else {}
        yield from _key(key, as_toml(given[key.name]) if given else "")


def _group(answers: Answers, group: Group, first: bool) -> Iterator[str]:
    yield from ("", "[[hives]]")
    gaps = group.gaps[0] if len(group.gaps) == 1 else list(group.gaps)
    pattern = MEASURED_NAME if answers.taped else group.pattern or answers.pattern
    given = {
        "name": as_toml(group.name) if group.name else "",
        "customer": as_toml(group.customer) if group.customer else "",
        "pattern": as_toml(pattern) if pattern else "",
        "frames": str(group.frames),
        "count": str(group.count),
        "gap": as_toml(gaps) if group.gaps else "",
        "width": as_toml(group.width) if group.width else "",
    }
    given |= {key.name: set_key(answers.settings, key) for key in keys_of("hives")
              if key.name not in given and key.address not in table_names()}  # fmt: skip
    names = dict.fromkeys((*given, *(key.name for key in keys_of("hives") if key.address not in table_names())))
    for name in names:
        if first or given.get(name):  # the first group's explanations of the other keys apply to all groups
            key = find_key("hives", name)
            default = key.default(pattern, group.frames, _unit())
            if name == "gap" and answers.taped and not group.gaps:
                yield from _prose(f"{_TO_MEASURE}.")
            yield from _key(_for_pattern(key, pattern), given.get(name, ""), default, said=not first)


def _array(table: str) -> Iterator[str]:
    """The keys of an array of tables inside a table, as comments."""
    yield ""
    yield from _prose(find_key(*table.split(".")).meaning)
    yield f"# [[{table}]]"
    for key in keys_of(table):
        yield from _key(key, "")


def _order() -> Iterator[str]:
    yield ""
    yield from _prose(
        "A customer's order is one more group of hives. It gets every item made below. To make an item for some hives "
        "only, name those hives in a [[make]] of their own. If you have many orders, put them in a spreadsheet: see "
        "orders above."
    )
    yield from ("# [[hives]]", '# name = "order 1"', '# customer = "name of the customer"', "# frames = 10")
    yield "# count = 20"


def _order_tables() -> Iterator[str]:
    """The tables of a design with orders (boxes, item sets, order lines), written as comments."""
    shown = {key.name for key in keys_of("hives")}
    for table in ("box", "set", "order"):
        yield ""
        yield from _prose(find_key("", table).meaning)
        yield f"# [[{table}]]"
        for key in sorted(keys_of(table), key=lambda key: key.name != "name"):
            if key.address not in table_names():
                yield from _key(key, "", said=table == "box" and key.name in shown - {"name"})
    yield from (*_array("box.body"), *_array("hives.body"))


def _shed(groups: tuple[Group, ...], makes: list[Item]) -> Iterator[str]:
    each = [item for item in makes if item.is_per_hive]
    if not each:
        return
    yield ""
    yield from _prose("Good hardware you already have. Write one table for each item and group of hives.")
    yield "# [[shed]]"
    name = groups[0].name or find_key("hives", "name").example.strip('"')
    for key, value in (("item", as_toml(each[0].name)), ("hives", as_toml(name)), ("have", "1"), ("repair", "0")):
        yield from _key(find_key("shed", key), "", (value, ""), quoted=True)


def _table(answers: Answers, table: str) -> Iterator[str]:
    yield ""
    yield from _prose(find_key("", table).meaning)
    yield f"[{table}]"
    for key in keys_of(table):
        if key.address not in table_names():
            yield from _key(key, set_key(answers.settings, key))
    for inside, written in table_names().items():
        if inside.startswith(f"{table}."):
            yield ""
            yield from _prose(find_key(*inside.split(".")).meaning)
            yield f"# {written}"
            for key in keys_of(inside):
                yield from _key(key, "")


def _low_groups(answers: Answers, groups: tuple[Group, ...]) -> tuple[Group, ...]:
    """The groups whose board has a raised mesh."""
    if not answers.raised:
        return ()
    return tuple(
        each for each in groups if find_pattern(each.pattern or answers.pattern or AMERICAN).bee_space == "bottom"
    )


def _board(answers: Answers, groups: tuple[Group, ...]) -> Iterator[str]:
    yield ""
    yield from _prose("Settings of the fondant board. Its rim, wire bottom, strips and blocks share them.")
    yield "[board]"
    low = _low_groups(answers, groups)
    own = _raised(answers) if low and len(low) == len(groups) else {}
    for parameter in fields_as_parameters(BoardSettings):
        given = given_setting(answers.settings, "board", parameter) or own.get(parameter.name, "")
        yield from _setting(parameter, given, answers.unit)


def _raised(answers: Answers) -> dict[str, str]:
    """The settings of a board with a raised mesh, as written in the file."""
    return {"mounting": as_toml("flush rabbet"), "rabbet_height": as_toml(answers.raised)}


def _makes(answers: Answers, groups: tuple[Group, ...], makes: list[Item]) -> Iterator[str]:
    low = _low_groups(answers, groups)
    others = [group.name for group in groups if group not in low]
    if low and others:
        yield ""
        yield from _prose("A raised mesh leaves the bees their space over bars that are level with the box.")
        for item in [each for each in makes if each.board_part is not None]:
            yield from ("", "[[make]]", f"item = {as_toml(item.name)}")
            yield f"hives = {as_toml([group.name for group in low])}"
            yield from (f"{name} = {value}" for name, value in _raised(answers).items())
    names = [group.name for group in groups if group.name]
    for n, item in enumerate(makes):
        yield ""
        yield from _prose(wording_of(answers.unit).said(f"{item.title}: {item.summary}"))
        yield "[[make]]"
        yield from _key(find_key("make", "item"), as_toml(item.name), said=n > 0)
        if low and others and item.board_part is not None:
            yield from _key(find_key("make", "hives"), as_toml(others), said=n > 0)
        elif names and item.is_per_hive:
            yield from _key(find_key("make", "hives"), "", (as_toml(names), ""), said=n > 0, quoted=True)
        yield from _key(find_key("make", "spare"), "", ("0", ""), said=n > 0, quoted=True)
        if item.place is not None and item.place.walls:
            yield from _key(find_key("make", "wood"), "", said=n > 0)
        for parameter in item.parameters:
            yield from _setting(parameter, given_setting(answers.settings, item.name, parameter), answers.unit)


def _key(
    key: DesignKey, given: str, default: tuple[str, str] | None = None, *, said: bool = False, quoted: bool = False
) -> Iterator[str]:
    """The lines for a key: its meaning, then the key with its given value or, in a comment, with its default."""
    value, source = key.default(unit=_unit()) if default is None else default
    key = key.in_unit(_unit())
    if not said:
        taken = key.otherwise or (f"Left out: {value}." if source else "")
        from_where = "" if not source else f"[{value}: {source}]" if key.otherwise else f"[{source}]"
        yield from _prose(" ".join(filter(None, (key.meaning, taken, from_where))))
    if given:
        yield f"{key.name} = {given}"
        return
    shown = value if quoted else key.example or (as_toml(value) if value else BLANK)
    yield f"# {key.name} = {shown}"


def _unit() -> LengthUnit:
    """The unit of the file that is being written."""
    return "mm" if unit_of_lengths() == "mm" else "in"


def _for_pattern(key: DesignKey, pattern: str) -> DesignKey:
    """The key with an example that these hives can have: a pattern with brood boxes has no deep ones."""
    bodies = next((each.bodies for each in patterns() if each.name == pattern), ())
    if not bodies or "deep" in bodies or key.name not in ("height", "boxes"):
        return key
    both = json.dumps(list(bodies[:2]))
    return replace(key, example=both if key.name == "boxes" else as_toml(bodies[0]))


def _setting(parameter: Parameter, given: str, unit: LengthUnit) -> Iterator[str]:
    row = parameter_row(parameter, unit)
    only = f"Used only if {row['only']}." if row["only"] else ""
    words = (f"{row['help'][:1].upper()}{row['help'][1:]}", span(row))
    default = f"Left out: {row['default']}." if given else ""
    said = (f"{'; '.join(filter(None, words))}.", only, default, f"[{row['source']}]")
    yield from _prose(" ".join(filter(None, said)))
    yield f"{row['name']} = {given}" if given else f"# {row['name']} = {_literal(parameter, row['default'])}"


def _literal(parameter: Parameter, default: str) -> str:
    """The default as written in the file, or a blank to fill in if the default is calculated."""
    if parameter.param.fact is not None:
        return default if parameter.type is int else as_toml(default)
    if parameter.default is None:
        return BLANK
    return as_toml(parameter.default if isinstance(parameter.default, bool | int | str) else default)


def _prose(text: str) -> Iterable[str]:
    """The text as wrapped comment lines."""
    lines, line = [], "#"
    for word in text.split():
        if len(line) + 1 + len(word) > _WIDE and line != "#":
            lines.append(line)
            line = "#"
        line += f" {word}"
    return [*lines, line]


_MEASURED = ("gap", "width")


def questions(kind: str, unit: str = "in") -> tuple[tuple[str, str], ...]:
    """The three questions, each with the flag that answers it. A shop can answer for several groups of hives."""
    such = "7" if unit == "mm" else "1/4"
    several = ", for each kind of hive, separated by ;" if kind == SHOP else ""
    not_yet = "nothing: not measured yet" if kind == SHOP else "Enter: not measured yet"
    return (
        ("frames", f"How many frames does a box hold{several}"),
        ("count", f"How many hives are there{several}"),
        ("gap", f"How far below the box's top edge are the top bars, such as {such}{several} ({not_yet})"),
    )


def measures(pattern: str) -> tuple[tuple[str, str], ...]:
    """The sizes to ask for, each with its question, in the order of the tape: those that `pattern` does not have."""
    known = {each.name: each for each in patterns()}.get(pattern)
    if known is None:
        return tuple((name, _question(what)) for name, what in (*MEASURES.items(), *_BODY.items()))
    missing = known.missing
    first = known.bodies[0]
    bodies = {name: what for name, what in _BODY.items() if known.size(f"{name}_{first}") is None}
    bodies = dict(_BODY) if bodies else {}
    return tuple((name, _question(what)) for name, what in (*MEASURES.items(), *bodies.items())
                 if name in missing or name in bodies)  # fmt: skip


def _question(what: str) -> str:
    return f"{what[:1].upper()}{what[1:]}"


_BODY = {
    "height": "height of the box",
    "frame_depth": "from the top of the frame's top bar to its lower edge",
}


def as_answers(kind: str, stem: str, given: dict[str, Any], taped: dict[str, str] | None = None) -> Answers:
    """The answers as values. `kind` and `stem` are as in `batch_name`; `given` holds the flags, `taped` the sizes of a
    measured pattern as typed.

    A flag about groups takes one value per group. A single customer or pattern applies to every group; a single
    measurement does not. Gaps are separated by commas. Raises InputError with every problem.
    """
    found: list[Problem] = []
    frames = _numbers("frames", given["frames"], found)
    counts = _numbers("count", given["count"], found)
    for flag, numbers in (("frames", frames), ("count", counts)):
        if not numbers and not any(problem.where.endswith(flag) for problem in found):
            what = "how many frames a box holds" if flag == "frames" else "how many hives there are"
            found.append(Problem(f"new, {flag}", "nothing", what, f"Give --{flag}, as in: --frames 10 --count 6."))
    groups = max(len(frames), len(counts))
    columns = {name: _each(name, given[name], groups, found) for name in ("gap", "width", "name", "customer")}
    patterns_given = tuple(given["pattern"] or ())
    of_group = _each("pattern", patterns_given, groups, found)
    if taped and len(patterns_given) > 1:
        found.append(Problem("new, pattern", "several", "one, which --measure completes", "Give one pattern."))
    is_read = not any(problem.where in ("new, frames", "new, count") for problem in found)
    if is_read and (len(frames) not in (0, 1, groups) or len(counts) not in (0, 1, groups)):
        wanted = "one of each for every group of hives, or one for all"
        found.append(Problem("new", f"{len(frames)} frames and {len(counts)} counts", wanted, "Give as many of both."))
    if is_read and len(counts) == 1 and len(frames) > 1:
        found.append(Problem("new, count", "one count for several groups", "a count for each", "Give --count again."))
    settings = read_settings(given["set"], found)
    if found:
        raise InputError(*found)
    return Answers(
        groups=tuple(
            Group(
                frames[n if len(frames) > 1 else 0],
                counts[n if len(counts) > 1 else 0],
                tuple(text.strip() for text in columns["gap"][n].split(",") if text.strip()),
                width=columns["width"][n],
                name=columns["name"][n],
                customer=columns["customer"][n],
                pattern=of_group[n] if len(patterns_given) > 1 else "",
            )
            for n in range(groups)
        ),
        kind=kind,
        makes=tuple(given["make"]),
        batch=given["batch"] or batch_name(stem, kind),
        title=given["title"] or "",
        unit=given["unit"] or "in",
        lumberyards=tuple(given["lumberyard"]) or (DEFAULT_LUMBERYARD,),
        on_by=given["on_by"] or "",
        pattern=patterns_given[0] if len(patterns_given) == 1 else "",
        taped=tuple((taped or {}).items()),
        settings=settings,
        raised=given.get("raised", ""),
    )


def _numbers(flag: str, given: tuple[Any, ...], found: list[Problem]) -> list[int]:
    numbers = []
    for each in given:
        text = str(each).strip()
        if not text:
            continue
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= COUNT_MOST and len(text) <= 9):
            found.append(Problem(f"new, {flag}", repr(text), "a whole number of 1 or more", "Give a whole number."))
        else:
            numbers.append(int(text))
    return numbers


def _each(flag: str, given: tuple[str, ...], groups: int, found: list[Problem]) -> list[str]:
    """One value for each group: the given values, one customer or pattern for all groups, or none.

    A measurement never applies to more than one group.
    """
    texts = [each.strip() for each in given]
    if len(texts) == groups:
        return texts
    if len(texts) == 1 and flag not in ("name", *_MEASURED):
        return texts * groups
    if any(texts) or len(texts) > 1:
        said = f"{len(texts)} for {groups} group{'s' if groups != 1 else ''} of hives"
        do = f"Repeat --{flag} as often as --count"
        do += f', --{flag} "" for hives not measured yet.' if flag in _MEASURED else "."
        found.append(Problem(f"new, {flag}", said, "one for each group", do))
    return [""] * groups
