"""Prices by printed examples; quotes that are harmless whatever names stand on them, and say where more costs less."""

import csv
import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import IS_NIGHT, tries
from tests.once import planned as planned_demo
from woodshop.design.design_file import Design, read_design
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, read_lumberyards
from woodshop.design.settings.buying import Days
from woodshop.documents.shop.costs import costs_document
from woodshop.documents.shop.quote import assumptions, file_stem, quote_document, quote_files
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import Bullets, KeepTogether
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop, no_shop, read_shop
from woodshop.trade.costing import run_cost
from woodshop.trade.quotes import (
    Break,
    BreakPrice,
    falls,
    margin_and_markup,
    price_changes,
    price_each,
    products_of,
    quotes_of,
    run_alone,
    shares_of,
    tax_on,
    with_breaks,
)

HOSTILE = (
    '=HYPERLINK("http://x","y")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "<b>Bold</b> & <script>alert(1)</script>",
    "../../etc/passwd",
    "line one\nline two\r\n\tthree",
    "abc\u202egnp.exe\u200f\u2066x",
    "\x00\x07\x1b[31m",
    "مربي النحل",
    "-" * 300,
    "[ ]",
    "",
)


def priced(designs: Path, group: str = "pricing", **changes: Any) -> Shop:
    """The demo shop with other values of one group: "pricing", "goods" or "quote"."""
    shop = read_shop(designs / "creekside-shop.toml")
    changed = {group: replace(getattr(shop, group), **changes)}
    return replace(shop, **changed)


# ---- arithmetic that others print ------------------------------------------------------------------


@pytest.mark.outside("Math On Demand, selling price after a 20 % profit margin is applied to an item that cost $10")
def test_a_margin_of_twenty_percent_on_ten(designs: Path) -> None:
    shop = priced(designs, profit="margin", share=Fraction(20, 100), round_up_to=1)
    assert price_each(1000, 1, shop) == 1250
    assert margin_and_markup(1000, 1250) == (Fraction(20, 100), Fraction(25, 100))


@pytest.mark.outside("EdgeIMS, Margin and Markup Formulas (2017): cost 205, price 300: margin .31667, markup .46341")
def test_cost_205_sold_at_300(designs: Path) -> None:
    margin, markup = margin_and_markup(20500, 30000)
    assert (round(margin, 5), round(markup, 5)) == (Fraction("0.31667"), Fraction("0.46341"))
    for kind, share in (("margin", Fraction("0.31667")), ("markup", Fraction("0.46341"))):
        exact = priced(designs, profit=kind, share=share, round_up_to=1)
        assert abs(price_each(20500, 1, exact) - 30000) <= 1


@pytest.mark.outside("Balances, Markup vs Margin: cost $100 and a 50 % markup: price $150, margin 33.3 %")
def test_a_markup_of_fifty_percent_is_a_margin_of_a_third(designs: Path) -> None:
    assert price_each(10000, 1, priced(designs, profit="markup", share=Fraction(1, 2), round_up_to=1)) == 15000
    assert margin_and_markup(10000, 15000)[0] == Fraction(1, 3)


@pytest.mark.outside("Rhode Island General Laws 44-18.1-25; North Dakota Century Code 57-39.4-25 (324)")
@pytest.mark.parametrize(
    ("cents", "rate", "tax"),
    [
        (1000, "0.0625", 63),  # 0.625: third decimal 5, up
        (1006, "0.0625", 63),  # 0.62875: third decimal 8, up
        (998, "0.0625", 62),  # 0.62375: third decimal 3, down
        (0, "0.0625", 0),
        (24560, "0.07505", 1843),  # 18.43228
    ],
)
def test_tax_is_rounded_by_the_third_decimal(designs: Path, cents: int, rate: str, tax: int) -> None:
    shop = priced(designs, tax=Fraction(rate))
    assert tax_on(cents, shop, "anyone") == tax
    assert tax_on(cents, shop, "Fen Road School") == 0


@pytest.mark.invariant
@settings(max_examples=tries(300))
@given(st.integers(0, 10**7), st.integers(1, 5000), st.integers(0, 99), st.sampled_from([1, 5, 25, 100]))
def test_a_price_is_the_least_step_that_earns_the_margin(
    designs: Path, cents: int, count: int, percent: int, step: int
) -> None:
    shop = priced(designs, profit="margin", share=Fraction(percent, 100), round_up_to=step)
    each = price_each(cents, count, shop)
    assert each % step == 0
    for price, earns in ((each, True), (each - step, False)):
        assert (Fraction(price * count * (100 - percent), 100) >= cents) is earns


