"""Over batches in which every two choices meet: nothing collides, and what is printed is the part."""

import io
import re
from collections import Counter
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from itertools import combinations, product
from typing import Any, get_args

import ezdxf
import pdfplumber
import pytest
from ezdxf import recover

from tests.drawing.drawn_batches import FRAMES, ITEMS, JOINTS, LOOKED_AT, MOUNTINGS, UNITS, faults_of
from tests.drawing.pairwise import CASES, PAPERS, SOME_CASES, Case, batch_of
from tests.nightly import IS_NIGHT
from woodshop.documents.packet.layouts import needs_of
from woodshop.documents.packet.parts import cells_of, has_grain, parts_section
from woodshop.drawing.pens.dxf import write_dxf
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values import style
from woodshop.drawing.values.model import Document, Section
from woodshop.drawing.views.part import part_drawing
from woodshop.hardware.board import Joint, Mounting
from woodshop.hardware.catalogue import items
from woodshop.shape.part import Part, RoundOutline
from woodshop.units.lengths import Length
from woodshop.units.wording import wording_of

CHOICES = (FRAMES, JOINTS, MOUNTINGS, UNITS, PAPERS)
each_case = pytest.mark.parametrize("case", CASES if IS_NIGHT else SOME_CASES, ids=lambda case: case.name)


def test_every_two_choices_meet_in_some_batch() -> None:
    """Box, joint, mounting, unit, paper two by two; every item with each of them, and with every other item."""
    assert set(JOINTS) == set(get_args(Joint))
    assert set(MOUNTINGS) == set(get_args(Mounting))
    assert set(PAPERS) == set(style.PAPERS)
    assert set(ITEMS) == {item.name for item in items()}
    for a, b in combinations(range(len(CHOICES)), 2):
        met = {(case.values[a], case.values[b]) for case in CASES}
        assert met == set(product(CHOICES[a], CHOICES[b]))
    for item, (n, choices) in product(ITEMS, enumerate(CHOICES)):
        assert {case.values[n] for case in CASES if item in case.items} == set(choices), item
    assert {pair for case in CASES for pair in combinations(case.items, 2)} == set(combinations(ITEMS, 2))


def test_the_cases_of_each_landing_hold_every_choice_once() -> None:
    for n, choices in enumerate(CHOICES):
        assert {case.values[n] for case in SOME_CASES} == set(choices)
    assert {name for case in SOME_CASES for name in case.items} == set(ITEMS)
    assert {pair for case in SOME_CASES for pair in combinations(case.items, 2)} == set(combinations(ITEMS, 2))


@pytest.mark.slow("sets every drawing of every item and looks at each text")
@pytest.mark.invariant
@each_case
def test_nothing_collides_and_nothing_is_clipped(case: Case) -> None:
    """Texts, lines and edges of all sheets, on the model and again in the PDF: no fault."""
    found = faults_of(batch_of(case), (case.paper,))
    assert {name: n for name, n in found.items() if n and name not in LOOKED_AT} == {}
    assert found["figures"] >= len(case.items)
    assert found["characters"] > 2000


def _number(text: str) -> Fraction:
    """A length as it is printed, of whole numbers, decimals and fractions: 19 7/8 or 485.78."""
    found = re.fullmatch(r"(?:(\d+(?:\.\d+)?)(?: (?=\d)|$))?(?:(\d+)/(\d+))?", text)
    assert found, text
    assert text, "nothing"
    return Fraction(found[1] or 0) + Fraction(int(found[2] or 0), int(found[3] or 1))


def _printed(length: Length, unit: str) -> Fraction:
    """What a length must be in print: exact in 64ths of an inch; else decimals, three of an inch or one of a mm."""
    value = length.inches if unit == "in" else length.mm
    if unit == "in" and (value * 64).denominator == 1:
        return value
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    return Fraction(exact.quantize(Decimal("0.001" if unit == "in" else "0.1"), ROUND_HALF_EVEN))


