"""The bottom board, solid or screened, with its entrance and the mouse guard in front of the entrance."""

import math
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.errors import InputError, Problem
from woodshop.hive.creatures import OpeningName
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING, mesh
from woodshop.shape.part import Assembly, Cuboid, Cut, Part, Placed, Pose, Role, RoundOutline, Space
from woodshop.units.lengths import ZERO, Area, Length, inch


@dataclass(frozen=True, slots=True)
class BottomBoard:
    """A bottom board under a box with this outside length and width. `wall` is the thickness of its rails.

    The entrance is centered. It is `entrance_height` high from the floor to the box, and `entrance_width` wide.
    """

    length: Length
    width: Length
    wall: Length
    _: KW_ONLY
    entrance_height: Length
    entrance_width: Length
    screened: bool = False


def lay_bottom(board: BottomBoard) -> Assembly:
    """The placed bottom board: upper edges of its rails at z = 0, front left corner of the box at x = y = 0.

    Raises InputError for an entrance wider than the space between the rails.
    """
    clear = board.width - board.wall * 2
    if not ZERO < board.entrance_width <= clear or board.entrance_height <= ZERO:
        raise InputError(
            Problem(
                "bottom board, entrance",
                f"{board.entrance_width} wide and {board.entrance_height} high",
                f"an opening between the rails, at most {clear} wide",
                "Measure the entrance.",
            )
        )
    placed = _screened(board) if board.screened else _solid(board)
    placed += _blocks(board, clear)
    low, high = ZERO - board.entrance_height, ZERO
    under = Cuboid((ZERO, board.wall, low), (board.length - board.wall, board.width - board.wall, high))
    why = "deep in winter, so that dead bees do not block the entrance; bees build there once it is warm"
    return Assembly(
        "bottom board",
        "Screened bottom board" if board.screened else "Bottom board",
        tuple(Placed(part, pose, Role.EXISTING) for part, pose in placed),
        spaces=(Space("under the frames", under, why),),
    )


def _rails(board: BottomBoard, low: Length) -> list[tuple[Part, Pose]]:
    """The left, right and back rails, from `low` up to the box."""
    t, length, width, high = board.wall, board.length, board.width, ZERO - low
    side = Part("bottom side", EXISTING, length, high, t)
    back = Part("bottom back", EXISTING, width - t * 2, high, t)
    return [
        (side, Pose((ZERO, t, low), "+x", "+z", "-y")),
        (side, Pose((length, width - t, low), "-x", "+z", "+y")),
        (back, Pose((length - t, t, low), "+y", "+z", "+x")),
    ]


def _blocks(board: BottomBoard, clear: Length) -> list[tuple[Part, Pose]]:
    """The blocks that close the front on both sides of an entrance that is narrower than the box."""
    wide = (clear - board.entrance_width) / 2
    if wide <= ZERO:
        return []
    t, low = board.wall, ZERO - board.entrance_height
    block = Part("entrance block", EXISTING, wide, board.entrance_height, t)
    return [
        (block, Pose((t, t + wide, low), "-y", "+z", "-x")),
        (block, Pose((t, board.width - t, low), "-y", "+z", "-x")),
    ]


def _solid(board: BottomBoard) -> list[tuple[Part, Pose]]:
    thick, landing = fact("bottom.floor").length, fact("bottom.landing").length
    low = ZERO - board.entrance_height
    floor = Part("floor", EXISTING, board.length + landing, board.width, thick)
    return [*_rails(board, low), (floor, Pose((ZERO - landing, ZERO, low - thick)))]


def _screened(board: BottomBoard) -> list[tuple[Part, Pose]]:
    """The parts of a screened bottom board: rails that extend past the insert, the screen, a landing board, runners."""
    t, length, width = board.wall, board.length, board.width
    drop, runner, landing = (fact(f"bottom.{n}").length for n in ("insert_drop", "runner", "landing"))
    thick, floor = mesh("1/8 in").wire * 2, fact("bottom.floor").length
    top = ZERO - board.entrance_height
    low = top - thick - drop - runner
    screen = Part("screen", EXISTING, length - t, width - t * 2, thick)
    sill = Part("landing board", EXISTING, width, landing, floor)
    strip = Part("runner", EXISTING, length - t, runner, runner)
    return [
        *_rails(board, low),
        (screen, Pose((ZERO, t, top - thick))),
        (sill, Pose((ZERO, ZERO, top - floor), "+y", "-x", "+z")),
        (strip, Pose((ZERO, t, low))),
        (strip, Pose((ZERO, width - t - runner, low))),
    ]