# ---- quotes ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def club(designs: Path) -> tuple[Design, Lumberyard, PlannedBatch]:
    """The club's order, planned."""
    design = read_design(designs / "ridge-club.toml")
    return design, read_lumberyards(design.lumberyards), planned_demo("ridge-club")


def renamed(planned: PlannedBatch, names: Callable[[str], str]) -> PlannedBatch:
    """The same run with other customers, told apart as before."""
    own = {hives: replace(hives, customer=names(hives.customer)) for hives in planned.batch.hives}

    def line(each: Any) -> Any:
        return replace(each, hives=own[each.hives])

    batch = replace(planned.batch, hives=tuple(own.values()), lines=tuple(map(line, planned.batch.lines)))
    return replace(planned, batch=batch, units=tuple(replace(u, line=line(u.line)) for u in planned.units))


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_of_a_customer_does_harm(club: Any, designs: Path, name: str) -> None:
    """No formula in the CSV, nothing but text in the PDF, and file names of plain letters; JSON keeps it as it is."""
    read = read_shop(designs / "creekside-shop.toml")
    shop = replace(read, quote=replace(read.quote, quantities=()))
    planned = renamed(club[2], lambda customer: name if customer == "Ines Marsh" else customer)
    run = run_cost(planned, shop)
    quotes = quotes_of(planned, run, shop)
    files = quote_files(planned, run, quotes, shop)
    assert len(quotes) == (3 if name else 2)
    for path, data in files.items():
        assert re.fullmatch(r"(costs|quote-\d\d-[a-z0-9]+(-[a-z0-9]+)*)\.(pdf|csv|json)", path), path
        assert len(path) < 60
        if path.endswith(".pdf"):
            reader = pypdf.PdfReader(io.BytesIO(data))
            text = "".join(page.extract_text() for page in reader.pages)
            assert not re.search("[\u202a-\u202e\u2066-\u2069\u200e\u200f\x00-\x08\x0b-\x1f]", text)
            for page in reader.pages:
                for note in page.get("/Annots") or ():
                    assert "/URI" not in str(note.get_object())
            assert b"/JavaScript" not in data
            assert b"/OpenAction" not in data
        if path.endswith(".csv"):
            rows = list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))
            assert len({len(row) for row in rows}) == 1
            for cell in (cell for row in rows for cell in row):
                assert cell[:1] not in ("=", "+", "@", "\t", "\r")
                assert cell[:1] != "-" or re.fullmatch(r"-\d+\.\d\d", cell)
                assert cell.isprintable()
    if name:
        assert json.loads(files[f"{file_stem(1, name)}.json"])["customer"] == name
    same = quote_files(planned, run, quotes, shop)
    assert same == files


def test_hives_and_terms_with_markup_are_text(club: Any, designs: Path) -> None:
    read = read_shop(designs / "creekside-shop.toml")
    shop = replace(read, quote=replace(read.quote, terms=("<a href='x'>pay</a> =1+1",)), name="A & <B>")
    planned = club[2]
    (first, *_) = quotes_of(planned, run_cost(planned, shop), shop)
    data = write_pdf(quote_document(planned, first, shop), "letter")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert "<a href='x'>pay</a> =1+1" in text
    assert "A & <B>" in text


def test_customers_of_like_names_have_files_of_their_own() -> None:
    assert file_stem(1, "Åsa") != file_stem(2, "Asa")
    assert file_stem(12, "日本") == "quote-12-customer"


