"""The fewest sizes of rim for a design, what they save, and the lines that have them made."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.nightly import IS_NIGHT
from tests.once import once
from woodshop.checks.check_batch import check_batch
from woodshop.cli import main
from woodshop.design.design_file import Design, read_design
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.documents.answers.hives import sizes_section
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.plan.fewest_rims import FewestSizes, fewest_for
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import plan_batch
from woodshop.trade.stocking import priced
from woodshop.units.lengths import Length, inch

DESIGNS = Path(__file__).resolve().parents[2] / "designs"
RUN = DESIGNS / "production-run.toml"


@pytest.fixture(scope="module")
def run() -> tuple[Design, Lumberyard]:
    design = read_run(RUN)
    return design, read_lumberyards(design.lumberyards)


@pytest.fixture(scope="module")
def found(run: tuple[Design, Lumberyard]) -> FewestSizes:
    return once("the fewest sizes of the run", lambda: fewest_for(*run, inch("1/16")))


def with_lines(design: Design, found: FewestSizes) -> Design:
    keys = {each.hives: dict(each.keys) for each in found.lines}
    return replace(design, hives=tuple(h.model_copy(update=keys[h.name]) for h in design.hives))


@pytest.mark.invariant
def test_the_run_needs_one_size_for_its_eights_one_for_its_tens_and_one_for_nucs(found: FewestSizes) -> None:
    assert [(size.width, sum(seat.box.count for seat in size.seats)) for size in found.sizes] == [
        (inch(9), 16), (inch("13 7/8"), 138), (inch("16 1/8"), 246),
    ]  # fmt: skip
    assert (found.before.sizes, found.after.sizes) == (6, 3)
    assert found.after.parts < found.before.parts
    assert found.after.stops < found.before.stops
    assert found.spread == (("wren eights", inch("1/16")),)


@pytest.mark.invariant
@pytest.mark.slow("checks a run of 400 hives")
def test_written_into_the_design_the_lines_give_these_sizes(run: tuple[Design, Lumberyard], found: FewestSizes) -> None:
    """Every rim comes out at the size told for its hives; asked again, there is nothing more to save."""
    design, lumberyard = run
    changed = with_lines(design, found)
    told = {seat.box.name: (size.length, size.width) for size in found.sizes for seat in size.seats}
    units, report = check_batch(settle(changed, lumberyard))
    rims = [unit for unit in units if unit.line.item.name in ("fondant rim", "quilt box")]
    assert len(rims) >= 7
    for unit in rims:
        walls = [p for p in unit.assembly.placed if p.part.name in ("side", "end", "front end", "back end")]
        across = max(p.box.high[1] for p in walls) - min(p.box.low[1] for p in walls)
        along = max(p.box.high[0] for p in walls) - min(p.box.low[0] for p in walls)
        assert (along, across) == told[unit.line.hives.name]
    assert not report.has_errors
    again = fewest_for(changed, lumberyard, inch("1/16")) if IS_NIGHT else None
    assert again is None or again.before == again.after == found.after


@pytest.mark.invariant
def test_two_kinds_never_share_an_address_and_each_says_the_size_made(
    run: tuple[Design, Lumberyard], found: FewestSizes
) -> None:
    design, lumberyard = run
    batch = settle(with_lines(design, found), lumberyard)
    units, _ = check_batch(batch)
    by_address: dict[str, set[tuple[Length, Length]]] = {}
    for unit in units:
        if unit.line.item.on_rim:
            outside = unit.line.setting.outside
            by_address.setdefault(unit.line.address, set()).add((outside.long, outside.wide))
            same = outside.wide == unit.line.setting.box.width
            assert (f"made 19 7/8 x {outside.wide.number()}" in unit.line.address) is not same
            assert (f"made 19 7/8 x {outside.wide.number()}" in unit.assembly.title) is not same
    assert all(len(sizes) == 1 for sizes in by_address.values())
    needs = [need for job in parts_needed(batch, units) for need in job.needs]
    assert len({need.address for need in needs}) == len(needs)
    rims = [need for need in needs if need.address.startswith("fondant rim") and need.address.endswith("front end")]
    assert len(rims) == 3


@pytest.mark.invariant
def test_same_box_with_two_sizes_of_rim_keeps_two_addresses(run: tuple[Design, Lumberyard]) -> None:
    """Two groups on one format, one with another rim: their rims do not share an address or a heap."""
    design, lumberyard = run
    hives = tuple(
        h.model_copy(update={"rim_width": inch("16 1/8")}) if h.name == "orchard tens" else h for h in design.hives
    )
    batch = settle(replace(design, hives=hives), lumberyard)
    units, _ = check_batch(batch)
    rims = {u.line.hives.name: u.line.address for u in units if u.line.item.name == "fondant rim"}
    assert rims["north ridge tens"] == "fondant rim / 10-frame 16 1/4"
    assert rims["orchard tens"] == "fondant rim / 10-frame 16 1/4, made 19 7/8 x 16 1/8"
    strips = {u.line.hives.name: u.line.address for u in units if u.line.item.name == "spacer strips"}
    assert strips["orchard tens"] == strips["north ridge tens"] == "spacer strips / 10-frame 16 1/4"


@pytest.mark.invariant
def test_left_out_the_box_s_own_size_is_listed_as_the_default(run: tuple[Design, Lumberyard]) -> None:
    listed = {(d.where, d.name): d.value for d in settle(*run).defaults}
    assert listed["alder creek tens", "rim_width"] == "16 in"
    assert listed["quarry lane eights", "rim_length"] == "19 7/8 in"


@pytest.mark.invariant
@pytest.mark.parametrize(("key", "size"), [("rim_width", "17 3/4"), ("rim_width", "14 3/4"), ("rim_length", "19 1/8")])
def test_a_rim_that_would_not_stand_on_its_box_is_refused(run: tuple[Design, Lumberyard], key: str, size: str) -> None:
    """A side wall 3/4 in thick stands on nothing once it is 3/4 in off; an end with its frame rest, 3/8 in."""
    design, lumberyard = run
    hives = tuple(h.model_copy(update={key: inch(size)}) if h.name == "orchard tens" else h for h in design.hives)
    with pytest.raises(InputError, match=f"{key}.*edge of the box"):
        settle(replace(design, hives=hives), lumberyard)


SMALL = """format = "woodshop-design/2"
batch = "two-kinds"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "wide"
frames = 10
width = "16 1/4"
count = 2
[[hives]]
name = "narrow"
frames = 10
width = "16"
count = 2
[[make]]
item = "feeding shim"
"""


@pytest.mark.invariant
def test_both_ways_planned_the_cost_is_told(tmp_path: Path) -> None:
    """Feeding shims for two widths; at 1/16 one size serves both, a sixteenth inside and a sixteenth over."""
    (tmp_path / "creekside-lumberyard.toml").write_bytes((DESIGNS / "creekside-lumberyard.toml").read_bytes())
    (tmp_path / "small.toml").write_text(SMALL)
    design = read_design(tmp_path / "small.toml")
    found = fewest_for(design, read_lumberyards(design.lumberyards), inch("1/16"))
    money = priced(found, 3)
    assert (money.before.kinds, money.after.kinds) == (2, 1)
    assert (found.before.sizes, found.after.sizes) == (2, 1)
    assert (found.before.parts, found.after.parts) == (3, 2)  # one length of side, two of ends
    assert money.after.settings <= money.before.settings
    assert money.after.least <= money.after.pays
    # three of each kind on a shelf: each rim's share of the boards bought
    batch, units, report = found.both_ways[1]
    planned = plan_batch(batch, units, report)
    made = sum(line.count for line in batch.lines)
    assert money.after.shelf.minor == (planned.total.minor * 3 * 2 + made) // (made * 2)
    section = sizes_section(found, "in", money)
    text = section_text(section)
    assert str(money.before.pays) in text
    assert "3 of each in stock" in text
    assert section_json(section)["after"]["cost"] == str(money.after.pays)


BOARD = """format = "woodshop-design/2"
batch = "one-kind"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[board]
mounting = "{mounting}"
[[hives]]
frames = 10
gap = "1/4"
count = 2
{size}
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "quilt box", "feeding shim"]
"""


@pytest.mark.invariant
@pytest.mark.parametrize(("rim", "box"), [("16", "16 1/4"), ("16 1/4", "16")])
@pytest.mark.parametrize("mounting", ["stapled under", "flush rabbet", "saw groove"])
def test_the_checks_find_what_they_find_for_rim_and_box_alike(
    tmp_path: Path, rim: str, box: str, mounting: str
) -> None:
    """Landing, notch and mesh over the bars are those of a like rim on a like box; the eighth over the edge besides."""
    (tmp_path / "creekside-lumberyard.toml").write_bytes((DESIGNS / "creekside-lumberyard.toml").read_bytes())

    def found(size: str) -> list[tuple[str, str, str]]:
        file = tmp_path / "one.toml"
        file.write_text(BOARD.format(mounting=mounting, size=size))
        design = read_design(file)
        _, report = check_batch(settle(design, read_lumberyards(design.lumberyards)))
        return [(f.code, str(f.severity), f.value) for f in report.findings]

    mixed, alike = found(f'width = "{box}"\nrim_width = "{rim}"'), found(f'width = "{rim}"')
    not_the_rims = ("loose-frames", "gaps-vary")  # the box's own, and how it varies
    mixed, alike = ([each for each in both if each[0] not in not_the_rims] for both in (mixed, alike))
    off = [each for each in mixed if each[0] == "rim-off-the-edge"]
    assert [each for each in mixed if each not in off] == alike
    # the quilt box stands on the rim, which is as wide
    assert sorted(value[:16] for _, _, value in off) == ["the feeding shim", "the fondant rim "]
    assert all("1/8 in" in value for _, _, value in off)


@pytest.mark.invariant
def test_the_lines_name_the_sizes_and_what_is_still_made_to_each_box(found: FewestSizes) -> None:
    said = section_text(sizes_section(found, "in"))
    assert 'rim_width = "16 1/8 in"' in said
    assert "Still made to each box: spacer strips" in said


@pytest.mark.invariant
def test_the_command_prints_those_lines(tmp_path: Path) -> None:
    (tmp_path / "creekside-lumberyard.toml").write_bytes((DESIGNS / "creekside-lumberyard.toml").read_bytes())
    (tmp_path / "small.toml").write_text(SMALL)
    design = read_design(tmp_path / "small.toml")
    told = CliRunner().invoke(main, ["sizes", str(tmp_path / "small.toml")])
    assert told.exit_code == 0
    assert (
        section_text(sizes_section(fewest_for(design, read_lumberyards(design.lumberyards), inch("1/16")), "in"))
        in told.output
    )


@pytest.mark.invariant
@pytest.mark.slow("at night the fewest sizes for a run of 400 hives")
def test_the_command_prints_pure_json(tmp_path: Path) -> None:
    (tmp_path / "creekside-lumberyard.toml").write_bytes((DESIGNS / "creekside-lumberyard.toml").read_bytes())
    (tmp_path / "small.toml").write_text(SMALL)
    small = json.loads(CliRunner().invoke(main, ["sizes", str(tmp_path / "small.toml"), "--json"]).stdout)
    design = read_design(tmp_path / "small.toml")
    assert small == section_json(
        sizes_section(fewest_for(design, read_lumberyards(design.lumberyards), inch("1/16")), "in")
    )
    if IS_NIGHT:
        machine = json.loads(CliRunner().invoke(main, ["sizes", str(RUN), "--overhang", "1/32", "--json"]).stdout)
        assert [size["width"] for size in machine["sizes"]] == ["9 in", "13 13/16 in", "14 in", "16 in", "16 1/4 in"]
        assert machine["write"]["wren eights"] == {"rim_width": "13 13/16 in"}
    bad = CliRunner().invoke(main, ["sizes", str(RUN), "--overhang", "wide", "--json"])
    assert bad.exit_code == 3
    assert json.loads(bad.stdout)["errors"][0]["given"] == "'wide'"
