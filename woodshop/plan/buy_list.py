"""Makes the buy list: stock from the plans, then the cheapest whole packs of packaged goods."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import combinations

from woodshop.design.batch import Batch, Unit, packed_boards
from woodshop.design.lumberyard.lumberyard_file import Offer, Pack
from woodshop.engineering.sugar import Mix, bowls_for, mix_for, recipe_water
from woodshop.plan.lumber_at_home import cut_purchases
from woodshop.plan.values import BoughtLumber, MaterialPlan, Purchase, Unpriced, stock_used
from woodshop.reference.facts import fact
from woodshop.shape.part import Role
from woodshop.units.lengths import LITRES_PER_US_CUP, Mass, Volume, decimals, pound

_FINEST = 100_000  # steps of the table
_ONE = 1 << 40  # a choice is stored as one number: its cost times this, plus its number of packs


def cheapest(packs: Sequence[Pack], amount: Fraction) -> list[tuple[Pack, int]]:
    """The cheapest whole packs that hold the amount. Among equally cheap choices, the one with the fewest packs.

    The result is exact unless the largest measure common to all packs is too fine for the amount. In that case each
    pack counts as slightly smaller, so that the packs always hold enough. If a pack has a minimum quantity `at_least`,
    either none or at least that many are bought.
    """
    counts, _ = _chosen(tuple(packs), amount)
    return [(pack, count) for pack, count in zip(packs, counts, strict=True) if count]


def least_cost(packs: Sequence[Pack], amount: Fraction) -> int:
    """A lower bound, in cents, on the cost of packs that hold the amount.

    It equals the cost of the cheapest packs if `cheapest` is exact.
    """
    return _chosen(tuple(packs), amount)[1]


def size(pack: Pack) -> Fraction:
    """The amount in a pack, in the unit of its goods: grams, pieces, liters or milliliters."""
    if pack.mass is not None and pack.goods == "sugar":
        return pack.mass.grams
    if pack.pieces is not None:
        return Fraction(pack.pieces)
    if pack.loose_litres is not None:
        return Fraction(pack.loose_litres)
    return Fraction(pack.millilitres or 0)


@lru_cache(maxsize=4096)
def _chosen(packs: tuple[Pack, ...], amount: Fraction) -> tuple[list[int], int]:
    """The number of each pack to buy, and the lower bound on the cost.

    For a pack with a minimum quantity, two choices are tried: none, and the minimum or more.
    """
    several = [n for n, pack in enumerate(packs) if pack.at_least > 1]
    best: tuple[int, list[int]] | None = None
    bound: int | None = None
    for chosen in (some for many in range(len(several) + 1) for some in combinations(several, many)):
        forced = [pack.at_least if n in chosen else 0 for n, pack in enumerate(packs)]
        spent = sum(packs[n].price.minor * forced[n] * _ONE + forced[n] for n in chosen)
        left = amount - sum((size(packs[n]) * forced[n] for n in chosen), Fraction(0))
        free = [n for n, pack in enumerate(packs) if pack.at_least == 1 or n in chosen]
        if left > 0 and not free:
            continue
        more, least = _covered([packs[n] for n in free], left) if left > 0 else ([0] * len(free), 0)
        counts = list(forced)
        for n, count in zip(free, more, strict=True):
            counts[n] += count
        way = spent + sum(packs[n].price.minor * count * _ONE + count for n, count in zip(free, more, strict=True))
        if best is None or way < best[0]:
            best = (way, counts)
        floor = spent // _ONE + least
        bound = floor if bound is None else min(bound, floor)
    if best is None or bound is None:
        raise ValueError("no packs to choose from")
    return best[1], bound


def _covered(packs: list[Pack], amount: Fraction) -> tuple[list[int], int]:
    """The cheapest counts found, with any number of each pack, and the lower bound.

    For a large amount, most packs are of the kind with the best unit price. A step is the largest measure common to all
    packs. All other kinds together need fewer packs than the number of steps in one best pack, because that many packs
    could be replaced by whole best packs at no higher cost.
    """
    measure = _common([size(pack) for pack in packs])
    holds = [int(size(pack) / measure) for pack in packs]
    needed = -int(-amount // measure)
    top = min(range(len(packs)), key=lambda n: (Fraction(packs[n].price.minor, holds[n]), -holds[n]))
    others = max((hold for n, hold in enumerate(holds) if n != top), default=0)
    first = max(0, -(-(needed - (holds[top] - 1) * others) // holds[top]))
    rest = needed - first * holds[top]
    prices = [pack.price.minor for pack in packs]
    if rest <= _FINEST:
        counts = _table(holds, prices, rest)
        counts[top] += first
        return counts, sum(price * count for price, count in zip(prices, counts, strict=True))
    step = amount / _FINEST
    low = [int(size(pack) // step) for pack in packs]
    kinds = [n for n, whole in enumerate(low) if whole]
    counts = [0] * len(packs)
    if kinds:
        found = _table([low[n] for n in kinds], [prices[n] for n in kinds], _FINEST)
        for n, count in zip(kinds, found, strict=True):
            counts[n] = count
    else:  # packs far smaller than the amount: use the kind that holds the most for the money
        counts[top] = -int(-amount // size(packs[top]))
    return counts, math.ceil(Fraction(prices[top]) / size(packs[top]) * amount)


def _table(holds: list[int], prices: list[int], needed: int) -> list[int]:
    """The cheapest counts that hold `needed`, with the fewest packs if several are equally cheap.

    They come from a table of all smaller amounts.
    """
    ways = [price * _ONE + 1 for price in prices]
    pairs = list(zip(holds, ways, strict=True))
    best = [0]
    for left in range(1, max(0, needed) + 1):
        best.append(min([best[left - hold if left > hold else 0] + way for hold, way in pairs]))
    counts = [0] * len(holds)
    left = max(0, needed)
    while left > 0:
        n = next(n for n, (hold, way) in enumerate(pairs) if best[left] == best[max(0, left - hold)] + way)
        counts[n] += 1
        left -= holds[n]
    return counts


def _common(sizes: list[Fraction]) -> Fraction:
    """The greatest common divisor of some amounts."""
    below = math.lcm(*(each.denominator for each in sizes))
    return Fraction(math.gcd(*(int(each * below) for each in sizes)), below)


FASTENERS = {"staples": "staple", "screws": "screw", "pins": "push pin"}  # goods -> the word in a fastener's kind


def buy(
    batch: Batch, units: tuple[Unit, ...], plans: tuple[MaterialPlan, ...], lumber: tuple[BoughtLumber, ...] = ()
) -> tuple[tuple[Purchase, ...], tuple[Unpriced, ...]]:
    """The purchases, in the order of the list, and the needed goods that have no price in the lumberyard file."""
    purchases = stock_bought(plans, lumber)
    unpriced: list[Unpriced] = []
    for goods, amount, why in amounts_to_buy(batch, units):
        packs = [pack for pack in batch.lumberyard.packs if pack.goods == goods]
        if packs:
            purchases += packs_bought(packs, amount, why)
        else:
            unpriced.append(without_price(units, goods, why))
    return tuple(purchases), tuple(unpriced)


def without_price(units: tuple[Unit, ...], goods: str, why: str) -> Unpriced:
    """A note of `goods` that no lumberyard sells: the calculation `why`, and the sizes of fasteners to buy."""
    word, sizes = FASTENERS.get(goods), Counter[str]()
    for unit in units:
        for each in unit.assembly.fasteners:
            if word and word in each.kind:
                sizes[each.kind] += each.count * unit.line.count
    sizes = +sizes
    named = "; ".join(f"{count} x {kind}" if len(sizes) > 1 else kind for kind, count in sizes.items())
    return Unpriced(goods, f"{why}: {named}" if named else why)


def stock_bought(plans: tuple[MaterialPlan, ...], lumber: tuple[BoughtLumber, ...] = ()) -> list[Purchase]:
    """The boards, sheets and rolls of the plans, and the boards to buy over; offcuts are not bought.

    For `lumber`, they include the cuts at the lumberyard, and not the boards as they come home.
    """
    purchases: list[Purchase] = []
    of = {name: each for each in lumber for name in each.job.materials}
    found = {id(one): one for each in plans for one in (of.get(each.job.material.name, each),)}
    for one in found.values():
        job, used = one.job, stock_used(one)
        for offer in job.offers:
            if offer.id in used and not offer.label:
                why = f"cut as planned, {job.group}"
                purchases.append(
                    Purchase(
                        group=job.group,
                        what=offer.what,
                        count=used[offer.id],
                        price=offer.price,
                        why=why,
                        lumberyard=offer.lumberyard,
                        most=offer.count,
                        stock=offer.id,
                    )
                )
                purchases += _bought_over(offer, purchases[-1])
        purchases += cut_purchases(one) if isinstance(one, BoughtLumber) else ()
    return purchases


def _bought_over(offer: Offer, planned: Purchase) -> Iterator[Purchase]:
    """The boards to buy in addition to those planned, because some of their grade are unusable."""
    if offer.buy_over is None or not offer.buy_over[0]:
        return
    share, because = offer.buy_over
    why = f"spare: {decimals(share * 100, 4)} % over, for {because}"
    if offer.to_carry < offer.length:
        why += "; have it cut like the others, at the price of the cuts, which is not counted"
    yield replace(planned, count=math.ceil(planned.count * share), why=why, is_spare=True)


def packs_bought(packs: list[Pack], amount: Fraction, why: str) -> list[Purchase]:
    """The cheapest packs of some goods for this amount. `why` describes the calculation."""
    return [
        Purchase(group=p.goods, what=p.what, count=n, price=p.price, why=why, lumberyard=p.lumberyard, holds=size(p))
        for p, n in cheapest(packs, amount)
    ]


def sugar_needed(batch: Batch, units: tuple[Unit, ...]) -> Mass:
    """The dry sugar needed to pack all fondant boards."""
    total = Mass(Fraction(0))
    for _, count, each in packed_boards(batch, units):
        total = total + each * count
    return total


def batch_mix(batch: Batch, units: tuple[Unit, ...]) -> Mix | None:
    """The mix for all boards, or None if no board is packed."""
    sugar = sugar_needed(batch, units)
    return None if not sugar.grams else recipe(sugar, water_of(batch), bowls_to_mix(batch, units))


def bowls_of_board(units: tuple[Unit, ...], sugar: Mass) -> int:
    """The number of equally filled bowls for the sugar of one board, within the design's limit for a bowl."""
    return bowls_for(sugar, units[0].line.setting.board.bowl)