def test_a_quote_adds_up_and_says_what_it_rests_on(club: Any, designs: Path) -> None:
    shop = read_shop(designs / "creekside-shop.toml")
    planned = club[2]
    run = run_cost(planned, shop)
    quotes = quotes_of(planned, run, shop)
    assert [quote.customer for quote in quotes] == ["Ines Marsh", "Chidi Okafor", "Fen Road School"]
    for quote in quotes:
        assert quote.subtotal == sum(p.each * p.count for p in quote.products)
        assert quote.total == quote.subtotal + tax_on(quote.subtotal, shop, quote.customer)
        assert quote.quoted_on == date(2026, 9, 20)
        assert quote.valid_until == quote.quoted_on + timedelta(days=30)
    undated = replace(planned, batch=replace(planned.batch, days=Days()))
    assert quotes_of(undated, run, shop)[0].quoted_on == planned.batch.lumberyard.seen
    assert quotes[2].tax == 0 < quotes[0].tax
    assert [(p.name, p.count) for p in quotes[0].products] == [("Fondant board", 4), ("Quilt box", 4)]
    assert {p.hives.due for p in quotes[0].products} == {date(2026, 10, 30)}
    forms = {p.name: p.form for quote in quotes for p in quote.products if p.hives.name != "okafor tens"}
    assert forms["Fondant board"] == "unassembled kit: cut, not assembled"
    assert "rim alone, no mesh" in {p.form for p in quotes[2].products}
    said = " ".join(assumptions(planned, quotes[1], shop))
    assert "September 12, 2026" in said
    assert "glue is not included" in said
    assert "Painted outside only, 2 coats" in said
    assert "dry" not in said
    shares = shares_of(planned, run, shop)
    assert [share.total for share in shares] == [quote.total for quote in quotes]


def test_a_bill_is_shared_to_the_cent_and_nobody_is_quoted(club: Any) -> None:
    planned, shop = club[2], no_shop("USD")
    run = run_cost(planned, shop)
    shares = shares_of(planned, run, shop)
    assert sum(share.total for share in shares) == planned.to_pay.minor == run.total.minor
    text = str(costs_document(planned, run, products_of(run, shop), shares, shop).blocks)
    assert "no labor, no margin" in text
    assert "price each" not in text


def test_hives_without_a_customer_bear_their_cost_and_are_not_taxed(club: Any, designs: Path) -> None:
    shop = read_shop(designs / "creekside-shop.toml")
    planned = renamed(club[2], lambda customer: "" if customer == "Chidi Okafor" else customer)
    run = run_cost(planned, shop)
    assert [q.customer for q in quotes_of(planned, run, shop)] == ["Ines Marsh", "Fen Road School"]
    own = {share.name: share for share in shares_of(planned, run, shop)}
    assert own["okafor tens"].price == own["okafor tens"].cost
    assert own["okafor tens"].tax == 0
    assert sum(share.cost for share in own.values()) == run.total.minor


# ---- other quantities ------------------------------------------------------------------------------


def at(quantity: int, each: int, *, still_open: tuple[str, ...] = (), **parts: int) -> Break:
    """A break of one thing."""
    return Break("tens", quantity, (BreakPrice("board", quantity, each),), parts=parts, open_materials=still_open)


def test_more_for_less_is_said_with_its_reason() -> None:
    said = falls([at(10, 1000, material=6000), at(12, 800, material=5000), at(20, 900, material=9000)], (), "USD")
    assert said == ("12 cost less in total than 10: $96.00 against $100.00, less for material.",)
    (said_open,) = falls([at(10, 1000, material=6, still_open=("cloth",)), at(12, 800, material=5)], (), "USD")
    assert "the plan for 10 is not proved to be the cheapest (cloth)" in said_open
    assert falls([at(10, 1000), at(20, 500)], (), "USD") == ()
    (lower,) = falls([at(10, 1000), Break("tens", 15, refused="no"), at(20, 400, **{"set-ups": -1})], (), "USD")
    assert lower.startswith("20 cost less in total than 10")


@pytest.mark.parametrize(
    ("quantity", "each", "begins"),
    [(5, 3000, "The 12 quoted cost less"), (20, 500, "20 as a run of their own"), (5, 2000, ""), (20, 900, "")],
)
def test_what_is_ordered_is_held_against_the_other_quantities(
    club: Any, designs: Path, quantity: int, each: int, begins: str
) -> None:
    shop = read_shop(designs / "creekside-shop.toml")
    planned = club[2]
    product = replace(products_of(run_cost(planned, shop), shop)[0], count=12, each=1000)
    said = falls([at(quantity, each)], [product], "USD")
    assert len(said) == bool(begins)
    assert all(words.startswith(begins) for words in said)


