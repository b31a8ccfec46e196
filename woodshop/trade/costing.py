"""Calculates the cost of each item in a run. Charges are divided into whole cents, and the shares add up to the charge.

The parts of the cost are calculated in this order: material, fasteners, consumables, labor and setups; a scrap
allowance on these; overhead. Last, the cost of items made for the whole run (packing blocks, gauges) is divided among
the items for hives.
"""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass, field, replace
from fractions import Fraction

from woodshop.design.settings.times import BY_KEY, SQUARE_FOOT
from woodshop.errors import InputError, Problem
from woodshop.hardware.catalogue import board_names
from woodshop.hardware.registry import BoardPart
from woodshop.plan.buy_list import FASTENERS, amounts, recipe, size
from woodshop.plan.cost import CostRow, cost_rows, split
from woodshop.plan.values import PlannedBatch, Purchase, stock_used
from woodshop.plan.work.counts import Labor, Weights, work_of
from woodshop.plan.work.shop_file import Shop
from woodshop.reference.facts import fact
from woodshop.units.lengths import LITRES_PER_US_CUP, Mass, Money, decimals, unit_of_lengths

CONSUMED = ("glue", "sugar", "vinegar", "shavings")  # goods by the pack that are not fasteners
BY_AREA = "area of the pieces as cut, waste in proportion"
_RULES = {"glue": "glued units", "sugar": "sugar by mass", "vinegar": "sugar by mass", "shavings": "volume filled"}


@dataclass(frozen=True, slots=True)
class Goods:
    """The charge for goods: its part of the cost, description and calculation, and how it is divided among the rows.

    `cents` is the charge to the run. `kept` is the amount paid for goods that stay with the shop in their packs.
    """

    part: str
    what: str
    how: str
    _: KW_ONLY
    cents: int
    weights: Weights
    rule: str
    kept: int = 0


def half_up(value: Fraction) -> int:
    """The value rounded to the nearest whole number; halves round up.

    >>> half_up(Fraction(5, 2)), half_up(Fraction(7, 3))
    (3, 2)
    """
    return int(value + Fraction(1, 2))


def goods_of(
    planned: PlannedBatch, rows: tuple[CostRow, ...], works: tuple[Labor, ...], shop: Shop
) -> tuple[Goods, ...]:
    """All goods of the run: purchases, offcuts, paint, and the consumables of each operation."""
    found: list[Goods] = []
    for group in dict.fromkeys(p.group for p in planned.purchases):
        bought = [p for p in planned.purchases if p.group == group]
        found.append(_bought(planned, group, bought, rows, shop))
    found += _delivered(planned, rows)
    if shop.goods.offcuts == "worth":
        found += (*_offcuts(planned, rows), *_packs_on_hand(planned, rows))
    found += _painted(works, shop)
    for each in shop.goods.consumables:
        for work in works:
            if (work.table, work.key) == ("time", each.each):
                how = f"{_number(work.count)} at {each.price / 100:.2f}"
                cents = half_up(work.count * each.price)
                found.append(Goods("consumables", each.what, how, cents=cents, weights=work.weights, rule=work.rule))
    return tuple(found)


def _bought(planned: PlannedBatch, group: str, bought: list[Purchase], rows: tuple[CostRow, ...], shop: Shop) -> Goods:
    weights = tuple(row.use_of(group) for row in rows)
    paid = sum(p.total.minor for p in bought)
    how = " + ".join(f"{p.count} x {p.what} at {p.price.minor / 100:.2f}" for p in bought)
    is_pack = group in FASTENERS or group in CONSUMED
    charged = paid
    if is_pack and shop.goods.packs == "used":
        share = _share_used(planned, group, bought, weights)
        charged = half_up(paid * share)
        if charged < paid:
            how += f"; {decimals(share * 100, 1)} % used"
    part = "fasteners" if group in FASTENERS else "consumables" if is_pack else "material"
    rule = "pieces" if group in FASTENERS else _RULES.get(group, BY_AREA)
    return Goods(part, group, how, cents=charged, kept=paid - charged, weights=weights, rule=rule)


def _share_used(planned: PlannedBatch, group: str, bought: list[Purchase], weights: Weights) -> Fraction:
    """The fraction of the packs' content that is used, or 1 if it is not known."""
    packs = {(pack.what, pack.price): size(pack) for pack in planned.batch.lumberyard.packs if pack.goods == group}
    held = sum((packs.get((p.what, p.price), Fraction(0)) * p.count for p in bought), Fraction(0))
    return min(Fraction(1), _needed(group, sum(weights, Fraction(0))) / held) if held else Fraction(1)


