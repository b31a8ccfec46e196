"""The plan's layouts as people read them: numbered, in lengths, with marks for pieces."""

from dataclasses import dataclass

from woodshop.batch.values import MaterialPlan, Need, PlannedBatch
from woodshop.cutting.plan import Layout, Piece
from woodshop.cutting.sequence import leftovers
from woodshop.units import ZERO, Length


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class NumberedLayout:
    """One board or sheet as it will be cut: its name on paper, what it is, how often, its pieces."""

    name: str
    material: str
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
        if self.material.startswith(("board ", "lattice ")):
            return "board"
        if self.is_rack:
            return "piece"
        return "roll" if self.material.startswith(("mesh ", "cloth")) else "sheet"

    @property
    def is_sawn(self) -> bool:
        """Whether a saw cuts it, and not snips or scissors."""
        return self.material.startswith(("board ", "lattice ", "plywood "))


def numbered_layouts(planned: PlannedBatch) -> tuple[NumberedLayout, ...]:
    """Every layout of the batch, numbered through, in the order of the plans."""
    found: list[NumberedLayout] = []
    for each in planned.plans:
        offers = {offer.id: offer for offer in each.job.offers}
        needs = {need.address: need for need in each.job.needs}
        stock = {s.id: s for s in each.plan.job.stock}
        grid = each.job.grid
        for layout in each.plan.layouts:
            offer, raw = offers[layout.stock], stock[layout.stock]
            pieces = tuple(_piece(piece, needs, grid) for piece in layout.pieces)
            found.append(
                NumberedLayout(
                    f"Layout {len(found) + 1}",
                    each.job.material,
                    offer.what,
                    bool(offer.label),
                    layout.times,
                    grid * raw.length,
                    grid * (raw.width or 0),
                    pieces,
                    each,
                    layout,
                )
            )
    return tuple(found)


def kept_offcuts(planned: PlannedBatch) -> dict[str, tuple[Offcut, ...]]:
    """The offcuts for the rack by their layouts' names, numbered through: K1, K2, ... as the layouts come."""
    saw, found, count = planned.batch.saw, {}, 0
    for layout in numbered_layouts(planned):
        own: list[Offcut] = []
        for x, y, length, width in rests(layout):
            if length >= saw.shortest_offcut and width >= saw.narrowest_offcut:
                count += 1
                own.append(Offcut(f"K{count}", x, y, length, width))
        found[layout.name] = tuple(own)
    return found


def rests(layout: NumberedLayout) -> list[tuple[Length, Length, Length, Length]]:
    """All that is left of one board or sheet, as x, y, length and width, largest first."""
    grid = layout.plan.job.grid
    left = leftovers(layout.plan.job.job, layout.layout, 1, 1)
    return [(grid * rest.x, grid * rest.y, grid * rest.length, grid * rest.width) for rest in left]


def _piece(piece: Piece, needs: dict[str, Need], grid: Length) -> LaidPiece:
    need = needs[piece.id]
    return LaidPiece(
        need.mark,
        need.address,
        grid * piece.x,
        grid * (piece.y or 0),
        grid * piece.length,
        grid * piece.width if piece.width else ZERO,
        piece.rotated,
        piece.spare,
    )
