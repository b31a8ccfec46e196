"""The numbers in what people write: whole, decimal, mixed, with typographic fractions and prime marks."""

import re
from fractions import Fraction

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅙": "1/6", "⅚": "5/6", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
NUMBER = r"\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d+\.\d+|\.\d+|\d+"
_TERM = re.compile(rf"\s*({NUMBER})\s*(inches|inch|in\b\.?|feet|foot|ft\b\.?|mm\b|cm\b|m\b|\"|')?\s*-?\s*", re.I)


def plain(text: str) -> str:
    """The text with plain fractions and the prime marks of a keyboard."""
    found = text.strip()
    for mark, ascii_mark in (("⁄", "/"), ("″", '"'), ("”", '"'), ("“", '"'), ("′", "'"), ("’", "'"), ("''", '"')):
        found = found.replace(mark, ascii_mark)
    for mark, written in _VULGAR.items():
        found = re.sub(rf"(\d)?\s*-?\s*{mark}", lambda m, f=written: f"{m[1] or ''} {f}", found)  # type: ignore[misc]
    return found.strip()


def terms(text: str) -> list[tuple[Fraction, str]]:
    """Each number of a length with the unit that follows it, in small letters, or nothing. Raises ValueError."""
    line = plain(text)
    found: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(line):
        match = _TERM.match(line, at)
        if not match:
            break
        found.append((fraction(match[1], text), (match[2] or "").lower().rstrip(".")))
        at = match.end()
    if at < len(line) or not found or line.endswith("-"):
        raise ValueError(f"{text!r} is not a length")
    return found


def fraction(number: str, text: str) -> Fraction:
    """The value of one number; `text` is what it stands in, for a message. Raises ValueError."""
    whole, rest = 0, number
    mixed = re.fullmatch(r"(\d+)(?:\s+|-)(\d+/\d+)", number)
    if mixed:
        whole, rest = int(mixed[1]), mixed[2]
    if "/" in rest:
        top, bottom = rest.split("/")
        if int(bottom) == 0:
            raise ValueError(f"{text!r} divides by nothing")
        if mixed and int(top) >= int(bottom):
            raise ValueError(f"{text!r}: the fraction {rest} is not less than one")
    return whole + Fraction(rest)
