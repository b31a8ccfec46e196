"""A judge of plans written apart from the check, and a hand that spoils plans.

The judge counts pieces and tries every order of single cuts. It knows nothing of the safety rules, but that a
board too long to rip may be crosscut to sections first.
"""

import random
from collections import Counter
from dataclasses import replace
from functools import cache

from woodshop.cutting.job import Job, job_digest
from woodshop.cutting.plan import Layout, Plan

Region = tuple[int, int, int, int]


def judge(made: Plan) -> bool:
    """Whether a plan is sound, by counting and by trying every order of single cuts."""
    job = made.job
    wanted, spare, used = Counter(), Counter(), Counter()
    cost = 0
    stocks = {stock.id: stock for stock in job.stock}
    for layout in made.layouts:
        if layout.stock not in stocks or layout.times < 1 or not layout.pieces:
            return False
        used[layout.stock] += layout.times
        cost += layout.times * stocks[layout.stock].cost
        for piece in layout.pieces:
            (spare if piece.spare else wanted)[piece.id] += layout.times
        if not sawable(job, layout):
            return False
    if wanted != Counter({blank.id: blank.count for blank in job.blanks}) or set(spare) - set(wanted):
        return False
    if job.rules.surplus == "drop" and spare:
        return False
    if any(stock.count is not None and used[stock.id] > stock.count for stock in job.stock):
        return False
    return (
        made.cost == cost
        and made.bound <= cost
        and made.gap == cost - made.bound
        and made.job_digest == job_digest(job)
        and (made.assurance in ("proved", "closed")) <= (made.gap == 0)
    )


def sawable(job: Job, layout: Layout) -> bool:
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    blanks = {blank.id: blank for blank in job.blanks}
    wide = stock.width or 1
    whole = (stock.end_trim, stock.length - stock.end_trim, stock.edge_trim, wide - stock.edge_trim)
    boxes = []
    for piece in layout.pieces:
        blank = blanks.get(piece.id)
        if blank is None or (piece.rotated and not blank.rotate):
            return False
        size = (blank.width, blank.length) if piece.rotated else (blank.length, blank.width)
        if (piece.length, piece.width) != size:
            return False
        y = piece.y or 0
        boxes.append((piece.x, piece.x + piece.length, y, y + (piece.width or 1)))
    for box in boxes:
        if not (whole[0] <= box[0] and box[1] <= whole[1] and whole[2] <= box[2] and box[3] <= whole[3]):
            return False
        if any(x in range(*span) for span in stock.unusable for x in range(box[0], box[1])):
            return False
    for n, a in enumerate(boxes):
        if any(a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3] for b in boxes[n + 1 :]):
            return False
    kerfs = {"x": job.kerf.crosscut, "y": job.kerf.rip}
    trim = job.cutting.final_trim

    @cache
    def cut(region: Region, inside: frozenset[Region], axes: str, last: str) -> bool:
        if not inside:
            return True
        if not axes:
            (box,) = inside if len(inside) == 1 else (None,)
            if box is None:
                return False
            for axis, (low, high) in (("x", (0, 1)), ("y", (2, 3))):
                same = box[low] == region[low] and box[high] == region[high]
                if not same and (axis == last or not trim):
                    return False
            return True
        axis, low, high = axes[0], *((0, 1) if axes[0] == "x" else (2, 3))
        if cut(region, inside, axes[1:], axis):
            return True
        # Take waste off the near side, so that the region starts with a piece.
        first = min(box[low] for box in inside)
        if first > region[low]:
            nearer = list(region)
            nearer[low] = first
            if cut(tuple(nearer), inside, axes, last):
                return True
        for edge in sorted({box[high] for box in inside}):
            near = frozenset(box for box in inside if box[high] <= edge)
            far = inside - near
            if any(box[low] < edge + kerfs[axis] for box in far) or edge == region[high]:
                continue
            here, there = list(region), list(region)
            here[high], there[low] = edge, edge + kerfs[axis]
            if cut(tuple(here), near, axes[1:], axis) and cut(tuple(there), far, axes, last):
                return True
        return False

    orders = {(2, "along"): ["yx"], (2, "across"): ["xy"], (2, "either"): ["yx", "xy"]}
    orders |= {(3, "along"): ["yxy", "yx"], (3, "across"): ["xyx", "xy"], (3, "either"): ["yxy", "xyx", "xy", "yx"]}
    ways = list(orders[job.cutting.stages, job.cutting.first]) if job.is_flat else ["yx"]
    longest = job.rules.longest_rip
    if longest is not None and whole[1] - whole[0] > longest:
        ways.append("xyx")
    if layout.first is not None:
        ways = [way for way in ways if way[0] == ("y" if layout.first == "along" else "x")]
    return len(boxes) == len(set(boxes)) and any(cut(whole, frozenset(boxes), way, "") for way in ways)


def spoil(made: Plan, rng: random.Random) -> Plan:
    """The plan with one thing changed, often for the worse."""
    layouts = list(made.layouts)
    n = rng.randrange(len(layouts))
    layout = layouts[n]
    pieces = list(layout.pieces)
    m = rng.randrange(len(pieces))
    piece = pieces[m]
    kind = rng.randrange(14)
    if kind == 0:
        pieces[m] = replace(piece, x=max(0, piece.x + rng.choice((-2, -1, 1, 2, 5))))
    elif kind == 1 and piece.y is not None:
        pieces[m] = replace(piece, y=max(0, piece.y + rng.choice((-2, -1, 1, 2))))
    elif kind == 2:
        pieces[m] = replace(piece, length=piece.length + rng.choice((1, 2)))
    elif kind == 3:
        del pieces[m]
    elif kind == 4:
        pieces.append(replace(piece, x=piece.x + piece.length + made.job.kerf.crosscut))
    elif kind == 5:
        pieces[m] = replace(piece, id=rng.choice([blank.id for blank in made.job.blanks]))
    elif kind == 6:
        layouts[n] = replace(layout, times=layout.times + rng.choice((-1, 1)))
        return replace(made, layouts=tuple(layouts))
    elif kind == 7:
        other = rng.randrange(len(pieces))
        a, b = pieces[m], pieces[other]
        pieces[m], pieces[other] = replace(a, x=b.x, y=b.y), replace(b, x=a.x, y=a.y)
    elif kind == 8:
        layouts[n] = replace(layout, stock=rng.choice([stock.id for stock in made.job.stock]))
        return replace(made, layouts=tuple(layouts))
    elif kind == 9:
        return replace(made, cost=made.cost + rng.choice((-1, 1)))
    elif kind == 10:
        return replace(made, bound=made.cost + 1, gap=-1)
    elif kind == 11:
        pieces[m] = replace(piece, spare=not piece.spare)
    elif kind == 12 and piece.width is not None:
        blank = next(blank for blank in made.job.blanks if blank.id == piece.id)
        turned = not piece.rotated
        length, width = (blank.width, blank.length) if turned else (blank.length, blank.width)
        pieces[m] = replace(piece, rotated=turned, length=length, width=width)
    else:
        layouts[n] = replace(layout, first={"along": "across", "across": "along", None: None}[layout.first])
        return replace(made, layouts=tuple(layouts))
    layouts[n] = replace(layout, pieces=tuple(pieces))
    return replace(made, layouts=tuple(layouts))
