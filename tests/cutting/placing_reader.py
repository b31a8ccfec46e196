"""An independent reader of a board's cut list: where each piece lies when its cuts are made as a person makes them.

It shares no code with what writes the list. It works by two rules: a rip takes its strip off the edge at y = 0, a
crosscut its piece off the end at x = 0; a narrow rip says what stays beside the strip.
"""

from collections import Counter
from collections.abc import Iterable

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Layout
from woodshop.cutting.order.sequence import SawCut

Place = tuple[str, int, int, int, int]
"""Blank id, x, y, length, width."""


def places_by_cuts(job: Job, layout: Layout, cuts: Iterable[SawCut]) -> Counter[Place]:
    """Where the pieces of a board lie after these cuts; AssertionError for a cut that cannot be made."""
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    parts: dict[str, list[list[int]]] = {"board": [[0, stock.length, 0, stock.width or 1]]}
    for cut in cuts:
        part = parts[cut.of].pop()
        near, far = (2, 3) if cut.along else (0, 1)
        kerf = job.kerf.rip if cut.along else job.kerf.crosscut
        if cut.kind == "trim":
            part[near] += cut.setting
            if cut.yields != ("waste",):
                part[far] -= cut.setting
            assert part[near] < part[far]
            parts[cut.of].append(part)
            continue
        for name in cut.yields[: cut.count]:
            width = cut.strip if cut.is_narrow else cut.setting
            assert not cut.is_narrow or part[far] - part[near] - width - kerf == cut.setting
            assert 0 < width <= part[far] - part[near]
            off = list(part)
            off[far] = part[near] + width
            part[near] = off[far] + kerf
            parts.setdefault(name, []).append(off)
        if cut.count < len(cut.yields):
            assert part[far] - part[near] == cut.setting, "the last equal part remains without a cut"
            parts.setdefault(cut.yields[-1], []).append(part)
        elif part[near] < part[far]:
            parts.setdefault(cut.of, []).append(part)
    names = {blank.id for blank in job.blanks}
    return Counter((name, p[0], p[2], p[1] - p[0], p[3] - p[2]) for name in names for p in parts.get(name, []))


def places_in_layout(layout: Layout) -> Counter[Place]:
    """Where the layout says that they lie."""
    return Counter((p.id, p.x, p.y or 0, p.length, p.width or 1) for p in layout.pieces)
