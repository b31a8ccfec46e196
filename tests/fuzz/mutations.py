"""Changes to files and command lines: by their grammar, as people slip and as damage comes; and to bare bytes."""

import io
import json
import re
import zipfile
from collections.abc import Callable
from random import Random
from typing import Any

LENGTHS = ["1/4", "0", "-1/4", "1/0", "0/4", "16 1/4", "1e9", "999999", "3/8 in", "9.5 mm", "5 cm", "1/4 1/4", "1-1/2",
           "0.1", "1/3", "1/1000000007", "in", "", " ", "¼", "NaN", "inf", "1/4\u00a0in", "٣", "1" * 61]  # fmt: skip
MASSES = ["16 lb", "7.25 kg", "0 lb", "-1 kg", "1e6 lb", "lb", "16", "16 stone", "1 lb 8 oz"]
MONEY = ["6.20", "0", "0.001", "-5", "1e3", "99999999999", "6,20", "$6.20", "6.2.0"]
SHARES = ["12 %", "0 %", "100 %", "-5 %", "101 %", "1e3 %", "+10 %", "-150 %", "%"]
ITEMS = ["quilt box", "wire bottom", "fondant board", "fondant rim", "packing blocks", "feeder quilt", "mouse guard"]
CHOICES = [
    "Langstroth",
    "British National",
    "Zander",
    "Dadant-Blatt",
    "all",
    "none",
    "flush rabbet",
    "stapled under",
    "mm",
    "in",
    "pine",
    "yes",
]
ODD = [
    "../up",
    "/",
    "-",
    "a/b",
    "\u202eabc",
    "\U0001f41d",
    "é",
    "x" * 70,
    "x" * 3000,
    "a\\nb",
    "\\u0000",
    "'",
    "*",
    "true",
]
WORDS = ITEMS + CHOICES + ODD
DATES = ["2026-11-26", "0001-01-01", "9999-12-31", "2026-02-30", "26 Nov"]
NUMBERS = [
    "0",
    "1",
    "-1",
    "2",
    "3",
    "10",
    "21",
    "1000",
    "100000",
    "999999999999",
    "10000000000000000000",
    "1.5",
    "1e400",
]
TEXTS = LENGTHS + MASSES + MONEY + SHARES + WORDS + DATES + NUMBERS
TOML_VALUES = ["[]", "{}", "true", "2026-11-26", "1979-05-27T07:32:00Z", "[[1]]", "nan", "-inf", "0x10", "'''x'''",
               '[ "1/4", "5/16" ]', '["", ""]', '["1/4", "16 1/4"]', '{ a = 1 }', "[1, 'a']", '["a"]']  # fmt: skip
JSON_VALUES: list[Any] = [None, True, False, 0, 1, -1, 2, 10**9, 10**18, -(10**9), 0.5, 1e300, "", "x", "1", [], {}]
JSON_VALUES += [[[]], {"a": 1}, "\u0000", "é" * 50, "x" * 2000]


def some_bytes(data: bytes, draw: Random) -> bytes:
    """Bytes changed, cut off, put in, doubled or taken out at a few places."""
    for _ in range(draw.choice((1, 1, 1, 2, 5, 20))):
        at = draw.randrange(len(data) + 1)
        end = min(len(data), at + draw.choice((1, 1, 2, 8, 64, 1000)))
        part = draw.choice((b"", draw.randbytes(end - at), data[at:end] * 2, b"\0", b"\xff\xfe", b"\n", b'"'))
        data = data[:at] if draw.random() < 0.05 else data[:at] + part + data[end:]
    return data


def toml(text: str, draw: Random, keys: list[str]) -> str:
    """Some lines of a TOML file with other values or keys, taken out, doubled or moved."""
    lines = text.splitlines()
    for _ in range(draw.choice((1, 1, 1, 2, 3, 6))):
        at = draw.randrange(len(lines))
        key, sign, _ = lines[at].partition("=")
        kind = draw.randrange(10)
        if sign and kind < 6:
            value = draw.choice(TEXTS)
            written = draw.choice((f'"{value}"', value, draw.choice(TOML_VALUES), f'"{value}"'))
            lines[at] = f"{key}= {written}"
        elif kind == 6:
            lines[at : at + draw.choice((1, 1, 3))] = []
        elif kind == 7:
            lines.insert(draw.randrange(len(lines) + 1), lines[at])
        elif kind == 8:
            lines[at:at] = [f'{draw.choice(keys)} = "{draw.choice(TEXTS)}"']
        elif sign:
            lines[at] = f"{draw.choice(keys)} ={lines[at].partition('=')[2]}"
        else:
            start = max(n for n in range(at + 1) if n == 0 or lines[n].startswith("["))
            end = next((n for n in range(at + 1, len(lines)) if lines[n].startswith("[")), len(lines))
            lines[end:end] = lines[start:end] * draw.choice((1, 1, 30))
        lines = lines or [""]
    return "\n".join(lines) + "\n"


def _places(value: Any) -> list[tuple[Any, Any]]:
    """Every table or list with each of its keys or numbers."""
    found, rest = [], [value]
    while rest:
        each = rest.pop()
        for key in each if isinstance(each, dict) else range(len(each)) if isinstance(each, list) else ():
            found.append((each, key))
            rest.append(each[key])
    return found