def bowls_to_mix(batch: Batch, units: tuple[Unit, ...]) -> int:
    """The number of bowls to mix for all boards. Boards do not share bowls."""
    return sum(count * bowls_of_board(units, sugar) for _, count, sugar in packed_boards(batch, units))


def water_of(batch: Batch) -> Fraction | None:
    """The ratio of water to dry sugar, by mass, in the batch's own mix, or None if it has none."""
    return None if batch.conditions.trial is None else batch.conditions.trial.water


def recipe(sugar: Mass, water: Fraction | None = None, bowls: int = 1) -> Mix:
    """The mix of the reference recipe for this much sugar, in `bowls` bowls.

    `water` replaces the recipe's ratio of water to dry sugar, by mass.
    """
    cups = fact("mix.water").volume.us_cups * (1 if water is None else water / recipe_water())
    spoons = fact("mix.vinegar").volume.us_cups * 16
    share = fact("mix.sugar").mass / pound(16)
    return mix_for(sugar, cups / share, spoons / share, bowls)


@dataclass(frozen=True, slots=True)
class Use:
    """The amount of some goods used by a line or a group of hives: its place, its count, and the amount for one.

    `of` is "lines", "hives", or "boards" (of a group of hives). `each` is in the unit of the goods: grams, milliliters,
    liters or pieces.
    """

    of: str
    place: int
    count: int
    each: Fraction


