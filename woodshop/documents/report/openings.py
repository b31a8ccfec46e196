"""The openings of what is made: clear size, who passes by which source, and where the sources disagree."""

from collections.abc import Iterator

from woodshop.design.batch import Unit
from woodshop.drawing.values.model import Block, Bullets, Data, Heading, KeyValues, Section
from woodshop.hive.creatures import CREATURES, Clear, Opening, Verdict, openings_of


def batch_openings(units: tuple[Unit, ...]) -> tuple[tuple[Opening, tuple[str, ...]], ...]:
    """Every different opening of these things, and the things that have it, in the order of the batch."""
    found: dict[Opening, list[str]] = {}
    for unit in units:
        for opening in openings_of(unit.assembly.placed, unit.assembly.spaces):
            found.setdefault(opening, []).append(unit.line.address)
    return tuple((opening, tuple(dict.fromkeys(places))) for opening, places in found.items())


def openings_section(units: tuple[Unit, ...], unit: str, sources: bool = False) -> Section:
    """Openings that are alike, then each creature; who says so where sources disagree, or with `sources` always.

    In the data sizes are text in the design's unit, verdicts as the sources give them.
    """
    found = batch_openings(units)
    alike: dict[tuple[str, str, tuple[Verdict, ...]], list[tuple[Opening, tuple[str, ...]]]] = {}
    for opening, places in found:
        alike.setdefault((opening.name, opening.place, opening.verdicts), []).append((opening, places))
    blocks: list[Block] = []
    for (name, part, _), group in alike.items():
        sizes = ", ".join(dict.fromkeys(_size(opening.clear, unit) for opening, _ in group))
        items = ", ".join(dict.fromkeys(place.split(" / ")[0] for _, places in group for place in places))
        said = [(who, *_said(group[0][0], who, sources)) for who in CREATURES]
        blocks.append(Heading(f"{name}, {sizes} clear: {part} of {items}", 3))
        blocks.append(KeyValues(tuple((who, head) for who, head, *_ in said)))
        if words := tuple(f"{who}, {line}" for who, _, *lines in said for line in lines):
            blocks.append(Bullets(words))
    rows: list[Data] = [
        {
            "name": opening.name,
            "part": opening.place,
            "in": places,
            "clear": _size(opening.clear, unit),
            "kind": opening.kind,
            "count": opening.count,
            "disagree": opening.disagree_on(),
            "said": [
                {"who": v.who, "passes": v.passes, "of": v.of, "words": v.words, "source": v.source}
                for v in opening.verdicts
            ],
        }
        for opening, places in found
    ]
    return Section("", tuple(blocks), {"openings": rows})


def _said(opening: Opening, who: str, sources: bool) -> Iterator[str]:
    """Whether a creature passes, then the sources that are to be named."""
    said = [verdict for verdict in opening.verdicts if verdict.who == who]
    sides = [word for passes, word in _WORDS if any(verdict.passes is passes for verdict in said)]
    yield "no source says" if not sides else sides[0] if len(sides) == 1 else "SOURCES DISAGREE"
    if sources or len(sides) > 1:
        for passes, word in _WORDS:
            yield from (f"{word}: {v.of}: {v.words} {v.source}" for v in said if v.passes is passes)


_WORDS = ((True, "passes"), (False, "held"))


def _size(clear: Clear, unit: str) -> str:
    if clear.is_round:
        return f"{clear.width.text(unit)} dia."
    return f"{clear.width.number(unit)} x {clear.height.text(unit)}"
