"""The look that tells people apart on the pages: each person has a pattern, a pale color and a short name."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from woodshop.documents.lists import plain
from woodshop.drawing.arranging.patterns import Pattern, filled
from woodshop.drawing.values.model import SetOut
from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word
from woodshop.drawing.values.style import PAPERS, REGULAR, STRONG, STYLE, TINTS, clean, register, width, wrapped
from woodshop.schedule.values import Person

ROOM = min(wide for wide, _ in PAPERS.values()) - 2 * STYLE.margin
"""Points: the width of the pictures, which fits both papers."""
_PATTERNS = (
    Pattern.CLOSE_GRAIN, Pattern.WHITE, Pattern.SPECKS, Pattern.BARS, Pattern.NET, Pattern.CROSSES, Pattern.WIRES,
    Pattern.BRICKS, Pattern.GRID,
)  # fmt: skip
_LONGEST_NAME = 90.0  # points, in a picture
_SWATCH = (16.0, 10.0)


@dataclass(frozen=True, slots=True)
class Look:
    """The pattern, the tint and the short name of a person. With more than 72 people, looks are repeated."""

    pattern: Pattern
    tint: str
    name: str


def looks_of(people: Sequence[Person]) -> dict[str, Look]:
    """The look of each person, by name. If there are several people, a unique first name is the short name."""
    register()
    firsts = [plain(person.name).split(" ")[0] for person in people]
    tints = tuple(TINTS)
    return {
        person.name: Look(
            _PATTERNS[n % len(_PATTERNS)],
            tints[n % len(tints)],
            shortened(
                first if firsts.count(first) == 1 < len(people) else plain(person.name), STYLE.small, _LONGEST_NAME
            ),
        )
        for n, (person, first) in enumerate(zip(people, firsts, strict=True))
    }


def shortened(text: str, size: float, room: float, *, strong: bool = False) -> str:
    """The text as one line of at most `room` points, with dots if it was shortened."""
    font = STRONG if strong else REGULAR
    whole = clean(text, font)
    if width(whole, size, font) <= room:
        return whole
    while whole and width(whole + "...", size, font) > room:
        whole = whole[:-1]
    return whole.rstrip() + "..."


def outlined(box: Box, weight: float, fill: str = "") -> Stroke:
    """A rectangle, filled with a tone or tint."""
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    return Stroke(corners, weight, closed=True, fill=fill)


def patterned(box: Box, look: Look, weight: float = 0.7) -> list[Mark]:
    """A rectangle with the tint and the pattern of a person."""
    return [outlined(box, 0.0, look.tint), *filled([box], look.pattern), outlined(box, weight)]


def lines_at(text: str, size: float, room: float, at: tuple[float, float], *, strong: bool = False) -> list[Word]:
    """The text in lines from the top left corner `at` down."""
    x, top = at
    lines = wrapped(text, size, room, STRONG if strong else REGULAR)
    pitch = size * STYLE.leading
    return [Word(line, x, top - n * pitch - size * 0.8, size=size, strong=strong) for n, line in enumerate(lines)]


def key_picture(looks: dict[str, Look], more: Sequence[tuple[str, list[Mark]]] = ()) -> SetOut:
    """The key: the look and full name of each person, and `more` marks, each the size of a swatch, with their words."""
    marks: list[Mark] = []
    x, y = 0.0, 0.0
    for words, swatch in _entries(looks, more):
        text = Word(shortened(words, STYLE.body, ROOM - 30), 0.0, 0.0, size=STYLE.body)
        if x and x + _SWATCH[0] + 6 + text.width > ROOM:
            x, y = 0.0, y - 15.0
        marks += [mark.moved(x, y) for mark in swatch]
        marks.append(text.moved(x + _SWATCH[0] + 6, y + 1.5))
        x += _SWATCH[0] + 6 + text.width + 18
    return SetOut(Sheet(tuple(marks), Box(0.0, y - 3.0, ROOM, _SWATCH[1] + 2.0)))


def _entries(looks: dict[str, Look], more: Sequence[tuple[str, list[Mark]]]) -> Iterator[tuple[str, list[Mark]]]:
    for name, look in looks.items():
        yield plain(name), patterned(SWATCH, look)
    yield from more


SWATCH = Box(0.0, 0.0, *_SWATCH)
"""The place of a swatch in the key."""
