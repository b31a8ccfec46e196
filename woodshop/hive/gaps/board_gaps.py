"""Gaps about the board: what is over the top bars, the strips and the lanes between them, the room over the sugar."""

from itertools import pairwise

from woodshop.hive.gaps.faces import Faces, Gap, Kind, StackPart, Window, X, Y, Z
from woodshop.hive.stacking.place import TierKind


def ceiling(faces: Faces, above: int) -> tuple[str, tuple[StackPart, ...]] | None:
    """What closes the room above a tier, by name: the first floor, panel or top over it; None where there is none."""
    for n in range(above + 1, len(faces.stack.tiers)):
        place = faces.stack.tiers[n].place
        pieces = faces.named(n, *place.ceiling)
        if pieces:
            return place.ceiling_name, pieces
    return None


def all_board_gaps(faces: Faces) -> list[Gap]:
    """Everything between the top bars and what closes the hive above them."""
    box = faces.tiers(TierKind.BOX)[-1]
    place = faces.stack.tiers[box].name
    bars = faces.named(box, "top bar")
    strips = tuple(piece for n in faces.tiers(TierKind.ON_BARS) for piece in faces.named(n, "strip"))
    mesh = tuple(piece for n in faces.tiers(TierKind.BOARD) for piece in faces.named(n, "mesh"))
    found = [*_strips(faces, box, bars, strips, mesh), *_between_strips(faces, box, strips)]
    for lane, window in _lanes(strips):
        where = f"{place}, lane {lane}" if strips else place
        for sheet in mesh:
            for bar in bars:
                found += faces.least("mesh over top bars", where, "mesh over bars", bar, sheet, Z, window)
    if not faces.tiers(TierKind.BOARD, TierKind.SHIM):
        found += _bars_to_ceiling(faces, box, place, bars)
    return found + _sugar(faces, bars, mesh)


def _lanes(strips: tuple[StackPart, ...]) -> list[tuple[int, Window]]:
    """From one strip to the next, and outside the outer ones: numbered from the front."""
    across = sorted(strips, key=lambda strip: strip.block[0])
    fronts = [None, *(strip.block[3] for strip in across)]
    backs = [*(strip.block[0] for strip in across), None]
    pairs = enumerate(zip(fronts, backs, strict=True), 1)
    return [(n, (front, None, None, back, None, None)) for n, (front, back) in pairs]


def _between_strips(faces: Faces, box: int, strips: tuple[StackPart, ...]) -> list[Gap]:
    """How wide the lanes are: from the front wall to the first strip, from strip to strip, and to the back wall."""
    if not strips:
        return []
    walls, across = faces.walls(box), sorted(strips, key=lambda strip: strip.block[X])
    place = faces.stack.tiers[box].name
    return [
        faces.between("lane between strips", place, "declared", pair, X, pair[1].block[X] - pair[0].block[X + 3])
        for pair in pairwise((walls["front"], *across, walls["back"]))
    ]


def _strips(
    faces: Faces, box: int, bars: tuple[StackPart, ...], strips: tuple[StackPart, ...], mesh: tuple[StackPart, ...]
) -> list[Gap]:
    walls, found = faces.walls(box), []
    for number, strip in enumerate(strips, 1):
        place = f"{faces.stack.tiers[box].name}, strip {number}"
        for bar in bars:
            found += faces.least("strip on top bars", place, "contact", bar, strip, Z)
        for sheet in mesh:
            found += faces.least("strip to mesh", place, "contact", strip, sheet, Z)
        if mesh:
            for bar in bars:
                high = strip.block[Z + 3] - bar.block[Z + 3]
                found.append(faces.between("strip top over top bars", place, "mesh on strip", (bar, strip), Z, high))
        left, right = walls["left"], walls["right"]
        said = "strip end to side wall"
        by = strip.block[Y] - left.block[Y + 3]
        found.append(faces.between(said, f"{place}, left", "shut", (left, strip), Y, by))
        by = right.block[Y] - strip.block[Y + 3]
        found.append(faces.between(said, f"{place}, right", "shut", (strip, right), Y, by))
    return found


def _bars_to_ceiling(faces: Faces, box: int, place: str, bars: tuple[StackPart, ...]) -> list[Gap]:
    closed = ceiling(faces, box)
    if closed is None:
        return []
    name, pieces = closed
    found = []
    for bar in bars:
        for piece in pieces:
            found += faces.least(f"top bars to {name}", place, "bees' way", bar, piece, Z)
    return found


def _sugar(faces: Faces, bars: tuple[StackPart, ...], mesh: tuple[StackPart, ...]) -> list[Gap]:
    """What the sugar lies on, and the room over it; meant wide where its item says so."""
    found: list[Gap] = []
    for n in faces.tiers(TierKind.BOARD, TierKind.SHIM):
        tier = faces.stack.tiers[n]
        kind: Kind = "declared" if tier.spaces else "bees' way"
        closed = ceiling(faces, n)
        for sugar in faces.named(n, "packed sugar", "sugar cake"):
            lies = mesh if tier.kind is TierKind.BOARD else bars
            for under in lies:
                found += faces.least("sugar on what carries it", tier.name, "contact", under, sugar, Z)
            for piece in closed[1] if closed else ():
                found += faces.least("head room over the sugar", tier.name, kind, sugar, piece, Z)
    return found
