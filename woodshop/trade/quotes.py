"""Turns costs into prices: quotes with tax and validity, prices at other quantities, and why prices rise or fall.

Every other quantity is planned as a run of its own, not scaled by a factor. Such a run has no offcuts, no hardware on
hand, no orders from other customers, and no packing blocks or gauges, because the shop already has these.
"""

from collections.abc import Callable, Sequence
from dataclasses import KW_ONLY, dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

from woodshop.cutting.model.plan import Effort
from woodshop.design.batch import Batch, Hives
from woodshop.design.design_file import Design, Make
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.errors import WoodshopError
from woodshop.findings import gather
from woodshop.hardware.catalogue import board_names
from woodshop.hardware.registry import BoardPart
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import PARTS, RowCost, RunCost, half_up, run_cost
from woodshop.units.lengths import Money
from woodshop.workers import over_cores


def price_each(cents: Fraction | int, count: int, shop: Shop) -> int:
    """The price of one unit if `count` units cost `cents`, with the shop's profit, rounded up to the shop's step.

    A margin is a share of the price: price = cost / (1 - margin); a markup is a share of the cost: price = cost x (1 +
    markup).
    """
    each = Fraction(cents) / count * profit_factor(shop)
    return -int(-each // shop.pricing.round_up_to) * shop.pricing.round_up_to


def profit_factor(shop: Shop) -> Fraction:
    """The ratio of price to cost before the price is rounded."""
    return 1 / (1 - shop.pricing.share) if shop.pricing.profit == "margin" else 1 + shop.pricing.share


def margin_and_markup(cost: int, price: int) -> tuple[Fraction, Fraction]:
    """Profit as a share of the price, and as a share of the cost, or 0 without a price or cost.

    >>> margin_and_markup(1000, 1250)
    (Fraction(1, 5), Fraction(1, 4))
    """
    earned = price - cost
    return (Fraction(earned, price) if price else Fraction(0), Fraction(earned, cost) if cost else Fraction(0))


def tax_on(cents: int, shop: Shop, customer: str) -> int:
    """The sales tax on an invoice of `cents`, to the nearest cent (half a cent rounds up). 0 for an exempt `customer`.

    Source: Streamlined Sales and Use Tax Agreement, section 324, as in Rhode Island General Laws 44-18.1-25. Tax is
    calculated to the third decimal place and rounded up if that digit is greater than four, by item or by invoice, as
    the seller chooses.
    """
    return 0 if is_exempt(shop, customer) else half_up(cents * shop.pricing.tax)


def is_exempt(shop: Shop, customer: str) -> bool:
    """Whether the shop file exempts this customer from sales tax."""
    return customer in shop.pricing.tax_exempt


def _board() -> tuple[str, ...]:
    """The items sold together as one board: rim, floor and strips."""
    return board_names(BoardPart.RIM, BoardPart.FLOOR, BoardPart.STRIPS)


FORM_WORDS = {
    "packed": "packed with {sugar} of sugar",
    "with mesh": "with mesh, not packed",
    "empty": "rim alone, no mesh",
    "unassembled kit": "unassembled kit: cut, not assembled",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A product as sold: its name, its count, and its total cost in cents. `each` is the price of one.

    `parts` are the names of its components. `costs` has the cents for each part of the cost. `form` describes its form,
    or is "" if it has none.
    """

    name: str
    fits: str
    form: str
    parts: tuple[str, ...]
    hives: Hives
    count: int
    cost: int
    each: int
    costs: dict[str, int] = field(default_factory=dict, compare=False)

    @property
    def total(self) -> int:
        """The total price, in cents."""
        return self.each * self.count


@dataclass(frozen=True, slots=True)
class BreakPrice:
    """A product at another quantity, with its unit price and total price.

    `costs` has the cents for each part of the cost.
    """

    name: str
    count: int
    each: int
    costs: dict[str, int] = field(default_factory=dict)

    @property
    def total(self) -> int:
        """The total price."""
        return self.each * self.count


@dataclass(frozen=True, slots=True)
class Break:
    """A group of hives planned as a run of its own, for `quantity` hives.

    `parts` has the cost of the run for each part of the cost. `open_materials` are materials whose plan is not proved
    to be the cheapest. `refused` is the reason if there is no plan.
    """

    hives: str
    quantity: int
    prices: tuple[BreakPrice, ...] = ()
    _: KW_ONLY
    parts: dict[str, int] = field(default_factory=dict)
    open_materials: tuple[str, ...] = ()
    refused: str = ""

    @property
    def total(self) -> int:
        """The total price for this many hives, in cents."""
        return sum(price.total for price in self.prices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """One customer's quote, valid from `quoted_on` until `valid_until`. Money is in cents."""

    number: str
    customer: str
    products: tuple[Product, ...]
    tax: int
    quoted_on: date
    valid_until: date
    breaks: tuple[Break, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def subtotal(self) -> int:
        """The total of all products, before tax."""
        return sum(product.total for product in self.products)

    @property
    def total(self) -> int:
        """The total to pay."""
        return self.subtotal + self.tax


@dataclass(frozen=True, slots=True)
class RunShare:
    """The share of one customer or one group of hives in the run: cost, price, tax and total, in cents."""

    name: str
    cost: int
    price: int
    tax: int

    @property
    def total(self) -> int:
        """The price with tax."""
        return self.price + self.tax


def products_of(run: RunCost, shop: Shop) -> tuple[Product, ...]:
    """The rows of the run as products. Rim, floor, strips and sugar for equally many hives are one product, a board."""
    groups: dict[str, list[RowCost]] = {}
    for row in run.rows:
        groups.setdefault(row.row.hives.name, []).append(row)
    return tuple(_product(rows, shop) for rows in groups.values() for rows in _together(rows))


def _together(rows: list[RowCost]) -> list[list[RowCost]]:
    """The rows of one group of hives, combined into products. Rows are combined only if their counts are equal."""
    found: list[list[RowCost]] = []
    parts = _board()
    board = next((r for name in parts[:2] for r in rows if r.row.what == name), None)
    for row in rows:
        filled = row.row.unit if row.row.what == "shavings" else None
        host = next(
            (
                each
                for each in found
                if each[0].row.count == row.row.count
                and (
                    (board is not None and row.row.what in (*parts, "sugar") and board in each)
                    or (filled is not None and each[0].row.unit is filled)
                )
            ),
            None,
        )
        if host is not None:
            host.append(row)
        else:
            found.append([row])
    return found


def _product(rows: list[RowCost], shop: Shop) -> Product:
    first, names = rows[0].row, [each.row.what for each in rows]
    hives, line = first.hives, None if first.unit is None else first.unit.line
    cost, exact = sum(each.cents for each in rows), sum((each.exact for each in rows), Fraction(0))
    costs = {part: sum(each.parts[part] for each in rows) for part in PARTS}
    parts = _board()
    is_board = len(set(names) & set(parts)) > 1
    if is_board:
        name = "Fondant board" if parts[0] in names else "Wire bottom and spacer strips"
    elif first.what == "sugar":
        name = "Packing boards"
    elif first.what == "shavings":
        name = "Filling" if line is None else f"Shavings for {line.item.title.lower()}"
    else:
        name = first.what if line is None else line.item.title
    form = ""
    if line is not None and line.bought and len(rows) == 1:
        form = "bought ready-made"
    elif first.what == "sugar":
        form = f"{hives.sugar} of sugar each"
    elif "sugar" in names or (hives.form != "packed" and (is_board or parts[0] in names)):
        form = FORM_WORDS[hives.form].format(sugar=hives.sugar)
    elif hives.form == "unassembled kit" and first.what != "shavings":
        form = FORM_WORDS[hives.form]
    elif "shavings" in names and len(names) > 1:
        form = "filled with shavings"
    fits = hives.format if line is None else line.fits
    return Product(
        name=name,
        fits=fits,
        form=form,
        parts=tuple(names),
        hives=hives,
        count=first.count,
        cost=cost,
        each=price_each(exact, first.count, shop),
        costs=costs,
    )


def quotes_of(planned: PlannedBatch, run: RunCost, shop: Shop) -> tuple[Quote, ...]:
    """A quote for every named customer, in the order of the design. Hives without a customer get none."""
    products = products_of(run, shop)
    customers = dict.fromkeys(hives.customer for hives in planned.batch.hives if hives.customer)
    quotes: list[Quote] = []
    quoted_on = quoted(planned.batch)
    for customer in customers:
        own = tuple(p for p in products if p.hives.customer == customer)
        if own:
            number = f"{planned.batch.name}-{len(quotes) + 1}"
            tax = tax_on(sum(p.total for p in own), shop, customer)
            until = quoted_on + timedelta(days=shop.quote.days)
            quotes.append(
                Quote(number=number, customer=customer, products=own, tax=tax, quoted_on=quoted_on, valid_until=until)
            )
    return tuple(quotes)


def quoted(batch: Batch) -> date:
    """The date of the quotes: the design's, or the date of the lumberyard's prices."""
    return batch.days.quoted_on or batch.lumberyard.seen


def shares_of(planned: PlannedBatch, run: RunCost, shop: Shop) -> tuple[RunShare, ...]:
    """The share of each customer. Hives without a customer have a share under their own name.

    The costs add up to the total of the run.
    """
    products = products_of(run, shop)
    bearers: dict[tuple[bool, str], list[Product]] = {}
    for product in products:
        name = product.hives.customer or product.hives.name or product.hives.format
        bearers.setdefault((bool(product.hives.customer), name), []).append(product)
    shares = []
    for (is_customer, name), own in bearers.items():
        cost, price = sum(p.cost for p in own), sum(p.total for p in own)
        sold = is_customer and not shop.is_bill
        price = price if sold else cost
        shares.append(RunShare(name, cost, price, tax_on(price, shop, name) if sold else 0))
    return tuple(shares)


_LESS = {
    "material": "whole boards, rolls and deliveries are shared by more hives",
    "fasteners": "whole boxes of fasteners are used up better",
    "consumables": "whole packs of goods are used up better",
    "labour": "each needs less work",
    "set-ups": "setting up the saw is shared by more hives",
    "scrap": "there is less scrap for each",
    "overhead": "each bears less overhead",
    "shared tools": "each bears a smaller share of the tools",
}
_MORE = {
    "material": "boards and rolls are bought whole, and more is left over at this quantity",
    "fasteners": "fasteners are bought by the box, and more is left over at this quantity",
    "consumables": "goods are bought by the pack, and more is left over at this quantity",
    "labour": "each needs more cuts at this quantity",
    "set-ups": "the saw is set up more often at this quantity",
    "scrap": "there is more scrap for each",
    "overhead": "each bears more overhead",
    "shared tools": "each bears a larger share of the tools",
}
_ROUNDED = "prices are rounded up"


def price_changes(breaks: Sequence[Break], currency: str) -> tuple[str, ...]:
    """Sentences about why prices change with quantity: one for each product that gets cheaper, one for each increase.

    `breaks` are the quantities of one group of hives, in order. Quantities without a plan are skipped.
    """
    planned = [each for each in breaks if not each.refused]
    said: list[str] = []
    for rows in zip(*(each.prices for each in planned), strict=False):
        priced = list(zip((each.quantity for each in planned), rows, strict=True))
        if len(priced) < 2:
            continue
        (few, first), (many, last) = priced[0], priced[-1]
        if last.each < first.each:
            said.append(
                f"{first.name}: one costs {Money(first.each, currency)} at {_hives(few)} and "
                f"{Money(last.each, currency)} at {many}, because {_causes(first, last)}."
            )
        for (few, one), (many, other) in pairwise(priced):
            if other.each > one.each:
                more = Money(other.each - one.each, currency)
                said.append(
                    f"{one.name}: one costs {more} more at {_hives(many)} than at {few}, because {_causes(one, other)}."
                )
    return tuple(said)


def _hives(count: int) -> str:
    return f"{count} hive" if count == 1 else f"{count} hives"


def _causes(one: BreakPrice, other: BreakPrice) -> str:
    """The parts of the unit cost that changed in the same direction as the price, largest first.

    Parts that changed less than a third as much as the largest are omitted.
    """
    rises = other.each > one.each
    words = _MORE if rises else _LESS
    moved = {
        part: (Fraction(other.costs.get(part, 0), other.count) - Fraction(one.costs.get(part, 0), one.count))
        * (1 if rises else -1)
        for part in words
        if one.count and other.count
    }
    largest = max(moved.values(), default=Fraction(0))
    if largest <= 0:
        return _ROUNDED
    order = sorted((part for part in moved if moved[part] * 3 >= largest), key=lambda part: -moved[part])
    return ", and ".join(words[part] for part in order)


def with_breaks(
    quotes: Sequence[Quote],
    design: Design,
    lumberyard: Lumberyard,
    *,
    shop: Shop,
    progress: Callable[[str], None] | None = None,
    effort: Effort = "default",
) -> tuple[Quote, ...]:
    """The quotes, with every group of hives planned at each of the shop's quantities, and with remarks.

    `effort` is the effort of the planner; `progress` receives a line before the work.
    """
    like: dict[str, str] = {}  # a group's items and box -> the first group that is the same
    first = {
        product.hives.name: like.setdefault(_kind(design, product.hives.name), product.hives.name)
        for quote in quotes
        for product in quote.products
    }
    wanted = [(name, quantity) for name in like.values() for quantity in shop.quote.quantities]
    found = dict(
        zip(wanted, _planned(design, lumberyard, shop, wanted=wanted, progress=progress, effort=effort), strict=True)
    )
    made = []
    for quote in quotes:
        names = dict.fromkeys(product.hives.name for product in quote.products)
        breaks = tuple(
            replace(found[first[name], quantity], hives=name) for name in names for quantity in shop.quote.quantities
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


def run_alone(
    design: Design, lumberyard: Lumberyard, shop: Shop, name: str, quantity: int, effort: Effort = "default"
) -> Break:
    """The group of hives called `name`, planned with this `effort` and costed as a run of its own.

    `quantity` is the number of hives.
    """
    try:
        planned = _plan_alone(design, lumberyard, name, quantity, effort)
        run = run_cost(planned, shop)
    except WoodshopError as why:
        return Break(name, quantity, refused=str(why.problems[0]))
    prices = tuple(BreakPrice(named(p), p.count, p.each, p.costs) for p in products_of(run, shop))
    parts = _parts(run)
    still_open = tuple(p.job.group for p in planned.priced if p.plan.cost > p.plan.bound)
    return Break(name, quantity, prices, parts=parts, open_materials=still_open)


def named(product: Product) -> str:
    """The name of a product: the name of its line, with its form."""
    return f"{product.name}, {product.form}" if product.form else product.name


def falls(breaks: Sequence[Break], ordered: Sequence[Product], currency: str) -> tuple[str, ...]:
    """A remark for each larger quantity that costs less in total than a smaller one, with the reason.

    `ordered` are the quoted products; prices are in minor units of `currency`.
    """
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
    """A key for the prices of a group: its box, form and items."""
    n = next(n for n, table in enumerate(design.hives) if table.name == name)
    alike = {"name": "", "customer": "", "order": "", "count": 1, "due": None, "priority": None}
    makes = [(make.item.name, make.given, make.board) for make in _makes(design, name)]
    return repr((design.hives[n].model_copy(update=alike), design.measured[n], makes))


def _makes(design: Design, name: str) -> list[Make]:
    """The items for each hive of a group."""
    return [make for make in design.makes if make.item.is_per_hive and (not make.hives or name in make.hives)]


def _parts(run: RunCost) -> dict[str, int]:
    return {name: sum(row.parts[name] for row in run.rows) for name in PARTS}


def _plan_alone(design: Design, lumberyard: Lumberyard, name: str, quantity: int, effort: Effort) -> PlannedBatch:
    n = next(n for n, table in enumerate(design.hives) if table.name == name)
    alone = replace(
        design,
        hives=(design.hives[n].model_copy(update={"count": quantity}),),
        measured=(design.measured[n],),
        shed=(),
        packed=(),
        inventory=None if design.inventory is None else design.inventory.without_goods,
        makes=tuple(replace(make, hives=(), spare=0) for make in _makes(design, name)),
    )
    offers = tuple(offer for offer in lumberyard.offers if not offer.label)
    batch = settle(alone, replace(lumberyard, offers=offers, on_hand=()))
    return plan_to_buy(batch, make_units(batch), gather([]), effort=effort)


def _planned(
    design: Design,
    lumberyard: Lumberyard,
    shop: Shop,
    *,
    wanted: Sequence[tuple[str, int]],
    progress: Callable[[str], None] | None,
    effort: Effort,
) -> list[Break]:
    """Plans every group at every quantity, in parallel; the results are in order."""
    if progress is not None and wanted:
        progress(f"planning {len(wanted)} runs for other quantities")
    return over_cores(run_alone, [(design, lumberyard, shop, *each, effort) for each in wanted])
