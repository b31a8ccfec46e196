"""How few layouts, how few settings and how small a weighted sum any plan of a job must have.

All are exact countings that look at no plan. They may be weak: they say what is certain, not what can be reached.
The countings of settings are for plans in which nothing but the trims is cut off before a piece, so that waste is what
remains at the far end of a strip and at the far side of a board: the planner makes no others, but for boards with
unusable stretches, where little is counted.
"""

from fractions import Fraction

from woodshop.cutting.checkers.check import area_of
from woodshop.cutting.model.job import Blank, Job
from woodshop.cutting.planner.network import width_of


def least_layouts_of_job(job: Job) -> int:
    """No plan of the job, on whatever stock, has fewer layouts: the blanks must all occur, and a board holds few."""
    kx, ky = job.kerf.crosscut, job.kerf.rip if job.is_flat else 0
    weights = sorted(
        min((blank.length + kx) * (width_of(blank) + ky), (width_of(blank) + kx) * (blank.length + ky))
        if blank.rotate
        else (blank.length + kx) * (width_of(blank) + ky)
        for blank in job.blanks
    )
    most = 0
    for stock in job.stock:
        x0, x1, y0, y1 = area_of(stock)
        room = (x1 - x0 + kx) * (y1 - y0 + ky)
        held = 0
        while held < len(weights) and weights[held] <= room:
            room -= weights[held]
            held += 1
        most = max(most, held)
    return -(-len(weights) // max(1, most))


def least_settings(job: Job, layouts: int) -> int:
    """No plan of at least so many layouts takes fewer fence and stop settings, added up layout by layout.

    Every different length must be set at the stop in some layout, unless a piece of it can be what just remains of a
    board when others are cut from it; so with the different widths and the fence. And a layout whose pieces are all
    shorter (narrower) than every board takes one crosscut (rip) at least, and the settings of its trims.
    """
    least = 0
    for across in (False, True) if job.is_flat else (False,):
        rooms = sorted({_room(area_of(stock), across) for stock in job.stock})
        extents = [own for blank in job.blanks for own in _extents(blank, across)]
        each = int(all(extent not in rooms for extent in extents))
        least += max(_surely_set(job, across, rooms, extents), each * layouts)
        trims = [stock.edge_trim if across else stock.end_trim for stock in job.stock]
        least += layouts if all(trims) else 0
    return least


def least_sum(job: Job, money: int, layout: int, setting: int, offcut: Fraction) -> int:
    """No plan has a smaller sum: money, layouts and settings at their worth, less offcuts at most at `offcut` per area.

    `money` is what no plan can cost less than. Every board's money less the worth of all its area is at least the
    dearest share of its money; what the pieces take is no offcut.
    """
    kinds = [(stock, _area(area_of(stock))) for stock in job.stock]
    share = max((offcut * area / stock.cost for stock, area in kinds if stock.count is None and stock.cost), default=0)
    share = min(Fraction(share), Fraction(1))
    pieces = sum(blank.count * blank.length * width_of(blank) for blank in job.blanks)
    total = money * (1 - share) + offcut * pieces
    for stock, area in kinds:
        if stock.count is not None:
            total += stock.count * min(Fraction(0), share * stock.cost - offcut * area)
    layouts = least_layouts_of_job(job)
    return -(-total.numerator // total.denominator) + layout * layouts + setting * least_settings(job, layouts)


def _room(area: tuple[int, int, int, int], across: bool) -> int:
    return area[3] - area[2] if across else area[1] - area[0]


def _area(area: tuple[int, int, int, int]) -> int:
    return (area[1] - area[0]) * (area[3] - area[2])


def _extents(blank: Blank, across: bool) -> set[int]:
    plain, turned = (width_of(blank), blank.length) if across else (blank.length, width_of(blank))
    return {plain, turned} if blank.rotate else {plain}


def _surely_set(job: Job, across: bool, rooms: list[int], extents: list[int]) -> int:
    """How many different extents must be set, whatever else is cut beside them."""
    cutting, rules = job.cutting, job.rules
    if job.is_flat and (cutting.stages != 2 or cutting.final_trim):
        return 0
    if not across and (any(stock.unusable for stock in job.stock) or (job.is_flat and rules.longest_rip is not None)):
        return 0
    kerf = job.kerf.rip if across else job.kerf.crosscut
    # Bit n: a length of n is what some pieces with their kerfs take.
    reached, most = 1, max(rooms)
    for step in sorted({extent + kerf for extent in extents}):
        shift = step
        while shift <= most:
            reached |= reached << shift
            shift *= 2
        reached &= (1 << (most + 1)) - 1
    own = {extent for blank in job.blanks for extent in _extents(blank, across) if not blank.rotate}
    if across and rules.narrow_below is not None and (cutting.first != "along" or rules.longest_rip is not None):
        # Section by section, what is left beside two narrow strips may be what is left beside one.
        own = {extent for extent in own if extent >= rules.narrow_below}
    return sum(1 for extent in own if not any(room >= extent and reached >> (room - extent) & 1 for room in rooms))
