"""Compares minutes measured in the shop with its time standards, and shows the effect on the prices of a run."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from woodshop.design.inventory import MeasuredValue
from woodshop.design.settings.times import BY_KEY, Standard
from woodshop.hardware.catalogue import folded
from woodshop.plan.cost import cost_rows
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.counts import work_of
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import RunCost, goods_of, is_tool, split_run
from woodshop.trade.quotes import products_of


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTime:
    """One operation: the shop's standard and the measured minutes per unit, and how often this run does it.

    `cost` and `price` are the cents that these measured minutes alone would add to the run. Savings are negative.
    """

    operation: str
    one: str
    standard: Standard
    measured: MeasuredValue
    times: Fraction
    cost: int
    price: int

    @property
    def minutes(self) -> Fraction:
        """The minutes that this measurement would add to the work of the run."""
        return self.times * (self.measured.mean - self.standard.minutes)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTimes:
    """Every measured operation; `unknown` lists names in the book that match no operation in the shop file.

    `cost` and `price` are the totals of the run with all measured minutes, minus its totals with the standards.
    """

    rows: tuple[MeasuredTime, ...]
    unknown: tuple[str, ...]
    cost: int
    price: int

    @property
    def minutes(self) -> Fraction:
        """The minutes that all measurements would add to the work of the run."""
        return sum((row.minutes for row in self.rows), Fraction(0))


def measured_times(planned: PlannedBatch, run: RunCost, shop: Shop) -> MeasuredTimes | None:
    """The minutes in the book next to the standards in the shop file, or None without measurements or without a shop.

    `run` is the cost of the run with the standards.
    """
    inventory = planned.batch.inventory
    if inventory is None or not inventory.minutes or shop.is_bill:
        return None
    rows = tuple(row for row in cost_rows(planned.batch, planned.units) if row.count)
    works = work_of(planned, rows)
    goods = goods_of(planned, rows, works, shop)
    tools = [is_tool(row) for row in rows]

    def changed(new: dict[tuple[str, str], Standard]) -> tuple[int, int]:
        other = replace(shop, standards=shop.standards | new)
        made = split_run(rows, tools, works, goods, other)
        return made.total.minor - run.total.minor, _price(made, shop) - _price(run, shop)

    coats = 1 if shop.goods.paint is None else shop.goods.paint.coats
    found, unknown = [], []
    every: dict[tuple[str, str], Standard] = {}
    for words, value in inventory.minutes:
        key = operation_named(words)
        if key is None:
            unknown.append(words)
            continue
        new = {key: Standard(value.mean, inventory.source)}
        every |= new
        times = sum((work.count for work in works if (work.table, work.key) == key), Fraction(0))
        cost, price = changed(new)
        found.append(
            MeasuredTime(
                operation=BY_KEY[key].name,
                one=BY_KEY[key].one,
                standard=shop.standards[key],
                measured=value,
                times=times * coats if key == ("time", "paint") else times,
                cost=cost,
                price=price,
            )
        )
    cost, price = changed(every)
    return MeasuredTimes(rows=tuple(found), unknown=tuple(unknown), cost=cost, price=price)


def operation_named(words: str) -> tuple[str, str] | None:
    """The table and key of a shop-file operation that the book calls by its name or key, or None if there is none.

    >>> operation_named("Rip"), operation_named("glue up"), operation_named("set up holes"), operation_named("paint it")
    (('time', 'rip'), ('time', 'glue_up'), ('setup', 'drill'), None)
    """
    plain = folded(words.replace("_", " "))
    names = [(each.name, key) for key, each in BY_KEY.items()]
    names += [(key[1].replace("_", " "), key) for key in BY_KEY]
    return next((key for name, key in names if folded(name) == plain), None)


def _price(run: RunCost, shop: Shop) -> int:
    products: Sequence[int] = [product.total for product in products_of(run, shop)]
    return sum(products)
