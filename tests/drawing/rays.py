"""Lines of sight through blocks, apart from what draws: the nearest surface, and whether it is drawn there."""

import random
from fractions import Fraction

import shapely

from woodshop.drawing.views.pictorial import faces, grid_of, visible
from woodshop.shape.part import Face, Placed, RoundOutline
from woodshop.units.lengths import Length

Hit = tuple[set[int], int, Fraction, bool]  # whose surface, across which axis, where; whether a round hole's wall


def _first_hit(placed: tuple[Placed, ...], a: Fraction, b: Fraction) -> Hit | None:
    """Straight along the line of sight through (a, b): whose surfaces come first, across which axis, and where.

    Works on the blocks themselves, by the stretches of the line that lie in them and not in their hollows, round
    hollows as true cylinders. Shares no code with what draws.
    """
    # A point of the line at t is (p + t, q + t, -t) with p - q = a and p + q = b: x - y = a, x + y + 2z = b.
    start = ((a + b) / 2, (b - a) / 2, Fraction(0))
    step = (1, 1, -1)

    def stretch(
        low: tuple[Length, Length, Length], high: tuple[Length, Length, Length], axes: tuple[int, ...] = (0, 1, 2)
    ) -> tuple[Fraction, int, Fraction, int] | None:
        """Where the line enters a block and leaves it, and across which axes."""
        ends = [sorted(((low[k].mm - start[k]) / step[k], (high[k].mm - start[k]) / step[k])) for k in axes]
        enter, first = max((end[0], k) for end, k in zip(ends, axes, strict=True))
        leave, last = min((end[1], k) for end, k in zip(ends, axes, strict=True))
        return (enter, first, leave, last) if enter < leave else None

    def bore(axis: int, low: tuple[Length, ...], high: tuple[Length, ...]) -> tuple[Fraction, Fraction] | None:
        """Where the line enters an endless cylinder and leaves it (rounded, as its roots are irrational)."""
        u, v = (k for k in range(3) if k != axis)
        off = [start[k] - (low[k].mm + high[k].mm) / 2 for k in (u, v)]
        half = off[0] * step[u] + off[1] * step[v]
        r = (high[u].mm - low[u].mm) / 2
        rest = half * half - 2 * (off[0] ** 2 + off[1] ** 2 - r * r)
        if rest <= 0:
            return None
        root = Fraction(float(rest) ** 0.5)
        return (-half - root) / 2, (-half + root) / 2

    best: tuple[Fraction, Hit] | None = None
    for i, each in enumerate(placed):
        block = stretch(each.box.low, each.box.high)
        if block is None:
            continue
        holes: list[tuple[Fraction, Fraction, int, bool]] = []  # from, to, axis of the surface met there, round wall
        words = (each.pose.along, each.pose.across, each.pose.through)
        for cut, hollow in zip(each.part.cuts, each.hollows, strict=True):
            if not isinstance(cut.outline, RoundOutline):
                found = stretch(hollow.low, hollow.high)
                holes += [(found[0], found[2], found[3], False)] if found else []
                continue
            axis = "xyz".index(words[{Face.LEFT: 0, Face.RIGHT: 0, Face.LOWER: 1, Face.UPPER: 1}.get(cut.face, 2)][1])
            slab, tube = stretch(hollow.low, hollow.high, (axis,)), bore(axis, hollow.low, hollow.high)
            if slab and tube and max(slab[0], tube[0]) < min(slab[2], tube[1]):
                at_wall = tube[1] < slab[2]
                holes.append((max(slab[0], tube[0]), min(slab[2], tube[1]), axis, at_wall))
        at, axis, end, is_wall = block[0], block[1], block[2], False
        moving = True
        while moving:
            moving = False
            for low, high, across, wall in holes:
                if low <= at < high:
                    at, axis, is_wall, moving = high, across, wall, True
        if at >= end:
            continue
        hit: Hit = ({i}, axis, start[axis] + at * step[axis], is_wall)
        if best is None or at < best[0]:
            best = (at, hit)
        elif at == best[0]:
            best[1][0].add(i)
    return best[1] if best else None


def assert_nearest_is_shown(placed: tuple[Placed, ...], seed: int, spots: int) -> int:
    """At random spots of the picture the nearest surface is shown and no other; how many spots met something."""
    grid = grid_of(placed)
    seen = visible(faces(placed, grid))
    shapes = [face.shape for face in seen]
    round_edges = [face.shape.boundary for face in seen if face.is_bore]
    tree = shapely.STRtree(shapes)
    chance = random.Random(1000 + seed)
    low_a, low_b, high_a, high_b = (int(v) for v in shapely.total_bounds(shapely.GeometryCollection(shapes)))
    hits = 0
    for _ in range(spots):
        a = Fraction(chance.randint(low_a * 997, high_a * 997), 997) + Fraction(1, 7919)
        b = Fraction(chance.randint(low_b * 997, high_b * 997), 997) + Fraction(1, 6151)
        spot = shapely.Point(float(a), float(b))
        if any(edge.distance(spot) < grid / 10 for edge in round_edges):
            continue  # an ellipse is drawn with many corners, and its edge is that much off
        shown = [seen[int(n)] for n in tree.query(spot) if shapes[int(n)].contains(spot)]
        first = _first_hit(placed, a / 2 / grid, b / 2 / grid)
        if first is None:
            assert not shown
            continue
        hits += 1
        assert shown
        assert {face.owner for face in shown} == first[0]
        assert {(face.axis, face.is_bore) for face in shown} == {(first[1], first[3])}
        if not first[3]:
            assert {abs(Fraction(face.at, grid) - first[2]) <= Fraction(1, grid) for face in shown} == {True}
    return hits