def _needed(group: str, used: Fraction) -> Fraction:
    """The amount of goods that the rows use, in the unit of the packs; fasteners include a loss of 5 %."""
    if group in FASTENERS:
        return used * Fraction(105, 100)
    if group == "glue":
        return used * 4 * fact("rim.glue_per_corner").number
    if group == "vinegar":
        return recipe(Mass(used)).vinegar_tablespoons * LITRES_PER_US_CUP * 1000 / 16
    return used


def _delivered(planned: PlannedBatch, rows: tuple[CostRow, ...]) -> list[Goods]:
    """The charges for delivery and tax on each lumberyard's bill. Rows pay in proportion to their goods on it."""
    found = []
    for bill in planned.bills:
        weights = [Fraction(0)] * len(rows)
        for p in (p for p in planned.purchases if p.lumberyard == bill.lumberyard):
            used = [row.use_of(p.group) for row in rows]
            total = sum(used, Fraction(0))
            weights = [w + p.total.minor * u / total for w, u in zip(weights, used, strict=True)] if total else weights
        for what, money in (("delivery", bill.fee), ("tax paid", bill.tax)):
            if money.minor:
                how = f"on goods for {bill.goods.minor / 100:.2f}"
                rule = "goods of that lumberyard"
                name = f"{what}, {bill.lumberyard}"
                found.append(Goods("material", name, how, cents=money.minor, weights=tuple(weights), rule=rule))
    return found


def _offcuts(planned: PlannedBatch, rows: tuple[CostRow, ...]) -> list[Goods]:
    found = []
    for plan in planned.priced:
        used = stock_used(plan)
        own = [(offer, used[offer.id]) for offer in plan.job.offers if offer.label and offer.id in used]
        cents = sum((offer.worth or offer.price).minor * count for offer, count in own)
        if cents:
            words = " + ".join(
                f"{count} x {offer.what} at {(offer.worth or offer.price).minor / 100:.2f}" for offer, count in own
            )
            weights = tuple(row.use_of(plan.job.group) for row in rows)
            name = f"{plan.job.group}, own offcuts"
            found.append(Goods("material", name, words, cents=cents, weights=weights, rule=BY_AREA))
    return found


def _packs_on_hand(planned: PlannedBatch, rows: tuple[CostRow, ...]) -> list[Goods]:
    """The charges for goods used from leftover packs, at the price of the packs.

    Packs are used in the order of the book.
    """
    found = []
    for goods, amount, _ in amounts(planned.batch, planned.units):
        cents, words, left = Fraction(0), [], amount
        for each in planned.batch.lumberyard.on_hand:
            if each.pack.goods == goods and left > 0 and size(each.pack):
                used = min(left / size(each.pack), Fraction(each.count))
                cents += used * each.pack.price.minor
                left -= used * size(each.pack)
                words.append(f"{decimals(used, 2)} x {each.pack.what} at {each.pack.price.minor / 100:.2f}")
        if cents:
            weights = tuple(row.used.get(goods, Fraction(0)) for row in rows)
            part, rule = ("fasteners", "pieces") if goods in FASTENERS else ("consumables", _RULES.get(goods, BY_AREA))
            name = f"{goods}, left over"
            found.append(Goods(part, name, " + ".join(words), cents=half_up(cents), weights=weights, rule=rule))
    return found


