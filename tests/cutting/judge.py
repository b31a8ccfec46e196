"""A judge of plans written from the words of the format, apart from the check; and a hand that spoils plans.

The judge counts pieces, weighs the rules, and tries every order of single cuts.
"""

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from math import ceil, gcd

from woodshop.cutting.model.job import Job, Stock, job_digest
from woodshop.cutting.model.plan import Certificate, Layout, Piece, Plan

Region = tuple[int, int, int, int]
GREAT = 10**12


def judge(made: Plan) -> bool:
    """Whether a plan is sound: its layouts, and its money but for what its certificate must prove."""
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
    step = gcd(*(stock.cost for stock in job.stock)) or 1
    words = {"proved": made.gap == 0 and made.bound_kind != "solver"}
    words |= {"solved": made.gap == 0 and made.bound_kind == "solver"}
    words |= {"within": made.gap > 0, "first_fit": True}
    return (
        made.cost == cost
        and 0 <= made.bound <= cost
        and (made.bound == cost or made.bound % step == 0)
        and made.gap == cost - made.bound
        and made.job_digest == job_digest(job)
        and made.bound_kind in ("root", "solver", "area")
        and words.get(made.assurance, False)
    )


def claims_stand(made: Plan, worth: Callable[[str, dict[str, int]], int]) -> bool:
    """Whether the certificate proves what the plan claims; `worth` gives the dearest layout of a stock at prices."""
    own, job = made.certificate, made.job
    claimed = made.bound if made.bound_kind != "solver" or made.assurance == "proved" else 0
    if own is None:
        return claimed == 0
    prices, rents = dict(own.prices), dict(own.rents)
    counts = {stock.id: stock.count for stock in job.stock if stock.count is not None}
    wanted = {blank.id: blank.count for blank in job.blanks}
    if prices.keys() - wanted.keys() or rents.keys() - counts.keys() or own.scale < 1:
        return False
    if any(number < 0 for number in (*prices.values(), *rents.values())):
        return False
    if any(worth(stock.id, prices) > own.scale * stock.cost + rents.get(stock.id, 0) for stock in job.stock):
        return False
    needed = sum(wanted[name] * price for name, price in prices.items())
    total = needed - sum(counts[name] * rent for name, rent in rents.items())
    step = gcd(*(stock.cost for stock in job.stock)) or 1
    proved = max(0, ceil(Fraction(total, own.scale * step)) * step)
    if own.bound > proved:
        boards = [(stock.cost, stock.count, worth(stock.id, prices)) for stock in job.stock]
        if are_enough(boards, own.bound - 1, needed):
            return False
    return claimed <= own.bound


def are_enough(boards: Sequence[tuple[int, int | None, int]], money: int, needed: int) -> bool:
    """Whether whole boards for at most this money are worth `needed`; each has a cost, a count or None, a worth."""
    if needed <= 0 or money < 0 or not boards:
        return needed <= 0 <= money
    (cost, count, worth), others = boards[0], boards[1:]
    most = ceil(Fraction(needed, worth)) if worth else 0
    most = most if count is None else min(most, count)
    return any(are_enough(others, money - n * cost, needed - n * worth) for n in range(most + 1))


def sawable(job: Job, layout: Layout) -> bool:
    """Whether the saw can cut a layout, and by the rules may."""
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
        if any(u0 < box[1] and box[0] < u1 for u0, u1 in stock.unusable):
            return False
    for n, a in enumerate(boxes):
        if any(a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3] for b in boxes[n + 1 :]):
            return False
    return any(_tried(job, stock, whole, frozenset(boxes), way) for way in _orders(job, layout, stock))


def _orders(job: Job, layout: Layout, stock: Stock) -> list[str]:
    length = stock.length - 2 * stock.end_trim
    orders = {(2, "along"): ["yx"], (2, "across"): ["xy"], (2, "either"): ["yx", "xy"]}
    orders |= {(3, "along"): ["yxy", "yx"], (3, "across"): ["xyx", "xy"], (3, "either"): ["yxy", "xyx", "xy", "yx"]}
    ways = list(orders[job.cutting.stages, job.cutting.first]) if job.is_flat else ["yx"]
    too_long = job.rules.longest_rip is not None and length > job.rules.longest_rip
    if (too_long or (job.rules.defects and stock.unusable)) and job.cutting.first != "across":
        ways.append("xyx")
    if layout.first is not None:
        ways = [way for way in ways if way[0] == ("y" if layout.first == "along" else "x")]
    return ways


