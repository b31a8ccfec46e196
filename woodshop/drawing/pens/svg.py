"""The SVG pen. It writes the same arranged marks as the PDF pen, in well-formed XML without scripts or linked files."""

from xml.sax.saxutils import escape, quoteattr

from woodshop.drawing.values.paper import Mark, Ring, Sheet, Word
from woodshop.drawing.values.style import FAMILY, TINTS, TONES, clean, runs

_EDGE = 4.0  # points of white space around the drawing


def svg_of(sheet: Sheet, title: str) -> str:
    """Arranged marks as an SVG document."""
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{svg_element(sheet, title)}\n'


def svg_element(sheet: Sheet, title: str, description: str = "") -> str:
    """Arranged marks as an SVG element for a page, with its title and, if it is not empty, its `description`."""
    box = sheet.box.grown(_EDGE)
    wide, high = box.right - box.left, box.top - box.bottom
    moved = sheet.moved(-box.left, -box.bottom)
    words = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide)}pt" height="{_n(high)}pt"'
        f' viewBox="0 0 {_n(wide)} {_n(high)}" role="img" font-family={quoteattr(f"{FAMILY}, Arial, sans-serif")}'
        ' fill="none" stroke="#000" stroke-linecap="round" stroke-linejoin="round">',
        f"<title>{escape(clean(title))}</title>",
        *([f"<desc>{escape(clean(description))}</desc>"] if description else []),
        f'<rect width="{_n(wide)}" height="{_n(high)}" fill="#fff" stroke="none"/>',
    ]
    words += [_element(mark, high) for mark in moved.marks]
    return "\n".join([*words, "</svg>"])


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _element(mark: Mark, high: float) -> str:
    if isinstance(mark, Word):
        return _text(mark, high)
    look = f'stroke-width="{_n(mark.weight)}"' if mark.weight else 'stroke="none"'
    if mark.dash:
        look += f' stroke-dasharray="{" ".join(_n(n) for n in mark.dash)}"'
    if mark.fill:
        parts = TINTS.get(mark.fill) or (TONES[mark.fill],) * 3
        look += f' fill="#{"".join(f"{round(255 * part):02x}" for part in parts)}"'
    if isinstance(mark, Ring):
        return f'<circle cx="{_n(mark.x)}" cy="{_n(high - mark.y)}" r="{_n(mark.radius)}" {look}/>'
    points = " ".join(f"{_n(x)},{_n(high - y)}" for x, y in mark.points)
    return f'<{"polygon" if mark.closed else "polyline"} points="{points}" {look}/>'


def _text(word: Word, high: float) -> str:
    """A line of text. Each run has its measured length, so that it keeps its position with other typefaces."""
    weight = ' font-weight="600"' if word.strong else ""
    turn = f' transform="rotate(-90 {_n(word.x)} {_n(high - word.y)})"' if word.turn else ""
    spans = "".join(
        f'<tspan x="{_n(word.x + run.x)}" y="{_n(high - word.y - run.rise)}" font-size="{_n(run.size)}"'
        f' textLength="{_n(run.width)}" lengthAdjust="spacingAndGlyphs">{escape(run.text)}</tspan>'
        for run in runs(word.text, word.size, word.font)
    )
    return f'<text xml:space="preserve" fill="#000" stroke="none"{weight}{turn}>{spans}</text>'
