"""The boards of a plan drawn one below another, and the letters of their pieces with the sizes."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from woodshop.documents.packet.cutting import board_of, material_heading
from woodshop.documents.packet.layouts import NumberedLayout, groups_of, kept_offcuts, needs_of
from woodshop.documents.packet.parts import by_mark, parts_list
from woodshop.drawing.pages.boards import board_rows
from woodshop.drawing.values.model import Block, Heading, Paragraph, Section, SetOut
from woodshop.plan.values import PlannedBatch


def boards_section(planned: PlannedBatch) -> Section:
    """Each layout of the plan as a picture, by material; then each letter with its part, its count and its size."""
    said, kept = planned.batch.wording, kept_offcuts(planned)
    blocks: list[Block] = [
        Paragraph(
            "Each picture is one layout, cut as often as its name says. A letter is a piece, # is an offcut to keep, "
            "and hatched wood is waste. The sizes of the letters are below the pictures. In which order to cut: "
            "packet.pdf."
        )
    ]
    for group in groups_of(planned):
        if group:
            boards = [board_of(layout, planned, kept) for layout in group]
            rows = board_rows(boards, planned.batch.unit)
            blocks += [Heading(material_heading(group[0].material, group), 2), *_named(rows, group)]
    needs = sorted(needs_of(planned), key=by_mark)
    blocks += [Heading("Sizes of the letters", 2), replace(parts_list(needs, said), continued="Sizes of the letters")]
    return Section("Boards", tuple(blocks))


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
