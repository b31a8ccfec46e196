"""A design in millimetres: what is said of its own lengths is in millimetres, in findings and in refusals."""

import re
import shutil
from pathlib import Path

import pytest

from woodshop.batch.metric import with_millimetres
from woodshop.cli.checking import checked
from woodshop.errors import InputError
from woodshop.findings import Report
from woodshop.units import inch, told_in

_BOX_NAMES = re.compile(r"\d+-frame \d+(?: \d+/\d+)?")  # the trade's names of boxes
_BARE_INCHES = re.compile(r"(?:\d|\d/\d+) in\b(?! \([\d.]+(?: to [\d.]+)? mm\))|\d/\d|\bsq in|\bcu in")
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
    for yard in designs.glob("*-yard.toml"):
        shutil.copy(yard, folder)
    text = (designs / "hobby-batch.toml").read_text(encoding="utf-8")
    for old, new in (_METRIC | changed).items():
        assert old in text
        text = text.replace(old, new)
    path = folder / "design.toml"
    path.write_text(text, encoding="utf-8")
    return checked(path)[2]


@pytest.mark.invariant
def test_findings_of_a_metric_design_are_in_millimetres(tmp_path: Path, designs: Path) -> None:
    """No value has inches; a source's limit may, with millimetres beside it. Many things are wrong, to be told of."""
    wrong = 'sugar = "16 lb"\nheight = "60"\nnotch_height = "12.8"\nnotch_width = "150"\nlanding = "3.2"'
    report = _report(tmp_path, designs, **{'sugar = "16 lb"': wrong})
    assert len(report.findings) > 8
    for finding in report.findings:
        assert not re.search(r"\d in\b(?! \()", finding.value), finding
        for text in (finding.value, finding.limits, finding.change):
            plain = re.sub(r"[\d/ ]+(?: to [\d/ ]+)? in \([\d.]+(?: to [\d.]+)? mm\)", "", _BOX_NAMES.sub("", text))
            assert not _BARE_INCHES.search(plain), (finding.code, text)
    assert sum(" mm" in finding.value for finding in report.findings) >= 5


def test_refusals_of_a_metric_design_are_in_millimetres(tmp_path: Path, designs: Path) -> None:
    with pytest.raises(InputError) as refused:
        _report(tmp_path, designs, **{'"16 1/4"': '"16.25"'})
    assert "mm inside" in str(refused.value)
    assert not re.search(r"\d in\b(?! \()", str(refused.value).replace("13 3/4 in", ""))


@pytest.mark.outside("international yard and pound agreement, 1959: 1 in = 25.4 mm")
def test_millimetres_beside_inches() -> None:
    assert with_millimetres("at most 1 in, 10 to 12 in") == "at most 1 in (25.4 mm), 10 to 12 in (254 to 304.8 mm)"
    assert with_millimetres("2 in (50.8 mm)") == "2 in (50.8 mm)"
    assert with_millimetres("come in 3 ways; layout 4 into 5 in all") != ""


def test_the_unit_of_sentences_ends_with_its_block() -> None:
    """Also after an error, and inside another."""
    with pytest.raises(ZeroDivisionError), told_in("mm"):
        1 / 0  # noqa: B018
    with told_in("mm"):
        with told_in("in"):
            assert str(inch(1)) == "1 in"
        assert f"{inch(1)}" == "25.4 mm"
    assert str(inch(1)) == "1 in"
