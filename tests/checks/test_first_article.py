"""Limits of the first unit against the hive made again and measured; samples against print and a general library."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.checks.few_hives import batch_of, one_of
from tests.nightly import spread
from tests.shop_folder import DESIGN, still
from woodshop.checks.check_batch import check_made
from woodshop.checks.first_article import (
    FAR,
    HEIGHT,
    ITSELF,
    THICKNESS,
    FirstArticle,
    first_articles,
    measured_unit,
    sample_of,
)
from woodshop.design.batch import Batch
from woodshop.design.make_units import make_units
from woodshop.design.measured_files import UnitFile
from woodshop.documents.packet.first_article import first_article_section
from woodshop.documents.packet.measure_first import board_off
from woodshop.drawing.values.model import Steps, Table
from woodshop.findings import Report, Severity
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.gaps.grading import bee_space, varied_limits
from woodshop.hive.variation.sizes import remade
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import Length, inch

LIMITS = bee_space()
MOUNTINGS = {
    "stapled": 'mounting = "stapled under"',
    "rabbet": 'mounting = "flush rabbet"\nrabbet_height = "3/16"',
    "groove": 'mounting = "saw groove"',
}


@pytest.fixture(scope="module", params=MOUNTINGS)
def few(request: pytest.FixtureRequest, designs: Path) -> Batch:
    makes = '[[make]]\nitem = ["quilt box", "vent spacers"]'
    return batch_of(designs, board=MOUNTINGS[request.param], makes=makes)


@pytest.fixture
def article(few: Batch) -> FirstArticle:
    (found,) = first_articles(make_units(few), LIMITS)
    return found


def broken(few: Batch, name: str, by: Length) -> set[str]:
    """The gaps that leave their limits when one size is off by so much: the hive made again and measured."""
    of, _ = one_of(few)
    before = {(g.name, g.place, g.between): g for g in measure_gaps(of.build.stack)}
    found = set()
    for gap in measure_gaps(remade(of.build, {name: by}).stack):
        was = before[gap.name, gap.place, gap.between]
        wanted = varied_limits(gap.name, gap.kind, was.least, LIMITS, of.mesh)
        hangs = gap.name == "mesh on wall" and bool(was.least)  # in its rabbet
        held_off = gap.kind == "contact" and gap.name.endswith(" on wall") and gap.least > was.least and not hangs
        if wanted.is_set and wanted.holds(was.least) and (held_off or not wanted.holds(gap.least)):
            found.add(gap.name)
    return found


def sides(article: FirstArticle) -> Iterator[tuple[str, Length, int, str]]:
    for each in article.sizes:
        yield each.size.name, each.least - each.size.nominal, -1, each.least_by
        yield each.size.name, each.most - each.size.nominal, 1, each.most_by


@pytest.mark.invariant
def test_within_its_limits_a_size_breaks_no_gap_and_a_mark_past_them_it_does(few: Batch, article: FirstArticle) -> None:
    """At every limit the hive is made again and measured; past one that a gap sets, that gap is out."""
    by_gaps = 0
    for name, off, way, by in sides(article):
        assert abs(off) <= FAR
        assert broken(few, name, off) == set(), (name, off)
        if by not in ("", ITSELF):
            assert by in broken(few, name, off + article.mark * way), (name, off, by)
            by_gaps += 1
    assert by_gaps >= 3


@pytest.mark.invariant
def test_a_unit_at_any_one_limit_passes_its_checks(few: Batch, article: FirstArticle) -> None:
    """Through the other door: as a unit file with that one size, no error and no new warning."""
    units = make_units(few)
    report, _ = check_made(still(few), units, prices=False)

    def heavy(findings: Report) -> set[str]:
        return {each.code for each in findings.findings if each.severity is not Severity.NOTE}

    for each in spread(article.sizes, 4):
        for at in (each.least, each.most):
            one = measured_unit(few, units, UnitFile("unit.toml", None, {each.item: {each.size.name: at}}))
            now, _ = check_made(still(one.batch), one.units, prices=False)
            assert heavy(now) <= heavy(report), (each.size.name, str(at))


def test_limits_lie_on_marks_and_hold_the_size_between_them(article: FirstArticle) -> None:
    for each in article.sizes:
        assert each.least <= each.size.nominal <= each.most
        parts = {THICKNESS: 4, HEIGHT: 2}
        mark = article.mark / parts.get(each.size.name, 1)
        if (each.size.nominal / mark).denominator == 1 and each.least < each.size.nominal < each.most:
            assert (each.least / mark).denominator == 1
            assert (each.most / mark).denominator == 1


@pytest.mark.parametrize(("mounting", "least", "most"), [("stapled", "13/64", "1/4"), ("rabbet", "7/32", "11/32")])
def test_strips_may_be_as_thin_as_holds_the_mesh_and_as_thick_as_the_least_gap(
    designs: Path, mounting: str, least: str, most: str
) -> None:
    """3/16 in and the 0.012 to 0.018 that the loaded mesh sags between; 1/4 in, and 3/16 - 0.082 more in a rabbet."""
    (found,) = first_articles(make_units(batch_of(designs, board=MOUNTINGS[mounting])), LIMITS)
    (strips,) = (each for each in found.sizes if each.size.name == THICKNESS)
    assert (strips.least, strips.most) == (inch(least), inch(most))
    assert strips.least_by == "strip top over top bars"


# ---- samples ------------------------------------------------------------------------------------------------------


@pytest.mark.outside
@pytest.mark.parametrize(
    ("run", "count"),
    [(2, 2), (8, 2), (9, 3), (15, 3), (16, 5), (25, 5), (26, 8), (50, 8), (51, 13), (90, 13), (91, 20), (150, 20),
     (151, 32), (280, 32), (281, 50), (500, 50), (501, 80), (1200, 80), (1201, 125), (3200, 125), (10000, 200)],
)  # fmt: skip
def test_samples_are_those_of_the_standard(run: int, count: int) -> None:
    """MIL-STD-105E (1989), Table I, general inspection level II, and Table II-A, at both ends of its lots."""
    sample = sample_of(run)
    assert sample.count == count
    assert len(set(sample.which)) == count
    assert sample.which[0] == 1
    assert sample.which[-1] <= run


@pytest.mark.invariant
@pytest.mark.parametrize("run", [3, 9, 13, 30, 60, 200, 1000])
def test_what_a_clean_sample_leaves_is_what_draws_one_by_one_say(run: int) -> None:
    """Drawn one after another: each good one is one good one less. So many out may hide; one more shows 95 in 100."""
    sample = sample_of(run)

    def unseen(out: int) -> Fraction:
        chance = Fraction(1)
        for n in range(sample.count):
            chance *= Fraction(max(run - out - n, 0), run - n)
        return chance

    for out in range(0, run + 1, max(1, run // 20)):
        assert sample.unseen(out) == unseen(out)
    assert unseen(sample.most_out) >= Fraction(1, 20) > unseen(sample.most_out + 1)


@pytest.mark.outside
def test_rule_of_three_is_the_one_in_print() -> None:
    """Eypasch and others, BMJ 311 (1995), 619: none in n, so at most 3/n; none at all past the whole."""
    assert sample_of(60).rule_of_three == Fraction(3, 13)
    assert sample_of(9).rule_of_three == 1
    assert float(sample_of(3200).rule_of_three) == pytest.approx(1 - 0.05 ** (1 / 125), rel=0.02)


# ---- the page -----------------------------------------------------------------------------------------------------


def test_the_sheet_has_every_size_with_room_to_write(few: Batch, article: FirstArticle) -> None:
    planned = PlannedBatch(
        batch=few, units=make_units(few), plans=(), purchases=(), unpriced=(), costs=(), report=Report(())
    )
    (sheet,) = [b for b in first_article_section(planned).blocks if isinstance(b, Table)]
    names = dict.fromkeys(row[0] for row in sheet.rows)
    over = ["mesh over the top bars"] if article.over_bars is not None else []
    assert list(names) == [*dict.fromkeys(each.size.name for each in article.sizes), *over]
    off = board_off(few)
    for each in article.sizes:
        least, most = each.least, each.most
        if each.size.name.endswith("'s wood"):
            least, most = max(least, each.size.nominal - off), min(most, each.size.nominal + off)
        limits = f"{least.number(few.unit)} to {most.text(few.unit)}"
        assert any(row[0] == each.size.name and row[2] == limits for row in sheet.rows)
    assert all(row[-1] == "______" and row[-2] for row in sheet.rows)


def test_nothing_made_no_chapter(designs: Path) -> None:
    few = batch_of(designs)
    assert (
        first_article_section(
            PlannedBatch(batch=few, units=(), plans=(), purchases=(), unpriced=(), costs=(), report=Report(()))
        ).blocks
        == ()
    )


def test_the_height_of_the_mesh_in_the_rim_is_given_by_hives(shop: Any) -> None:
    board = 'item = ["fondant rim", "wire bottom", "spacer strips"]'
    hives = '[[hives]]\nname = "{}"\nframes = {}\ncount = 2\ngap = "1/4"\n'
    head = DESIGN.partition("[[hives]]")[0] + hives.format("tens", 10) + hives.format("eights", 8)
    under = f'[[make]]\n{board}\nhives = "tens"\n'
    raised = f'[[make]]\n{board}\nhives = "eights"\nmounting = "flush rabbet"\nrabbet_height = "5/16"\n'
    batch = shop.batch(head + under + raised)
    planned = PlannedBatch(
        batch=batch, units=make_units(batch), plans=(), purchases=(), unpriced=(), costs=(), report=Report(())
    )
    (steps,) = [block for block in first_article_section(planned).blocks if isinstance(block, Steps)]
    (step,) = [each for each in map(str, steps.items) if "down to the mesh" in each]
    low = {u.line.hives.name: u.line.setting.mesh_low for u in planned.units if u.line.item.name == "wire bottom"}
    assert f"eights: {low['eights'].text('in')}" in step
    assert "tens: 0 in, because the mesh is under the rim" in step
    assert "within the limits of the mesh over the top bars in the table" in step
    assert " to " not in step.partition("The sum")[2], "the table alone has the limits"
