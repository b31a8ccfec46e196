"""A design in millimetres: what is said of its own lengths is in millimetres, in findings and in refusals."""

import re
import shutil
from pathlib import Path

import pytest

from woodshop.documents.plan_design import checked_file
from woodshop.errors import InputError
from woodshop.findings import Report
from woodshop.plan.buying.where_to_buy import refuse_what_plan_refuses
from woodshop.units.lengths import inch, lengths_in, read_length
from woodshop.units.wording import Wording

_BOX_NAMES = re.compile(r"\d+-frame \d+(?: \d+/\d+)?")  # the trade's names of boxes
_BARE_INCHES = re.compile(r"(?:\d|\d/\d+) in\b|\d/\d|\bsq in|\bcu in")
_METRIC = {
    'unit = "in"': 'unit = "mm"',
    '"16 1/4"': '"412.75"',
    '["1/4", "1/4", "9/32"]': '["6.35", "6.35", "7.14375"]',
    'width = "16"': 'width = "406.4"',
    '["1/4", "5/16", "1/4"]': '["6.35", "7.9375", "6.35"]',
    '"13 3/4"': '"349.25"',
    '["1/4", "1/4", "1/4"]': '["6.35", "6.35", "6.35"]',
}


def _report(folder: Path, designs: Path, **changed: str) -> Report:
    for lumberyard in designs.glob("*-lumberyard.toml"):
        shutil.copy(lumberyard, folder)
    text = (designs / "hobby-batch.toml").read_text(encoding="utf-8")
    for old, new in (_METRIC | changed).items():
        assert old in text
        text = text.replace(old, new)
    path = folder / "design.toml"
    path.write_text(text, encoding="utf-8")
    return checked_file(path)[2]


@pytest.mark.invariant
def test_findings_of_a_metric_design_are_in_millimetres(tmp_path: Path, designs: Path) -> None:
    """No value has inches; a source's limit may, with millimetres beside it. Many things are wrong, to be told of."""
    wrong = 'sugar = "16 lb"\nheight = "60"\nnotch_height = "12.8"\nnotch_width = "150"\nlanding = "3.2"'
    report = _report(tmp_path, designs, **{'sugar = "16 lb"': wrong})
    assert len(report.findings) > 8
    for finding in report.findings:
        assert not re.search(r"(?<!\()\d in\b", finding.value), finding
        for text in (finding.value, finding.limits, finding.change):
            plain = re.sub(r"[\d.]+(?: to [\d.]+)? mm \([\d/ ]+(?: to [\d/ ]+)? in\)", "", _BOX_NAMES.sub("", text))
            assert not _BARE_INCHES.search(plain), (finding.code, text)
    assert sum(" mm" in finding.value for finding in report.findings) >= 5


def test_refusals_of_a_metric_design_are_in_millimetres(tmp_path: Path, designs: Path) -> None:
    with pytest.raises(InputError) as refused:
        _report(tmp_path, designs, **{'"16 1/4"': '"300"'})
    assert "mm inside" in str(refused.value)
    assert not re.search(r"\d in\b(?! \()", str(refused.value).replace("13 3/4 in", ""))


@pytest.mark.outside("international yard and pound agreement, 1959: 1 in = 25.4 mm")
def test_millimetres_beside_inches() -> None:
    assert Wording("mm").quoted("at most 1 in, 10 to 12 in") == "at most 25.4 mm (1 in), 254 to 304.8 mm (10 to 12 in)"
    assert Wording("mm").quoted("at most 5/16 in (8 mm)") == "at most 8 mm (5/16 in)"
    for text in ("50.8 mm (2 in)", "276 MPa (40000 psi)", "29 000 000 psi (200 GPa)"):
        assert Wording("mm").quoted(text) == text
    assert Wording("mm").quoted("come in 3 ways; layout 4 into 5 in all") != ""


def test_the_unit_of_sentences_ends_with_its_block() -> None:
    """Also after an error, and inside another."""
    with pytest.raises(ZeroDivisionError), lengths_in("mm"):
        1 / 0  # noqa: B018
    with lengths_in("mm"):
        with lengths_in("in"):
            assert str(inch(1)) == "1 in"
        assert f"{inch(1)}" == "25.4 mm"
    assert str(inch(1)) == "1 in"


