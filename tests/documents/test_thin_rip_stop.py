"""The pages on the thin-rip stop: made from scrap, set and used from the page alone, with every strip counted."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.order.job_sequence import STOP, job_sequence
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.shopping import shopping_chapter
from woodshop.documents.packet.thin_rip_stop import stop_sizes, strip_limits, strips_by_width, thin_rip_chapter
from woodshop.drawing.values.model import (
    Beside,
    Block,
    Bullets,
    Caution,
    Figure,
    KeepTogether,
    Line,
    Paragraph,
    Steps,
    Table,
)
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import ZERO, Length, inch, millimetre


@pytest.fixture(scope="module")
def strips(designs: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], PlannedBatch]:
    """A function from a unit and a line under [saw] to boards for six hives; each only once."""
    known: dict[tuple[str, str], PlannedBatch] = {}

    def plan(unit: str = "in", saw: str = "") -> PlannedBatch:
        if (unit, saw) not in known:
            folder = tmp_path_factory.mktemp("strips")
            shutil.copy(designs / "creekside-lumberyard.toml", folder / "lumberyard.toml")
            (folder / "design.toml").write_text(
                f'format = "woodshop-design/2"\nbatch = "strips"\nunit = "{unit}"\nlumberyard = "lumberyard.toml"\n'
                f'[saw]\n{saw}\n[[hives]]\nframes = 10\ncount = 6\ngap = "1/4 in"\n'
                '[[make]]\nitem = ["fondant rim", "spacer strips"]\n',
                encoding="utf-8",
            )
            design = read_design(folder / "design.toml")
            batch = settle(design, read_lumberyards(design.lumberyards))
            units, report = check_batch(batch)
            known[unit, saw] = plan_batch(batch, units, report, effort="quick")
        return known[unit, saw]

    return plan


def chapter(planned: PlannedBatch) -> list[Block]:
    """Its blocks in order, those beside each other one after the other."""
    blocks = [
        each for b in thin_rip_chapter(planned).blocks for each in (b.blocks if isinstance(b, KeepTogether) else (b,))
    ]
    return [each for b in blocks for each in ((*b.left, *b.right) if isinstance(b, Beside) else (b,))]


def words(blocks: list[Block]) -> str:
    said = [block.text for block in blocks if isinstance(block, Caution | Paragraph)]
    return " ".join([*said, *(step for block in blocks if isinstance(block, Steps) for step in block.items)])


def test_the_page_says_all_that_is_needed_to_set_the_stop_and_rip(strips: Callable[..., PlannedBatch]) -> None:
    text = words(chapter(strips()))
    for rule in (
        "The whole stop stays ahead of the blade's front teeth",
        "Switch the saw off and wait until the blade has stopped before you move the fence or the stop",
        "Keep the guard and riving knife in place, and use the push block",
        "Keep at least 2 in of the board between blade and fence",
        "The saw maker's manual comes first",
        "Unplug the saw",
        "Move fence and board together until the board just touches the bolt head",
        "Crosscut strips under 1/2 in thick by hand in a miter box, or taped in a bundle",
    ):
        assert rule in text


def test_every_strip_and_fence_move_is_listed(strips: Callable[..., PlannedBatch]) -> None:
    """The table's strips are the fence moves of the order of work, and add up from its layouts."""
    planned = strips()
    (table,) = [block for block in thin_rip_chapter(planned).blocks if isinstance(block, Table)]
    moves = sum(job_sequence(p.plan.job, p.plan, thin_rip=STOP).fence_moves for p in planned.plans)
    assert sum(int(row[3]) for row in table.rows) == moves > 0
    for row in table.rows:
        assert sum(map(int, re.findall(r"\((\d+)\)", row[5]))) == int(row[3])


def boxes(line: Line) -> tuple[Length, Length, Length, Length]:
    xs, ys = [p[0] for p in line.points], [p[1] for p in line.points]
    return min(xs), max(xs), min(ys), max(ys)


def test_the_stop_is_set_inside_the_limits_of_the_strip(strips: Callable[..., PlannedBatch]) -> None:
    planned = strips()
    limits = strip_limits(planned)
    (table,) = [block for block in thin_rip_chapter(planned).blocks if isinstance(block, Table)]
    for width, row in zip(strips_by_width(planned), table.rows, strict=True):
        low, high = limits[width]
        assert low < width < high
        assert row[1:3] == (width.number("in"), f"{low.number('in')} to {high.number('in')}")