def folded(guard: Assembly) -> tuple[Placed, ...]:
    """The parts of a guard that is folded along z = 0, so that the front is upright and the foot points forward.

    The fold uses no length. The foot lies at z = 0, and the front rises from the foot at x = 0.
    """
    placed: list[Placed] = []
    for flat in guard.placed:
        if flat.role is not Role.EXISTING:
            placed += _folded(flat)
    return tuple(placed)


def _folded(flat: Placed) -> list[Placed]:
    part, low = flat.part, flat.box.low
    foot = ZERO - low[2]
    if foot <= ZERO:
        return [flat]
    thick = part.thickness
    cuts = tuple(_raised(cut, foot) for cut in part.cuts)
    front = replace(part, width=part.width - foot, cuts=cuts, folds=())
    x, y, _ = flat.pose.origin
    stands = Placed(front, Pose((x, y, ZERO), "-y", "+z", "-x"), flat.role)
    lying = Part("guard foot", part.material, part.length, foot, thick)
    return [stands, Placed(lying, Pose((x - thick, y, thick), "-y", "-x", "-z"), flat.role)]


def _raised(cut: Cut, by: Length) -> Cut:
    outline = cut.outline
    if isinstance(outline, RoundOutline):
        return replace(cut, outline=replace(outline, v=outline.v - by))
    return replace(cut, outline=replace(outline, v0=outline.v0 - by, v1=outline.v1 - by))


def guard_clear(guard: Placed, entrance: Cuboid, foot: Length = ZERO) -> Area:
    """The approximate open area of the entrance behind the guard, through its round holes or square cells.

    `foot` is the width of the blank that is folded forward at the lower edge; wires are counted from its end. For a
    round hole, only the part within the height of the entrance counts. Holes that extend past the ends of the entrance
    do not count.
    """
    if (kind := guard.part.material.mesh) is not None:
        wide = sum(
            (high - low).inches
            for low, high in _openings(guard, 1, entrance, pitch=kind.pitch, wire=kind.wire, before=ZERO)
        )
        tall = sum(
            (high - low).inches
            for low, high in _openings(guard, 2, entrance, pitch=kind.pitch, wire=kind.wire, before=foot)
        )
        return inch(1) * inch(1) * (wide * tall)
    low, high = float(entrance.low[2].inches), float(entrance.high[2].inches)
    total = 0.0
    for hole in bee_holes(guard):
        if entrance.low[1] <= hole.low[1] and hole.high[1] <= entrance.high[1]:
            r = float(hole.size(2).inches) / 2
            middle = float((hole.low[2] + hole.high[2]).inches) / 2
            total += circle_below(r, high - middle) - circle_below(r, low - middle)
    return inch(1) * inch(1) * Fraction(total)


def circle_below(radius: float, height: float) -> float:
    """The area of a circle below a horizontal line `height` above its center, as a float for display."""
    h = max(-radius, min(radius, height))
    return radius * radius * (math.pi / 2 + math.asin(h / radius)) + h * math.sqrt(radius * radius - h * h)


def bee_holes(guard: Placed) -> list[Cuboid]:
    """The bounding squares of the bee holes, in world coordinates."""
    pairs = zip(guard.part.cuts, guard.hollows, strict=True)
    return [box for cut, box in pairs if cut.name == OpeningName.BEE_HOLE and isinstance(cut.outline, RoundOutline)]


def _openings(
    guard: Placed, axis: int, entrance: Cuboid, *, pitch: Length, wire: Length, before: Length
) -> list[tuple[Length, Length]]:
    """The openings between wires along an axis, limited to the edges of the entrance."""
    found, start = [], guard.box.low[axis] - before
    for n in range((guard.box.size(axis) + before - wire) // pitch):
        low = max(start + pitch * n + wire, entrance.low[axis])
        high = min(start + pitch * (n + 1), entrance.high[axis])
        if low < high:
            found.append((low, high))
    return found
