"""The cost of a run: its parts add up to the cent, each part by arithmetic done here again."""

import random
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.nightly import spread
from woodshop.design.batch import Hives
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settings.times import BY_KEY, Standard
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError
from woodshop.findings import gather
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.cost import CostRow
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.counts import Labor
from woodshop.plan.work.shop_file import Consumable, GoodsCharged, Overhead, Paint, Pricing, Shop, no_shop, read_shop
from woodshop.trade.costing import PARTS, Goods, RunCost, run_cost, split_run
from woodshop.trade.quotes import products_of, shares_of, tax_on

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "creekside-lumberyard.toml"\n'
BOARDS = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips"]\n'
GOODS_PARTS = ("material", "fasteners", "consumables")


@pytest.fixture(scope="module")
def plan_text(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> Any:
    """From a design's text to its planned batch, the demo lumberyard beside it; `plan` says whether to saw."""

    def read(text: str, *, plan: bool = True, lumberyard: str | None = None) -> PlannedBatch:
        folder = tmp_path_factory.mktemp("design")
        path = designs / "creekside-lumberyard.toml"
        (folder / path.name).write_text(lumberyard or path.read_text(encoding="utf-8"), encoding="utf-8")
        (folder / "design.toml").write_text(text, encoding="utf-8")
        design = read_design(folder / "design.toml")
        batch = settle(design, read_lumberyards(design.lumberyards))
        units = make_units(batch)
        if plan:
            return plan_to_buy(batch, units, gather([]), effort="quick")
        from woodshop.plan.buy_list import buy

        purchases, unpriced = buy(batch, units, ())
        return PlannedBatch(
            batch=batch, units=units, plans=(), purchases=purchases, unpriced=unpriced, costs=(), report=gather([])
        )

    return read


@pytest.fixture(scope="module")
def hives(plan_text: Any) -> Hives:
    """Any group of hives, to be renamed."""
    group: Hives = plan_text(HEAD + "[[hives]]\nframes = 10\ncount = 1\n" + BOARDS, plan=False).batch.hives[0]
    return group


@pytest.fixture(scope="module")
def shop(designs: Path) -> Shop:
    """The demo shop."""
    return read_shop(designs / "creekside-shop.toml")


def cents(value: Fraction) -> int:
    """Half a cent up, by decimal arithmetic."""
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def random_run(seed: int) -> Any:
    """Rows with forms and customers, tools among them, goods and work with any weights, and a shop."""
    draw = random.Random(seed)
    whats = ["fondant rim", "wire bottom", "spacer strips", "quilt box", "sugar", "shavings", "packing blocks"]
    rows = [(draw.choice("abc"), draw.choice(whats), draw.randint(1, 400)) for _ in range(draw.randint(1, 12))]
    tools = tuple(draw.random() < 0.2 for _ in rows)

    def part(most: int, whole: int) -> Fraction:
        return Fraction(draw.randint(0, most * whole), whole)

    def weights() -> tuple[Fraction, ...]:
        few = draw.random()
        return tuple(part(1000, draw.randint(1, 50)) if draw.random() < few else Fraction(0) for _ in rows)

    goods = [
        Goods(
            draw.choice(GOODS_PARTS),
            "g",
            "",
            cents=draw.choice([0, 1, draw.randint(0, 10**6)]),
            kept=0,
            weights=weights(),
            rule="",
        )
        for _ in range(draw.randint(0, 5))
    ]
    keys = draw.sample(sorted(BY_KEY), draw.randint(0, 6))
    works = [Labor(*key, what="", count=part(5000, draw.randint(1, 8)), weights=weights(), rule="") for key in keys]
    made = Shop(
        name="s",
        currency="USD",
        labour=draw.choice([0, draw.randint(0, 9000)]),
        standards={key: Standard(part(30, 60), "") for key in BY_KEY},
        scrap=draw.choice([Fraction(0), part(49, 100) / 100]),
        pricing=Pricing(
            profit=draw.choice(["margin", "markup"]),
            share=part(9, 100) / 10,
            round_up_to=draw.choice([1, 5, 25, 100]),
            tax=part(25, 1000) / 100,
        ),
        overhead=Overhead(
            share=draw.choice([Fraction(0), part(2, 100)]),
            of=draw.choice(["labour", "cost"]),
            per_hour=draw.choice([0, 0, 750, 1234]),
        ),
        goods=GoodsCharged(paint=draw.choice([None, Paint("p", 3800, Fraction(4), Fraction(10**7), 2)])),
    )
    return rows, tools, works, goods, made


@pytest.mark.invariant
def test_costs_of_a_thousand_random_runs_add_up(hives: Hives) -> None:
    for seed in spread(range(1000), 40):
        adds_up(hives, random_run(seed))


def adds_up(hives: Hives, drawn: Any) -> None:
    """Every part by its own arithmetic, lines, things sold and shares: the same total, to the cent."""
    wanted, tools, works, goods, shop = drawn
    rows = [
        CostRow(f"{what} {n}", what, count, hives=replace(hives, name=name, customer=name.upper()), unit=None, used={})
        for n, (name, what, count) in enumerate(wanted)
    ]
    run = split_run(rows, tools, works, goods, shop)
    everyone = (*run.rows, *run.tools)
    assert len(everyone) == len(rows)
    # each part of the whole by its own arithmetic
    coats = shop.goods.paint.coats if shop.goods.paint else 0
    minutes = {(w.table, w.key): w.count * shop.standards[w.table, w.key].minutes for w in works}
    if ("time", "paint") in minutes:
        minutes["time", "paint"] *= coats
    parts = {part: sum(g.cents for g in goods if g.part == part) for part in GOODS_PARTS}
    for part, table in (("labour", "time"), ("set-ups", "setup")):
        parts[part] = sum(cents(m * shop.labour / 60) for (t, _), m in minutes.items() if t == table)
    prime = sum(parts.values())
    parts["scrap"] = cents(prime / (1 - shop.scrap) - prime)
    base = parts["labour"] + parts["set-ups"] if shop.overhead.of == "labour" else prime + parts["scrap"]
    hours = sum(minutes.values(), Fraction(0)) / 60
    parts["overhead"] = (
        cents(hours * shop.overhead.per_hour) if shop.overhead.per_hour else cents(base * shop.overhead.share)
    )
    parts["shared tools"] = 0
    assert {part: run.part(part).minor for part in PARTS} == parts
    assert run.total.minor == sum(parts.values()) == sum(c.cents for c in run.charges)
    assert sum((row.minutes for row in everyone), Fraction(0)) == sum(minutes.values(), Fraction(0))
    assert all(value >= 0 for row in run.rows for value in row.parts.values())
    assert all(tool.cents == 0 for tool in run.tools)
    products = products_of(run, shop)
    assert sum(p.cost for p in products) == run.total.minor
    assert sum(len(p.parts) for p in products) == len(run.rows)
    assert all(p.each % shop.pricing.round_up_to == 0 for p in products)
    assert sum((row.exact for row in run.rows), Fraction(0)) == run.total.minor
    # no row is off by more than a cent for each sum that was shared, its tools' among them
    assert all(abs(row.exact - row.cents) < len(run.charges) * (1 + len(run.tools)) + 1 for row in run.rows)
    sold = sum(p.total for p in products)
    earned = sold * shop.pricing.share if shop.pricing.profit == "margin" else run.total.minor * shop.pricing.share
    assert sold - run.total.minor >= earned
    shares = shares_of(
        PlannedBatch(batch=None, units=(), plans=(), purchases=(), unpriced=(), costs=(), report=None), run, shop
    )  # type: ignore[arg-type]
    assert sum(s.cost for s in shares) == run.total.minor
    assert sum(s.price for s in shares) == sum(p.total for p in products)
    assert all(s.tax == tax_on(s.price, shop, s.name) for s in shares)


def group(name: str, frames: int, count: int, form: str) -> str:
    return (
        f'[[hives]]\nname = "{name}"\ncustomer = "{name[0]}"\nframes = {frames}\ncount = {count}\n'
        f'gap = "1/4"\nform = "{form}"\n'
    )


def small_design(seed: int) -> str:
    """One to three groups of few hives in any form, with some of the items."""
    draw = random.Random(seed)
    forms = ["packed", "with mesh", "empty", "unassembled kit"]
    text = HEAD
    for n in range(draw.randint(1, 3)):
        text += group(f"{'xyz'[n]}{n}", draw.choice([8, 10]), draw.randint(1, 4), draw.choice(forms))
    items = draw.sample(
        ["quilt box", "vent spacers", "mouse guard", "feeding shim", "bottom insert"], draw.randint(0, 2)
    )
    text += BOARDS + "".join(f'[[make]]\nitem = "{item}"\n' for item in items)
    return text + ('[[make]]\nitem = "packing blocks"\npeople = 2\n' if draw.random() < 0.5 else "")


@pytest.mark.invariant
@pytest.mark.parametrize("seed", spread(range(24), 7))
def test_planned_runs_add_up_and_count_what_the_plan_cuts(plan_text: Any, shop: Shop, seed: int) -> None:
    planned = plan_text(small_design(seed))
    for packs in ("whole", "used"):
        for offcuts in ("worth", "free"):
            run = run_cost(planned, replace(shop, goods=replace(shop.goods, packs=packs, offcuts=offcuts)))
            own = sum(
                offer.price.minor * layout.times
                for plan in planned.plans
                for layout in plan.plan.layouts
                for offer in plan.job.offers
                if offer.id == layout.stock and offer.label
            )
            painted = sum(c.cents + c.kept for c in run.charges if c.what == "paint")
            used_up = sum(c.cents for c in run.charges if c.what in {each.what for each in shop.goods.consumables})
            goods = sum(run.part(part).minor for part in GOODS_PARTS)
            expected = planned.to_pay.minor + (own if offcuts == "worth" else 0) + painted + used_up
            assert goods + run.kept.minor == expected
            assert run.kept.minor == 0 or packs == "used"
            assert run.total.minor == sum(row.cents for row in run.rows)
    passes = {c.what: c.count for c in run.charges if c.what.startswith(("rip", "crosscut"))}
    assert all(count and count.denominator == 1 for count in passes.values())
    bill = run_cost(planned, no_shop("USD"))
    assert bill.total == planned.to_pay
    assert sum(s.total for s in shares_of(planned, bill, no_shop("USD"))) == planned.to_pay.minor


def charged(run: RunCost, what: str) -> Any:
    (charge,) = (c for c in run.charges if c.what == what)
    return charge


def test_twenty_four_boards_of_sixteen_pounds(plan_text: Any, shop: Shop, designs: Path) -> None:
    """By hand: 24 x 16 lb = 384 lb: 96 bags of 4 lb at 3.29 are 315.84; 48 bowls of 8 lb at 4 min are 3 h 12 min, 76.80
    at 24.00; 24 tablespoons are 12 fl oz = 354.9 mL of a 946 mL bottle at 1.99: 0.75; water 72 cups = 4 1/2 gal.
    """
    lumberyard = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
    only = "\n\n".join(block for block in lumberyard.split("\n\n") if "25 lb" not in block)
    planned = plan_text(
        HEAD + "[[hives]]\nframes = 10\ncount = 24\ngap = '1/4'\n" + BOARDS, plan=False, lumberyard=only
    )
    run = run_cost(planned, shop)
    assert [(p.count, p.what) for p in planned.purchases if p.group == "sugar"] == [(96, "white sugar, 4 lb bag")]
    assert charged(run, "sugar").cents == 31584
    assert (charged(run, "mix sugar").count, charged(run, "mix sugar").cents) == (48, 7680)
    assert (charged(run, "pack boards").count, charged(run, "pack boards").cents) == (24, 24 * 200)
    assert charged(run, "vinegar").cents == 75
    from woodshop.plan.buy_list import batch_mix

    mix = batch_mix(planned.batch, planned.units)
    assert mix is not None
    assert (mix.water.us_cups / 16, mix.vinegar_tablespoons, mix.bowls) == (Fraction(9, 2), 24, 48)


def test_one_rim_is_counted_as_by_hand(plan_text: Any, shop: Shop) -> None:
    """A rim of a 10-frame board, butt joints: two sides 19 7/8 and two ends 14 3/4 out of 1x3 or 1x4.

    By hand: four corners, one glued frame, one upper entrance notch; 2 1/2 or 3 1/2 in x 72 1/4 in round it; one label.
    """
    text = HEAD + '[[hives]]\nframes = 10\ncount = 1\ngap = "1/4"\nform = "empty"\n[[make]]\nitem = "fondant rim"\n'
    planned = plan_text(text)
    run = run_cost(planned, shop)
    assert charged(run, "assemble corners").count == 4
    assert charged(run, "glue up").count == 1
    assert charged(run, "notch or step").count == 1
    assert charged(run, "label").count == 1
    height = planned.units[0].line.setting.height.inches
    notch = next(cut for p in planned.units[0].assembly.placed for cut in p.part.cuts if cut.name == "upper entrance")
    rectangle: Any = notch.outline
    open_area = (rectangle.u1 - rectangle.u0).inches * (rectangle.v1 - rectangle.v0).inches
    inches = height * Fraction(289, 4) - open_area
    assert charged(run, "paint outside").count == inches / 144 * 2
    (plan,) = planned.plans
    # one trim of the board's end, then a cut behind each of the four pieces that leaves waste or a further piece
    pieces = sum(len(layout.pieces) * layout.times for layout in plan.plan.layouts)
    boards = sum(layout.times for layout in plan.plan.layouts)
    count = charged(run, "crosscut, board 3/4 in").count
    assert pieces == 4
    assert pieces <= count <= pieces + boards
    assert "staple" not in {c.what for c in run.charges}


def test_forms_carry_only_their_own_work(plan_text: Any, shop: Shop) -> None:
    """An unassembled kit has no assembly, glue, staples driven or paint; only packed boards have sugar and packing."""
    forms = ["packed", "with mesh", "empty", "unassembled kit"]
    text = HEAD + "".join(group(form, 10, 2, form) for form in forms) + BOARDS
    run = run_cost(plan_text(text), shop)
    done = {}
    for form in forms:
        at = [n for n, row in enumerate(run.rows) if row.row.hives.form == form]
        done[form] = {c.what.split(",")[0] for c in run.charges if any(c.shares[n] for n in at)}
    for word in ("assemble corners", "glue up", "glue", "staple", "paint outside", "paint"):
        assert word not in done["unassembled kit"], word
        assert word in done["packed"] & done["with mesh"], word
    assert "staple" not in done["empty"]
    assert "bag an unassembled kit" in done["unassembled kit"]
    for word in ("sugar", "vinegar", "mix sugar", "pack boards", "wax paper under a packed board"):
        assert word in done["packed"]
        assert not any(word in done[form] for form in forms[1:])
    each = {form: sum(r.cents for r in run.rows if r.row.hives.form == form) for form in forms}
    assert each["packed"] > each["with mesh"] > each["unassembled kit"]
    assert each["with mesh"] > each["empty"]


def test_set_ups_are_shared_over_the_run(plan_text: Any, shop: Shop) -> None:
    """Twice the boards: sizes set up for rabbets do not double, their minutes are those of one size each."""
    board = '[board]\nmounting = "flush rabbet"\nrabbet_width = "5/8"\n'
    for count in (2, 8):
        text = HEAD + board + group("x1", 10, count, "with mesh") + BOARDS
        run = run_cost(plan_text(text), shop)
        cutter = charged(run, "set up rabbet, groove or joint")
        assert (cutter.count, cutter.cents) == (1, 12 * 40)
        assert charged(run, "rabbet").count == 4 * count
        assert charged(run, "open and sweep the shop").count == 1


def test_shared_tools_are_borne_by_packed_boards(plan_text: Any, shop: Shop) -> None:
    text = HEAD + group("x", 10, 3, "packed") + group("y", 10, 1, "with mesh") + BOARDS
    run = run_cost(plan_text(text + '[[make]]\nitem = "packing blocks"\npeople = 2\n'), shop)
    (tool,) = run.tools
    bearers = [row for row in run.rows if row.parts["shared tools"]]
    assert [row.row.what for row in bearers] == ["sugar"]
    assert bearers[0].parts["shared tools"] == -tool.parts["shared tools"] > 0


def test_tools_alone_are_rows_of_their_own(plan_text: Any, shop: Shop) -> None:
    run = run_cost(plan_text(HEAD + '[[hives]]\nframes = 10\ncount = 2\n[[make]]\nitem = "bee-space gauge"\n'), shop)
    assert [row.row.what for row in run.rows] == ["bee-space gauge"]
    assert not run.tools
    assert run.total.minor == run.rows[0].cents > 0


def test_what_has_no_price_is_refused(plan_text: Any, shop: Shop, designs: Path) -> None:
    """A cost without it would be too low."""
    lumberyard = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
    poor = "\n\n".join(block for block in lumberyard.split("\n\n") if 'goods = "sugar"' not in block)
    text = HEAD + "[[hives]]\nframes = 10\ncount = 2\ngap = '1/4'\n" + BOARDS
    planned = plan_text(text, plan=False, lumberyard=poor)
    with pytest.raises(InputError, match="no price for sugar"):
        run_cost(planned, shop)
    with pytest.raises(InputError, match="no price for sugar"):
        run_cost(planned, no_shop("USD"))


def test_another_currency_is_refused(plan_text: Any, shop: Shop) -> None:
    planned = plan_text(HEAD + "[[hives]]\nframes = 10\ncount = 2\n" + BOARDS, plan=False)
    with pytest.raises(InputError, match="Convert"):
        run_cost(planned, replace(shop, currency="GBP"))


def test_a_consumable_goes_where_its_operation_is(plan_text: Any, shop: Shop) -> None:
    goods = replace(shop.goods, consumables=(Consumable("masking tape", "glue_up", 11),), paint=None)
    own = replace(shop, goods=goods)
    run = run_cost(plan_text(HEAD + group("x", 10, 2, "packed") + BOARDS), own)
    tape = charged(run, "masking tape")
    assert tape.cents == 22
    assert [row.row.what for row, share in zip(run.rows, tape.shares, strict=True) if share] == ["fondant rim"]
    assert not {"paint", "paint outside"} & {c.what for c in run.charges}


@pytest.mark.invariant
@pytest.mark.parametrize("counts", [(1, 2, 3), (7, 1, 4), (5, 5, 1)])
def test_like_things_have_like_prices_whoever_orders_how_many(
    plan_text: Any, shop: Shop, counts: tuple[int, ...]
) -> None:
    """Odd cents are shared out, prices are not made of them: a neighbour's board of the same box costs the same."""
    text = HEAD + "".join(group(f"{name}1", 10, n, "packed") for name, n in zip("xyz", counts, strict=True)) + BOARDS
    text += '[[make]]\nitem = "quilt box"\n[[make]]\nitem = "packing blocks"\npeople = 1\n'
    products = products_of(run_cost(plan_text(text), replace(shop, pricing=replace(shop.pricing, round_up_to=1))), shop)
    for name in ("Fondant board", "Quilt box"):
        assert len({p.each for p in products if p.name == name}) == 1
        assert sorted(p.count for p in products if p.name == name) == sorted(counts)


def test_delivery_tax_and_ready_made_things_are_in_the_cost(plan_text: Any, shop: Shop, designs: Path) -> None:
    """By hand: three guards bought at 1.00 are 3.00 and no work of ours; delivery and tax go by the goods billed."""
    head = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
    terms = 'tax = "6 %"\ntax_on_delivery = true\ndelivery = { fee = "25.00" }\n'
    end = '\n[[ready]]\nitem = "mouse guard"\nprice = "1.00"\n'
    lumberyard = head.replace('longest = "12 ft"', terms + 'longest = "12 ft"') + end
    text = HEAD + group("x", 10, 2, "with mesh") + group("y", 10, 1, "with mesh") + BOARDS
    text += '[[make]]\nitem = "mouse guard"\n[buying]\nready_made = "mouse guard"\n'
    planned = plan_text(text, lumberyard=lumberyard)
    for packs in ("whole", "used"):
        run = run_cost(planned, replace(shop, goods=GoodsCharged(packs=packs, offcuts="free")))
        goods = sum(run.part(part).minor for part in GOODS_PARTS)
        assert goods + run.kept.minor == planned.to_pay.minor
    assert charged(run, "delivery, Creekside Lumber and Feed").cents == 2500
    (bill,) = planned.bills
    assert charged(run, "tax paid, Creekside Lumber and Feed").cents == bill.tax.minor > 0
    guards = [row for row in run.rows if row.row.what == "mouse guard"]
    assert [row.row.count for row in guards] == [2, 1]
    assert charged(run, "ready-made mouse guard").cents == 300
    assert not {"punch sheet steel", "fold mesh or sheet steel"} & {c.what for c in run.charges}
    sold = [p for p in products_of(run, shop) if p.name == "Mouse guard"]
    assert [p.form for p in sold] == ["bought ready-made"] * 2
    assert len({p.each for p in sold}) == 1
    assert run_cost(planned, no_shop("USD")).total == planned.to_pay


@pytest.mark.outside(
    "Worked solutions to Managerial Accounting, 17th edition, chapter 2, as a page reports it: direct materials 800, "
    "direct labor 1,200, 100 direct labor-hours at an overhead rate of 20: overhead 2,000, total job cost 4,000"
)
def test_overhead_by_the_hour_of_a_printed_job(hives: Hives) -> None:
    row = CostRow("job", "feeding shim", 1, hives=hives, unit=None, used={})
    shop = Shop(
        name="s",
        currency="USD",
        labour=1200,
        standards={("time", "corner"): Standard(Fraction(60), "")},
        overhead=Overhead(per_hour=2000),
    )
    work = Labor("time", "corner", what="", count=Fraction(100), weights=(Fraction(1),), rule="")
    run = split_run(
        [row], [False], [work], [Goods("material", "m", "", cents=80000, kept=0, weights=(Fraction(1),), rule="")], shop
    )
    assert (run.part("labour").minor, run.part("overhead").minor, run.total.minor) == (120000, 200000, 400000)
