"""How near each plan is to the least it could cost: one sentence a material, and what the bounds rest on."""

from math import gcd

from woodshop.cutting.model.plan import Certificate
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    KeepTogether,
    Paragraph,
    Section,
    Table,
)
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.units.lengths import Money

_ABREAST = 4  # prices in a row of the table
_FEW = 6  # so many stand in a sentence


def certainty_of(each: MaterialPlan, currency: str) -> str:
    """One material's standing in one plain sentence."""
    plan = each.plan
    name = each.job.material.name.capitalize()
    more = dearer(each)
    laid = "laid by rule of thumb, " if plan.assurance == "first_fit" else ""
    if more:
        least = (
            f"the least possible is {Money(plan.bound, currency)} or more" if plan.gap > more else "the least possible"
        )
        text = f"{name}: {laid}by choice {Money(more, currency)} above the cheapest plan found ({least})."
    elif plan.gap:
        text = f"{name}: {laid}at most {Money(plan.gap, currency)} above the least possible."
    else:
        how = ", by the solver's search" if plan.bound_kind == "solver" else ""
        text = f"{name}: no plan from this lumberyard can cost less{how}."
    return f"{text} {_sum_of(each, currency)}".strip()


def dearer(each: MaterialPlan) -> int:
    """How much more the plan costs than the cheapest one found, for the sake of less work or better offcuts."""
    setups = each.setups
    if setups is None or setups.weighed is None or setups.weighed_before is None:
        return 0
    return max(0, setups.weighed.money - setups.weighed_before.money)


def _sum_of(each: MaterialPlan, currency: str) -> str:
    """The plan's sum of money, work and offcuts beside that of the cheapest plan; nothing where none was wished."""
    setups = each.setups
    if setups is None or setups.weighed is None or setups.weighed_before is None:
        return ""
    now, before = setups.weighed.total, setups.weighed_before.total
    text = f"With work and offcuts at their worth it comes to {Money(now, currency)}"
    text += f", the cheapest plan to {Money(before, currency)}" if now < before else ""
    return f"{text}; no plan comes to less than {Money(max(setups.least_sum or 0, 0), currency)}."


def bound_chapter(planned: PlannedBatch) -> Section:
    """For each material its standing, cost, bound, its kind, how it was checked, and the prices that prove it."""
    if not planned.plans:
        return Section("", ())
    currency = planned.batch.lumberyard.currency
    columns = (
        Column("material", weight=4),
        Column("the plan costs", Align.RIGHT, weight=3),
        Column("no plan below", Align.RIGHT, weight=3),
        Column("between", Align.RIGHT, weight=2),
        Column("kind of bound, and how it was checked", weight=12),
    )
    rows = tuple(
        (
            each.job.material.name,
            *(str(Money(amount, currency)) for amount in (each.plan.cost, each.plan.bound, each.plan.gap)),
            _kind(each, currency),
        )
        for each in planned.plans
    )
    blocks: list[Block] = [
        Bullets(tuple(certainty_of(each, currency) for each in planned.plans)),
        Table(columns, rows),
        *_sums(planned),
    ]
    blocks += [Paragraph(_WHY, lead="Prices of the pieces."), Paragraph(_CHECK, lead="To check them.")]
    for each in planned.plans:
        if each.plan.certificate is not None:
            blocks.append(_prices(each, each.plan.certificate, currency))
    return Section("Proof of the cutting plans", tuple(blocks))


_WHY = (
    "Give every piece a price, such that no layout that the saw can cut from a board is worth more than the board "
    "costs. Every plan yields all the pieces, so its boards cost at least what the pieces are worth together: no plan "
    "can cost less. Stock of which only so many are there may carry a rent: a layout on it may be worth its cost and "
    "the rent, and the rents are taken off again. Offcuts on hand cost what they are worth to you. Any prices will do "
    "that keep to this; those below come from the planner, and need not be believed, only checked."
)
_CHECK = (
    "Add up the prices on any layout, of this packet or of your own: it is never more than the board costs, plus its "
    "rent. For all layouts there are, run woodshop verify on plan.json: it works out the worthiest layout of each kind "
    "of stock in whole numbers, with code that shares nothing with the planner. Prices below are rounded to four "
    "decimals; the whole numbers stand in plan.json, under plans, the material, certificate."
)


