"""The plan's layouts as people read them: numbered, in lengths, with marks for pieces."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from woodshop.cutting.model.job import Stock
from woodshop.cutting.model.lumber_job import BETWEEN
from woodshop.cutting.model.plan import Layout, Piece
from woodshop.cutting.order.sequence import leftovers
from woodshop.design.lumber import Need
from woodshop.drawing.values.model import Align, Block, Column, Columns, Drawing, Fill, Heading, Paragraph, Table
from woodshop.drawing.views import layout as drawn
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.reference.materials import Material
from woodshop.units.lengths import ZERO, Length

_TONES = (Fill.BARE, Fill.MIDDLE, Fill.LIGHT, Fill.DARK)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPiece:
    """A piece at its place on its board or sheet; x runs along the board, y across it."""

    mark: str
    address: str
    x: Length
    y: Length
    length: Length
    width: Length
    turned: bool
    spare: bool


@dataclass(frozen=True, slots=True)
class Offcut:
    """An offcut of a board or sheet that is worth keeping, with its place. Its number is written on it."""

    number: str
    x: Length
    y: Length
    length: Length
    width: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedLayout:
    """The layout of one board or sheet: its printed name, its stock, its count and its pieces."""

    name: str
    material: Material
    what: str
    is_offcut: bool
    times: int
    length: Length
    width: Length
    pieces: tuple[LaidPiece, ...]
    plan: MaterialPlan
    layout: Layout

    @property
    def number(self) -> str:
        """The layout number, as chalked on the boards."""
        return self.name.removeprefix("Layout ")

    @property
    def anchor(self) -> str:
        """The anchor for links to this layout."""
        return self.name.lower().replace(" ", "-")

    @property
    def raw(self) -> str:
        """The name of the stock in the shop: a board, a roll, a sheet or an offcut."""
        if self.is_offcut and not self.material.is_lumber:
            return "piece"
        return self.material.form.value

    @property
    def is_sawn(self) -> bool:
        """Whether a saw cuts this stock, not snips or scissors."""
        return self.material.is_sawn


def is_resawn(layout: NumberedLayout) -> bool:
    """Whether the board of a layout was resawn from a thicker one."""
    return layout.layout.stock.endswith(f"{BETWEEN}{layout.material.name}")


def needs_of(planned: PlannedBatch) -> list[Need]:
    """Every part needed, in the order of the marks."""
    return [need for each in planned.plans for need in each.job.needs]


def to_machine(planned: PlannedBatch) -> list[Need]:
    """Every part, counting pieces to cut and, in the rest of a plan, pieces already cut but maybe not machined."""
    to_cut = [replace(need, count=need.count + planned.there.get(need.address, 0)) for need in needs_of(planned)]
    return [*to_cut, *planned.cut_before]


def numbered_layouts(planned: PlannedBatch) -> tuple[NumberedLayout, ...]:
    """Every layout of the batch, in the order of the plans. In the rest of a plan, layouts keep their old numbers."""
    found: list[NumberedLayout] = []
    for each in planned.plans:
        offers = {offer.id: offer for offer in each.job.offers}
        needs = {need.address: need for need in each.job.needs}
        stock = {s.id: s for s in each.plan.job.stock}
        grid = each.job.grid
        marks = _Marks(grid)
        numbers = each.numbers or range(len(found) + 1, len(found) + len(each.plan.layouts) + 1)
        for number, layout in zip(numbers, each.plan.layouts, strict=True):
            offer, raw = offers[layout.stock], stock[layout.stock]
            pieces = tuple(_piece(piece, needs, marks) for piece in layout.pieces)
            found.append(
                NumberedLayout(
                    name=f"Layout {number}",
                    material=each.job.material,
                    what=offer.what,
                    is_offcut=offer.is_offcut,
                    times=layout.times,
                    length=grid * raw.length,
                    width=grid * (raw.width or 0),
                    pieces=pieces,
                    plan=each,
                    layout=layout,
                )
            )
    return tuple(found)


def kept_offcuts(planned: PlannedBatch) -> dict[str, tuple[Offcut, ...]]:
    """The offcuts to keep, keyed by the name of the layout and numbered #1, #2, ... in the order of the layouts.

    Offcuts of one size from one layout share a number. In a metric design they are rounded down to whole millimeters.
    """
    saw, made, found, count = planned.batch.saw, planned.batch.wording.made, {}, 0
    for layout in numbered_layouts(planned):
        numbers: dict[tuple[Length, Length], str] = {}
        own: list[Offcut] = []
        for x, y, exact_length, exact_width in rests(layout):
            length, width = made(exact_length), made(exact_width)
            if length >= saw.shortest_offcut and width >= saw.narrowest_offcut:
                count += (length, width) not in numbers
                own.append(Offcut(numbers.setdefault((length, width), f"#{count}"), x, y, length, width))
        found[layout.name] = tuple(own)
    return found


Kept = Mapping[str, Sequence[Offcut]]
"""The offcuts to keep from each layout, keyed by the name of the layout."""

Place = tuple[Length, Length, Length, Length]
"""A rectangle of a board or sheet: x, y, length and width."""


def trims(layout: NumberedLayout) -> list[Place]:
    """The strips that are trimmed off the ends and edges of the stock first."""
    grid, stock = layout.plan.job.grid, _stock(layout)
    end, edge = grid * stock.end_trim, grid * stock.edge_trim
    ends = [(x, ZERO, end, layout.width) for x in (ZERO, layout.length - end)] if end else []
    between = layout.length - end * 2
    return ends + ([(end, y, between, edge) for y in (ZERO, layout.width - edge)] if edge else [])


def bad_stretches(layout: NumberedLayout) -> list[Place]:
    """The unusable stretches of the stock, across its full width. No piece overlaps them."""
    grid = layout.plan.job.grid
    return [(grid * a, ZERO, grid * (b - a), layout.width) for a, b in _stock(layout).unusable]


def _stock(layout: NumberedLayout) -> Stock:
    return next(each for each in layout.plan.job.job.stock if each.id == layout.layout.stock)


def rests(layout: NumberedLayout) -> list[Place]:
    """All leftovers of one board or sheet, largest first."""
    grid = layout.plan.job.grid
    left = leftovers(layout.plan.job.job, layout.layout, 1, 1)
    return [(grid * rest.x, grid * rest.y, grid * rest.length, grid * rest.width) for rest in left]


class _Marks(dict[int, Length]):
    """Converts grid steps to lengths, and caches the lengths because most of them recur."""

    def __init__(self, grid: Length) -> None:
        super().__init__()
        self.grid = grid

    def __missing__(self, count: int) -> Length:
        return self.setdefault(count, self.grid * count)


def _piece(piece: Piece, needs: dict[str, Need], marks: _Marks) -> LaidPiece:
    need = needs[piece.id]
    return LaidPiece(
        mark=need.mark,
        address=need.address,
        x=marks[piece.x],
        y=marks[piece.y or 0],
        length=marks[piece.length],
        width=marks[piece.width or 0],
        turned=piece.rotated,
        spare=piece.spare,
    )


def groups_of(planned: PlannedBatch) -> list[list[NumberedLayout]]:
    """The layouts of each material's plan, in the order of the plans."""
    layouts = iter(numbered_layouts(planned))
    return [[next(layouts) for _ in plan.plan.layouts] for plan in planned.plans]


