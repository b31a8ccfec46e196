"""Pieces more than needed: left uncut, or cut and marked spare, as the design says."""

import re
from collections import Counter
from pathlib import Path

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.checkers.check import check_plan
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.lists import cuts_csv
from woodshop.documents.packet.cutting import cutting_chapter, first_boards_chapter, settings_of
from woodshop.documents.packet.layouts import numbered_layouts, spares_of
from woodshop.drawing.values.model import Paragraph
from woodshop.errors import InputError
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import PlannedBatch

TEXT = """format = "woodshop-design/2"
batch = "surplus"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
{line}
[[hives]]
frames = 10
count = 5
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
"""


def planned(folder: Path, designs: Path, line: str) -> PlannedBatch:
    (folder / "creekside-lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    path = folder / "surplus.toml"
    path.write_text(TEXT.format(line=line), encoding="utf-8")
    design = read_design(path)
    batch = settle(design, read_lumberyards(design.lumberyards))
    units, report = check_batch(batch)
    return plan_batch(batch, units, report, effort="quick")


def pieces(made: PlannedBatch, *, spare: bool) -> Counter[str]:
    found: Counter[str] = Counter()
    for layout in numbered_layouts(made):
        for piece in layout.pieces:
            if piece.spare == spare:
                found[piece.mark] += layout.times
    return found


@pytest.mark.invariant
def test_without_a_word_surplus_is_left_uncut_and_spare_keeps_it(tmp_path: Path, designs: Path) -> None:
    """The same cost either way, the pieces that are needed either way, spares only where they are asked for."""
    plain, dropped, kept = (planned(tmp_path, designs, x) for x in ("", 'surplus = "drop"', 'surplus = "spare"'))
    assert plain.plans == dropped.plans
    assert not pieces(plain, spare=True)
    assert pieces(kept, spare=True), "this design was chosen because its boards hold more than it needs"
    assert pieces(kept, spare=False) == pieces(plain, spare=False)
    assert kept.total == plain.total
    for each in kept.plans:
        assert check_plan(each.plan) == ()


def test_spares_are_said_wherever_pieces_are_counted(tmp_path: Path, designs: Path) -> None:
    kept = planned(tmp_path, designs, 'surplus = "spare"')
    spares, needed = pieces(kept, spare=True), pieces(kept, spare=False)
    blocks = (*first_boards_chapter(kept).blocks, *cutting_chapter(kept).blocks)
    said = [block.text for block in blocks if isinstance(block, Paragraph) and block.lead == "Spares:"]
    assert all(any(re.search(rf"\d+ x {mark}\b", text) for text in said) for mark in spares)
    assert b",yes\r\n" in cuts_csv(kept)
    for each in kept.plans:
        layouts = [layout for layout in numbered_layouts(kept) if layout.plan is each]
        made: Counter[str] = Counter()
        for row in settings_of(layouts, kept):
            made += row.pieces
        marks = {need.mark for need in each.job.needs}
        assert made == Counter({mark: needed[mark] + spares[mark] for mark in marks})
        for mark in marks & set(spares):
            assert f"{spares[mark]} x {mark}" in spares_of(layouts)


def test_another_word_is_refused_with_the_two_that_are_known(tmp_path: Path, designs: Path) -> None:
    with pytest.raises(InputError) as why:
        planned(tmp_path, designs, 'surplus = "spares"')
    (problem,) = why.value.problems
    assert problem.where == "surplus.toml, surplus"
    assert "'drop'" in problem.wanted
    assert "'spare'" in problem.do
