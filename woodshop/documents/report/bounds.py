"""Says how close each plan is to its lower bound: one sentence for each material, and the proof of the bounds."""

from math import gcd

from woodshop.cutting.model.plan import Certificate, Plan
from woodshop.drawing.values.model import Align, Block, Bullets, Column, KeepTogether, Paragraph, Section, Table
from woodshop.plan.values import BoughtLumber, MaterialPlan, PlannedBatch
from woodshop.units.lengths import Money

_ABREAST = 4  # prices in a row of the table
_FEW = 6  # this many fit in a sentence


def certainty_of(each: MaterialPlan | BoughtLumber, currency: str) -> str:
    """Sentences about how certain it is that one material has no cheaper plan."""
    plan = each.plan
    name = each.job.spoken.capitalize()
    more = dearer(each)
    laid = "laid by rule of thumb, " if plan.assurance == "first_fit" else ""
    if more:
        least = f"lower bound {Money(plan.bound, currency)}" if plan.gap > more else "proved the cheapest"
        text = f"{name}: {laid}{Money(more, currency)} more than the cheapest plan found, by choice ({least})."
    elif plan.gap:
        text = f"{name}: {laid}at most {Money(plan.gap, currency)} above the cheapest possible plan."
    else:
        how = ", by the solver's search" if plan.bound_kind == "solver" else ""
        text = f"{name}: no plan from this lumberyard costs less{how}."
    return f"{text} {_sum_of(each, currency)}".strip()


def dearer(each: MaterialPlan | BoughtLumber) -> int:
    """How many cents more than the cheapest plan found this plan costs, in return for less work or better offcuts."""
    return (
        0
        if isinstance(each, BoughtLumber) or each.sums is None
        else max(0, each.sums.plan.money - each.sums.cheapest.money)
    )


def _sum_of(each: MaterialPlan | BoughtLumber, currency: str) -> str:
    """A comparison of the plan's total, which counts work and offcuts, with the cheapest plan's; "" without [worth]."""
    if isinstance(each, BoughtLumber) or each.sums is None:
        return ""
    now, before = each.sums.plan.total, each.sums.cheapest.total
    text = f"Counting the value of work and offcuts, it totals {Money(now, currency)}"
    text += f"; the cheapest plan totals {Money(before, currency)}" if now < before else ""
    return f"{text}; no plan totals less than {Money(max(each.sums.least, 0), currency)}."


def bound_chapter(planned: PlannedBatch) -> Section:
    """The chapter about bounds: certainty, cost, bound, kind of bound, proof and prices for each material."""
    if not planned.plans:
        return Section("", ())
    currency = planned.batch.lumberyard.currency
    columns = (
        Column("material", weight=4),
        Column("the plan costs", Align.RIGHT, weight=3),
        Column("lower bound", Align.RIGHT, weight=3),
        Column("between", Align.RIGHT, weight=2),
        Column("kind of bound, and how it is proved", weight=12),
    )
    rows = tuple(
        (
            each.job.spoken,
            *(str(Money(amount, currency)) for amount in (each.plan.cost, each.plan.bound, each.plan.gap)),
            _kind(each, currency),
        )
        for each in planned.priced
    )
    blocks: list[Block] = [
        Bullets(tuple(certainty_of(each, currency) for each in planned.priced)),
        Table(columns, rows),
        *_sums(planned),
    ]
    if any(each.numbers for each in planned.plans):
        blocks.append(Paragraph(_BOUGHT, lead="Bought before."))
    blocks += [Paragraph(_WHY, lead="Prices of the pieces.")]
    if planned.lumber:
        blocks.append(Paragraph(_LUMBER, lead="Boards that are resawn, or cut where they are bought."))
    blocks.append(Paragraph(_CHECK, lead="To check them."))
    for each in planned.priced:
        if each.plan.certificate is not None:
            blocks.append(_prices(each, each.plan.certificate, currency))
    return Section("Proof of the cutting plans", tuple(blocks))


_WHY = (
    "Give every piece a price, so that no layout that the saw can cut is worth more than its board costs. Every "
    "plan yields all the pieces, so its boards cost at least the worth of all the pieces: no plan costs less. "
    "Limited stock may carry a rent: a layout on it may be worth its cost plus the rent, and the rents are "
    "subtracted from the total. Offcuts on hand cost what you say they are worth. Any prices that keep this rule "
    "will do. You can check the ones below without trusting the planner."
)
_LUMBER = (
    "Such a board is worth no more than it costs with its cuts, however it is divided and resawn, and its parts are "
    "then sawn. Its plan is in plan.json under lumber, with what is bought, each part and its layouts."
)
_BOUGHT = (
    "This is the rest of an earlier plan. Boards, sheets and rolls bought for it count as a hundredth of their price, "
    "so that they are used before new ones, and not wasted."
)
_CHECK = (
    "Add up the prices on any layout, from this packet or your own: the sum is never more than the board costs, "
    "plus its rent. To check all possible layouts, run woodshop verify on plan.json: it finds the most valuable "
    "layout of each kind of stock in whole numbers, with independent code. The prices below are rounded to four "
    "decimals; plan.json has the whole numbers, under plans, the material, certificate. If the plan has a proof tree, "
    "the prices show less than the tree, and verify checks the tree too."
)


