"""The look of everything on paper: a frozen value that every pen uses, and the typeface with built fractions.

Sizes are in points (1/72 in), the unit of print. Everything must be readable in black and white on a smudged sheet at
arm's length, so there is no gray text and no thin or small type.

All digits of Source Sans Pro (SIL Open Font License 1.1) have the same width, so that columns of sizes line up. PDF has
no built fractions, so 16 1/4 becomes runs of text: a whole number, a raised numerator, a solidus and a denominator. The
characters are those of the plain text, in order, so that searching and copying find "16 1/4".
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache

POINTS_PER_MM = Fraction(360, 127)

PAPERS: dict[str, tuple[float, float]] = {
    "letter": (612.0, 792.0),  # 8 1/2 x 11 in
    "a4": (float(210 * POINTS_PER_MM), float(297 * POINTS_PER_MM)),  # ISO 216
}


@dataclass(frozen=True, slots=True)
class Style:
    """The type scale, margins, line weights and patterns, in points."""

    margin: float = 28.0  # 9.9 mm; desk printers print to within 6 mm, and a hole punch needs more
    footer_gap: float = 12.0
    banner_height: float = 46.0

    small: float = 9.0
    body: float = 10.0
    cut_size: float = 14.0
    headings: tuple[float, float, float] = (17.0, 13.5, 11.5)
    banner: float = 32.0
    figure_value: float = 20.0
    leading: float = 1.16  # line pitch divided by type size

    fraction: float = 0.7  # size of a built fraction's digits divided by the type size, but at least `least`
    fraction_alone: float = 0.9  # for a size to cut without a whole number, which is also read at arm's length
    least_built: float = 9.0  # below this size fractions are set on the line: 16 1/4
    least: float = 8.0  # the minimum type size

    outline: float = 1.4  # ISO 128 requires wide lines twice as heavy as narrow ones
    hidden: float = 0.7
    thin: float = 0.5
    heavy: float = 2.4
    reference: float = 3.6  # must not look like an outline
    hidden_dash: tuple[float, ...] = (4.0, 2.5)
    centre_dash: tuple[float, ...] = (10.0, 2.5, 1.5, 2.5)
    cut_dash: tuple[float, ...] = (7.0, 3.0)
    hatch_pitch: float = 6.0

    dimension_text: float = 12.0
    label_text: float = 10.5
    view_title: float = 10.5
    balloon_text: float = 11.5
    balloon_radius: float = 9.5
    tick: float = 4.0  # half length of the oblique stroke at the end of a dimension line
    lane_gap: float = 6.0  # between an outline and the first dimension, and between lanes
    clearance: float = 2.0  # minimum white space between any two items
    view_gap: float = 28.0


STYLE = Style()

TONES = {"paper": 1.0, "light": 0.9, "middle": 0.8, "dark": 0.68, "ink": 0.0}  # 1 is white
# Pale colors, on which black type has a contrast of 10 or more. They only help; a pattern always shows the same.
TINTS: dict[str, tuple[float, float, float]] = {
    "sky": (0.74, 0.86, 0.97),
    "apricot": (0.99, 0.85, 0.68),
    "leaf": (0.78, 0.91, 0.72),
    "rose": (0.97, 0.78, 0.83),
    "straw": (0.96, 0.93, 0.62),
    "lilac": (0.85, 0.80, 0.96),
    "mint": (0.70, 0.92, 0.88),
    "clay": (0.88, 0.80, 0.72),
}

# The preferred scales of ISO 5455 for millimeter drawings. For inch drawings, repeated halves (half size, quarter size
# ...), which a folding rule can measure, and between them the architect's scales: 1 in, 1/2, 1/4, 1/8 and 1/16 in to
# the foot. Values are paper size divided by real size.
SCALES: dict[str, tuple[Fraction, ...]] = {
    "mm": tuple(
        Fraction(text)
        for text in ("5", "2", "1", "1/2", "1/5", "1/10", "1/20", "1/50", "1/100", "1/200", "1/500", "1/1000")
    ),
    "in": tuple(
        Fraction(text)
        for text in (
            *("4", "2", "1", "1/2", "1/4", "1/8", "1/12", "1/16", "1/24", "1/32", "1/48", "1/64", "1/96"),
            *("1/128", "1/192", "1/256"),
        )
    ),
}

# For pictures without a scale, which fill their space.
FREE_SCALES = tuple(Fraction(1, n) for n in (*range(1, 21), *range(22, 41, 2), *range(44, 101, 4)))


def scale_text(scale: Fraction) -> str:
    """A scale as printed on drawings.

    >>> scale_text(Fraction(1, 4)), scale_text(Fraction(2))
    ('1:4', '2:1')
    """
    return f"{scale.numerator}:{scale.denominator}"


REGULAR, STRONG, ITALIC = "woodshop-regular", "woodshop-semibold", "woodshop-italic"
_FILES = {REGULAR: "SourceSansPro", STRONG: "SourceSansProSemibold", ITALIC: "SourceSansProIt"}
FAMILY = "Source Sans Pro"
CAP_HEIGHT, DESCENT, ASCENT = 0.66, 0.21, 0.76  # shares of the type size, measured on the glyphs used here

_KEPT = 20_000  # strings remembered after cleaning and wrapping: a packet uses the same ones many times

# A fraction on a tape measure; dates (11/16/26) and ratios of other numbers stay as they are.
_FRACTION = re.compile(r"(?<![\d/.,])(\d{1,2})/(2|4|8|16|32|64)(?![\d/]|\.\d)")
_DIGITS = tuple("0123456789")
# Places where a line must not break: 16_1/4_in, dia._1, 2_mm, 2_h, 3_AB, Sep_20, coat_1
_TIES = (
    (re.compile(r"(?<=\d) (?=\d{1,2}/(?:2|4|8|16|32|64)\b)"), "\u00a0"),
    (re.compile(r"(?<=\d) (?=(?:in|mm|cm|ft|lb|oz|kg|g|m|L|h|min|am|pm|days?|%)\b)"), "\u00a0"),
    (re.compile(r"(?<=dia\.) (?=\d)"), "\u00a0"),
    (re.compile(r"(?<=\d) (?=[A-Z]{1,2}\b)|(?<=\.\d\d) (?=[A-Z]{3}\b)"), "\u00a0"),
    (re.compile(r"\b((?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]*|coat|of) (?=\d)"), "\\1\u00a0"),
)


@dataclass(frozen=True, slots=True)
class Run:
    """Characters in one font and size, `x` points from the start of the line, raised by `rise`."""

    text: str
    font: str
    size: float
    x: float
    width: float
    rise: float = 0.0


@cache
def font_paths() -> dict[str, str]:
    """The paths of the font files, keyed by font name."""
    import font_source_sans_pro

    return {name: font_source_sans_pro.font_files_ttf[key] for name, key in _FILES.items()}


@cache
def register() -> None:
    """Registers the fonts with the PDF library, only once. Text is then written as bytes, which makes files smaller."""
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
    """The text with every character that the font lacks replaced by a question mark.

    A line break, a tab or another control character becomes a space.
    """
    known = _known(font)
    plain = "".join(" " if c.isspace() else c for c in text if c.isspace() or c.isprintable())
    return re.sub(" +", " ", "".join(c if ord(c) in known else "?" for c in plain)).strip()


def missing(text: str) -> str:
    """The characters of `text` that the font does not have, in order, without duplicates."""
    known = _known(REGULAR)
    return "".join(dict.fromkeys(c for c in text if not c.isspace() and c.isprintable() and ord(c) not in known))


@cache
def raw_width(text: str, font: str, size: float) -> float:
    """The advance width of `text` in `font` at `size`, in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register()
    return float(stringWidth(text, font, size))