def _tried(job: Job, stock: Stock, whole: Region, boxes: frozenset[Region], order: str) -> bool:
    kerfs = {"x": job.kerf.crosscut, "y": job.kerf.rip}
    rules = job.rules
    shortest, longest = rules.shortest_rip or 0, rules.longest_rip or GREAT
    narrow, least, parent = rules.narrow_below or 0, rules.least_strip or 0, rules.parent_wood or 0

    beside = rules.least_remainder
    in_section = 0 if beside is None or order != "xyx" else job.kerf.crosscut + beside

    def may_rip(width: int, length: int) -> bool:
        return stock.rip and width >= least and shortest <= length <= longest

    def is_clear(region: Region) -> bool:
        return not rules.defects or not any(u0 < region[1] and region[0] < u1 for u0, u1 in stock.unusable)

    def leaves(width: int, used: int) -> bool:
        """Whether a kerf and the least remainder are left, if anything was ripped: all strips with kerfs `used`."""
        return beside is None or not used or used + beside <= width

    def ends(region: Region, box: Region, last: str) -> bool:
        """Whether the piece is what lies there, or may be cut down to."""
        same = {"x": box[:2] == region[:2], "y": box[2:] == region[2:]}
        if any(not same[axis] and (axis == last or not job.cutting.final_trim) for axis in "xy"):
            return False
        width = box[3] - box[2]
        return same["y"] or (may_rip(width, box[1] - box[0]) and width >= narrow)

    @cache
    def cut(region: Region, inside: frozenset[Region], axes: str, last: str, width: int, thin: int, used: int) -> bool:
        """Whether the rest of a region can be cut: it began so wide, and so much of that went into narrow strips."""
        if not inside:
            return (not thin or width - thin >= parent) and leaves(width, used)
        if not axes:
            return len(inside) == 1 and ends(region, *inside, last)
        axis, low, high = axes[0], *((0, 1) if axes[0] == "x" else (2, 3))

        def taken(part: Region) -> tuple[int, int] | None:
            """The narrow strips and all strips with a part; None where it may not be ripped."""
            extent = part[3] - part[2]
            if axis == "x" or extent == width:
                return thin, used
            if not may_rip(extent, part[1] - part[0]) or not is_clear(part):
                return None
            return thin + (extent + kerfs["y"]) * (extent < narrow), used + extent + kerfs["y"]

        def on(part: Region, held: frozenset[Region]) -> bool:
            return cut(part, held, axes[1:], axis, part[3] - part[2], 0, 0)

        now = taken(region)
        # Of a section that was ripped each piece is cut off; one that is a piece as it is needs no cut.
        spare = in_section if axes == "x" else 0
        as_it_is = not spare or region[2:] == whole[2:]
        whole_now = now is not None and as_it_is and (not now[0] or width - now[0] >= parent) and leaves(width, now[1])
        if whole_now and on(region, inside):
            return True
        edges = {box[high] for box in inside}
        if axes == "xyx":
            edges |= {edge + in_section for edge in edges}
        starts = {min(box[low] for box in inside)}
        if axis == "x" and shortest and "y" in axes:
            # A section may be longer than its pieces, so as to be long enough to rip.
            starts |= {edge - shortest for edge in edges if edge - shortest < min(starts)}
            edges |= {region[low] + shortest}
        for start in starts:
            # Take waste off the near side.
            nearer = list(region)
            nearer[low] = start
            if start > region[low] and cut(tuple(nearer), inside, axes, last, width, thin, used):
                return True
        for edge in edges:
            near = frozenset(box for box in inside if box[high] <= edge)
            far = inside - near
            if any(box[low] < edge + kerfs[axis] for box in far) or edge + spare >= region[high] + (spare > 0):
                continue
            here, there = list(region), list(region)
            here[high], there[low] = edge, edge + kerfs[axis]
            now = taken(tuple(here))
            if now is not None and on(tuple(here), near) and cut(tuple(there), far, axes, last, width, *now):
                return True
        return False

    return cut(whole, boxes, order, "", whole[3] - whole[2], 0, 0)


