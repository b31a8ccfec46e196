"""What a finding proposes for the design file mends it: applied to the file, it is gone, and nothing worse has come."""

import ast
import re
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.nightly import IS_NIGHT, tries
from tests.shop_folder import still
from woodshop.checks.check_batch import check_batch
from woodshop.design.remedy import design_changes
from woodshop.errors import InputError
from woodshop.findings import Finding, Severity
from woodshop.page.opened.remedied import remedied
from woodshop.units.lengths import read_length

BOARD_ITEMS = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]
WEIGHT = {Severity.NOTE: 0, Severity.WARNING: 1, Severity.ERROR: 2}


def written(value: Any) -> str:
    """A value as it stands in a TOML file."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {written(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if isinstance(value, int) else f'"{value}"'


def file_of(design: dict[str, Any]) -> str:
    """The whole design as a file: what is no table first."""
    lines = [f"{key} = {written(each)}" for key, each in design.items() if key not in ("board", "hives", "make")]
    lines += ["[board]", *(f"{key} = {written(each)}" for key, each in design.get("board", {}).items())]
    for name in ("hives", "make"):
        for table in design[name]:
            lines += [f"[[{name}]]", *(f"{key} = {written(each)}" for key, each in table.items())]
    return "\n".join(lines) + "\n"


def apply(design: dict[str, Any], remedy: tuple[tuple[str, str], ...]) -> dict[str, Any]:
    """The design with each path of a remedy set to its value; "" takes the line out."""
    new: dict[str, Any] = tomllib.loads(file_of(design))
    new.setdefault("board", {})
    for path, text in remedy:
        value = tomllib.loads(f"value = {text}")["value"] if text else None
        table, _, rest = path.partition(".")
        if table == "board":
            put(new["board"], rest, value)
            for make in new["make"]:
                if set(items_of(make)) <= set(BOARD_ITEMS):
                    make.pop(rest, None)  # a board's setting stands under [board]
        elif table == "hives":
            name, _, key = rest.rpartition(".")
            put(next(each for each in new["hives"] if each.get("name", "") == name), key, value)
        elif "." not in rest:
            new["make"].append({"item": rest, **(value or {})})
        else:
            item, _, key = rest.partition(".")
            for make in [each for each in new["make"] if item in items_of(each)]:
                alone = make
                if len(items_of(make)) > 1:
                    make["item"] = [each for each in items_of(make) if each != item]
                    alone = {key: each for key, each in make.items() if key in ("hives", "spare")} | {"item": item}
                    new["make"].append(alone)
                put(alone, key, value)
    return new


def put(table: dict[str, Any], key: str, value: Any) -> None:
    table.pop(key, None)
    if value is not None:
        table[key] = value


def items_of(make: dict[str, Any]) -> list[str]:
    return [make["item"]] if isinstance(make["item"], str) else list(make["item"])


def found_in(shop: Any, design: dict[str, Any]) -> tuple[Finding, ...]:
    return checked(shop, file_of(design), METRIC_LUMBERYARD if design["unit"] == "mm" else shop.lumberyard_text)


@lru_cache(64)
def checked(shop: Any, text: str, lumberyard: str) -> tuple[Finding, ...]:
    """A chain of remedies comes by the designs that each remedy alone made."""
    found: tuple[Finding, ...] = check_batch(still(shop.batch(text, lumberyard)))[1].findings
    return found


METRIC_LUMBERYARD = """format = "woodshop-lumberyard/1"
name = "metric"
unit = "mm"
seen = 2026-09-01
""" + "".join(
    f'[[board]]\nthickness = "19"\nwidth = "{wide}"\nsizes = [{{ length = "2400", price = "9.00" }}]\n'
    for wide in (44, 69, 94, 119, 144, 169, 194, 219, 244, 294)
)


def metric(value: Any) -> Any:
    """The same design in whole millimetres: each bare length brought to the nearest, wood 19 mm thick."""
    if isinstance(value, dict):
        new = {key: each if key in ("name", "frames", "count") else metric(each) for key, each in value.items()}
        return new | {"unit": "mm", "wood": "19"} if "unit" in value else new
    if isinstance(value, list):
        return [metric(each) for each in value]
    if isinstance(value, str) and re.fullmatch(r"[0-9 /]+", value):
        return str(round(read_length(value).mm))
    return value


def worst(findings: tuple[Finding, ...]) -> dict[str, int]:
    told: dict[str, int] = {}
    for each in findings:
        told[each.code] = max(told.get(each.code, -1), WEIGHT[each.severity])
    return told


def mends(shop: Any, design: dict[str, Any], before: tuple[Finding, ...], finding: Finding) -> None:
    """Applied, the finding is gone from its place. Alone in its design, it leaves nothing as grave behind.

    Beside other faults it may uncover one: sugar that holds a board up hides what the board does when it sits.
    """
    wanted = apply(design, finding.remedy)
    text = file_of(design)
    changed = remedied(text, design_changes(finding.remedy, tomllib.loads(text)))
    assert tomllib.loads(changed) == tomllib.loads(file_of(wanted)), finding.remedy
    after = found_in(shop, wanted)
    assert (finding.code, finding.place) not in {(each.code, each.place) for each in after}, finding
    old, new, weight = worst(before), worst(after), WEIGHT[finding.severity]
    if all(each == 0 or code == finding.code for code, each in old.items()):
        worse = {code for code, each in new.items() if each >= max(weight, 1) and each > old.get(code, -1)}
        assert not worse, (finding, [each for each in after if each.code in worse])


def mended(shop: Any, design: dict[str, Any]) -> None:
    """One remedy after another, the gravest first, comes to an end."""
    for _ in range(12):
        cures = [each for each in found_in(shop, design) if each.remedy and each.severity is not Severity.NOTE]
        if not cures:
            return
        design = apply(design, cures[0].remedy)
    raise AssertionError(f"no end: {cures[0]}")


sizes = st.sampled_from


@st.composite
def designs(draw: st.DrawFn) -> dict[str, Any]:
    """A design of one or two groups: boxes, gaps, mountings, strips, mesh, skirts, spacers, covers, quilts."""

    def sometimes(table: dict[str, Any], key: str, *values: Any) -> None:
        if draw(st.integers(0, 2)) == 0:
            table[key] = draw(sizes(values))

    groups = []
    for n in range(draw(st.integers(1, 2))):
        gaps = draw(
            st.lists(sizes(["1/8", "3/16", "1/4", "1/4", "5/16", "3/8", "7/16", "9/16"]), min_size=1, max_size=2)
        )
        group: dict[str, Any] = {
            "name": f"lumberyard {n + 1}",
            "frames": draw(sizes([5, 8, 10])),
            "count": 3,
            "gap": gaps,
        }
        if group["frames"] != 5:
            group["boxes"] = draw(sizes([["deep"], ["medium"]]))
        sometimes(group, "rim_width", "9 1/8", "13 3/4", "14", "16", "16 1/4", "17")
        sometimes(group, "inner_cover", "3/4", "3/8")
        sometimes(group, "cover_skirt", "1 1/2", "2 1/2", "3")
        sometimes(group, "cover_clearance", "1/16", "1/8", "3/8")
        groups.append(group)
    board: dict[str, Any] = {}
    sometimes(board, "mounting", "stapled under", "flush rabbet", "saw groove")
    sometimes(board, "mesh", "1/2 in", "1/3 in", "1/4 in", "1/8 in")
    sometimes(board, "height", "2", "2 1/4", "2 1/2", "3 1/2")
    sometimes(board, "notch_height", "3/16", "1/4", "3/8", "1/2")
    sometimes(board, "notch_rise", "0", "1/4", "1", "1 3/4")
    sometimes(board, "notch_width", "2")
    sometimes(board, "head_room", "0", "1/8")
    if board.get("mounting") == "flush rabbet":
        sometimes(board, "rabbet_height", "3/32", "3/16", "5/16", "7/16")
    if board.get("mounting") == "saw groove":
        sometimes(board, "groove_height", "1/8", "1/4", "3/8")
    strips: dict[str, Any] = {"item": "spacer strips"}
    sometimes(strips, "thickness", "1/8", "1/4", "5/16", "3/8", "1/2")
    makes: list[dict[str, Any]] = [{"item": ["fondant rim", "wire bottom"]}]
    if draw(st.integers(0, 3)):
        makes.append(strips)
    above = draw(sizes(["", "", "quilt box", "feeder quilt"]))
    if above == "quilt box":
        quilt: dict[str, Any] = {"item": above}
        sometimes(quilt, "height", "3 1/2", "4 1/2", "5 1/2")
        sometimes(quilt, "hole", "3/4", "1 1/2")
        makes.append(quilt)
    elif above:
        makes.append({"item": above})
    if draw(st.booleans()):
        spacers: dict[str, Any] = {"item": "vent spacers"}
        sometimes(spacers, "thickness", "3 mm", "4 mm")
        makes.append(spacers)
    return {"format": "woodshop-design/2", "batch": "b", "unit": "in", "lumberyard": "lumberyard.toml", "board": board,
            "hives": groups, "make": makes}  # fmt: skip


THICK_STRIPS_UNDER_A_GROOVE: dict[str, Any] = {
    "format": "woodshop-design/2", "batch": "b", "unit": "in", "lumberyard": "lumberyard.toml",
    "board": {"mounting": "saw groove", "height": "2 1/4", "notch_rise": "1", "notch_width": "2"},
    "hives": [
        {"name": "lumberyard 1", "frames": 10, "count": 3, "gap": ["5/16"], "boxes": ["deep"]},
        {"name": "lumberyard 2", "frames": 10, "count": 3, "gap": ["7/16"], "boxes": ["deep"],
         "cover_skirt": "1 1/2", "cover_clearance": "3/8"},
    ],
    "make": [{"item": ["fondant rim", "wire bottom"]}, {"item": "spacer strips", "thickness": "1/2"},
             {"item": "quilt box"}],
}  # fmt: skip
"""Strips that a mesh in a groove clears, and one under the rim would not."""


def one(board: dict[str, Any] | None = None, makes: list[dict[str, Any]] | None = None, **hives: Any) -> dict[str, Any]:
    """A design of one group of tens with a board; `climate` stands at its head."""
    climate = {"climate": hives.pop("climate")} if "climate" in hives else {}
    group = {"name": "lumberyard 1", "frames": 10, "count": 3, "gap": ["1/4"], **hives}
    head = {"format": "woodshop-design/2", "batch": "b", "unit": "in", "lumberyard": "lumberyard.toml", **climate}
    return {**head, "board": board or {}, "hives": [group], "make": makes or RIM}


def strips_of(**given: Any) -> list[dict[str, Any]]:
    return [{"item": ["fondant rim", "wire bottom"]}, {"item": "spacer strips", **given}]


RIM: list[dict[str, Any]] = [{"item": ["fondant rim", "wire bottom", "spacer strips"]}]
CASES: dict[str, dict[str, Any]] = {
    "sugar-too-high": one({"height": "2"}),
    "block-misses-entrance": one({"notch_width": "2"}),
    "mesh-stops-bees": one({"mesh": "1/8 in"}),
    "vent-in-shavings": one(makes=[{"item": "quilt box", "height": "3 1/2"}]),
    "bees-get-in": one(makes=[{"item": "quilt box", "screen": "1/4 in", "floor": "mesh"}]),
    "entrance-too-low": one({"notch_height": "3/16"}),
    "entrance-lets-mice-in": one({"notch_height": "1/2"}),
    "entrance-below-mesh": one({"mounting": "saw groove", "notch_rise": "0"}),
    "entrance-weakens-rim": one({"height": "2 1/4", "notch_rise": "1 3/4"}),
    "air-dead-end": one({"height": "2 1/16", "head_room": "0", "sugar": "16.17 lb"}, [*RIM, {"item": "feeder quilt"}]),
    "dew-over-the-bees": one(makes=[*RIM, {"item": "quilt box", "shavings": "1"}], climate={"outside": "-20 F"}),
    "mesh-sags": one(makes=strips_of(number=2)),
    "mesh-unsupported": one(makes=[{"item": ["fondant rim", "wire bottom"]}]),
    "rim-leaves-a-way": one(rim_width="15 1/4"),
    "cover-too-small": one(cover_clearance="1/16", rim_width="16 5/8"),
    "skirt-over-entrance": one({"height": "2 1/4"}, cover_skirt="3"),
    "vent-under-skirt": one(makes=[{"item": "quilt box", "height": "4 1/2"}], cover_skirt="3"),
    "rim-off-the-edge": one(rim_width="16 1/2"),
    "strip-lifts-rim": one(makes=strips_of(thickness="1/2"), gap=["5/16"]),
    "strip-bows-mesh": one(makes=strips_of(thickness="9/32")),
    "mesh-near-bars": one(gap=["1/8"]),
    "mesh-far-from-bars": one({"mounting": "flush rabbet", "rabbet_height": "5/16"}),
}
"""For every finding that has a remedy, a design that has the finding."""


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("code", "unit"),
    [(code, unit) for n, code in enumerate(CASES) for unit in (("in", "mm") if IS_NIGHT else (("in", "mm")[n % 2],))],
)
def test_each_finding_with_a_remedy_is_mended_by_it_in_both_units(shop: Any, code: str, unit: str) -> None:
    design = CASES[code] if unit == "in" else metric(CASES[code])
    before = found_in(shop, design)
    cures = [each for each in before if each.code == code and each.remedy]
    assert cures, [(each.code, each.remedy) for each in before]
    for finding in cures:
        mends(shop, design, before, finding)


def test_every_finding_with_a_remedy_has_a_design_above() -> None:
    """Read off the calls in the checks: the eighth argument of a finding is its remedy."""
    codes = set()
    texts = [path.read_text(encoding="utf-8") for path in (Path(__file__).parents[2] / "woodshop").rglob("*.py")]
    for text in texts:
        for node in ast.walk(ast.parse(text)) if "Finding(" in text else ():
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Finding" and len(node.args) == 8:
                codes |= {each.value for each in ast.walk(node.args[0]) if isinstance(each, ast.Constant)}
    assert codes == set(CASES)


def every_remedy_mends(shop: Any, design: dict[str, Any]) -> None:
    try:
        before = found_in(shop, design)
    except InputError:
        return  # refused before anything is checked
    for finding in before:
        if finding.remedy:
            mends(shop, design, before, finding)
    mended(shop, design)


@pytest.mark.invariant
@pytest.mark.slow("one remedy after another, each with checks of a whole design")
@settings(max_examples=tries(30), deadline=None, suppress_health_check=list(HealthCheck))
@given(design=designs())
@example(design=THICK_STRIPS_UNDER_A_GROOVE)
def test_every_remedy_mends_its_finding_and_makes_none_worse(shop: Any, design: dict[str, Any]) -> None:
    every_remedy_mends(shop, design)


@pytest.mark.invariant
@pytest.mark.slow("one remedy after another, each with checks of a whole design")
@settings(max_examples=tries(20), deadline=None, suppress_health_check=list(HealthCheck))
@given(design=designs())
@example(design=THICK_STRIPS_UNDER_A_GROOVE)
def test_every_remedy_mends_its_finding_in_millimetres(shop: Any, design: dict[str, Any]) -> None:
    every_remedy_mends(shop, metric(design))