def test_each_rise_and_the_fall_of_a_price_have_their_reasons() -> None:
    """By hand, for one: material 5.00, 5.00, 5.50; set-ups 4.00, 2.00, 1.00."""

    def made(quantity: int, each: int, material: int, setups: int) -> Break:
        costs = {"material": material * quantity, "set-ups": setups * quantity}
        return Break("tens", quantity, (BreakPrice("board", quantity, each, costs),))

    breaks = [made(1, 900, 500, 400), made(2, 700, 500, 200), Break("tens", 3, refused="no"), made(4, 725, 550, 100)]
    assert price_changes(breaks, "USD") == (
        "board: one costs $9.00 at 1 hive and $7.25 at 4, because setting up the saw is shared by more hives.",
        "board: one costs $0.25 more at 4 hives than at 2, because boards and rolls are bought whole, and more is left "
        "over at this quantity.",
    )
    assert price_changes([made(1, 900, 500, 400), made(2, 901, 500, 400)], "USD") == (
        "board: one costs $0.01 more at 2 hives than at 1, because prices are rounded up.",
    )
    assert price_changes(breaks[:1], "USD") == price_changes([breaks[0], replace(breaks[0], quantity=2)], "USD") == ()


def test_like_groups_are_planned_once(club: Any, designs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Groups that differ in name, customer, count and day alone have the same prices at a quantity; others do not."""
    from woodshop.trade import quotes as quotes_breaks

    design, lumberyard, planned = club
    shop = priced(designs, "quote", quantities=(2,))
    asked: list[str] = []

    def told(_design: Any, _lumberyard: Any, _shop: Any, wanted: Any, **_: Any) -> list[Break]:
        asked.extend(name for name, _ in wanted)
        return [Break(name, quantity, (BreakPrice("board", quantity, 100),)) for name, quantity in wanted]

    monkeypatch.setattr(quotes_breaks, "_planned", told)
    tens = design.hives[1]
    twin = tens.model_copy(
        update={"name": "marsh tens", "customer": "Ines Marsh", "count": 4, "due": date(2026, 10, 1)}
    )
    alike = replace(design, hives=(twin, *design.hives[1:]), makes=design.makes[:3])
    quotes = quotes_of(planned, run_cost(planned, shop), shop)
    made = with_breaks(quotes, alike, lumberyard, shop=shop)
    assert asked == ["marsh tens", "okafor eights", "school hives"]
    assert [each.hives for each in made[1].breaks] == ["okafor tens", "okafor eights"]
    asked.clear()
    with_breaks(quotes, design, lumberyard, shop=shop)
    assert len(asked) == 4


@pytest.mark.invariant
def test_more_units_never_cost_less_in_material_where_all_is_proved(club: Any, designs: Path) -> None:
    """A plan for more, less some pieces, is a plan for fewer: at a proved optimum material cannot fall. If the whole
    sum falls for another reason, the quote says so.
    """
    design, lumberyard, _ = club
    shop = priced(designs, "goods", packs="whole", paint=None)
    found = [
        run_alone(design, lumberyard, shop, "school hives", n, "quick")
        for n in (range(1, 9) if IS_NIGHT else range(1, 6))
    ]
    assert not any(each.refused for each in found)
    proved = [each for each in found if not each.open_materials]
    assert len(proved) > len(found) / 3
    for few, many in pairwise(proved):
        assert many.parts["material"] >= few.parts["material"]
        assert many.parts["fasteners"] >= few.parts["fasteners"]
    fallen = [(few, many) for few, many in pairwise(found) if many.total < few.total]
    assert len(falls(found, (), "USD")) == len(fallen)


def test_breaks_stand_on_the_quote_and_what_cannot_be_planned_too(club: Any, designs: Path) -> None:
    design, lumberyard, planned = club
    shop = priced(designs, "quote", quantities=(2, 3))
    run = run_cost(planned, shop)
    quotes = quotes_of(planned, run, shop)[2:]
    (made,) = with_breaks(quotes, design, lumberyard, shop=shop, effort="quick")
    assert [each.quantity for each in made.breaks] == [2, 3]
    assert all(each.total == each.prices[0].each * each.quantity for each in made.breaks)
    assert [p.name for p in made.breaks[0].prices] == ["Fondant board rim, rim alone, no mesh"]
    bare = replace(lumberyard, offers=())
    (poor,) = with_breaks(quotes, design, bare, shop=shop, effort="quick")
    assert all("no board 3/4 in thick" in each.refused for each in poor.breaks)
    text = str(quote_document(planned, poor, shop).blocks)
    assert "2 cannot be quoted" in text
    remarks = replace(made, remarks=("20 cost less in total than 10",))
    blocks = quote_document(planned, remarks, shop).blocks
    kept = [b for b in blocks if isinstance(b, KeepTogether) and Bullets(remarks.remarks) in b.blocks]
    assert len(kept) == 1
