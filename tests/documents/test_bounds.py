"""The standing of the plans in plain words, and what it rests on: prices that a stranger can check."""

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.once import planned
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.shopping import certainty_text
from woodshop.documents.report.bounds import bound_chapter, certainty_of
from woodshop.documents.result import result_section
from woodshop.drawing.values.model import Block, Bullets, KeepTogether, Paragraph, Table
from woodshop.findings import Report, Severity
from woodshop.plan.values import MaterialPlan, PlannedBatch


@pytest.fixture(scope="module")
def hobby() -> PlannedBatch:
    """The hobby batch as planned, quickly."""
    return planned("hobby-batch")


def flat(blocks: list[Block]) -> list[Block]:
    return [each for block in blocks for each in (block.blocks if isinstance(block, KeepTogether) else (block,))]


def test_the_report_has_one_sentence_for_each_material(hobby: PlannedBatch) -> None:
    (bullets,) = [block for block in flat(bound_chapter(hobby).blocks) if isinstance(block, Bullets)]
    assert [line.split(":")[0].lower() for line in bullets.items] == [each.job.material.spoken for each in hobby.plans]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"cost": 1140, "bound": 1000, "gap": 140, "assurance": "within"},
         ": at most $1.40 above the cheapest possible plan."),
        ({"bound": 7, "cost": 7, "gap": 0, "assurance": "proved", "bound_kind": "root"},
         ": no plan from this lumberyard costs less."),
        ({"bound": 7, "cost": 7, "gap": 0, "assurance": "solved", "bound_kind": "solver"},
         ": no plan from this lumberyard costs less, by the solver's search."),
        ({"cost": 1140, "bound": 1000, "gap": 140, "assurance": "first_fit"},
         ": laid by rule of thumb, at most $1.40 above the cheapest possible plan."),
    ],
)  # fmt: skip
def test_a_build_in_plain_words(hobby: PlannedBatch, changes: dict[str, object], said: str) -> None:
    first = hobby.plans[0]
    changed = MaterialPlan(first.job, replace(first.plan, **changes))  # type: ignore[arg-type]
    assert certainty_of(changed, "USD").endswith(said)


def test_a_cheaper_plan_is_told_by_what_it_could_save_not_by_a_sum_above_the_total(hobby: PlannedBatch) -> None:
    """Sums that count own offcuts are above the total to pay, and read as if the plan were cheaper than possible."""
    text = certainty_text(
        replace(hobby, plans=tuple(replace(each, plan=replace(each.plan, gap=0)) for each in hobby.plans))
    )
    assert "costs less." in text
    first = hobby.plans[0]
    dearer = replace(hobby, plans=(replace(first, plan=replace(first.plan, gap=117, bound_kind="solver")),))
    text = certainty_text(dearer)
    assert "could save at most $1.17." in text
    assert str(dearer.total) not in text
    assert "the solver's search found nothing cheaper; this is not proved" in text


def test_the_screen_counts_findings_as_the_cover_does(hobby: PlannedBatch) -> None:
    finding = next(each for each in hobby.report.findings if each.severity is Severity.NOTE)
    report = Report((*hobby.report.findings, replace(finding, place="another place")))
    told = str(result_section(replace(hobby, report=report), Path("out")).data["findings"])
    front = str(packet(replace(hobby, report=report)).sections[0])
    (count,) = re.findall(r"(\d+) notes? in report.pdf", front)
    assert told.endswith(f", {count} notes")


def printed_prices(blocks: list[Block], marks: set[str]) -> dict[str, tuple[int, Decimal]]:
    """Every mark with its count and price, read off the tables and sentences of the appendix."""
    found: dict[str, tuple[int, Decimal]] = {}
    for block in blocks:
        if isinstance(block, Table) and block.columns[0].heading == "part":
            for row in block.rows:
                for n in range(0, len(row), 3):
                    if row[n]:
                        found[row[n]] = (int(row[n + 1]), Decimal(row[n + 2]))
        elif isinstance(block, Paragraph):
            for count, mark, price in re.findall(r"(\d+) x ([A-Z]+) at (\d+\.\d{4})", block.text):
                found[mark] = (int(count), Decimal(price))
    assert set(found) == marks
    return found


@pytest.mark.invariant
def test_the_printed_prices_add_up_and_no_layout_of_the_packet_is_worth_more_than_its_board(
    hobby: PlannedBatch,
) -> None:
    """What a stranger can do with a pencil: prices times counts, and the pieces of each layout, rents set aside."""
    needs = [need for each in hobby.plans for need in each.job.needs]
    prices = printed_prices(flat(bound_chapter(hobby).blocks), {need.mark for need in needs})
    assert {mark: count for mark, (count, _) in prices.items()} == {need.mark: need.count for need in needs}
    words = [block for block in flat(bound_chapter(hobby).blocks) if isinstance(block, Paragraph)]
    for each in hobby.plans:
        (told,) = [block.text for block in words if block.lead.lower() == f"{each.job.material.spoken}."]
        (said,) = re.findall(r"worth of all pieces is ([\d,]+\.\d{4})\.", told)
        worth = sum(
            count * price for mark, (count, price) in prices.items() if mark in {n.mark for n in each.job.needs}
        )
        rounding = Decimal("0.00006") * sum(need.count for need in each.job.needs)
        assert abs(worth - Decimal(said.replace(",", ""))) <= rounding
        assert each.plan.certificate is not None
        assert f"no plan costs less than ${each.plan.certificate.bound / 100:,.2f}." in told
    layouts = numbered_layouts(hobby)
    for layout in layouts:
        stock = next(stock for stock in layout.plan.plan.job.stock if stock.id == layout.layout.stock)
        assert layout.plan.plan.certificate is not None
        rent = Decimal(dict(layout.plan.plan.certificate.rents).get(stock.id, 0))
        cost = (Decimal(stock.cost) + rent / layout.plan.plan.certificate.scale) / 100
        value = sum(prices[piece.mark][1] for piece in layout.pieces)
        assert value <= cost + Decimal("0.00006") * len(layout.pieces), layout.name


def test_the_appendix_names_cost_bound_kind_and_where_the_numbers_stand(hobby: PlannedBatch) -> None:
    blocks = flat(bound_chapter(hobby).blocks)
    assert isinstance(blocks[1], Table)
    for row, each in zip(blocks[1].rows, hobby.plans, strict=True):
        assert row[0] == each.job.material.spoken
        assert row[1:4] == tuple(f"${n / 100:,.2f}" for n in (each.plan.cost, each.plan.bound, each.plan.gap))
        assert ("solver" in row[4]) == (each.plan.bound_kind == "solver")
    words = " ".join(block.text for block in blocks if isinstance(block, Paragraph))
    for name in ("plan.json", "woodshop verify", "certificate"):
        assert name in words
