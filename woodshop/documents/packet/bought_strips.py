"""Narrow strips bought ready-made instead of ripped, if the lumberyard sells them: the cost and the saving."""

from collections import Counter
from dataclasses import KW_ONLY, dataclass, replace
from functools import cache

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.job_sequence import STOP, JobSequence, job_sequence
from woodshop.cutting.planner.plan_job import plan as plan_job
from woodshop.design.batch import Batch
from woodshop.documents.packet.thin_rip_stop import strip_limits
from woodshop.drawing.values.model import Block, Heading, Paragraph
from woodshop.errors import NothingToCutError
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.units.lengths import Length, Money

_MOST_PIECES = 220  # if there are more, the boards are not planned again without their strips


@dataclass(frozen=True, slots=True)
class BoughtStrips:
    """All strips of a plan, if bought ready-made: their number, the goods, their cost, and the saving on boards.

    `pieces` are the goods bought, with the number of each. `saved` is None if the boards were not planned again.
    `settings` and `fence_moves` count what ripping the strips as planned takes. `from_offcuts` says whether some of the
    boards are offcuts on hand, at their value. `widest` is the thickness to which the widest strip is ripped.
    """

    strips: int
    pieces: tuple[tuple[str, int], ...]
    cost: Money
    _: KW_ONLY
    saved: Money | None
    settings: int
    fence_moves: int
    from_offcuts: bool
    widest: Length


def bought_strip_blocks(planned: PlannedBatch) -> list[Block]:
    """A paragraph for each material whose strips could be bought instead, if there are any."""
    of_lumber = {
        name for each in planned.lumber for name in each.job.materials
    }  # their boards have no price of their own
    found = [
        _paragraph(own, planned.batch, _within(each, planned))
        for each in planned.plans
        if each.job.material.name not in of_lumber and (own := bought_strips(each, planned.batch))
    ]
    return [Heading("Ready-made strips instead", 2), *found] if found else []


def _within(each: MaterialPlan, planned: PlannedBatch) -> str:
    """A sentence about the strips for sale whose thickness is within the limits, or "" if there are none."""
    unit = planned.batch.unit
    sizes = {offer.thickness for offer in each.job.offers if offer.material != each.job.material}
    limits = strip_limits(planned).values()
    words = [
        f"A thickness of {thick.text(unit)} is within the limits of the strips, {low.number(unit)} to {high.text(unit)}"
        for thick in sorted(size for size in sizes if size is not None)
        for low, high in limits
        if low <= thick <= high
    ]
    return f" {'; '.join(words)}." if words else ""


def bought_strips(each: MaterialPlan, batch: Batch) -> BoughtStrips | None:
    """The cost of buying the strips, or None if no strip is ripped or no lumberyard sells strips of that section."""
    job = each.plan.job
    offers = {offer.id: offer for offer in each.job.offers}
    ready = {stock.id for stock in job.stock if offers[stock.id].material != each.job.material}
    widths = {stock.width for stock in job.stock if stock.id in ready}
    strips = tuple(blank for blank in job.blanks if blank.width in widths)
    sequence = job_sequence(job, each.plan, thin_rip=batch.saw.thin_rip)
    ripped = Counter(
        piece.id
        for layout in each.plan.layouts
        if layout.stock not in ready
        for piece in layout.pieces * layout.times
        if piece.width in widths
    )
    if not ripped:
        return None
    bought = _quick(replace(job, stock=tuple(s for s in job.stock if s.id in ready), blanks=strips))
    if bought is None:
        return None
    others = tuple(blank for blank in job.blanks if blank not in strips)
    boards = tuple(stock for stock in job.stock if stock.id not in ready)
    saved: Money | None = None
    if not others:
        saved = Money(each.plan.cost, batch.lumberyard.currency)
    elif sum(blank.count for blank in job.blanks) <= _MOST_PIECES:
        rest = _quick(replace(job, stock=boards, blanks=others))
        saved = None if rest is None else Money(each.plan.cost - rest.cost, batch.lumberyard.currency)
    counts: Counter[str] = Counter()
    for layout in bought.layouts:
        counts[offers[layout.stock].what] += layout.times
    return BoughtStrips(
        sum(blank.count for blank in strips),
        tuple(sorted(counts.items())),
        Money(bought.cost, batch.lumberyard.currency),
        saved=saved,
        settings=_narrow_settings(sequence),
        fence_moves=sequence.fence_moves,
        widest=each.job.grid * max(blank.width or 0 for blank in strips),
        from_offcuts=any(offers[layout.stock].label for layout in each.plan.layouts),
    )


@cache
def _quick(job: Job) -> Plan | None:
    """A quick plan, or None if there is not enough stock."""
    try:
        return plan_job(job, effort="quick")
    except NothingToCutError:
        return None


def _narrow_settings(sequence: JobSequence) -> int:
    return sum(station.setting[1] in ("strip", "remaining") for station in sequence.stations)


def _paragraph(own: BoughtStrips, batch: Batch, within: str) -> Paragraph:
    pieces = ", ".join(f"{count} piece{'s' if count != 1 else ''} of {what}" for what, count in own.pieces)
    text = f"Instead of ripping the {own.strips} strips, you can cut them from {pieces}, for {own.cost}.{within}"
    if own.saved is None:
        text += " The boards then cost less too, but that saving is not planned here."
    elif own.saved.minor <= 0:
        text += " The boards cost no less without them."
    else:
        worth = "Counting the value of offcuts, the" if own.from_offcuts else "The"
        text += f" {worth} boards then cost {own.saved} less, so "
        difference = own.cost.minor - own.saved.minor
        if difference > 0:
            text += f"buying costs {own.cost - own.saved} more in total."
        elif difference < 0:
            text += f"buying saves {own.saved - own.cost} in total."
        else:
            text += "both ways cost the same."
    stops = f"{own.settings} setting{'s' if own.settings != 1 else ''}"
    if batch.saw.thin_rip == STOP:
        text += f" You then need no thin-rip stop, and save {stops} of the stop and {own.fence_moves} fence moves."
    else:
        text += f" Buying saves {stops} of the fence."
    thin = (own.widest + batch.saw.mark).text(batch.unit)
    text += f" To buy the strips, set the thinnest rip of your saw to {thin} and plan again "
    return Paragraph(f"{text}before you cut, because other layouts change too.")
