"""What comes home of boards that are cut where they are bought: the boards that lie on the saw, and their plans."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from woodshop.cutting.model.job import Job, Stock, job_digest
from woodshop.cutting.model.lumber_job import BETWEEN
from woodshop.cutting.model.lumber_plan import BoughtBoard, home_plans, parts_at_home
from woodshop.cutting.model.plan import Layout, Plan
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.plan.values import BoughtLumber, MaterialPlan, Purchase
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length, Money
from woodshop.units.wording import LengthUnit

CUTS = "cuts across boards"
"""What a line of the buy list calls the cuts that are paid for."""


def plans_at_home(bought: BoughtLumber, unit: LengthUnit) -> tuple[MaterialPlan, ...]:
    """The plan of each material, whose stock are the boards as they come home, at no cost.

    A part has the length that it has on the way home, and at each end the trim by which it is squared.
    """
    job = bought.job
    materials = {need.part.material.name: need.part.material for need in job.needs}
    offers, lengths = {}, {}
    for board in bought.plan.bought:
        offer = next(offer for offer in job.offers if offer.id == board.stock)
        for part, home in parts_at_home(bought.plan.job, board):
            is_part, thin = len(board.parts) > 1, None if part.resaw is None else materials[part.resaw]
            offers[home.stock.id] = replace(
                offer,
                id=home.stock.id,
                what=_what(offer, job.grid * part.length if is_part else None, thin, unit),
                length=job.grid * part.length,
                material=thin or offer.material,
                thickness=offer.thickness if thin is None else thin.thickness,
                square_ends=offer.square_ends and not is_part,
                cuts=None,
                resaw=False,
            )
            if is_part:
                lengths[home.stock.id] = part.length
    made = []
    for plan in home_plans(bought.plan).values():
        own = replace(plan.job, stock=tuple(_as_taken(each, lengths) for each in plan.job.stock))
        layouts = tuple(_shifted(each, own.stock, lengths) for each in plan.layouts)
        marks = {blank.id for blank in own.blanks}
        needs = tuple(need for need in job.needs if need.address in marks)
        material = needs[0].part.material
        at_home = replace(
            job,
            material=material,
            job=own,
            needs=needs,
            offers=tuple(offers[each.id] for each in own.stock),
            lumber=None,
        )
        made.append(MaterialPlan(at_home, _plan(own, layouts)))
    return tuple(made)


def _what(offer: Offer, length: Length | None, thin: Material | None, unit: LengthUnit) -> str:
    part = "" if length is None else f", part of {length.text(unit)}"
    return f"{offer.what}{part}" + ("" if thin is None else f", resawn to {thin.size}")


def _plan(job: Job, layouts: tuple[Layout, ...]) -> Plan:
    return Plan(
        job=job, job_digest=job_digest(job), cost=0, bound=0, bound_kind="area", assurance="proved", gap=0,
        layouts=layouts,
    )  # fmt: skip


def _as_taken(stock: Stock, lengths: dict[str, int]) -> Stock:
    """The stock with the length on the way home, and its trims at the ends."""
    if stock.id not in lengths:
        return stock
    trims = lengths[stock.id] - stock.length
    return replace(stock, length=lengths[stock.id], end_trim=trims // 2)


def _shifted(layout: Layout, stock: tuple[Stock, ...], lengths: dict[str, int]) -> Layout:
    if layout.stock not in lengths:
        return layout
    trim = next(each.end_trim for each in stock if each.id == layout.stock)
    return replace(layout, pieces=tuple(replace(piece, x=piece.x + trim) for piece in layout.pieces))


def cuts_of(bought: BoughtLumber) -> Iterator[tuple[Offer, BoughtBoard, int, int]]:
    """Each kind of board that is cut where it is bought: its offer, its parts, the cuts in one, and those paid for."""
    for board in bought.plan.bought:
        cuts = len(board.parts) - 1
        if cuts:
            offer = next(offer for offer in bought.job.offers if offer.id == board.stock)
            free = 0 if offer.cuts is None else offer.cuts.free
            yield offer, board, cuts, max(0, cuts - free)


def cut_purchases(bought: BoughtLumber) -> Iterator[Purchase]:
    """For each lumberyard and price, the cuts across boards that are paid for."""
    paid: dict[tuple[str, Money], list[int]] = {}
    for offer, board, cuts, charged in cuts_of(bought):
        if offer.cuts is not None:
            counts = paid.setdefault((offer.lumberyard, offer.cuts.price), [0, 0])
            counts[0] += cuts * board.times
            counts[1] += charged * board.times
    for (lumberyard, price), (cuts, charged) in paid.items():
        if charged:
            free = f", {cuts - charged} of them free" if cuts > charged else ""
            yield Purchase(
                group=bought.job.group,
                what=CUTS,
                count=charged,
                price=price,
                why=f"{cuts} cut{'s' if cuts != 1 else ''}{free}: to length, {bought.job.spoken}",
                lumberyard=lumberyard,
                is_cut=True,
            )


@dataclass(frozen=True, slots=True)
class Resawn:
    """Boards or parts that are resawn alike: `times` pieces, each `length` long, into `count` boards of a material.

    `layouts` are the numbers of layouts by which the new boards are cut, in the plan of the bought lumber.
    """

    offer: Offer
    length: Length
    times: int
    material: str
    count: int
    layouts: tuple[int, ...]


def resawings(bought: BoughtLumber) -> tuple[Resawn, ...]:
    """Everything that is resawn, in the order of the plan."""
    job = bought.job
    if job.lumber is None:
        return ()
    lumber = {each.stock.id: each for each in job.lumber.lumber}
    offers = {offer.id: offer for offer in job.offers}
    found: dict[tuple[str, int, str], Resawn] = {}
    for board in bought.plan.bought:
        for part in (part for part in board.parts if part.resaw is not None and part.layouts):
            word = part.resaw or ""
            key = (board.stock, part.length, word)
            count = next(way.boards for way in lumber[board.stock].resaw if way.thickness == word)
            old = found.get(key)
            found[key] = Resawn(
                offers[board.stock], job.grid * part.length, board.times + (old.times if old else 0), word, count,
                tuple(sorted({*part.layouts, *(old.layouts if old else ())})),
            )  # fmt: skip
    return tuple(found.values())


def bought_as(stock: str) -> str:
    """The id of the stock that is bought for a board at home, which is its own if it comes home whole."""
    return stock.partition(BETWEEN)[0]


def is_whole(stock: str) -> bool:
    """Whether a board at home is as it was bought."""
    return bought_as(stock) == stock


def boards_used_up(bought: BoughtLumber) -> tuple[tuple[Offer, int], ...]:
    """The boards that do not come to the saw as they were bought, with their counts."""
    found: Counter[str] = Counter()
    for board in bought.plan.bought:
        if len(board.parts) > 1 or any(part.resaw for part in board.parts):
            found[board.stock] += board.times
    return tuple((offer, found[offer.id]) for offer in bought.job.offers if found[offer.id])


def places_at_home(bought: BoughtLumber) -> tuple[tuple[str, int], ...]:
    """For each layout of the plan, its material and its place among that material's layouts."""
    of = {stock.id: name for name, plan in home_plans(bought.plan).items() for stock in plan.job.stock}
    counts: Counter[str] = Counter()
    found = []
    for layout in bought.plan.layouts:
        name = of[layout.stock]
        found.append((name, counts[name]))
        counts[name] += 1
    return tuple(found)


def at_home(
    made: Iterable[MaterialPlan | BoughtLumber], unit: LengthUnit
) -> tuple[tuple[MaterialPlan, ...], tuple[BoughtLumber, ...]]:
    """The plan of every material as it is sawn at home, and the boards that are resawn or cut where they are bought."""
    plans: list[MaterialPlan] = []
    lumber: list[BoughtLumber] = []
    for each in made:
        if isinstance(each, MaterialPlan):
            plans.append(each)
        else:
            plans += plans_at_home(each, unit)
            lumber.append(each)
    return tuple(plans), tuple(lumber)
