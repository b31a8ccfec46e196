"""Parts like those we make, and some that are harder to draw."""

import pytest

from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Cut, Face, Part, Rectangle, RoundOutline
from woodshop.units.lengths import Length, inch


def _rectangle(*corners: str) -> Rectangle:
    return Rectangle(*(inch(value) for value in corners))


def _part(name: str, size: tuple[str, str, str], *cuts: Cut) -> Part:
    length, width, thickness = (inch(value) for value in size)
    return Part(name, EXISTING, length, width, thickness, cuts=cuts)


def _cut(name: str, face: Face, rectangle: tuple[str, str, str, str], depth: str) -> Cut:
    return Cut(name, face, _rectangle(*rectangle), inch(depth))


def _bored(face: Face, u: str, v: str, diameter: str, depth: str) -> Cut:
    return Cut("vent hole", face, RoundOutline(inch(u), inch(v), inch(diameter)), inch(depth))


_LOW = _cut("rabbet", Face.BACK, ("0", "0", "16 1/4", "3/8"), "3/8")
_ENDS = (
    _cut("rabbet", Face.BACK, ("0", "0", "3/8", "3 1/2"), "3/8"),
    _cut("rabbet", Face.BACK, ("15 7/8", "0", "16 1/4", "3 1/2"), "3/8"),
)
_ENTRANCE = _cut("entrance", Face.SHOW, ("6 5/8", "1 1/8", "9 5/8", "1 1/2"), "3/4")
_GROOVE = _cut("saw groove", Face.BACK, ("0", "2 1/2", "16 1/4", "2 5/8"), "1/4")

PARTS = (
    _part("rim side", ("19 7/8", "3 1/2", "3/4"), _cut("rabbet", Face.BACK, ("0", "0", "19 7/8", "3/8"), "3/8")),
    _part("rim end", ("16 1/4", "3 1/2", "3/4"), *_ENDS, _ENTRANCE),
    _part("rim end grooved", ("16 1/4", "3 1/2", "3/4"), _GROOVE, _ENTRANCE),
    _part("rim end with all", ("16 1/4", "3 1/2", "3/4"), *_ENDS, _ENTRANCE, _GROOVE, _LOW),
    _part("low notch", ("16 1/4", "1 1/2", "3/4"), _cut("entrance", Face.SHOW, ("2", "0", "5", "3/8"), "3/4")),
    _part(
        "side with notch", ("19 7/8", "3 1/2", "3/4"), _cut("hand hold", Face.SHOW, ("8", "2", "12", "2 3/4"), "3/8")
    ),
    _part(
        "quilt end",
        ("16 1/4", "5 1/2", "3/4"),
        *(_bored(Face.SHOW, x, "3 1/2", "1", "3/4") for x in ("3 1/4", "6 1/2", "9 3/4", "13")),
        _LOW,
    ),
    _part("blind bored", ("16 1/4", "5 1/2", "3/4"), _bored(Face.BACK, "4", "2", "7/8", "1/2")),
    _part("spacer strip", ("14 1/2", "3/4", "1/4")),
    _part("strip on edge", ("14 1/2", "1/4", "3/4")),
    _part("packing block", ("3 1/2", "3", "1 1/2")),
    _part("mesh sheet", ("19 1/8", "15 1/2", "1/32")),
    _part("mortised", ("16 1/4", "3 1/2", "3/4"), _cut("mortise", Face.UPPER, ("4", "1/4", "5 1/2", "1/2"), "1")),
    _part("slotted end", ("9", "3 1/2", "1 1/2"), _cut("slot", Face.RIGHT, ("1", "1/2", "2 1/2", "1"), "3/4")),
)


@pytest.fixture(params=PARTS, ids=lambda part: part.name.replace(" ", "-"))
def part(request: pytest.FixtureRequest) -> Part:
    """One sample part after the other."""
    value = request.param
    assert isinstance(value, Part)
    return value


@pytest.fixture(params=("in", "mm"))
def unit(request: pytest.FixtureRequest) -> str:
    """Both units that drawings are made in."""
    return str(request.param)


@pytest.fixture
def parts() -> tuple[Part, ...]:
    """All sample parts."""
    return PARTS


@pytest.fixture
def three_inches() -> Length:
    """A limit for a figure's height."""
    return inch(3)
