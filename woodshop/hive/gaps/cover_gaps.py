"""How things stand on each other, and what the cover does: overhangs, contacts, clearance, slit, overlap, notch."""

from itertools import pairwise

from woodshop.hive.gaps.faces import SIDE_AXIS, SIDES, Faces, Gap, Kind, Side, StackPart, X, Y, Z
from woodshop.hive.stacking.place import STANDING, TierKind


def all_cover_gaps(faces: Faces) -> list[Gap]:
    """Each standing tier on the one beneath, and the cover over them."""
    standing = faces.tiers(TierKind.BOTTOM, *STANDING)
    found: list[Gap] = []
    for lower, upper in pairwise(standing):
        found += _stands(faces, lower, upper)
    for cover in faces.tiers(TierKind.COVER):
        found += _cover(faces, cover, standing[-1])
    return found


def _stands(faces: Faces, lower: int, upper: int) -> list[Gap]:
    """Overhang at each side, wall on wall, and a floor that lies between them."""
    low, high = faces.walls(lower), faces.walls(upper)
    name = f"{faces.stack.tiers[upper].name} on {faces.stack.tiers[lower].name}"
    found: list[Gap] = []
    for side in SIDES:
        if side not in low or side not in high:
            continue
        found.append(overhang(faces, name, side, low[side], high[side]))
        for piece in (high[side], *faces.named(upper, *faces.stack.tiers[upper].place.floors)):
            said = "wall on wall" if piece is high[side] else f"{piece.name} on wall"
            found += _lies_on(faces, said, f"{name}, {side}", low[side], piece)
    return found


def _lies_on(faces: Faces, said: str, place: str, low: StackPart, high: StackPart) -> list[Gap]:
    """From the upper edge of a wall up to what lies over it: of a wall with a frame rest, from its outer lip."""
    a, b = low.block, high.block
    if not all(a[i] < b[i + 3] and b[i] < a[i + 3] for i in (X, Y)):
        return []
    return [faces.between(said, place, "contact", (low, high), Z, b[Z] - a[Z + 3])]


def overhang(faces: Faces, place: str, side: Side, low: StackPart, high: StackPart) -> Gap:
    """How far the upper wall stands out over the lower at that side; negative where it falls short."""
    axis, far = SIDE_AXIS[side]
    if far:
        by = high.block[axis + 3] - low.block[axis + 3]
        return faces.between("overhang", f"{place}, {side}", "contact", (low, high), axis, by)
    by = low.block[axis] - high.block[axis]
    return faces.between("overhang", f"{place}, {side}", "contact", (high, low), axis, by)


def _cover(faces: Faces, cover: int, under: int) -> list[Gap]:
    """Over the tier that it sits on: the slit or the contact, and what its skirt does at each side."""
    (top,) = faces.named(cover, "cover top")
    walls, found = faces.walls(under), []
    place = f"cover on {faces.stack.tiers[under].name}"
    spacers = tuple(piece for n in faces.tiers(TierKind.UNDER_COVER) for piece in faces.pieces[n])
    said: tuple[str, Kind] = ("vent slit", "shut") if spacers else ("cover on wall", "contact")
    for side, wall in _once(walls):
        found += faces.least(said[0], f"{place}, {side}", said[1], wall, top, Z)
        for number, square in enumerate(spacers, 1):
            if faces.steps(wall, square, Z):
                found += faces.least("spacer on wall", f"spacer {number}, {side}", "contact", wall, square, Z)
    for number, square in enumerate(spacers, 1):
        found += faces.least("spacer under cover", f"spacer {number}", "contact", square, top, Z)
    return found + _skirt(faces, cover, under, place)


def _once(walls: dict[Side, StackPart]) -> list[tuple[str, StackPart]]:
    """The walls by side; one block for all four sides only once."""
    if len(set(map(id, walls.values()))) == 1:
        return [("all round", next(iter(walls.values())))]
    return list(walls.items())


def _skirt(faces: Faces, cover: int, under: int, place: str) -> list[Gap]:
    if not faces.named(cover, "skirt side"):
        return []
    skirts, walls, found = faces.walls(cover), faces.walls(under), []
    for side in SIDES:
        skirt, (axis, far) = skirts[side], SIDE_AXIS[side]
        for n in faces.tiers(*STANDING):
            wall = faces.walls(n)[side]
            pair = (wall, skirt) if far else (skirt, wall)
            where = f"cover over {faces.stack.tiers[n].name}, {side}"
            found += faces.least("cover skirt to wall", where, "declared", *pair, axis)
        by = walls[side].block[Z + 3] - skirt.block[Z]
        pair = (skirt, walls[side])
        found.append(faces.between("skirt overlap", f"{place}, {side}", "declared", pair, Z, by))
    return found + _notch(faces, skirts)


def _notch(faces: Faces, skirts: dict[Side, StackPart]) -> list[Gap]:
    """From the upper edge of the upper entrance to the skirt's lower edge: negative where the skirt covers it.

    Under a quilt box or a feeder the cover is nowhere near.
    """
    if faces.tiers(TierKind.TOP_BOX, TierKind.FEEDER):
        return []
    found = []
    for n in faces.tiers(TierKind.BOARD):
        for end in faces.named(n, "front end"):
            for cut, hollow in zip(end.placed.part.cuts, end.placed.hollows, strict=True):
                if cut.name == "upper entrance":
                    by = skirts["front"].block[Z] - int(faces.whole(hollow.high[Z]))
                    pair = (end, skirts["front"])
                    place = faces.stack.tiers[n].name
                    found.append(faces.between("upper entrance to skirt", place, "declared", pair, Z, by))
    return found
