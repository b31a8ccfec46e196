"""Changes one value or one table in the text of a TOML file. Every other byte of the text stays as it is.

A place in the text is a path of keys and positions: `("hives", 0, "gap")` is the gap of the first [[hives]] table.
"""

import re
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from woodshop.design.schema import path_text, toml_tables
from woodshop.errors import InputError, Problem

Place = tuple[str | int, ...]


def value_at(tables: Any, place: Place) -> Any:
    """The value at `place` in plain tables, or None if there is none."""
    for step in place:
        try:
            tables = tables[step]
        except (KeyError, IndexError, TypeError):
            return None
    return tables


def set_value(text: str, place: Place, value: Any) -> str:
    """The text with `value` at `place`. A table that is not there yet is added at the end of the text.

    `value` is text, a whole number, true or false, a date, or a list or table of these. The position after the last one
    of an array adds a value to it. Raises InputError if the text is not TOML, or if it has no such place.
    """

    def put(tables: Any) -> None:
        holder = tables
        for step, following in pairwise(place):
            if isinstance(holder, dict):
                holder = holder.setdefault(step, [] if isinstance(following, int) else {})
            else:
                holder = holder[step]
        _put(holder, place[-1], value)

    if _is_same(value_at(toml_tables(text, "the text"), place), value):
        return text
    return _changed(text, place, put, lambda blocks: _set(blocks, place, value))


def remove_value(text: str, place: Place) -> str:
    """The text without the value at `place`, or the same text if there is none. Raises InputError as `set_value`."""
    if value_at(toml_tables(text, "the text"), place) is None:
        return text

    def take(tables: Any) -> None:
        del value_at(tables, place[:-1])[place[-1]]

    return _changed(text, place, take, lambda blocks: _removed(blocks, place))


def add_table(text: str, array: Place, values: dict[str, Any]) -> str:
    """The text with one more table, holding `values`, after the last one of an array such as [[hives]].

    Raises InputError as `set_value`.
    """
    held = value_at(toml_tables(text, "the text"), array)
    count = len(held) if isinstance(held, list) else 0

    def put(tables: Any) -> None:
        for step in array[:-1]:
            tables = tables.setdefault(step, {}) if isinstance(tables, dict) else tables[step]
        tables.setdefault(array[-1], []).append(deepcopy(values))

    return _changed(text, (*array, count), put, lambda blocks: _added(blocks, array, values, count))


def copy_table(text: str, place: Place) -> str:
    """The text with the table of an array at `place` copied, comments included, to the position after it.

    Raises InputError as `set_value`.
    """

    def put(tables: Any) -> None:
        array = value_at(tables, place[:-1])
        array.insert(int(place[-1]) + 1, deepcopy(array[place[-1]]))

    return _changed(text, place, put, lambda blocks: _copied(blocks, place))


def remove_table(text: str, place: Place) -> str:
    """The text without the table of an array at `place`, and without the comments in it.

    Comments right above it go too, unless it is the first of its array: those may be about all of them. Raises
    InputError as `set_value`.
    """

    def take(tables: Any) -> None:
        array = value_at(tables, place[:-1])
        del array[place[-1]]
        if not array:
            del value_at(tables, place[:-2])[place[-2]]

    return _changed(text, place, take, lambda blocks: _without(blocks, place))


def _put(holder: Any, key: Any, value: Any) -> None:
    if isinstance(holder, list) and key == len(holder):
        holder.append(value)
    else:
        holder[key] = value


def _is_same(held: Any, value: Any) -> bool:
    return type(held) is type(value) and held == value


def _changed(
    text: str, place: Place, put: Callable[[Any], None], change: Callable[[list["_Block"]], list["_Block"]]
) -> str:
    """The changed text, compared with the same change of its values: a text with any other difference is refused."""
    wanted = toml_tables(text, "the text")
    try:
        put(wanted)
        changed = "".join(each.text for each in change(list(_blocks(text))))
        if "\r\n" in text and not re.search(r"(?<!\r)\n", text):
            changed = re.sub(r"(?<!\r)\n", "\r\n", changed)
        made = toml_tables(changed, "the text")
    except (TOMLKitError, LookupError, TypeError, AttributeError, RecursionError, ValueError) as why:
        raise InputError(_no_place(place)) from why
    if made != wanted:
        raise InputError(_no_place(place))
    return changed


def _no_place(place: Place) -> Problem:
    do = "Change this line in the file itself, with a text editor."
    return Problem(path_text(place), "a place that cannot be changed here", "a key or table of the file", do)


