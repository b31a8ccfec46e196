"""Every word of every file of a result, read back from its bytes. It shares no code with what words quantities."""

import html
import io
import json
import re
import zipfile
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

import pypdf

_NUMBER = r"\d+(?:[\d,.]*\d)?(?: \d+/\d+|/\d+)?"
_MANY = rf"{_NUMBER}(?: (?:to|by|x) {_NUMBER})?"
_UNITS = r"in|feet|ft|lbs?|pounds?|oz|ounces?|(?:US )?cups?|tablespoons?|teaspoons?|quarts?|pints?|gal|gallons?|°F|psi"
_METRIC = r"mm|cm|m|g|kg|mL|L|°C|cm²|MPa|GPa"
_QUOTED = re.compile(  # a quotation, with its own measure in brackets; or a source that has both itself
    rf"{_MANY} (?:{_METRIC}) \({_MANY} (?:{_UNITS}|F)\)|{_MANY} (?:{_UNITS}|F) \({_MANY} (?:{_METRIC})\)"
)
_LUMBER = re.compile(r"\b[125]x\d+ \(\d+ x \d+ mm\)")  # a board by its name, with the metric beside it
_MEASURED = rf"(?<![-\w])(?:{_NUMBER}|[Oo]ne) ?(?:{_UNITS})\b(?! (?:100\b|1,000\b|the|a|all|each|every|turn)|: )"
_ALONE = (
    r"\b(?:inch|inches|Fahrenheit|board feet|cups?|quarts?|tablespoons?|sq in|sq ft|cu ft|square f[eo][eo]t|US gal|Btu"
    r"|nominal)\b"
)
_NAMED = r"\d+ ga\b|#\d+ x \d|\b[125]x\d+\b|\d/\d+ (?:in|crown|leg)\b|\d″|\d F, \d+ %"  # sizes of goods
_FRACTIONS = r"\b\d+ (?:1/2|[13]/4|[1357]/8|\d+/16|\d+/32|\d+/64)\b|(?m:^[^\"\n]*\d\"(?=\s))|(?<=\")\d+/\d+(?=\")"
_FOREIGN = re.compile(f"{_MEASURED}|{_ALONE}|{_NAMED}|{_FRACTIONS}")
_FINE = re.compile(r"(?<![\w.])\d+\.\d{2,}(?= ?mm\b)")


def foreign(text: str) -> list[str]:
    """Measures in inches, feet, pounds, cups, °F and their like, but for those quoted with a metric measure beside."""
    plain = _LUMBER.sub("", _QUOTED.sub("", text))
    return [plain[max(0, each.start() - 30) : each.end() + 20] for each in _FOREIGN.finditer(plain)]


def too_fine(text: str) -> list[str]:
    """Lengths with hundredths of a millimetre."""
    return [text[max(0, each.start() - 30) : each.end() + 10] for each in _FINE.finditer(text)]


def words_of(name: str, data: bytes) -> Iterator[str]:
    """The texts of one file, and its name: the words of pages, drawings, cells and values, as people read them."""
    yield name.replace("-", " ")
    kind = name.rpartition(".")[2]
    if kind == "pdf":
        for page in pypdf.PdfReader(io.BytesIO(data)).pages:
            yield " ".join(page.extract_text().split())
    elif kind == "svg":
        yield from (each.text for each in ElementTree.fromstring(data).iter() if each.text)
    elif kind == "dxf":
        lines = data.decode().splitlines()
        yield from (text for code, text in zip(lines[::2], lines[1::2], strict=False) if code.strip() in ("1", "3"))
    elif kind == "xlsx":
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            for part in book.namelist():
                if part.endswith(".xml"):
                    yield from (each.text for each in ElementTree.fromstring(book.read(part)).iter() if each.text)
    elif kind == "json":
        yield from _values(json.loads(data))
    elif kind == "html":
        text = data.decode()
        for found in re.findall(r"<script[^>]*application/json[^>]*>(.*?)</script>", text, re.DOTALL):
            yield from _values(json.loads(found))
        bare = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL)
        yield from (html.unescape(each) for each in re.split(r"<[^>]*>", bare))
    else:
        yield from data.decode().splitlines()


def _values(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, each in value.items():
            yield str(key)
            yield from _values(each)
    elif isinstance(value, list):
        for each in value:
            yield from _values(each)
    elif isinstance(value, str):
        yield value