@cache
def runs(text: str, size: float, font: str = REGULAR) -> tuple[Run, ...]:
    """One line of clean text in `font` as runs, with built fractions if `size` is large enough."""
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
        for match in _FRACTION.finditer(text):
            if int(match[1]) >= int(match[2]):
                continue
            is_alone = size >= STYLE.cut_size and text[: match.start()].strip()[-1:] not in _DIGITS
            share = STYLE.fraction_alone if is_alone else STYLE.fraction
            small = round(max(size * share, min(STYLE.least, size)), 2)
            rise = (size - small) * CAP_HEIGHT + size * 0.05  # the top of the numerator is slightly above the capitals
            add(text[at : match.start()], size)
            add(match[1], small, rise)
            add("/", round(max(size * 0.85, min(STYLE.least, size)), 2), 0.0, -size * 0.02)
            add(match[2], small, -size * 0.03, -size * 0.02)
            at = match.end()
    add(text[at:], size)
    return tuple(found)


def width(text: str, size: float, font: str = REGULAR) -> float:
    """The length in points of a line of text in `font` at `size`, with built fractions."""
    line = runs(text, size, font)
    return line[-1].x + line[-1].width if line else 0.0


def tied(text: str) -> str:
    """The text with no-break spaces inside lengths, so that no line breaks inside a length."""
    for pattern, tie in _TIES:
        text = pattern.sub(tie, text)
    return text


@lru_cache(_KEPT)
def wrapped(text: str, size: float, room: float, font: str = REGULAR, first: float = 0.0) -> tuple[str, ...]:
    """The text in lines of `size` type in `font`, no longer than `room` points. A word that is too long is broken too.

    On the first line, `first` points are already used.
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
    """The number of characters of a long word to put on a line: if possible, up to a hyphen or slash."""
    fit = 1
    while fit < len(word) and width(word[: fit + 1], size, font) <= room:
        fit += 1
    joint = max((word.rfind(mark, 0, fit) for mark in "-/_.,"), default=-1) + 1
    return joint if joint >= fit // 2 and joint > 0 else fit