def json_text(text: str, draw: Random) -> str:
    """Some values of a JSON file changed, taken out, doubled, or set equal to others of the file."""
    value = json.loads(text)
    for _ in range(draw.choice((1, 1, 1, 2, 4))):
        places = _places(value)
        if not places:
            break
        holder, key = draw.choice(places)
        old, kind = holder[key], draw.randrange(8)
        if kind == 0:
            del holder[key]
        elif kind == 1 and isinstance(holder, list):
            holder[key:key] = [json.loads(json.dumps(old))] * draw.choice((1, 2, 40))
        elif kind == 2:
            other, name = draw.choice(places)
            if isinstance(other, dict) is isinstance(name, str) and (isinstance(other, dict) and name in other):
                holder[key] = json.loads(json.dumps(other[name]))
        elif kind == 3 and isinstance(holder, dict):
            holder[draw.choice(WORDS)] = holder.pop(key)
        elif isinstance(old, int) and not isinstance(old, bool) and kind < 7:
            holder[key] = draw.choice((old + 1, old - 1, -old, old * 10, old * 10**6, 0, old // 2))
        else:
            holder[key] = draw.choice(JSON_VALUES)
    made = json.dumps(value)
    if draw.random() < 0.03:
        made = made.replace('"id"', '"\\ud800"', 1)
    return made


def csv_text(text: str, draw: Random) -> str:
    """Some cells, columns, rows or marks of a CSV file changed."""
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(draw.choice((1, 1, 2, 4))):
        row = draw.randrange(len(rows))
        column = draw.randrange(len(rows[row]) or 1)
        kind = draw.randrange(8)
        if kind < 3 and rows[row]:
            rows[row][column : column + 1] = [draw.choice(TEXTS)]
        elif kind == 3:
            for each in rows:
                del each[column : column + 1]
        elif kind == 4:
            rows.insert(draw.randrange(len(rows) + 1), list(rows[row]))
        elif kind == 5:
            del rows[row]
            rows = rows or [[""]]
        elif kind == 6:
            rows[0] = [*rows[0], draw.choice(("count", "hives", "item", "layout", "mark", "failed", "cut", "box"))]
        else:
            rows[row] = rows[row] + [draw.choice(TEXTS)]
    return (
        draw.choice((",", ",", ",", ";", "\t")).join(rows[0])
        + "\n"
        + "".join(",".join(each) + "\n" for each in rows[1:])
    )


def xlsx(data: bytes, draw: Random) -> bytes:
    """Some texts, numbers, ranges or bytes in the files of a workbook changed, or a whole one taken out."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        names = old.namelist()
        chosen = draw.choice([*names, *(name for name in names if "sheet" in name or "style" in name)])
        for name in names:
            part = old.read(name)
            if name == chosen:
                if draw.random() < 0.08:
                    continue
                part = _xml(part, draw) if draw.random() < 0.8 else some_bytes(part, draw)
            new.writestr(name, part)
    return made.getvalue()


def _xml(part: bytes, draw: Random) -> bytes:
    text = part.decode("utf-8", "replace")
    for _ in range(draw.choice((1, 1, 2, 5))):
        found = list(re.finditer(r'"[^"<>]*"|>[^<>]+<|<[a-zA-Z:]+', text))
        if not found:
            break
        at = draw.choice(found)
        mark = at[0][0]
        value = draw.choice(("0", "-1", "1", "99999999", "A1:XFD1048576", "XFD1048576", "s", "b", "d", "e", "inlineStr",
                             "1E400", "", "#REF!", "_xD800_", "true", "45000.5", "x" * 40))  # fmt: skip
        new = (
            f'"{value}"'
            if mark == '"'
            else f">{value}<"
            if mark == ">"
            else draw.choice(("<c", "<row", "<x", "<v", "<f"))
        )
        text = text[: at.start()] + new + text[at.end() :]
    if draw.random() < 0.1:
        text = text.replace(
            "</sheetData>", f'</sheetData><mergeCells><mergeCell ref="A2:B{draw.randrange(99)}"/></mergeCells>'
        )
    return text.encode("utf-8", "replace")


def options(command: list[str], draw: Random, known: list[tuple[str, bool]]) -> list[str]:
    """A command line with some words changed, taken out, doubled or put in; `known` are options, and whether they
    take a value."""
    words = list(command)
    for _ in range(draw.choice((1, 1, 2, 3))):
        at = draw.randrange(len(words) + 1)
        kind = draw.randrange(6)
        if kind < 2 and known:
            name, takes = draw.choice(known)
            words[len(words) :] = [name, draw.choice(TEXTS)] if takes else [name]
        elif kind == 2 and at < len(words):
            words[at] = draw.choice(TEXTS)
        elif kind == 3 and at < len(words):
            del words[at]
        elif kind == 4 and at < len(words):
            words.insert(at, words[at])
        else:
            words.insert(
                at, draw.choice((*TEXTS, "--", "--json", "-h", "--no", "\udcff", "a=b", "board.height=1/4,1/2"))
            )
    return [word.replace("\0", "") for word in words]


TEXT_KINDS: dict[str, Callable[..., str]] = {".json": json_text, ".csv": csv_text}