# -- spoiling -------------------------------------------------------------------------------------------------


def spoil(made: Plan, rng: random.Random) -> Plan:
    """The plan with one thing of its layouts or its money changed, often for the worse."""
    layouts = list(made.layouts)
    n = rng.randrange(len(layouts))
    layout = layouts[n]
    kind = rng.randrange(8)
    if kind == 0:
        return _money(made, rng)
    if kind == 1:
        layouts[n] = replace(layout, times=layout.times + rng.choice((-1, 1)))
    elif kind == 2:
        names = [stock.id for stock in made.job.stock]
        layouts[n] = replace(layout, stock=rng.choice((*names, f"{names[0]} of old")))
    elif kind == 3:
        layouts[n] = replace(
            layout, first=rng.choice([way for way in ("along", "across", None) if way != layout.first])
        )
    elif kind == 4:
        return _listed(made, n, rng)
    elif kind == 5:
        layouts[n] = replace(layout, pieces=_all_moved(made.job, layout, rng))
    else:
        layouts[n] = replace(layout, pieces=_one_changed(made.job, layout, rng))
    return replace(made, layouts=tuple(layouts))


def _money(made: Plan, rng: random.Random) -> Plan:
    kind = rng.randrange(6)
    if kind == 0:
        return replace(made, cost=made.cost + rng.choice((-1, 1)))
    if kind == 1:
        return replace(made, bound=made.cost + 1, gap=-1)
    if kind == 2:
        return replace(made, gap=made.gap + rng.choice((-1, 1)))
    if kind == 3:
        return replace(made, assurance=rng.choice(("proved", "solved", "within", "first_fit", "sure")))
    if kind == 4:
        return replace(made, bound_kind=rng.choice(("root", "solver", "area", "none")))
    place = rng.randrange(64)
    other = rng.choice([c for c in "0123456789abcdef" if c != made.job_digest[place]])
    return replace(made, job_digest=made.job_digest[:place] + other + made.job_digest[place + 1 :])


def _listed(made: Plan, n: int, rng: random.Random) -> Plan:
    """A layout left out, laid once more, parted in two, or given other pieces in another order."""
    layouts = list(made.layouts)
    layout = layouts[n]
    kind = rng.randrange(4)
    if kind == 0 and len(layouts) > 1:
        del layouts[n]
    elif kind == 1:
        layouts.append(replace(layout, times=1))
    elif kind == 2 and layout.times > 1:
        layouts[n] = replace(layout, times=layout.times - 1)
        layouts.append(replace(layout, times=1))
    else:
        layouts[n] = replace(layout, pieces=tuple(rng.sample(layout.pieces, len(layout.pieces))))
        rng.shuffle(layouts)
    return replace(made, layouts=tuple(layouts))


def _all_moved(job: Job, layout: Layout, rng: random.Random) -> tuple[Piece, ...]:
    """All pieces mirrored, all from somewhere on moved together, or laid without kerf."""
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    flat, kind = stock.width is not None, rng.randrange(5)
    pieces = layout.pieces
    if kind == 0:
        return tuple(replace(p, x=stock.length - p.x - p.length) for p in pieces)
    if kind == 1 and flat:
        return tuple(replace(p, y=stock.width - p.y - p.width) for p in pieces)
    by = rng.choice((-2, -1, 1, 2))
    if kind == 2 and flat:
        edge = rng.choice(pieces).y
        return tuple(replace(p, y=max(0, p.y + by)) if p.y >= edge else p for p in pieces)
    if kind == 3 and flat:
        strip, edge = rng.choice(pieces).y, rng.choice(pieces).x
        return tuple(replace(p, x=max(0, p.x + by)) if p.y == strip and p.x >= edge else p for p in pieces)
    edge = rng.choice(pieces).x
    return tuple(replace(p, x=max(0, p.x + by)) if p.x >= edge else p for p in pieces)


