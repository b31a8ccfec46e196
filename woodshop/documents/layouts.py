"""The plan's layouts as people read them: numbered, in lengths, with marks for pieces."""

from dataclasses import dataclass

from woodshop.batch.values import MaterialPlan, Need, PlannedBatch
from woodshop.cutting.plan import Layout, Piece
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