def _sums(planned: PlannedBatch) -> list[Block]:
    """The parts of each plan's sum where [worth] says what work and offcuts are worth; nothing without it."""
    worth, currency = planned.batch.worth, planned.batch.lumberyard.currency
    rows: list[tuple[str, ...]] = []
    for each in planned.plans:
        setups = each.setups
        if setups is None or setups.weighed is None or setups.weighed_before is None or setups.least_sum is None:
            continue
        least = str(Money(max(setups.least_sum, 0), currency))
        for who, part, bound in (
            (each.job.material.name, setups.weighed, least),
            ("cheapest", setups.weighed_before, ""),
        ):
            if bound or part != setups.weighed:
                amounts = (part.money, part.layouts, part.settings, -part.offcuts, part.total)
                rows.append((who, *(str(Money(amount, currency)) for amount in amounts), bound))
    if worth is None or not rows:
        return []
    columns = (
        Column("material", weight=4),
        *(Column(name, Align.RIGHT, weight=3) for name in ("stock", "layouts", "settings", "offcuts", "sum")),
        Column("no sum below", Align.RIGHT, weight=3),
    )
    text = (
        f"The design says what work and offcuts are worth: {worth.layout} for each layout, {worth.setting} for each "
        "setting of fence or stop, counted layout by layout"
    )
    if worth.offcut.minor:
        size = f"{worth.least_length} x {worth.least_width}"
        text += f", and {worth.offcut} for an offcut {size}, larger ones by their area, smaller ones nothing"
    text += (
        ". The plan cut is the one of the least sum that was found, which may cost more money than the cheapest. The "
        "last column counts, without a look at any plan, the least money, the fewest layouts and settings that the "
        "pieces ask for, and all wood that is not in a piece as offcuts: it is certain, and may be far below."
    )
    return [KeepTogether((Paragraph(text, lead="Money, work and offcuts in one sum."), Table(columns, tuple(rows))))]


def _kind(each: MaterialPlan, currency: str) -> str:
    plan, certificate = each.plan, each.plan.certificate
    if plan.bound_kind != "solver":
        return "prices of the pieces, checked in whole numbers"
    proved = f"prices prove {Money(certificate.bound, currency)}" if certificate else "there are no prices"
    return f"the solver's search, in floating point, which no paper can show; {proved} in whole numbers"


def _prices(each: MaterialPlan, certificate: Certificate, currency: str) -> KeepTogether:
    """One material's prices, so many abreast or in a sentence, and the sum that gives the bound."""
    job, scale, prices = each.plan.job, certificate.scale, dict(certificate.prices)
    marks = {need.address: need.mark for need in each.job.needs}
    cells = [(marks[b.id], str(b.count), _fine(prices.get(b.id, 0), scale)) for b in job.blanks]
    text, lead = _sum(each, certificate, currency), f"{each.job.material.name.capitalize()}."
    if len(cells) <= _FEW:
        few = ", ".join(f"{count} x {mark} at {price}" for mark, count, price in cells)
        return KeepTogether((Paragraph(f"{few}. {text}", lead=lead),))
    deep = -(-len(cells) // _ABREAST)
    cells += [("", "", "")] * (deep * _ABREAST - len(cells))
    rows = tuple(tuple(word for cell in cells[n::deep] for word in cell) for n in range(deep))
    columns = (Column("mark", weight=2), Column("count", Align.RIGHT, weight=2), Column("price", Align.RIGHT, weight=3))
    return KeepTogether((Paragraph(text, lead=lead), Table(columns * _ABREAST, rows)))


def _sum(each: MaterialPlan, certificate: Certificate, currency: str) -> str:
    """The sum that gives the bound, in words."""
    job, scale = each.plan.job, certificate.scale
    prices, rents = dict(certificate.prices), dict(certificate.rents)
    whats = {offer.id: offer.what for offer in each.job.offers}
    worth = sum(blank.count * prices.get(blank.id, 0) for blank in job.blanks)
    text = f"All pieces together are worth {_fine(worth, scale)}."
    rented = [(stock, stock.count or 0, rents[stock.id]) for stock in job.stock if rents.get(stock.id)]
    if rented:
        listed = "; ".join(f"{whats[stock.id]}, {count} x {_fine(rent, scale)}" for stock, count, rent in rented)
        left = worth - sum(count * rent for _, count, rent in rented)
        text += f" Rents: {listed}. Without them {_fine(left, scale)} is left."
    step = gcd(*(stock.cost for stock in job.stock)) or 1
    bound = Money(certificate.bound, currency)
    return f"{text} Every sum of this stock's costs is a multiple of {Money(step, currency)}: no plan below {bound}."


def _fine(amount: int, scale: int) -> str:
    """An amount in 1/scale of a cent, in whole money with four decimals, rounded.

    >>> _fine(186_427_700, 1_000_000), _fine(0, 10)
    ('1.8643', '0.0000')
    """
    units = (amount * 200 + scale) // (2 * scale)
    return f"{units // 10_000:,}.{units % 10_000:04d}"