@pytest.mark.slow("sets the part pages of every item and reads them back")
@pytest.mark.invariant
@each_case
def test_lengths_read_back_out_of_the_pdf_are_the_parts(case: Case) -> None:
    """Each row of the part table: count, length, width and, of wood, thickness; mesh in cells; and its drawing."""
    batch = batch_of(case)
    with pdfplumber.open(
        io.BytesIO(write_pdf(Document("p", "p", (Section("", parts_section(batch).blocks),)), case.paper))
    ) as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
        halves = [  # the part list has two columns
            page.crop((x0, 0, x1, page.height)).extract_text()
            for page in pdf.pages
            for x0, x1 in ((0, page.width / 2), (page.width / 2, page.width))
        ]
    listed = "\n".join(halves)
    drawn = {
        mark for marks in re.findall(r"^Drawing \d+\..*: ([A-Z, ]+) \(make", text, re.M) for mark in marks.split(", ")
    }
    number = r"(?:\d+(?:\.\d+)?(?: \d+/\d+)?|\d+/\d+)"
    for need in needs_of(batch):
        sizes = [_printed(size, case.unit) for size in need.part.size]
        shape = rf"{number} x {number}(?: x {number})?|\d+ x \d+ cells"
        (row,) = re.findall(rf"^{need.mark} .*?(\d+) ({shape})$", listed, re.M)
        assert int(row[0]) == need.count
        if cells := cells_of(need.part):
            assert row[1] == f"{' x '.join(map(str, cells))} cells"
        else:
            said = [_number(each) for each in row[1].split(" x ")]
            assert said == sizes[: 3 if need.part.material.is_lumber else 2], need.mark
        assert (need.mark in drawn) != need.part.is_plain


@pytest.mark.invariant
@each_case
def test_dimensions_read_back_out_of_the_dxf_are_the_parts(case: Case) -> None:
    """Each DIMENSION measures what its text says; length, width and the sizes of every cut are among the texts."""
    seen: Counter[str] = Counter()
    per = {"in": Fraction(127, 5), "mm": Fraction(1)}[case.unit]
    for need in needs_of(batch_of(case)):
        part = need.part
        drawing = part_drawing(
            part, address=need.address, count=need.count, wording=wording_of(case.unit), grain=has_grain(part)
        )
        document, audit = recover.read(io.BytesIO(write_dxf(drawing, unit=case.unit)))
        assert not audit.errors
        assert not audit.fixes
        assert document.header["$INSUNITS"] == {"in": ezdxf.units.IN, "mm": ezdxf.units.MM}[case.unit]
        said = set()
        entity: Any
        for entity in document.modelspace().query("DIMENSION"):
            (text,) = re.findall(r"^(?:.*? )??((?:\d+ )?\d+/\d+|\d+(?:\.\d+)?)$", entity.dxf.text)
            said.add(_number(text))
            measured = Length(Fraction(entity.get_measurement()).limit_denominator(10**7) * per)
            assert _number(text) == _printed(measured, case.unit), (part.name, entity.dxf.text)
            seen["dimensions"] += 1
        assert {_printed(part.length, case.unit), _printed(part.width, case.unit)} <= said, part.name
        words = " ".join(each.dxf.text for each in document.modelspace().query("TEXT"))
        for name, length in _sizes_of_cuts(part):
            seen[name] += 1
            assert _printed(length, case.unit) in said | {_number(each) for each in re.findall(
                r"(?:\d+ )?\d+/\d+|\d+(?:\.\d+)?", words)}, (part.name, name, length)  # fmt: skip
    assert seen["dimensions"] >= 2 * len(needs_of(batch_of(case)))


def _sizes_of_cuts(part: Part) -> list[tuple[str, Length]]:
    """The sizes and the depth of each cut, and the height of holes; many holes have a table of their own instead."""
    found = []
    few = sum(isinstance(cut.outline, RoundOutline) for cut in part.cuts) < 3
    for cut in part.cuts:
        found.append(("depth", cut.depth))
        if isinstance(cut.outline, RoundOutline):
            found += [("up", cut.outline.v)] if few else []
        else:
            found += [("wide", cut.outline.u1 - cut.outline.u0), ("high", cut.outline.v1 - cut.outline.v0)]
    return found