@dataclass(frozen=True, slots=True)
class _Block:
    """A header such as [[hives]] with its keys; the first block of a text has no header.

    `tail` is what follows the last key and its comments: blank lines, and comments about the next header.
    """

    place: Place
    header: str
    main: str
    tail: str

    @property
    def text(self) -> str:
        return self.header + self.main + self.tail


_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{1,2}(?!"))?'
    r"|'''.*?'''(?:'{1,2}(?!'))?"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|\#[^\n]*",
    re.DOTALL,
)


def _lines(text: str) -> Iterator[tuple[str, str]]:
    """The lines of a text, each with its kind: header, key, comment or blank. A value keeps all of its lines."""
    start = 0
    while start < len(text):
        depth, at = 0, start
        first = text[start:].lstrip(" \t")[:1]
        while at < len(text):
            char = text[at]
            if char in "\"'#" and (found := _STRING.match(text, at)):
                at = found.end()
                continue
            at += 1
            if char == "\n" and depth == 0:
                break
            depth += (char in "[{") - (char in "]}")
        kind = {"[": "header", "#": "comment", "\n": "blank", "\r": "blank", "": "blank"}.get(first, "key")
        yield kind, text[start:at]
        start = at


def _blocks(text: str) -> Iterator[_Block]:
    place: Place = ()
    header, lines = "", list[tuple[str, str]]()
    counts: dict[Place, int] = {}
    for kind, line in _lines(text):
        if kind != "header":
            lines.append((kind, line))
            continue
        yield _block(place, header, lines, is_last=False)
        place, header, lines = _place_of(line, counts), line, []
    yield _block(place, header, lines, is_last=True)


def _block(place: Place, header: str, lines: list[tuple[str, str]], *, is_last: bool) -> _Block:
    kinds = [kind for kind, _ in lines]
    after = max((n for n, kind in enumerate(kinds) if kind == "key"), default=-1) + 1
    cut = next((n for n in range(after, len(lines)) if kinds[n] == "blank"), len(lines))
    if not is_last and cut == len(lines):  # comments right above the next header are about that
        cut = after
    return _Block(place, header, "".join(line for _, line in lines[:cut]), "".join(line for _, line in lines[cut:]))


def _place_of(header: str, counts: dict[Place, int]) -> Place:
    """The place of the table with this header; `counts` holds how many tables each array has so far."""
    is_array = header.lstrip().startswith("[[")
    keys, tables = list[str](), dict(tomlkit.parse(header.strip()).unwrap())
    while tables:
        (key,) = tables
        keys.append(key)
        inner = tables[key]
        tables = inner[0] if isinstance(inner, list) else inner
    place: Place = ()
    for n, key in enumerate(keys, 1):
        place = (*place, key)
        if n < len(keys) and place in counts:
            place = (*place, counts[place] - 1)
    if is_array:
        counts[place] = counts.get(place, 0) + 1
        place = (*place, counts[place] - 1)
    return place


def _holder(blocks: list[_Block], place: Place) -> int:
    """The number of the block with the longest part of this place. The first block holds what no other does."""
    return max(
        (n for n, each in enumerate(blocks) if each.place == place[: len(each.place)]),
        key=lambda n: len(blocks[n].place),
    )


def _set(blocks: list[_Block], place: Place, value: Any) -> list[_Block]:
    n = _holder(blocks, place)
    block, rest = blocks[n], place[len(blocks[n].place) :]
    main = tomlkit.parse(_ended(block.main))
    if len(rest) > 1 and (block.place or rest[0] not in main) and rest[0] not in main:
        if any(isinstance(step, int) for step in place[:-1]) and not block.place:
            raise LookupError(place)
        keys = ".".join(tomlkit.key(str(step)).as_string() for step in place[:-1] if isinstance(step, str))
        table = _Block(place[:-1], f"[{keys}]\n", _as_toml({str(place[-1]): value}), "")
        return _at_end(blocks, table)
    if len(rest) == 1 and rest[0] not in main:
        changed = _with_key(_ended(block.main), str(rest[0]), _as_toml({str(rest[0]): value}))
    else:
        inner: Any = main
        for step in rest[:-1]:
            inner = inner[step]
        _put(inner, rest[-1], _item(value))
        changed = tomlkit.dumps(main)
    return [*blocks[:n], replace(block, header=_ended(block.header), main=changed), *blocks[n + 1 :]]