@dataclass(frozen=True, slots=True)
class Uses:
    """Goods needed besides the sawn stock: their uses, the `allowance` factor, and a description of the calculation."""

    goods: str
    rows: tuple[Use, ...]
    why: str
    allowance: Fraction = Fraction(1)

    @property
    def amount(self) -> Fraction:
        """The amount needed, in the unit of the goods."""
        return sum((row.count * row.each for row in self.rows), Fraction(0)) * self.allowance


def amounts(batch: Batch, units: tuple[Unit, ...]) -> list[tuple[str, Fraction, str]]:
    """The goods needed in addition to the sawn stock, as (goods, amount in its own unit, calculation)."""
    return [(each.goods, each.amount, each.why) for each in uses(batch, units)]


def amounts_to_buy(batch: Batch, units: tuple[Unit, ...]) -> list[tuple[str, Fraction, str]]:
    """The goods still to buy, after the unopened packs on hand are subtracted: (goods, amount, calculation)."""
    there = goods_on_hand(batch)
    found = []
    for goods, amount, why in amounts(batch, units):
        if goods in there:
            packs = " + ".join(f"{e.count} x {e.pack.what}" for e in batch.lumberyard.on_hand if e.pack.goods == goods)
            why = f"{why}, less {packs} on hand{of_book(batch)}"
        if amount > there.get(goods, Fraction(0)):
            found.append((goods, amount - there.get(goods, Fraction(0)), why))
    return found


def of_book(batch: Batch) -> str:
    """The source of the stock on hand, in parentheses: the shop's book and its last event, or "" without a book."""
    return "" if batch.inventory is None else f" ({batch.inventory.source})"