def _sums(planned: PlannedBatch) -> list[Block]:
    """The terms of each plan's total, if [worth] gives work and offcuts a value. The result is empty otherwise."""
    worth, currency = planned.batch.worth, planned.batch.lumberyard.currency
    rows: list[tuple[str, ...]] = []
    for each in planned.plans:
        if each.sums is None:
            continue
        least = str(Money(max(each.sums.least, 0), currency))
        for who, part, bound in (
            (each.job.material.spoken, each.sums.plan, least),
            ("cheapest", each.sums.cheapest, ""),
        ):
            if bound or part != each.sums.plan:
                amounts = (part.money, part.layouts, part.settings, -part.offcuts, part.total)
                rows.append((who, *(str(Money(amount, currency)) for amount in amounts), bound))
    if worth is None or not rows:
        return []
    columns = (
        Column("material", weight=4),
        *(Column(name, Align.RIGHT, weight=3) for name in ("stock", "layouts", "settings", "offcuts", "sum")),
        Column("lower bound", Align.RIGHT, weight=3),
    )
    text = (
        f"The design gives work and offcuts a value: {worth.layout} for each layout, {worth.setting} for each fence "
        "or stop setting, counted layout by layout"
    )
    if worth.offcut.minor:
        size = f"{worth.least_length} x {worth.least_width}"
        text += (
            f", and {worth.offcut} for an offcut {size}, more for a larger one by its area, nothing for a smaller one"
        )
    text += (
        ". The plan used has the lowest total found, and may cost more money than the cheapest plan. The lower bound "
        "in the last column holds for any plan, but may be far too low: it counts the least money, the fewest layouts "
        "and settings that the pieces need, and all other wood as offcuts."
    )
    return [KeepTogether((Paragraph(text, lead="Money, work and offcuts added up."), Table(columns, tuple(rows))))]


def _kind(each: MaterialPlan | BoughtLumber, currency: str) -> str:
    plan, certificate = each.plan, each.plan.certificate
    if isinstance(plan, Plan) and plan.bound_kind == "tree" and plan.proof is not None:
        return f"a proof tree, too long to print, checked in whole numbers: {plan.proof.file}"
    if plan.bound_kind != "solver":
        return "prices of the pieces, proved in whole numbers"
    proved = f"prices prove {Money(certificate.bound, currency)}" if certificate else "there are no prices"
    return f"the solver's search in floating point, which cannot be shown on paper; {proved} in whole numbers"


def _prices(each: MaterialPlan | BoughtLumber, certificate: Certificate, currency: str) -> KeepTogether:
    """One material's dual prices, in columns or in a sentence, and the sum that gives the bound."""
    job, scale, prices = each.job.job, certificate.scale, dict(certificate.prices)
    marks = {need.address: need.mark for need in each.job.needs}
    cells = [(marks[b.id], str(b.count), _fine(prices.get(b.id, 0), scale)) for b in job.blanks]
    text, lead = _sum(each, certificate, currency), f"{each.job.spoken.capitalize()}."
    if len(cells) <= _FEW:
        few = ", ".join(f"{count} x {mark} at {price}" for mark, count, price in cells)
        return KeepTogether((Paragraph(f"{few}. {text}", lead=lead),))
    deep = -(-len(cells) // _ABREAST)
    cells += [("", "", "")] * (deep * _ABREAST - len(cells))
    rows = tuple(tuple(word for cell in cells[n::deep] for word in cell) for n in range(deep))
    columns = (Column("part", weight=2), Column("count", Align.RIGHT, weight=2), Column("price", Align.RIGHT, weight=3))
    return KeepTogether((Paragraph(text, lead=lead), Table(columns * _ABREAST, rows)))


def _sum(each: MaterialPlan | BoughtLumber, certificate: Certificate, currency: str) -> str:
    """The calculation that gives the bound, as text."""
    job, scale = each.job.job, certificate.scale
    prices, rents = dict(certificate.prices), dict(certificate.rents)
    whats = {offer.id: offer.what for offer in each.job.offers}
    worth = sum(blank.count * prices.get(blank.id, 0) for blank in job.blanks)
    text = f"The total worth of all pieces is {_fine(worth, scale)}."
    rented = [(stock, stock.count or 0, rents[stock.id]) for stock in job.stock if rents.get(stock.id)]
    if rented:
        listed = "; ".join(f"{whats[stock.id]}, {count} x {_fine(rent, scale)}" for stock, count, rent in rented)
        left = worth - sum(count * rent for _, count, rent in rented)
        text += f" Rents: {listed}. Without them {_fine(left, scale)} remains."
    step = gcd(*(stock.cost for stock in job.stock), *_of_cuts(each)) or 1
    bound = Money(certificate.bound, currency)
    sums = f"Every sum of this stock's costs is a multiple of {Money(step, currency)}"
    return f"{text} {sums}: no plan costs less than {bound}."


def _of_cuts(each: MaterialPlan | BoughtLumber) -> list[int]:
    """The prices of cuts at the lumberyard."""
    lumber = () if each.job.lumber is None else each.job.lumber.lumber
    return [own.cuts.cost for own in lumber if own.cuts is not None]


def _fine(amount: int, scale: int) -> str:
    """An amount given in 1/`scale` of a cent, as money with four decimals, rounded.

    >>> _fine(186_427_700, 1_000_000), _fine(0, 10)
    ('1.8643', '0.0000')
    """
    units = (amount * 200 + scale) // (2 * scale)
    return f"{units // 10_000:,}.{units % 10_000:04d}"
