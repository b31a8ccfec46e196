"""Measures how each tier rests on the tier below (contacts, overhangs, parts between them), and how the cover fits.

Everything is measured on the placed parts of a stack. Limits and grades belong to the checks.
"""

from dataclasses import KW_ONLY, dataclass
from itertools import pairwise

from woodshop.hive.creatures import OpeningName
from woodshop.hive.gaps.faces import SIDE_AXIS, SIDES, Faces, Gap, GapName, Side, StackPart, X, Y, Z, faces_of
from woodshop.hive.gaps.gaps import overhang
from woodshop.hive.stacking.place import STANDING, TierKind
from woodshop.hive.stacking.stack import Block, Contact, Stack
from woodshop.hive.woodenware.bottom import circle_below
from woodshop.reference.facts import fact
from woodshop.shape.part import RoundOutline
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Leak:
    """A stretch of a lower edge with no support across the full thickness of the wall. The gap there is `height` high.

    `start` and `end` are positions along the side: from the left for front and back, from the front for left and right.
    """

    side: Side
    start: Length
    end: Length
    height: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """How a tier rests on the tier below: its contacts, how far they lift it off the walls, its overhangs and leaks.

    An overhang is negative if the upper tier is set in. `lifted_by` names the parts that carry the tier if the walls do
    not. `remark` is a note about something that the parts do not show.
    """

    tier: str
    on: str
    own: bool
    rests: tuple[Contact, ...]
    lifted: Length
    lifted_by: tuple[str, ...]
    overhangs: tuple[tuple[Side, Length], ...]
    leaks: tuple[Leak, ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class CoverFit:
    """The fit of a telescoping cover: its clearance to the walls inside it, at each side."""

    on: str
    clearance: tuple[tuple[Side, Length], ...]


@dataclass(frozen=True, slots=True)
class NotchWay:
    """The upper entrance under the skirt: its height, and the distance from its upper edge up to the skirt (`clear`).

    `clear` is negative if the skirt covers the edge. `left` is the height that stays open.
    """

    height: Length
    clear: Length
    left: Length


@dataclass(frozen=True, slots=True)
class VentHole:
    """A round vent hole: its diameter, how much of it the skirt hides, and its total and open area in sq in."""

    wall: str
    side: Side
    diameter: Length
    _: KW_ONLY
    hidden: Length
    area: float
    breathing: float


def seats(stack: Stack) -> tuple[Seat, ...]:
    """How every standing tier rests on the tier below, from bottom to top."""
    faces = faces_of(stack)
    standing = faces.tiers(TierKind.BOTTOM, *STANDING)
    return tuple(_seat(faces, lower, upper) for lower, upper in pairwise(standing))


def _seat(faces: Faces, lower: int, upper: int) -> Seat:
    low, high = faces.walls(lower), faces.walls(upper)
    under, tier = faces.stack.tiers[lower], faces.stack.tiers[upper]
    sides = [side for side in SIDES if side in low and side in high]
    floors = faces.named(upper, *tier.place.floors)
    overhangs = tuple((side, overhang(faces, "", side, low[side], high[side]).least) for side in sides)
    bearing = [piece for piece in (*high.values(), *floors) if any(piece.is_over(wall) for wall in low.values())]
    rise = min((p.block[Z] for p in bearing), default=0) - max(wall.block[Z + 3] for wall in low.values())
    leaks = [
        leak
        for side in sides
        for leak in _leaks(faces, side, lower, high=high, floors=floors, passages=tier.place.passages)
    ]
    by = tuple(dict.fromkeys(c.on for c in tier.rests)) if rise > 0 else ()
    row = fact("wire_bottom.lift")
    stapled = any(piece.name == "mesh" and piece.block[Z] < high[sides[0]].block[Z] for piece in floors)
    remark = f"wire and staple crowns stand out about {row.value} from the wood ({row.cite})" if stapled else ""
    lifted = faces.length(max(rise, 0))
    return Seat(
        tier=tier.name, on=under.name, own=tier.is_own, rests=tier.rests,
        lifted=lifted, lifted_by=by, overhangs=overhangs, leaks=tuple(leaks), remark=remark,
    )  # fmt: skip


def _leaks(
    faces: Faces,
    side: Side,
    lower: int,
    *,
    high: dict[Side, StackPart],
    floors: tuple[StackPart, ...],
    passages: tuple[str, ...],
) -> list[Leak]:
    """The stretches of a wall where parts above and below do not touch anywhere across the thickness of the wall.

    A passage for bees is an opening, not a leak.
    """
    across, _ = SIDE_AXIS[side]
    along = Y - across
    wall = high[side].block
    low, second_end = _inside(high, along)
    entrances = [
        [int(faces.whole(edge[along])) for edge in (hollow.low, hollow.high)]
        for cut, hollow in zip(high[side].placed.part.cuts, high[side].placed.hollows, strict=True)
        if cut.name in passages
    ]
    window = {across: (wall[across], wall[across + 3]), along: (low, second_end)}
    above = _within([c for piece in (*dict.fromkeys(high.values()), *floors) for c in piece.cells], window)
    below = _within([c for piece in faces.pieces[lower] for c in piece.cells], window)
    found: list[tuple[int, int, int]] = []
    for a0, a1 in pairwise(_marks((*above, *below), along, *window[along])):
        if any(a0 < end and start < a1 for start, end in entrances):
            continue
        height = _way(
            [c for c in above if c[along] <= a0 and a1 <= c[along + 3]],
            [c for c in below if c[along] <= a0 and a1 <= c[along + 3]],
            across,
            window[across],
        )
        if found and found[-1][1:] == (a0, height):
            found[-1] = (found[-1][0], a1, height)
        else:
            found.append((a0, a1, height))
    return [Leak(side, *(faces.length(value) for value in each)) for each in found if each[2] > 0]


def _inside(walls: dict[Side, StackPart], along: int) -> tuple[int, int]:
    """The range between the inner faces of two opposite walls, or the full length of a single block."""
    first_end, second_end = ("front", "back") if along == X else ("left", "right")
    first, last = (walls[each].block for each in SIDES if each in (first_end, second_end) and each in walls)
    if first == last:
        return first[along], first[along + 3]
    return first[along + 3], last[along]


def _way(above: list[Block], below: list[Block], across: int, wall: tuple[int, int]) -> int:
    """The height of the gap under a wall where it is lowest, across the wall's thickness. Zero if any parts touch."""
    heights = []
    for c0, c1 in pairwise(_marks((*above, *below), across, *wall)):
        edges = [c[Z] for c in above if c[across] <= c0 and c1 <= c[across + 3]]
        tops = [c[Z + 3] for c in below if c[across] <= c0 and c1 <= c[across + 3]]
        if edges and tops:
            heights.append(min(edges) - max(tops))
    if heights:
        return max(0, min(heights))
    return wall[1] - wall[0]  # nothing is under the wall, so it is open by at least its full width


def _within(cells: list[Block], window: dict[int, tuple[int, int]]) -> list[Block]:
    (i, (a, b)), (j, (c, d)) = window.items()
    return [cell for cell in cells if cell[i] < b and a < cell[i + 3] and cell[j] < d and c < cell[j + 3]]


def _marks(cells: tuple[Block, ...], axis: int, low: int, high: int) -> list[int]:
    return sorted({low, high} | {m for c in cells for m in (c[axis], c[axis + 3]) if low < m < high})


def _skirted(faces: Faces) -> tuple[int, dict[Side, StackPart]] | None:
    """The index of a cover's tier, and the cover's skirt, keyed by side, or None if no cover has a skirt."""
    for n in faces.tiers(TierKind.COVER):
        if faces.named(n, "skirt side"):
            return n, faces.walls(n)
    return None


def cover_fit(stack: Stack) -> CoverFit | None:
    """How a telescoping cover fits over the walls below, or None for a flat cover or no cover."""
    faces = faces_of(stack)
    skirted = _skirted(faces)
    if skirted is None:
        return None
    under = faces.tiers(*STANDING)[-1]
    walls = faces.walls(under)
    clearance = []
    for side in SIDES:
        (axis, second_end), skirt, wall = SIDE_AXIS[side], skirted[1][side].block, walls[side].block
        by = skirt[axis] - wall[axis + 3] if second_end else wall[axis] - skirt[axis + 3]
        clearance.append((side, faces.length(by)))
    return CoverFit(stack.tiers[under].name, tuple(clearance))


def notch_way(gaps: tuple[Gap, ...], stack: Stack) -> NotchWay | None:
    """The upper entrance and the skirt in front of it, from the measured gaps, or None if no such gap was measured."""
    clear = next((gap.least for gap in gaps if gap.name == GapName.ENTRANCE_TO_SKIRT), None)
    if clear is None:
        return None
    (end,) = (placed for tier in stack.of(TierKind.BOARD) for placed in tier.named("front end"))
    pairs = zip(end.part.cuts, end.hollows, strict=True)
    height = next(hollow.size(Z) for cut, hollow in pairs if cut.name == OpeningName.UPPER_ENTRANCE)
    return NotchWay(height, clear, max(ZERO, min(height, height + clear)))


def vent_holes(stack: Stack) -> tuple[VentHole, ...]:
    """Every round vent hole, with how much of it the skirt of the cover hides."""
    faces = faces_of(stack)
    skirted = _skirted(faces)
    found = []
    for n in faces.tiers(TierKind.TOP_BOX):
        for side, wall in faces.walls(n).items():
            for cut, hollow in zip(wall.placed.part.cuts, wall.placed.hollows, strict=True):
                if isinstance(cut.outline, RoundOutline):
                    edge = faces.length(skirted[1][side].block[Z]) if skirted else hollow.high[Z]
                    hidden = min(cut.outline.diameter, max(ZERO, hollow.high[Z] - edge))
                    r, over = float(cut.outline.diameter.inches) / 2, float(hidden.inches)
                    area, clear = circle_below(r, r), circle_below(r, r - over)
                    found.append(
                        VentHole(wall.label, side, cut.outline.diameter, hidden=hidden, area=area, breathing=clear)
                    )
    return tuple(found)
