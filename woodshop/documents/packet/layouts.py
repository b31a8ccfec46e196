"""The plan's layouts as people read them: numbered, in lengths, with marks for pieces."""

from dataclasses import dataclass

from woodshop.cutting.model.job import Stock
from woodshop.cutting.model.plan import Layout, Piece
from woodshop.cutting.order.sequence import leftovers
from woodshop.design.lumber import Need
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.reference.materials import Material
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPiece:
    """A piece as it lies on its board or sheet, x along it and y across."""

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
    """What is left of a board or sheet and worth keeping, placed like a piece; its number is written on it."""

    number: str
    x: Length
    y: Length
    length: Length
    width: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedLayout:
    """One board or sheet as it will be cut: its name on paper, what it is, how often, its pieces."""

    name: str
    material: Material
    what: str
    is_rack: bool
    times: int
    length: Length
    width: Length
    pieces: tuple[LaidPiece, ...]
    plan: MaterialPlan
    layout: Layout

    @property
    def anchor(self) -> str:
        """What a link to it names."""
        return self.name.lower().replace(" ", "-")

    @property
    def raw(self) -> str:
        """What people call the stock on the bench: a board, a roll, a sheet; a piece of one from the rack."""
        if self.is_rack and not self.material.is_lumber:
            return "piece"
        return self.material.form.value

    @property
    def is_sawn(self) -> bool:
        """Whether a saw cuts it, and not snips or scissors."""
        return self.material.is_sawn


def numbered_layouts(planned: PlannedBatch) -> tuple[NumberedLayout, ...]:
    """Every layout of the batch, numbered through, in the order of the plans."""
    found: list[NumberedLayout] = []
    for each in planned.plans:
        offers = {offer.id: offer for offer in each.job.offers}
        needs = {need.address: need for need in each.job.needs}
        stock = {s.id: s for s in each.plan.job.stock}
        grid = each.job.grid
        marks = _Marks(grid)
        for layout in each.plan.layouts:
            offer, raw = offers[layout.stock], stock[layout.stock]
            pieces = tuple(_piece(piece, needs, marks) for piece in layout.pieces)
            found.append(
                NumberedLayout(
                    name=f"Layout {len(found) + 1}",
                    material=each.job.material,
                    what=offer.what,
                    is_rack=bool(offer.label),
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
    """The offcuts for the rack by their layouts' names, numbered #1, #2, ... as the layouts come.

    Those of one size from one layout share a number.
    """
    saw, found, count = planned.batch.saw, {}, 0
    for layout in numbered_layouts(planned):
        numbers: dict[tuple[Length, Length], str] = {}
        own: list[Offcut] = []
        for x, y, length, width in rests(layout):
            if length >= saw.shortest_offcut and width >= saw.narrowest_offcut:
                count += (length, width) not in numbers
                own.append(Offcut(numbers.setdefault((length, width), f"#{count}"), x, y, length, width))
        found[layout.name] = tuple(own)
    return found


Place = tuple[Length, Length, Length, Length]
"""A rectangle of a board or sheet: x, y, length and width."""


def trims(layout: NumberedLayout) -> list[Place]:
    """What is squared and trued off the stock's ends and edges before anything else is cut."""
    grid, stock = layout.plan.job.grid, _stock(layout)
    end, edge = grid * stock.end_trim, grid * stock.edge_trim
    ends = [(x, ZERO, end, layout.width) for x in (ZERO, layout.length - end)] if end else []
    between = layout.length - end * 2
    return ends + ([(end, y, between, edge) for y in (ZERO, layout.width - edge)] if edge else [])


def bad_stretches(layout: NumberedLayout) -> list[Place]:
    """The stretches of the stock that no piece may lie on, across its whole width."""
    grid = layout.plan.job.grid
    return [(grid * a, ZERO, grid * (b - a), layout.width) for a, b in _stock(layout).unusable]


def _stock(layout: NumberedLayout) -> Stock:
    return next(each for each in layout.plan.job.job.stock if each.id == layout.layout.stock)


def rests(layout: NumberedLayout) -> list[Place]:
    """All that is left of one board or sheet, largest first."""
    grid = layout.plan.job.grid
    left = leftovers(layout.plan.job.job, layout.layout, 1, 1)
    return [(grid * rest.x, grid * rest.y, grid * rest.length, grid * rest.width) for rest in left]


class _Marks(dict[int, Length]):
    """So many steps of a grid as a length; most lengths of a layout come up again and again."""

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