def _with_key(main: str, key: str, line: str) -> str:
    """The keys of a block with one more line: below the comment that shows the key as an example, or at the end."""
    ends = [0]
    for kind, each in _lines(main):
        ends.append(ends[-1] + len(each))
        if kind == "comment" and re.match(rf"\s*#\s*{re.escape(key)}\s*=", each):
            return main[: ends[-1]] + line + main[ends[-1] :]
    return main + line


def _removed(blocks: list[_Block], place: Place) -> list[_Block]:
    n = _holder(blocks, place)
    block, rest = blocks[n], place[len(blocks[n].place) :]
    main = tomlkit.parse(block.main)
    inner: Any = main
    for step in rest[:-1]:
        inner = inner[step]
    del inner[rest[-1]]
    return [*blocks[:n], replace(block, main=tomlkit.dumps(main)), *blocks[n + 1 :]]


def _added(blocks: list[_Block], array: Place, values: dict[str, Any], count: int) -> list[_Block]:
    mine = [n for n, each in enumerate(blocks) if each.place[: len(array)] == array and len(each.place) > len(array)]
    if count and not mine:
        return _set(blocks, (*array, count), values)
    keys = ".".join(tomlkit.key(str(step)).as_string() for step in array if isinstance(step, str))
    table = _Block((*array, count), f"[[{keys}]]\n", _as_toml(values), "")
    return _after(blocks, mine[-1], [table]) if mine else _at_end(blocks, table)


def _copied(blocks: list[_Block], place: Place) -> list[_Block]:
    mine = [n for n, each in enumerate(blocks) if each.place[: len(place)] == place]
    if not mine:
        held = tomlkit.parse(blocks[0].main).unwrap()
        values = value_at(held, place)
        count = len(value_at(held, place[:-1]))
        for n in range(count, int(place[-1]) + 1, -1):
            blocks = _set(blocks, (*place[:-1], n), value_at(held, (*place[:-1], n - 1)))
        return _set(blocks, (*place[:-1], int(place[-1]) + 1), values)
    copies = [blocks[n] for n in mine]
    copies[-1] = replace(copies[-1], tail="")
    return _after(blocks, mine[-1], [replace(each, main=_ended(each.main)) for each in copies])


def _without(blocks: list[_Block], place: Place) -> list[_Block]:
    mine = [n for n, each in enumerate(blocks) if each.place[: len(place)] == place]
    if not mine:
        return _removed(blocks, place)
    before, tail = blocks[mine[0] - 1], blocks[mine[-1]].tail
    above = before.tail.splitlines(keepends=True)
    if place[-1] != 0:
        while above and above[-1].lstrip().startswith("#"):
            above.pop()
    while above and not above[-1].strip() and (not tail.strip() or not tail.splitlines()[0].strip()):
        above.pop()
        if tail:
            break
    kept = [each for n, each in enumerate(blocks) if n not in mine]
    n = kept.index(before)
    kept[n] = replace(before, tail="".join(above) + tail)
    return kept


def _after(blocks: list[_Block], n: int, new: list[_Block]) -> list[_Block]:
    """The blocks with new ones after number `n`, and a blank line between."""
    last = blocks[n]
    ended = replace(last, main=_ended(last.main), header=_ended(last.header), tail="\n")
    return [*blocks[:n], ended, *new[:-1], replace(new[-1], tail=last.tail), *blocks[n + 1 :]]


def _at_end(blocks: list[_Block], new: _Block) -> list[_Block]:
    last = blocks[-1]
    tail = _ended(last.tail)
    if last.text.strip() and not tail.endswith("\n\n") and tail != "\n":
        tail += "\n"
    return [*blocks[:-1], replace(last, main=_ended(last.main), header=_ended(last.header), tail=tail), new]


def _ended(text: str) -> str:
    return text if not text or text.endswith("\n") else f"{text}\n"


def _item(value: Any) -> Any:
    """The value as written in a TOML file; a table inside a list is written on one line."""
    if isinstance(value, dict):
        table = tomlkit.inline_table()
        for key, each in value.items():
            table.append(key, _item(each))
        return table
    if isinstance(value, list | tuple):
        array = tomlkit.array()
        array.extend(_item(each) for each in value)
        return array
    return tomlkit.item(value)


def _as_toml(values: dict[str, Any]) -> str:
    document = tomlkit.document()
    for key, value in values.items():
        document.append(key, _item(value))
    return tomlkit.dumps(document)