@pytest.mark.invariant
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_nothing_of_the_stop_is_drawn_beside_the_blade(strips: Callable[..., PlannedBatch], unit: str) -> None:
    """Body, runner and bolt are ahead of the front teeth (y below 0), left of the blade; the body by 25 mm or more."""
    drawings = [b.drawing for b in thin_rip_chapter(strips(unit)).blocks if isinstance(b, Figure)]
    (saw,) = [drawing for drawing in drawings if drawing.title == "Thin-rip stop on the saw"]
    stop = [boxes(line) for line in saw.views[0].lines if line.closed and boxes(line)[1] < ZERO]
    assert len(stop) == 4, "body, runner, bolt, bolt head"
    assert all(high < ZERO for _, _, _, high in stop)
    body = max(stop, key=lambda box: (box[1] - box[0]).mm)
    assert body[3] <= ZERO - millimetre(25)
    touching = max(stop, key=lambda box: box[1].mm)[1]
    assert ZERO - touching == max(strips_by_width(strips(unit)))


def test_strips_that_fall_free_have_no_stop(strips: Callable[..., PlannedBatch]) -> None:
    assert thin_rip_chapter(strips("in", 'strips = "fall free"')).blocks == ()


def test_the_pages_stand_before_the_cutting_pages(strips: Callable[..., PlannedBatch]) -> None:
    heads = [section.title for section in packet(strips()).sections]
    assert heads.index("Thin-rip stop") < heads.index("Cutting")


def test_the_parts_are_dimensioned(strips: Callable[..., PlannedBatch]) -> None:
    """A body of 7 x 3 1/2 x 3/4 in and a runner of 6 x 3/4 x 3/8 in, each size at a dimension."""
    (parts,) = [
        b.drawing for b in chapter(strips()) if isinstance(b, Figure) and b.drawing.title == "Thin-rip stop, parts"
    ]
    assert {view.name for view in parts.views} >= {"body, from above", "runner, from above"}
    said = {dimension.text("in") for view in parts.views for dimension in view.dimensions}
    assert said >= {"7", "3 1/2", "3/4", "6", "3/8", "1 3/4", "2 slit"}


@pytest.mark.invariant
@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("widest", ["7/32", "1/4", "3/8", "1/2", "5/8", "47/64"])
@pytest.mark.parametrize("thinnest", ["5/32", "7/32"])
def test_the_bolt_goes_into_its_hole_at_the_widest_strip_and_holds_at_the_thinnest(
    unit: str, widest: str, thinnest: str
) -> None:
    """Under the head: hole, nut and what is free up to the head; in the insert always a diameter of thread or more."""
    most, least = inch(widest), inch(thinnest)
    if least > most:
        return
    made = stop_sizes(unit, (most, least))
    head, nut, diameter = (inch("5/32"), inch("7/32"), inch("1/4"))  # ASME B18.2.1 and B18.2.2, nominal
    if unit == "mm":
        head, nut, diameter = (millimetre(4), millimetre("5.2"), millimetre(6))  # ISO 4017 and ISO 4032
    free = made.nose - most - head
    assert free >= nut
    assert made.bolt_length - free <= made.deep
    assert made.bolt_length - (made.nose - least - head) >= diameter
    assert made.bolt_length.mm % (inch("1/4").mm if unit == "in" else 5) == 0


def test_the_bolt_of_a_seven_thirty_seconds_strip_is_named_on_the_page_and_on_the_buy_list(
    strips: Callable[..., PlannedBatch],
) -> None:
    """1 in of hole and 1 in of nose less 7/32 in of strip and 3/16 in of head: 1 19/32, so 1 1/2 in."""
    assert set(strips_by_width(strips())) == {inch("7/32")}
    text = words(chapter(strips()))
    assert "1/4-20 hex-head bolt 1 1/2 in long" in text
    assert "round-head" not in text
    bought = [line for block in shopping_chapter(strips()).blocks if isinstance(block, Bullets) for line in block.items]
    assert any("1/4-20 hex-head bolt 1 1/2 in long" in line and "#8 x 1 in" in line for line in bought)
    free = strips("in", 'strips = "fall free"')
    assert not any("bolt" in line for b in shopping_chapter(free).blocks if isinstance(b, Bullets) for line in b.items)