METRIC_LUMBERYARD = """format = "woodshop-lumberyard/1"
name = "metric"
unit = "mm"
seen = 2026-09-01
[[board]]
thickness = "19"
width = "144"
sizes = [{ length = "2400", price = "9.00" }]
[[board]]
thickness = "19"
width = "69"
sizes = [{ length = "2400", price = "4.50" }]
[[roll]]
mesh = "1/2 in"
width = "900"
length = "3000"
price = "25.00"
"""


def test_a_metric_design_is_made_from_what_a_metric_lumberyard_sells(tmp_path: Path) -> None:
    """No strip or board that is only sold in inches is asked for, and goods are called by their millimetres."""
    (tmp_path / "lumberyard.toml").write_text(METRIC_LUMBERYARD, encoding="utf-8")
    path = tmp_path / "design.toml"
    path.write_text(
        'format = "woodshop-design/2"\nbatch = "b"\nunit = "mm"\nwood = "19"\nlumberyard = "lumberyard.toml"\n'
        '[[hives]]\nframes = 10\ncount = 2\ngap = ["6", "6.5", "6"]\n[[make]]\nitem = "board"\n',
        encoding="utf-8",
    )
    batch, units, report = checked_file(path)
    assert not report.has_errors
    refuse_what_plan_refuses(batch, units)
    materials = {placed.part.material.name for unit in units for placed in unit.assembly.placed}
    assert {"board 19 mm", "mesh 12.7 mm"} <= materials
    assert not any(material.startswith("lattice") for material in materials)
    assert [offer.what for offer in batch.lumberyard.offers][:1] == ["19 mm x 144 mm, 2400 mm"]
    listed = {(each.where, each.name): each for each in batch.defaults}
    assert listed["board", "landing"].value == "10 mm"
    assert listed["spacer strips", "width"].value == "19 mm"
    for (where, name), each in listed.items():
        row = re.fullmatch(r"([\d.]+) mm, for (.+)", each.value)
        if row is not None:
            assert abs(float(row[1]) - float(read_length(row[2]).mm)) <= 3, (where, name)


@pytest.mark.outside(
    "NIST PS 20: a 1x3 is dressed to 3/4 x 2 1/2 in, 19.05 x 63.5 mm; a 2x4 to 1 1/2 x 3 1/2, 38.1 x 88.9"
)
def test_boards_sold_in_inches_are_half_millimetres_in_a_metric_design(tmp_path: Path, designs: Path) -> None:
    """Rounded down, so that no part is wider than its board: an end is 435 - 2 x 19 mm, not 396.9."""
    shutil.copy(designs / "creekside-lumberyard.toml", tmp_path)
    path = tmp_path / "design.toml"
    for wood in ("", 'wood = "3/4 in"\n'):
        path.write_text(
            'format = "woodshop-design/2"\nbatch = "b"\nunit = "mm"\nlumberyard = "creekside-lumberyard.toml"\n'
            f'{wood}[[hives]]\npattern = "Dadant-Blatt"\nframes = 10\ncount = 2\ngap = ["8", "7", "8"]\n'
            '[[make]]\nitem = ["board", "packing blocks"]\n',
            encoding="utf-8",
        )
        batch, units, _ = checked_file(path)
        refuse_what_plan_refuses(batch, units)
        parts = {placed.part.name: placed.part for unit in units for placed in unit.assembly.placed}
        assert [each.text("mm") for each in parts["front end"].size] == ["397 mm", "63.5 mm", "19 mm"]
        assert [each.text("mm") for each in parts["packing block"].size[1:]] == ["88.5 mm", "38 mm"]
        assert parts["front end"].material.name == "board 19 mm"
        assert "1x3 pine, 8 ft" in {offer.what for offer in batch.lumberyard.offers}


@pytest.mark.parametrize("text", ['rabbet_height = "3/8 in"', 'mark = "1/32 in"'])
def test_what_a_refusal_proposes_is_read_alike_in_both_units(text: str) -> None:
    """A size in a message has its unit, so that it can be pasted into either design."""
    source = "".join(
        each.read_text(encoding="utf-8") for each in (Path(__file__).parents[2] / "woodshop").rglob("*.py")
    )
    assert text in source
    assert text.replace(" in", "") not in source


def test_materials_are_named_in_one_place() -> None:
    """A name made elsewhere would be in inches, and would not meet the goods of a metric lumberyard."""
    for path in (Path(__file__).parents[2] / "woodshop").rglob("*.py"):
        if path.name != "materials.py" or path.parent.name != "reference":
            assert not re.search(r'f"(?:board|plywood|lattice) \{(?![^}]*!r)', path.read_text(encoding="utf-8")), path