def of_times(layouts: Sequence[NumberedLayout], times: Sequence[int]) -> list[NumberedLayout]:
    """The layouts, each to be cut as often as `times` says. Layouts with a count of zero are omitted."""
    return [
        replace(lay, times=count, layout=replace(lay.layout, times=count))
        for lay, count in zip(layouts, times, strict=True)
        if count
    ]


def offcuts_to_keep(layouts: Sequence[NumberedLayout], kept: Kept, planned: PlannedBatch) -> list[Block]:
    """The table of offcuts to keep. The result is empty if there are none."""
    unit = planned.batch.unit
    found = [
        (layout, offcut, len([o for o in kept[layout.name] if o.number == offcut.number]))
        for layout in layouts
        for offcut in {o.number: o for o in reversed(kept[layout.name])}.values()
    ]
    found.sort(key=lambda each: int(each[1].number.removeprefix("#")))
    if not found:
        return []
    rows = tuple(
        (
            "[ ]",
            offcut.number,
            str(layout.times * count),
            f"{offcut.length.number(unit)} x {offcut.width.number(unit)}",
            layout.material.spoken,
            layout.number,
        )
        for layout, offcut, count in found
    )
    columns = (
        Column("", weight=1),
        Column("", weight=1),
        Column("count", Align.RIGHT, weight=1),
        Column("length x width", weight=4),
        Column("material", weight=4),
        Column("layout", Align.RIGHT, weight=1),
    )
    saw = planned.batch.saw
    keep = "list it in the lumberyard file for the next batch"
    if planned.batch.inventory is not None:
        keep = 'enter it in the book as "offcut put away"'
    text = (
        f"Keep offcuts at least {saw.shortest_offcut.text(unit)} long and {saw.narrowest_offcut.text(unit)} wide. "
        f"Write the number on each offcut, measure it, and {keep}."
    )
    if any(trims(layout) for layout, _, _ in found):
        text += " The hatched far end of a board stays on its offcut, but is not counted in the length."
    links = tuple((n, 5, layout.anchor) for n, (layout, _, _) in enumerate(found))
    return [Heading("Offcuts kept", 2), Paragraph(text), Columns((Table(columns, rows, links=links),))]


def spares_of(layouts: Iterable[NumberedLayout]) -> str:
    """The spare pieces of these layouts, from all boards, such as "4 x K, 1 x L", if there are any."""
    counts: Counter[str] = Counter()
    for layout in layouts:
        for piece in layout.pieces:
            if piece.spare:
                counts[piece.mark] += layout.times
    return ", ".join(f"{count} x {mark}" for mark, count in counts.items())


def ranges(numbers: Sequence[int]) -> str:
    """Ascending numbers in a short list.

    >>> ranges([1, 2, 3, 5, 7, 8])
    '1-3, 5, 7, 8'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def layout_drawing(layout: NumberedLayout, planned: PlannedBatch, offcuts: Sequence[Offcut]) -> Drawing:
    """The drawing of one layout: pieces by their marks, offcuts to keep by their numbers, and hatched waste."""
    batch = planned.batch
    marks = [need.mark for need in layout.plan.job.needs]
    tones = {mark: _TONES[n % len(_TONES)] for n, mark in enumerate(marks)}
    pieces = [
        drawn.Rect(p.x, p.y, p.length, p.width, p.mark, turned=p.turned, fill=tones[p.mark]) for p in layout.pieces
    ]
    kept = [drawn.Rect(each.x, each.y, each.length, each.width, each.number) for each in offcuts]
    places = {(each.x, each.y) for each in offcuts}
    left: list[Place] = [*rests(layout), *trims(layout)]
    waste = [drawn.Rect(*each) for each in left if each[:2] not in places]
    return drawn.layout_drawing(
        f"{layout.name}: {layout.what}",
        layout.length,
        layout.width,
        pieces=pieces,
        waste=waste,
        kept=kept,
        bad=[drawn.Rect(*each) for each in bad_stretches(layout)],
        address=layout.what,
        unit=batch.unit,
        cell=layout.plan.job.grid if layout.material.mesh is not None else None,
    )