def goods_on_hand(batch: Batch) -> dict[str, Fraction]:
    """The amount in unopened packs on hand, keyed by goods, in the goods' own unit."""
    found: dict[str, Fraction] = {}
    for each in batch.lumberyard.on_hand:
        found[each.pack.goods] = found.get(each.pack.goods, Fraction(0)) + size(each.pack) * each.count
    return found


def vinegar_text(tablespoons: Fraction, unit: str) -> str:
    """An amount of vinegar as text: tablespoons or, in a metric design, whole milliliters.

    >>> vinegar_text(Fraction(29, 2), "in"), vinegar_text(Fraction(29, 2), "mm")
    ('14.5 tablespoons', '214 mL')
    """
    if unit == "mm":
        return f"{decimals(tablespoons / 16 * LITRES_PER_US_CUP * 1000, 0)} mL"
    return f"{decimals(tablespoons, 1)} tablespoons"


def uses(batch: Batch, units: tuple[Unit, ...]) -> list[Uses]:
    """The goods needed in addition to the sawn stock, with the use of each line and each group of hives."""
    return [each for each in (*_filled(batch, units), *_fastened(batch, units)) if each.amount > 0]


def _filled(batch: Batch, units: tuple[Unit, ...]) -> Iterator[Uses]:
    """The uses of sugar and vinegar for each group of hives, and of shavings for each line."""
    places = {h.name or h.format: n for n, h in enumerate(batch.hives)}
    boards = packed_boards(batch, units)
    sugar = sugar_needed(batch, units)
    weight = "kg" if batch.unit == "mm" else "lb"
    words = " + ".join(f"{count} x {each.text(weight)}" for _, count, each in boards)
    rows = tuple(Use("boards", places[name], count, each.grams) for name, count, each in boards)
    yield Uses("sugar", rows, f"{words} = {sugar.text(weight)}")
    if sugar.grams:
        per_gram = recipe(sugar).vinegar_tablespoons * LITRES_PER_US_CUP * 1000 / 16 / sugar.grams
        why = vinegar_text(recipe(sugar).vinegar_tablespoons, batch.unit)
        yield Uses("vinegar", tuple(replace(row, each=row.each * per_gram) for row in rows), why)
    filled = [u for u in units if shavings_in(u).litres]
    loose = tuple(
        Use("hives", batch.hives.index(u.line.hives), u.line.hives.count, shavings_in(u).litres) for u in filled
    )
    litres = sum((row.count * row.each for row in loose), Fraction(0))
    names = " or a ".join(dict.fromkeys(u.line.item.name for u in filled))
    yield Uses(
        "shavings", loose, f"{Volume(litres * 10**6).loose(batch.unit, 0)} loose, one fill for each hive with a {names}"
    )


def _fastened(batch: Batch, units: tuple[Unit, ...]) -> Iterator[Uses]:
    """The uses of fasteners (with 5 % spare) and glue, for each line."""
    for goods, word in FASTENERS.items():
        rows = tuple(
            Use("lines", n, u.line.count, Fraction(count))
            for n, u in enumerate(units)
            if (count := sum(f.count for f in u.assembly.fasteners if word in f.kind))
        )
        total = sum((row.count * row.each for row in rows), Fraction(0))
        yield Uses(goods, rows, f"{total} plus 5% spare", Fraction(105, 100))
    each = fact("rim.glue_per_corner").number
    rows = tuple(Use("lines", n, u.line.count, 4 * each) for n, u in enumerate(units) if is_glued(u))
    corners = sum(4 * row.count for row in rows)
    ounces = each / 1000 / LITRES_PER_US_CUP * 8
    drop = f"{decimals(each, 1)} mL" if batch.unit == "mm" else f"{decimals(ounces, 2)} fl oz"
    yield Uses("glue", rows, f"{corners} corners at {drop}")


def is_glued(unit: Unit) -> bool:
    """Whether the shop glues the corners; for an unassembled kit, the customer provides the glue."""
    return unit.line.hives.is_assembled and any("glue" in f.kind for f in unit.assembly.fasteners)


def shavings_in(unit: Unit) -> Volume:
    """The loose shavings that fill a quilt box or the wells of a feeder; zero for other items."""
    if not unit.line.hives.is_packed:
        return Volume(Fraction(0))
    filling = [p for p in unit.assembly.named("shavings") if p.role is Role.FILLING]
    return sum((p.box.volume for p in filling), Volume(Fraction(0)))
