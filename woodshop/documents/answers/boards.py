"""The boards of a plan drawn one below another, and the letters of their pieces with the sizes."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from operator import itemgetter

from woodshop.documents.packet.cutting import board_of, material_heading
from woodshop.documents.packet.layouts import NumberedLayout, Offcut, groups_of, kept_offcuts, needs_of
from woodshop.documents.packet.parts import by_mark, parts_list
from woodshop.drawing.pages.boards import board_rows
from woodshop.drawing.values.model import Block, Heading, Paragraph, Section, SetOut
from woodshop.plan.values import PlannedBatch

_LETTERS = "Sizes of the letters"


def boards_sections(planned: PlannedBatch, most: int) -> tuple[Section, ...]:
    """Each layout of the plan as a picture, by material; then each letter with its part, its count and its size.

    Each section has at most `most` layouts; those after the first are named by their layouts. The letters are the last.
    """
    said = Paragraph(
        "Each picture is one layout, cut as often as its name says. A letter is a piece, # is an offcut to keep, "
        "and hatched wood is waste. The sizes of the letters are below the pictures. The packet (packet.pdf) "
        "has the order of the cuts."
    )
    whole = [(material_heading(group[0].material, group), each) for group in groups_of(planned) for each in group]
    first, *others = [tuple(whole[n : n + most]) for n in range(0, max(len(whole), 1), most)]
    kept, letters = kept_offcuts(planned), parts_list(sorted(needs_of(planned), key=by_mark), planned.batch.wording)
    return (
        Section("Boards", (said, *_drawn(first, planned, kept))),
        *(
            Section(f"Layouts {each[0][1].number} to {each[-1][1].number}", tuple(_drawn(each, planned, kept)))
            for each in others
        ),
        Section(_LETTERS, (replace(letters, continued=_LETTERS),)),
    )


def _drawn(
    layouts: Sequence[tuple[str, NumberedLayout]], planned: PlannedBatch, kept: Mapping[str, tuple[Offcut, ...]]
) -> Iterator[Block]:
    """The pictures of layouts that follow each other, under the headings of their materials."""
    for heading, named in groupby(layouts, key=itemgetter(0)):
        group = [layout for _, layout in named]
        yield Heading(heading, 2)
        yield from _named(board_rows([board_of(each, planned, kept) for each in group], planned.batch.unit), group)


def _named(rows: Sequence[SetOut], group: Sequence[NumberedLayout]) -> list[Block]:
    """The pictures, each with the pieces on it in words below it."""
    by_anchor = {layout.anchor: layout for layout in group}
    return [
        replace(row, caption="; ".join(_pieces(by_anchor[anchor]) for anchor in row.anchors if anchor in by_anchor))
        for row in rows
    ]


def _pieces(layout: NumberedLayout) -> str:
    counts = Counter(piece.mark for piece in layout.pieces)
    times = f" ({layout.times} of them)" if layout.times > 1 else ""
    return f"{layout.name}{times}: {', '.join(f'{count} x {mark}' for mark, count in counts.items())}"
