"""Gaps of the user's own boxes and frames: between frames, to the walls, from one box to the next, to the floor."""

from itertools import pairwise, product

from woodshop.hive.gaps.faces import EVERYWHERE, Faces, Gap, Side, StackPart, Window, X, Y, Z
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact


def box_gaps(faces: Faces, tier: int) -> list[Gap]:
    """What bees meet inside one box."""
    place = faces.stack.tiers[tier].name
    bars, combs = faces.named(tier, "top bar"), faces.named(tier, "comb")
    walls, ends = faces.walls(tier), faces.named(tier, "end bar")
    found: list[Gap] = []
    for name, row in (("between top bars", bars), ("between combs", combs)):
        for one, other in pairwise(row):
            found += faces.least(name, place, "bees' way", one, other, Y)
    for word, row in (("front", ends[::2]), ("back", ends[1::2])):
        for one, other in pairwise(row):
            found += _end_bars(faces, f"{place}, {word}", one, other)
    for name, rows in (("end bar", (ends[::2], ends[1::2])), ("comb", (combs,)), ("top bar", (bars,))):
        for row in rows:
            if row:
                said = f"outer {name} to side wall"
                found += faces.least(said, f"{place}, left", "bees' way", walls["left"], row[0], Y)
                found += faces.least(said, f"{place}, right", "bees' way", row[-1], walls["right"], Y)
    for front, back in zip(ends[::2], ends[1::2], strict=True):
        found += faces.least("end bar to end wall", f"{place}, front", "bees' way", walls["front"], front, X)
        found += faces.least("end bar to end wall", f"{place}, back", "bees' way", back, walls["back"], X)
    for bar in bars:
        found += _lugs(faces, place, bar, walls)
    return found


def _end_bars(faces: Faces, place: str, one: StackPart, other: StackPart) -> list[Gap]:
    """Self-spacing end bars touch at their shoulders, and leave a way below them."""
    steps = faces.steps(one, other, Y)
    if not steps:
        return []
    found = [faces.between("end bars, shoulder to shoulder", place, "contact", (one, other), Y, steps[0])]
    if len(steps) > 1:
        found.append(faces.between("between end bars", place, "bees' way", (one, other), Y, steps[-1]))
    return found


def _lugs(faces: Faces, place: str, bar: StackPart, walls: dict[Side, StackPart]) -> list[Gap]:
    """Lug ends in their rests, looked at along the upper part of the lug; lugs on the inner part of the rests."""
    front, back = walls["front"], walls["back"]
    x0, _, low, x1, _, high = bar.block
    upper: Window = (None, None, high - (high - low) // 4, None, None, None)
    before: Window = ((x0 + front.block[3]) // 2, *EVERYWHERE[1:])
    behind: Window = (*EVERYWHERE[:3], (x1 + back.block[0]) // 2, None, None)
    said = "lug end to wall in the rest"
    return [
        *faces.least(said, f"{place}, front", "shut", front, bar, X, upper),
        *faces.least(said, f"{place}, back", "shut", bar, back, X, upper),
        *faces.least("lug on rest", f"{place}, front", "contact", front, bar, Z, before),
        *faces.least("lug on rest", f"{place}, back", "contact", back, bar, Z, behind),
    ]


def tier_gaps(faces: Faces, lower: int, upper: int) -> list[Gap]:
    """From the top bars of a box up to the bottom bars over them."""
    place = f"{faces.stack.tiers[lower].name} to {faces.stack.tiers[upper].name}"
    pairs = product(faces.named(lower, "top bar"), faces.named(upper, "bottom bar"))
    return [
        gap
        for bar, bottom in pairs
        for gap in faces.least("bottom bar to top bar beneath", place, "bees' way", bar, bottom, Z)
    ]


def floor_gaps(faces: Faces, bottom: int, box: int) -> list[Gap]:
    """From the floor or screen of the bottom board up to the lowest bottom bars; deep in winter on purpose.

    Only as deep as the bottom board makes it: frames too shallow for their box leave a way that bees fill with comb.
    """
    (floor,) = faces.named(bottom, "floor", "screen")
    place = faces.stack.tiers[box].name
    edge = min(wall.block[Z] for wall in faces.walls(box).values())
    most = int(faces.whole(fact("hive.under_frames_most").length))
    return [
        gap
        for bar in faces.named(box, "bottom bar")
        for kind in (("bees' way" if bar.block[Z] - edge > most else "declared"),)
        for gap in faces.least("bottom bar to floor", place, kind, floor, bar, Z)
    ]


def all_frame_gaps(faces: Faces) -> list[Gap]:
    """Every gap of the boxes and their frames, from the ground up."""
    boxes = faces.tiers(TierKind.BOX)
    found: list[Gap] = []
    for bottom in faces.tiers(TierKind.BOTTOM):
        found += floor_gaps(faces, bottom, boxes[0])
    for box in boxes:
        found += box_gaps(faces, box)
    for lower, upper in pairwise(boxes):
        found += tier_gaps(faces, lower, upper)
    return found
