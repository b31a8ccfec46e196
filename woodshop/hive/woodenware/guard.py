"""A mouse guard as it stands at the entrance: cut flat, its foot folded out on the landing board; how open it is."""

import math
from dataclasses import replace
from fractions import Fraction

from woodshop.shape.part import Assembly, Box, Circle, Cut, Part, Placed, Pose, Role
from woodshop.units.lengths import ZERO, Area, Length, inch


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


def guard_clear(guard: Placed, entrance: Box, foot: Length = ZERO) -> Area:
    """What is open of the entrance behind the guard, about: holes are round, cells square.

    `foot` is how much of the blank is folded away below the lower edge of what stands: wires are counted from its end.
    Of a round hole, what stands before the entrance's height counts; holes past its ends do not.
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
            total += _below(r, high - middle) - _below(r, low - middle)
    return inch(1) * inch(1) * Fraction(total)


def _below(radius: float, height: float) -> float:
    """Area of a circle below a level line at `height` over its middle."""
    h = max(-radius, min(radius, height))
    return radius * radius * (math.pi / 2 + math.asin(h / radius)) + h * math.sqrt(radius * radius - h * h)


def bee_holes(guard: Placed) -> list[Box]:
    """The squares that just hold the bee holes, in the world."""
    pairs = zip(guard.part.cuts, guard.hollows, strict=True)
    return [box for cut, box in pairs if cut.name == "bee hole" and isinstance(cut.outline, Circle)]


def _openings(
    guard: Placed, axis: int, entrance: Box, *, pitch: Length, wire: Length, before: Length
) -> list[tuple[Length, Length]]:
    """The openings between wires along an axis, cut off at the entrance's edges."""
    found, start = [], guard.box.low[axis] - before
    for n in range((guard.box.size(axis) + before - wire) // pitch):
        low = max(start + pitch * n + wire, entrance.low[axis])
        high = min(start + pitch * (n + 1), entrance.high[axis])
        if low < high:
            found.append((low, high))
    return found