def _one_changed(job: Job, layout: Layout, rng: random.Random) -> tuple[Piece, ...]:
    pieces = list(layout.pieces)
    m, other = rng.randrange(len(pieces)), rng.randrange(len(pieces))
    piece, flat = pieces[m], layout.pieces[0].width is not None
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    kind = rng.randrange(13)
    if kind == 0:
        pieces[m] = replace(piece, x=max(0, piece.x + rng.choice((-2, -1, 1, 2, 5))))
    elif kind == 1 and flat:
        pieces[m] = replace(piece, y=max(0, piece.y + rng.choice((-2, -1, 1, 2))))
    elif kind == 2:
        pieces[m] = replace(piece, length=max(1, piece.length + rng.choice((-1, 1, 2))))
    elif kind == 3 and flat:
        pieces[m] = replace(piece, width=max(1, piece.width + rng.choice((-1, 1))))
    elif kind == 4:
        del pieces[m]
    elif kind == 5:
        more = rng.random() < 0.7 or piece.spare
        pieces.append(replace(piece, x=piece.x + piece.length + job.kerf.crosscut, spare=more))
    elif kind == 6:
        pieces[m] = replace(piece, id=rng.choice(("no blank", *(blank.id for blank in job.blanks))))
    elif kind == 7:
        a, b = pieces[m], pieces[other]
        pieces[m], pieces[other] = replace(a, x=b.x, y=b.y), replace(b, x=a.x, y=a.y)
    elif kind == 8:
        pieces[m] = replace(piece, spare=not piece.spare)
    elif kind == 9 and flat:
        pieces[m] = replace(piece, rotated=not piece.rotated, length=piece.width, width=piece.length)
    elif kind == 10 and flat:
        pieces[m] = replace(piece, rotated=not piece.rotated)
    elif kind == 11:
        pieces[m] = replace(piece, x=rng.choice((stock.length - piece.length, stock.length - 1, 0)))
    else:
        pieces[m] = replace(piece, x=pieces[other].x, y=pieces[other].y)
    return tuple(pieces)


def misclaim(made: Plan, rng: random.Random) -> Plan:
    """The plan with one thing of its certificate changed, sometimes for the better, and its bound with it or not."""
    own = made.certificate
    if own is None:
        return replace(made, certificate=Certificate(1, (), (), 0), bound=0, gap=made.cost)
    prices, rents = dict(own.prices), dict(own.rents)
    limited = [stock.id for stock in made.job.stock if stock.count is not None]
    kind = rng.randrange(7)
    if kind == 0:
        return replace(made, certificate=None)
    if kind == 1:
        bound = max(0, own.bound + rng.choice((-2, -1, 1, 2)) * (gcd(*(stock.cost for stock in made.job.stock)) or 1))
        changed = replace(own, bound=bound)
        if rng.random() < 0.5 and bound <= made.cost:
            assurance = made.assurance if bound == made.cost else "within"
            return replace(made, certificate=changed, bound=bound, gap=made.cost - bound, assurance=assurance)
        return replace(made, certificate=changed)
    if kind == 2:
        return replace(made, certificate=replace(own, scale=max(1, _nudged(own.scale, rng))))
    if kind == 3 and limited:
        name = rng.choice(limited)
        rents[name] = _nudged(rents.get(name, 0), rng)
    elif kind == 4:
        row = rng.choice(made.job.stock if rng.random() < 0.5 else made.job.blanks)
        rents[row.id] = rng.randint(0, 9)
    else:
        name = rng.choice(sorted(blank.id for blank in made.job.blanks))
        prices[name] = _nudged(prices.get(name, 0), rng)
    certificate = replace(own, prices=tuple(prices.items()), rents=tuple(rents.items()))
    return replace(made, certificate=certificate)


def _nudged(number: int, rng: random.Random) -> int:
    small = (number - 1, number + 1, number - rng.randint(1, 50), number + rng.randint(1, 50))
    return rng.choice((*small, -number, 2 * number, number // 2, 0))
