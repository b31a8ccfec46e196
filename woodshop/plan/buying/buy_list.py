"""The buy list: stock from the plans, then what is bought by the bag, box and bottle."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from woodshop.design.batch import Batch, Unit, packed_boards
from woodshop.design.lumberyard.lumberyard_file import Pack
from woodshop.engineering.sugar import Mix, bowls_for, mix_for, recipe_water
from woodshop.plan.buying.packs import cheapest, size
from woodshop.plan.values import MaterialPlan, Purchase, Unpriced
from woodshop.reference.facts import fact
from woodshop.shape.part import Role
from woodshop.units.lengths import LITRES_PER_US_CUP, Mass, Volume, decimals, pound

FASTENERS = {"staples": "staple", "screws": "screw", "pins": "push pin"}  # goods -> the word in a fastener's kind


def buy(
    batch: Batch, units: tuple[Unit, ...], plans: tuple[MaterialPlan, ...]
) -> tuple[tuple[Purchase, ...], tuple[Unpriced, ...]]:
    """What to buy, in the order of the list, and what is needed but has no price in the yard file."""
    purchases = [*stock_bought(plans)]
    unpriced: list[Unpriced] = []
    for goods, amount, why in amounts(batch, units):
        packs = [pack for pack in batch.yard.packs if pack.goods == goods]
        if packs:
            purchases += packs_bought(packs, amount, why)
        else:
            unpriced.append(Unpriced(goods, why))
    return tuple(purchases), tuple(unpriced)


def stock_bought(plans: tuple[MaterialPlan, ...]) -> list[Purchase]:
    """The boards, sheets and rolls of the plans; the rack's are not bought."""
    purchases = []
    for each in plans:
        used: dict[str, int] = {}
        for layout in each.plan.layouts:
            used[layout.stock] = used.get(layout.stock, 0) + layout.times
        for offer in each.job.offers:
            if offer.id in used and not offer.label:
                why = f"cut as planned, {each.job.material}"
                purchases.append(
                    Purchase(
                        group=each.job.material.name,
                        what=offer.what,
                        count=used[offer.id],
                        price=offer.price,
                        why=why,
                        yard=offer.yard,
                        most=offer.count,
                        stock=offer.id,
                    )
                )
    return purchases


def packs_bought(packs: list[Pack], amount: Fraction, why: str) -> list[Purchase]:
    """The cheapest packs of some goods that hold the amount."""
    return [
        Purchase(
            group=pack.goods, what=pack.what, count=count, price=pack.price, why=why, yard=pack.yard, holds=size(pack)
        )
        for pack, count in cheapest(packs, amount)
    ]


def sugar_needed(batch: Batch, units: tuple[Unit, ...]) -> Mass:
    """Dry sugar for all boards to pack."""
    total = Mass(Fraction(0))
    for _, count, each in packed_boards(batch, units):
        total = total + each * count
    return total


def batch_mix(batch: Batch, units: tuple[Unit, ...]) -> Mix | None:
    """The mix for all boards; None when none is packed."""
    sugar = sugar_needed(batch, units)
    return None if not sugar.grams else recipe(sugar, water_of(batch), bowls_to_mix(batch, units))


def bowls_of_board(units: tuple[Unit, ...], sugar: Mass) -> int:
    """The number of equal bowls that the sugar of one board is mixed in, by the design's limit for a bowl."""
    return bowls_for(sugar, units[0].line.setting.board.bowl)


def bowls_to_mix(batch: Batch, units: tuple[Unit, ...]) -> int:
    """The number of bowls to mix for all boards, each board in bowls of its own."""
    return sum(count * bowls_of_board(units, sugar) for _, count, sugar in packed_boards(batch, units))


def water_of(batch: Batch) -> Fraction | None:
    """The water of the batch's own mix over its dry sugar, by mass; None where it is the recipe's."""
    return None if batch.trial is None else batch.trial.water


def recipe(sugar: Mass, water: Fraction | None = None, bowls: int = 1) -> Mix:
    """The mix of the reference recipe for this much sugar, in `bowls` bowls; `water` replaces the recipe's share of
    water over dry sugar, by mass.
    """
    cups = fact("mix.water").volume.us_cups * (1 if water is None else water / recipe_water())
    spoons = fact("mix.vinegar").volume.us_cups * 16
    share = fact("mix.sugar").mass / pound(16)
    return mix_for(sugar, cups / share, spoons / share, bowls)