def _painted(works: tuple[Labor, ...], shop: Shop) -> list[Goods]:
    """The charges for paint, divided by outside area: whole cans, or the amount used."""
    paint = shop.goods.paint
    if paint is None:
        return []
    found = []
    for work in works:
        if work.key == "paint" and work.count:
            litres = work.count * SQUARE_FOOT * paint.coats / paint.cover
            cans = litres / paint.litres
            whole = -int(-cans // 1)
            paid = whole * paint.price
            charged = half_up(cans * paint.price) if shop.goods.packs == "used" else paid
            outside = f"{decimals(work.count, 1)} sq ft"
            if unit_of_lengths() == "mm":
                outside = f"{decimals(work.count * SQUARE_FOOT / 10**6, 2)} m²"
            how = (
                f"{outside} outside x {paint.coats} coats = {decimals(litres, 2)} L; "
                f"{whole} x {paint.what} at {paint.price / 100:.2f}"
            )
            kept, rule = paid - charged, "area outside"
            found.append(Goods("consumables", "paint", how, cents=charged, weights=work.weights, rule=rule, kept=kept))
    return found


PARTS = ("material", "fasteners", "consumables", "labour", "set-ups", "scrap", "overhead", "shared tools")


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """One charge of the run: its part of the cost, its purpose, its calculation, and each row's share, in cents.

    For labor, `count` is the number of operations, `minutes` is the total time, and `source` is the source of the time
    for one operation.
    """

    part: str
    what: str
    how: str
    rule: str
    shares: tuple[int, ...]
    kept: int = 0
    count: Fraction | None = None
    minutes: Fraction | None = None
    source: str = ""

    @property
    def cents(self) -> int:
        """The total charge."""
        return sum(self.shares)


@dataclass(frozen=True, slots=True)
class RowCost:
    """A row of the run, its cost in whole cents for each part of the cost, and the `minutes` of work on it.

    `exact` is the cost before rounding, used for prices, so that identical items have the same price.
    """

    row: CostRow
    parts: dict[str, int]
    minutes: Fraction
    exact: Fraction

    @property
    def cents(self) -> int:
        """The total of all parts."""
        return sum(self.parts.values())


@dataclass(frozen=True, slots=True)
class RunCost:
    """The cost of a run. The cost of `tools` is divided among `rows`.

    Each tool has the opposite amount under "shared tools", so that its total is zero. If the run has only tools, they
    are listed in `rows` at their own cost.
    """

    rows: tuple[RowCost, ...]
    tools: tuple[RowCost, ...]
    charges: tuple[Charge, ...]
    currency: str

    @property
    def total(self) -> Money:
        """The cost of the run: the sum of its rows."""
        return Money(sum(row.cents for row in self.rows), self.currency)

    def part(self, name: str) -> Money:
        """One part of the cost for the whole run, including the tools."""
        return Money(sum(row.parts[name] for row in (*self.rows, *self.tools)), self.currency)

    @property
    def kept(self) -> Money:
        """The amount paid for goods that stay with the shop in their packs."""
        return Money(sum(charge.kept for charge in self.charges), self.currency)

    @property
    def minutes(self) -> Fraction:
        """The minutes of all work in the run."""
        return sum((charge.minutes for charge in self.charges if charge.minutes is not None), Fraction(0))


def run_cost(planned: PlannedBatch, shop: Shop) -> RunCost:
    """The cost of a planned run. Raises InputError if needed goods have no price or if currencies differ."""
    currency = planned.batch.lumberyard.currency
    found = [
        Problem(f"lumberyard file {planned.batch.lumberyard.name!r}", f"no price for {each.what} ({each.amount})",
                "its price", "Add it to the lumberyard file: a cost without it would be too low.")
        for each in planned.unpriced
    ]  # fmt: skip
    if shop.currency != currency:
        wanted = f"{currency}, as in the lumberyard file"
        found.append(Problem("shop file, currency", shop.currency, wanted, "Convert it."))
    if found:
        raise InputError(*found)
    rows = tuple(row for row in cost_rows(planned.batch, planned.units) if row.count)
    works = () if shop.is_bill else work_of(planned, rows)
    goods = goods_of(planned, rows, works, shop)
    return split_run(rows, [is_tool(row) for row in rows], works, goods, shop)


def is_tool(row: CostRow) -> bool:
    """Whether a row is an item made for the whole run, whose cost the other rows pay."""
    return row.unit is not None and not row.unit.line.item.is_per_hive


def split_run(
    rows: Sequence[CostRow], tools: Sequence[bool], works: Sequence[Labor], goods: Sequence[Goods], shop: Shop
) -> RunCost:
    """Divides every charge among the rows by the weights of the charge.

    `tools` marks the rows whose cost is divided among all other rows at the end.
    """
    ledger = _Ledger(rows)
    for each in goods:
        ledger.share(each.part, each.what, each.how, each.rule, each.cents, each.weights, kept=each.kept)
    for work in works:
        _work(ledger, work, shop)
    prime = ledger.sums()
    if shop.scrap:
        cents = half_up(sum(prime) * shop.scrap / (1 - shop.scrap))
        left = decimals((1 - shop.scrap) * 100, 2)
        how = f"{decimals(shop.scrap * 100, 2)} of 100 spoiled: cost so far x {decimals(shop.scrap * 100, 2)} / {left}"
        ledger.share("scrap", "scrap allowance", how, "cost so far", cents, prime)
    _overhead(ledger, shop)
    own = ledger.finished()
    made = [cost for cost, tool in zip(own, tools, strict=True) if not tool]
    shared = [cost for cost, tool in zip(own, tools, strict=True) if tool]
    if not made:
        return RunCost(tuple(own), (), tuple(ledger.charges), shop.currency)
    for tool in shared:
        weights = _bearers(tool, made)
        total, whole = sum(weights), tool.cents
        for cost, cents in zip(made, split(whole, weights), strict=True):
            cost.parts["shared tools"] += cents
        made = [replace(cost, exact=cost.exact + tool.exact * w / total) for cost, w in zip(made, weights, strict=True)]
        tool.parts["shared tools"] -= whole
    return RunCost(tuple(made), tuple(shared), tuple(ledger.charges), shop.currency)


def _work(ledger: "_Ledger", work: Labor, shop: Shop) -> None:
    coats = 0 if shop.goods.paint is None else shop.goods.paint.coats
    count = work.count * coats if (work.table, work.key) == ("time", "paint") else work.count
    if not count:
        return
    standard = shop.standards[work.table, work.key]
    operation = BY_KEY[work.table, work.key]
    minutes = count * standard.minutes
    cents = half_up(minutes * shop.labour / 60)
    name = f"{operation.name}, {work.what}" if work.what else operation.name
    one, each = operation.one, standard.minutes
    if operation.key == "paint" and unit_of_lengths() == "mm":
        one, count, each = "m² and coat", count * SQUARE_FOOT / 10**6, each * 10**6 / SQUARE_FOOT
    how = f"{_number(count)} x {decimals(each, 3)} min a {one}"
    part = "labour" if work.table == "time" else "set-ups"
    ledger.share(part, name, how, work.rule, cents, work.weights, count=count, minutes=minutes, source=standard.source)


def _overhead(ledger: "_Ledger", shop: Shop) -> None:
    if shop.overhead.per_hour:
        minutes = ledger.minutes
        cents = half_up(sum(minutes, Fraction(0)) * shop.overhead.per_hour / 60)
        how = f"{decimals(sum(minutes, Fraction(0)) / 60, 2)} h x {shop.overhead.per_hour / 100:.2f}"
        ledger.share("overhead", "overhead", how, "hours of work", cents, tuple(minutes))
    elif shop.overhead.share:
        parts = ("labour", "set-ups") if shop.overhead.of == "labour" else PARTS
        base = ledger.sums(parts)
        how = f"{decimals(shop.overhead.share * 100, 2)} % of {shop.overhead.of} {int(sum(base)) / 100:.2f}"
        ledger.share("overhead", "overhead", how, shop.overhead.of, half_up(sum(base) * shop.overhead.share), base)


def _bearers(tool: RowCost, made: Sequence[RowCost]) -> list[Fraction]:
    """The weights of the rows that pay for a tool: packed boards for packing blocks, all boards for other tools.

    If there are no such rows, all rows pay.
    """
    board = board_names(BoardPart.RIM, BoardPart.FLOOR)
    wanted = [("sugar",), board] if (tool.row.what,) == board_names(BoardPart.BLOCKS) else [board]
    for names in wanted:
        weights = [Fraction(cost.row.count if cost.row.what in names else 0) for cost in made]
        if any(weights):
            return weights
    return [Fraction(cost.row.count) for cost in made]


@dataclass(slots=True)
class _Ledger:
    """The charges so far, and each row's share of them."""

    rows: Sequence[CostRow]
    charges: list[Charge] = field(default_factory=list)
    parts: list[dict[str, int]] = field(default_factory=list)
    exact: list[dict[str, Fraction]] = field(default_factory=list)
    minutes: list[Fraction] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.parts = [dict.fromkeys(PARTS, 0) for _ in self.rows]
        self.exact = [dict.fromkeys(PARTS, Fraction(0)) for _ in self.rows]
        self.minutes = [Fraction(0)] * len(self.rows)

    def share(
        self,
        part: str,
        what: str,
        how: str,
        rule: str,
        cents: int,
        weights: Sequence[Fraction | int],
        *,
        kept: int = 0,
        count: Fraction | None = None,
        minutes: Fraction | None = None,
        source: str = "",
    ) -> None:
        """Divides a charge of `cents` among the rows by weight, or by count if no row has a weight; see `Charge`."""
        exact: Weights = tuple(Fraction(weight) for weight in weights)
        total = sum(exact, Fraction(0))
        if not total:
            exact, rule = tuple(Fraction(row.count) for row in self.rows), "things made"
            total = sum(exact, Fraction(0))
        shares = split(cents, list(exact))
        for own, cent in zip(self.parts, shares, strict=True):
            own[part] += cent
        for mine, weight in zip(self.exact, exact, strict=True):
            if weight:
                mine[part] += cents * weight / total
        if minutes is not None:
            self.minutes = [own + minutes * w / total for own, w in zip(self.minutes, exact, strict=True)]
        self.charges.append(
            Charge(
                part=part,
                what=what,
                how=how,
                rule=rule,
                shares=tuple(shares),
                kept=kept,
                count=count,
                minutes=minutes,
                source=source,
            )
        )

    def sums(self, parts: Sequence[str] = PARTS) -> list[Fraction]:
        """Each row's share of these parts so far, before rounding. The total is whole cents."""
        return [sum((own[part] for part in parts if own[part]), Fraction(0)) for own in self.exact]

    def finished(self) -> list[RowCost]:
        """Every row with its total for each part of the cost."""
        rows = zip(self.rows, self.parts, self.minutes, self.sums(), strict=True)
        return [RowCost(row, parts, minutes, exact) for row, parts, minutes, exact in rows]


def _number(value: Fraction) -> str:
    return str(value) if value.denominator == 1 else decimals(value, 1)
