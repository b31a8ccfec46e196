"""Quotes: what each customer gets, at what price, until when; and who bears how much of the bill."""

from dataclasses import KW_ONLY, dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from woodshop.design.batch import Batch, Hives
from woodshop.hardware.catalogue import board_names
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import PARTS, RowCost, RunCost
from woodshop.trade.prices import price_each, tax_on


def _board() -> tuple[str, ...]:
    """The items that are sold as one board: rim, floor and strips."""
    return board_names(BoardPart.RIM, BoardPart.FLOOR, BoardPart.STRIPS)


FORM_WORDS = {
    "packed": "packed with {sugar} of sugar",
    "with mesh": "with mesh, not packed",
    "empty": "rim alone, no mesh",
    "flat kit": "flat kit: cut, not put together",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What is sold as one thing: its words, how many, and what all of them cost, in cents; `each` is the price of one.

    `parts` are the names of what it is made of, `costs` its cost by part of the cost. `form` is in words; "" for what
    has none.
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
        """What all of them are sold for, in cents."""
        return self.each * self.count


@dataclass(frozen=True, slots=True)
class BreakPrice:
    """A product at another quantity: its price each, and for all. `costs` are those of all, in cents by part."""

    name: str
    count: int
    each: int
    costs: dict[str, int] = field(default_factory=dict)

    @property
    def total(self) -> int:
        """The price of all."""
        return self.each * self.count


@dataclass(frozen=True, slots=True)
class Break:
    """A group of hives planned anew, as a run of its own, for `quantity` hives.

    `parts` are the run's costs by part. `open_materials` names materials whose plan is not proved to be the cheapest.
    `refused` says why there is no plan.
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
        """The price of everything for that many hives, in cents."""
        return sum(price.total for price in self.prices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """One customer's quote. Money in cents; `valid_until` counts from `quoted_on`."""

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
        """All products, before tax."""
        return sum(product.total for product in self.products)

    @property
    def total(self) -> int:
        """What the customer pays."""
        return self.subtotal + self.tax


@dataclass(frozen=True, slots=True)
class RunShare:
    """What one customer, or one group of hives, bears of the run: cost, price, tax and total, in cents."""

    name: str
    cost: int
    price: int
    tax: int

    @property
    def total(self) -> int:
        """Price and tax."""
        return self.price + self.tax


def products_of(run: RunCost, shop: Shop) -> tuple[Product, ...]:
    """The run's rows as things that are sold: rim, floor, strips and sugar of as many hives are one board."""
    groups: dict[str, list[RowCost]] = {}
    for row in run.rows:
        groups.setdefault(row.row.hives.name, []).append(row)
    return tuple(_product(rows, shop) for rows in groups.values() for rows in _together(rows))


def _together(rows: list[RowCost]) -> list[list[RowCost]]:
    """Rows of one group of hives that make one thing: of a board what is there as often as its rim or floor."""
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
        name = "Fondant board" if parts[0] in names else "Mesh floor and spacer strips"
    elif first.what == "sugar":
        name = "Packing of boards"
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
    elif hives.form == "flat kit" and first.what != "shavings":
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
    """A quote for every customer named, in the design's order; hives without a customer are quoted to nobody."""
    products = products_of(run, shop)
    customers = dict.fromkeys(hives.customer for hives in planned.batch.hives if hives.customer)
    quotes: list[Quote] = []
    quoted_on = quoted(planned.batch)
    for customer in customers:
        own = tuple(p for p in products if p.hives.customer == customer)
        if own:
            number = f"{planned.batch.name}-{len(quotes) + 1}"
            tax = tax_on(sum(p.total for p in own), shop, customer)
            until = quoted_on + timedelta(days=shop.days)
            quotes.append(
                Quote(number=number, customer=customer, products=own, tax=tax, quoted_on=quoted_on, valid_until=until)
            )
    return tuple(quotes)


def quoted(batch: Batch) -> date:
    """The day from which quotes count: the design's, else the day on which the yard's prices were seen."""
    return batch.quoted_on or batch.yard.seen


def shares_of(planned: PlannedBatch, run: RunCost, shop: Shop) -> tuple[RunShare, ...]:
    """Who bears what: each customer; hives without one by their own name. Costs add up to the run's total."""
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
