"""The typeface, its widths, and lengths set as built fractions.

Source Sans Pro (SIL Open Font License 1.1) has figures of one width, so columns of sizes line up.
PDF has no layout of its own for fractions, so 16 1/4 becomes runs of text: a whole number, a raised
numerator, a solidus and a denominator. The characters stay those of the plain text, in order, so
that searching and copying find "16 1/4".
"""

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from woodshop.drawing.values.style import STYLE

REGULAR, STRONG, ITALIC = "woodshop-regular", "woodshop-semibold", "woodshop-italic"
_FILES = {REGULAR: "SourceSansPro", STRONG: "SourceSansProSemibold", ITALIC: "SourceSansProIt"}
FAMILY = "Source Sans Pro"
CAP_HEIGHT, DESCENT, ASCENT = 0.66, 0.21, 0.76  # of the type size; measured on the glyphs used here

_KEPT = 20_000  # texts remembered, cleaned and wrapped: a packet asks for the same ones again and again

# A fraction of a tape measure; dates (11/16/26) and ratios of other numbers stay as they are.
_FRACTION = re.compile(r"(?<![\d/.,])(\d{1,2})/(2|4|8|16|32|64)(?![\d/]|\.\d)")
# Where a line may not break: 16_1/4_in, dia._1, 2_mm, 3_AB
_TIES = (
    (re.compile(r"(?<=\d) (?=\d{1,2}/(?:2|4|8|16|32|64)\b)"), "\u00a0"),
    (re.compile(r"(?<=\d) (?=(?:in|mm|cm|ft|lb|oz|kg|g|m|L|%)\b)"), "\u00a0"),
    (re.compile(r"(?<=dia\.) (?=\d)"), "\u00a0"),
    (re.compile(r"(?<=\d) (?=[A-Z]{1,2}\b)"), "\u00a0"),
)


@dataclass(frozen=True, slots=True)
class Run:
    """Characters of one font and size, `x` points from the start of the line, raised by `rise`."""

    text: str
    font: str
    size: float
    x: float
    width: float
    rise: float = 0.0


@cache
def font_paths() -> dict[str, str]:
    """Where the font files are, by font name."""
    import font_source_sans_pro

    return {name: font_source_sans_pro.font_files_ttf[key] for name, key in _FILES.items()}


@cache
def register() -> None:
    """Make the fonts known to the PDF library (once). It then writes bytes as they are: as text they are longer."""
    from reportlab import rl_config
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    for name, path in font_paths().items():
        registerFont(TTFont(name, path))
    rl_config.useA85 = 0


@cache
def _known(font: str) -> frozenset[int]:
    from reportlab.pdfbase.pdfmetrics import getFont

    register()
    return frozenset(getFont(font).face.charToGlyph)


@lru_cache(_KEPT)
def clean(text: str, font: str = REGULAR) -> str:
    """Text with only characters that the font can print: what it cannot is shown as a question mark.

    Line breaks, tabs and other controls become a space.
    """
    known = _known(font)
    plain = "".join(" " if c.isspace() else c for c in text if c.isspace() or c.isprintable())
    return re.sub(" +", " ", "".join(c if ord(c) in known else "?" for c in plain)).strip()


def missing(text: str) -> str:
    """The characters of a text that the font cannot print, each once, in order."""
    known = _known(REGULAR)
    return "".join(dict.fromkeys(c for c in text if not c.isspace() and c.isprintable() and ord(c) not in known))


@cache
def raw_width(text: str, font: str, size: float) -> float:
    """The advance of the characters as they stand, in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register()
    return float(stringWidth(text, font, size))


@cache
def runs(text: str, size: float, font: str = REGULAR) -> tuple[Run, ...]:
    """One line of clean text as runs, with fractions built where the size allows."""
    found: list[Run] = []
    x = 0.0

    def add(piece: str, at: float, rise: float = 0.0, gap: float = 0.0) -> None:
        nonlocal x
        if piece:
            width = raw_width(piece, font, at)
            found.append(Run(piece, font, at, x + gap, width, rise))
            x += gap + width

    at = 0
    text = text.replace("\u00a0", " ")
    if size >= STYLE.least_built:
        small = round(max(size * STYLE.fraction, min(STYLE.least, size)), 2)
        rise = (size - small) * CAP_HEIGHT + size * 0.05  # the numerator's top a little over the capitals'
        for match in _FRACTION.finditer(text):
            if int(match[1]) >= int(match[2]):
                continue
            add(text[at : match.start()], size)
            add(match[1], small, rise)
            add("/", round(max(size * 0.85, min(STYLE.least, size)), 2), 0.0, -size * 0.02)
            add(match[2], small, -size * 0.03, -size * 0.02)
            at = match.end()
    add(text[at:], size)
    return tuple(found)


def width(text: str, size: float, font: str = REGULAR) -> float:
    """How long one line of text is, in points, with its fractions built."""
    line = runs(text, size, font)
    return line[-1].x + line[-1].width if line else 0.0


def tied(text: str) -> str:
    """The text with no-break spaces inside lengths, so that a line never breaks within one."""
    for pattern, tie in _TIES:
        text = pattern.sub(tie, text)
    return text


@lru_cache(_KEPT)
def wrapped(text: str, size: float, room: float, font: str = REGULAR, first: float = 0.0) -> tuple[str, ...]:
    """The text broken into lines no longer than `room` points; a word that is too long is broken too.

    `first` points are already taken on the first line.
    """
    lines: list[str] = []
    line = ""
    taken = first
    for word in tied(clean(text, font)).split(" "):
        longer = f"{line} {word}" if line else word
        if taken + width(longer, size, font) <= room:
            line = longer
            continue
        if line or taken:
            lines.append(line)
            taken = 0.0
        while width(word, size, font) > room and len(word) > 1:
            fit = _fitting(word, size, room, font)
            lines.append(word[:fit])
            word = word[fit:]
        line = word
    if line or not lines:
        lines.append(line)
    return tuple(lines)


def _fitting(word: str, size: float, room: float, font: str) -> int:
    """How many characters of a long word go on a line, best after a hyphen or slash."""
    fit = 1
    while fit < len(word) and width(word[: fit + 1], size, font) <= room:
        fit += 1
    joint = max((word.rfind(mark, 0, fit) for mark in "-/_.,"), default=-1) + 1
    return joint if joint >= fit // 2 and joint > 0 else fit