@dataclass(frozen=True, slots=True)
class Use:
    """What a line, or a group of hives, takes of some goods: which of them by its place, how many, how much for one.

    `of` is "lines", "hives", or "boards", those of a group of hives;
    `each` is in the goods' own unit: grams, millilitres, litres, pieces.
    """

    of: str
    place: int
    count: int
    each: Fraction


@dataclass(frozen=True, slots=True)
class Uses:
    """Goods needed beyond the sawn stock: for what, `allowance` times the sum of it, and the arithmetic in words."""

    goods: str
    rows: tuple[Use, ...]
    why: str
    allowance: Fraction = Fraction(1)

    @property
    def amount(self) -> Fraction:
        """How much is needed, in the goods' own unit."""
        return sum((row.count * row.each for row in self.rows), Fraction(0)) * self.allowance


def amounts(batch: Batch, units: tuple[Unit, ...]) -> list[tuple[str, Fraction, str]]:
    """Goods needed beyond the sawn stock, each of which some are: (goods, amount in its own unit, arithmetic)."""
    return [(each.goods, each.amount, each.why) for each in uses(batch, units)]


def uses(batch: Batch, units: tuple[Unit, ...]) -> list[Uses]:
    """The same with what each line and each group of hives takes."""
    return [each for each in (*_filled(batch, units), *_fastened(batch, units)) if each.amount > 0]


def _filled(batch: Batch, units: tuple[Unit, ...]) -> Iterator[Uses]:
    """Sugar and vinegar by groups of hives, shavings by lines."""
    places = {h.name or h.format: n for n, h in enumerate(batch.hives)}
    boards = packed_boards(batch, units)
    sugar = sugar_needed(batch, units)
    weight = "kg" if batch.unit == "mm" else "lb"
    words = " + ".join(f"{count} x {each.text(weight)}" for _, count, each in boards)
    rows = tuple(Use("boards", places[name], count, each.grams) for name, count, each in boards)
    yield Uses("sugar", rows, f"{words} = {sugar.text(weight)}")
    if sugar.grams:
        per_gram = recipe(sugar).vinegar_tablespoons * LITRES_PER_US_CUP * 1000 / 16 / sugar.grams
        why = f"{decimals(recipe(sugar).vinegar_tablespoons, 1)} tablespoons"
        yield Uses("vinegar", tuple(replace(row, each=row.each * per_gram) for row in rows), why)
    filled = [u for u in units if shavings_in(u).litres]
    loose = tuple(
        Use("hives", batch.hives.index(u.line.hives), u.line.hives.count, shavings_in(u).litres) for u in filled
    )
    litres = sum((row.count * row.each for row in loose), Fraction(0))
    names = " or a ".join(dict.fromkeys(u.line.item.name for u in filled))
    yield Uses(
        "shavings",
        loose,
        f"{Volume(litres * 10**6).loose(batch.unit, 0)} loose, one fill for every hive with a {names}",
    )


def _fastened(batch: Batch, units: tuple[Unit, ...]) -> Iterator[Uses]:
    """Fasteners with one in twenty spare, and glue, by lines."""
    for goods, word in FASTENERS.items():
        rows = tuple(
            Use("lines", n, u.line.count, Fraction(count))
            for n, u in enumerate(units)
            if (count := sum(f.count for f in u.assembly.fasteners if word in f.kind))
        )
        total = sum((row.count * row.each for row in rows), Fraction(0))
        yield Uses(goods, rows, f"{total} and one in twenty spare", Fraction(105, 100))
    each = fact("rim.glue_per_corner").number
    rows = tuple(Use("lines", n, u.line.count, 4 * each) for n, u in enumerate(units) if is_glued(u))
    corners = sum(4 * row.count for row in rows)
    ounces = each / 1000 / LITRES_PER_US_CUP * 8
    drop = f"{decimals(each, 1)} mL" if batch.unit == "mm" else f"{decimals(ounces, 2)} fl oz"
    yield Uses("glue", rows, f"{corners} corners at {drop}")


def is_glued(unit: Unit) -> bool:
    """Whether its corners are glued here; who puts a flat kit together glues it with glue of his own."""
    return unit.line.hives.is_assembled and any("glue" in f.kind for f in unit.assembly.fasteners)


def shavings_in(unit: Unit) -> Volume:
    """The loose shavings that we fill one of a unit with: a quilt box, the wells of a feeder; nothing for all else."""
    if not unit.line.hives.is_packed:
        return Volume(Fraction(0))
    filling = [p for p in unit.assembly.named("shavings") if p.role is Role.FILLING]
    return sum((p.box.volume for p in filling), Volume(Fraction(0)))
