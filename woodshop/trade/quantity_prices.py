"""Prices at other quantities: every quantity is planned anew, as a run of its own; no factor is applied.

Such a run has neither the rack nor hardware on hand, nor the other customers' orders, nor packing blocks and gauges,
which the shop has then.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

from woodshop.design.design_file import Design, Make
from woodshop.design.lumberyard.lumberyard_file import Yard
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.errors import WoodshopError
from woodshop.findings import gather
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import PARTS, RunCost, run_cost
from woodshop.trade.quotes import Break, BreakPrice, Product, Quote, products_of
from woodshop.units.lengths import Money
from woodshop.workers import over_cores


def with_breaks(
    quotes: Sequence[Quote],
    design: Design,
    yard: Yard,
    *,
    shop: Shop,
    progress: Callable[[str], None] | None = None,
    effort: str = "default",
) -> tuple[Quote, ...]:
    """The quotes with every group of hives planned at each of the shop's quantities, and what must be said of them."""
    like: dict[str, str] = {}  # what is made for a group and for which box -> the first group of which that is so
    first = {
        product.hives.name: like.setdefault(_kind(design, product.hives.name), product.hives.name)
        for quote in quotes
        for product in quote.products
    }
    wanted = [(name, quantity) for name in like.values() for quantity in shop.quantities]
    found = dict(
        zip(wanted, _planned(design, yard, shop, wanted=wanted, progress=progress, effort=effort), strict=True)
    )
    made = []
    for quote in quotes:
        names = dict.fromkeys(product.hives.name for product in quote.products)
        breaks = tuple(
            replace(found[first[name], quantity], hives=name) for name in names for quantity in shop.quantities
        )
        remarks = [
            remark
            for name in names
            for remark in falls(
                [each for each in breaks if each.hives == name],
                [product for product in quote.products if product.hives.name == name],
                shop.currency,
            )
        ]
        made.append(replace(quote, breaks=breaks, remarks=(*quote.remarks, *remarks)))
    return tuple(made)


def run_alone(design: Design, yard: Yard, shop: Shop, name: str, quantity: int, effort: str = "default") -> Break:
    """That many hives of one group, planned and costed as a run of its own."""
    try:
        planned = _plan_alone(design, yard, name, quantity, effort)
        run = run_cost(planned, shop)
    except WoodshopError as why:
        return Break(name, quantity, refused=str(why.problems[0]))
    prices = tuple(BreakPrice(named(p), p.count, p.each, p.costs) for p in products_of(run, shop))
    parts = _parts(run)
    still_open = tuple(p.job.material.name for p in planned.plans if p.plan.cost > p.plan.bound)
    return Break(name, quantity, prices, parts=parts, open_materials=still_open)


def named(product: Product) -> str:
    """A product as its line is called, form and all."""
    return f"{product.name}, {product.form}" if product.form else product.name


def falls(breaks: Sequence[Break], ordered: Sequence[Product], currency: str) -> tuple[str, ...]:
    """What must be said where more would cost less in total than fewer, and why; nothing where it never does."""
    said = []
    planned = [each for each in breaks if not each.refused]
    for few, many in pairwise(planned):
        if many.total < few.total:
            said.append(
                f"{many.quantity} cost less in total than {few.quantity}: {Money(many.total, currency)} against "
                f"{Money(few.total, currency)}, {_why(few, many)}."
            )
    count = max((product.count for product in ordered), default=0)
    total = sum(product.total for product in ordered)
    for each in planned:
        price = f"{Money(each.total, currency)} against {Money(total, currency)}"
        if each.quantity > count and each.total < total:
            said.append(
                f"{each.quantity} as a run of their own would cost less in total than the {count} quoted: {price}."
            )
        elif each.quantity < count and each.total > total:
            said.append(
                f"The {count} quoted cost less in total than {each.quantity} as a run of their own would: {price}. "
                "They share boards, packs and set-ups with the other orders of the run, and use what is on hand."
            )
    return tuple(said)


def _why(few: Break, many: Break) -> str:
    lower = [name for name in PARTS if many.parts.get(name, 0) < few.parts.get(name, 0)]
    words = f"less for {' and '.join(lower)}" if lower else "as prices are rounded up"
    if "material" in lower and few.open_materials:
        words += f"; the plan for {few.quantity} is not proved to be the cheapest ({', '.join(few.open_materials)})"
    return words


def _kind(design: Design, name: str) -> str:
    """All that a group's price at a quantity hangs on, in words: its box and form, and what is made for it."""
    n = next(n for n, table in enumerate(design.hives) if table.name == name)
    alike = {"name": "", "customer": "", "order": "", "count": 1, "due": None, "priority": None}
    makes = [(make.item.name, make.given, make.board) for make in _makes(design, name)]
    return repr((design.hives[n].model_copy(update=alike), design.measured[n], makes))


def _makes(design: Design, name: str) -> list[Make]:
    """What is made for each hive of a group."""
    return [make for make in design.makes if make.item.is_per_hive and (not make.hives or name in make.hives)]


def _parts(run: RunCost) -> dict[str, int]:
    return {name: sum(row.parts[name] for row in run.rows) for name in PARTS}


def _plan_alone(design: Design, yard: Yard, name: str, quantity: int, effort: str) -> PlannedBatch:
    n = next(n for n, table in enumerate(design.hives) if table.name == name)
    alone = replace(
        design,
        hives=(design.hives[n].model_copy(update={"count": quantity}),),
        measured=(design.measured[n],),
        shed=(),
        makes=tuple(replace(make, hives=(), spare=0) for make in _makes(design, name)),
    )
    batch = settle(alone, replace(yard, offers=tuple(offer for offer in yard.offers if not offer.label)))
    return plan_to_buy(batch, make_units(batch), gather([]), effort=effort)


def _planned(
    design: Design,
    yard: Yard,
    shop: Shop,
    *,
    wanted: Sequence[tuple[str, int]],
    progress: Callable[[str], None] | None,
    effort: str,
) -> list[Break]:
    """Every group at every quantity, on all cores, in order."""
    if progress is not None and wanted:
        progress(f"planning {len(wanted)} runs for other quantities")
    return over_cores(run_alone, [(design, yard, shop, *each, effort) for each in wanted])
