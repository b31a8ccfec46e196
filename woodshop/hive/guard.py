"""A mouse guard as it stands at the entrance: cut flat, with its foot folded out on the landing board."""

from dataclasses import replace

from woodshop.shape.part import Assembly, Circle, Cut, Part, Placed, Pose, Role
from woodshop.units import ZERO, Length


def folded(guard: Assembly) -> tuple[Placed, ...]:
    """The parts of a guard that was laid flat across its fold at z = 0: the front above it, the foot before it.

    The fold takes up nothing: the foot lies on z = 0 and the front stands on it, against x = 0.
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
    if isinstance(outline, Circle):
        return replace(cut, outline=replace(outline, v=outline.v - by))
    return replace(cut, outline=replace(outline, v0=outline.v0 - by, v1=outline.v1 - by))
