"""A setting has the same least and most wherever it can be given, and every value of a list is held to them."""

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodshop.cli import main
from woodshop.design.design_file import design_of
from woodshop.design.measured_files import read_measured, read_unit_file, sizes_given
from woodshop.design.orders.lines import read_run
from woodshop.design.schema import load
from woodshop.design.settle.settle import settle
from woodshop.design.tables import BoxKeys
from woodshop.errors import InputError
from woodshop.hardware.board import LIMITS, BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import fields_as_parameters
from woodshop.hive.variation.sizes import HiveSize, Work
from woodshop.trade.compare import into_design
from woodshop.units.lengths import inch, read_length
from woodshop.units.wording import INCHES

LUMBERYARD = Path(__file__).parents[2] / "designs" / "creekside-lumberyard.toml"
HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
MAKE = '[[make]]\nitem = ["board", "quilt box", "vent spacers"]\n'
HIVES = "[[hives]]\nframes = 10\ncount = 2\n"
ORDER = '[[order]]\ncustomer = "c"\nitem = "board"\nbox = "x"\ncount = 2\nform = "packed"\n'
MOST: dict[str, str] = {
    "sugar": "60 lb", "density": "1.4 kg/L", "gap": "16 1/4", "length": "40", "width": "40", "height": "17",
    "wall": "4", "rim_length": "40", "rim_width": "40", "frame_depth": "17", "inner_cover": "4", "cover_skirt": "7",
    "cover_clearance": "2",
}  # fmt: skip
LISTS = {"gap": ["1/4", "16 1/4"], "boxes": ["deep", "17"], "frame_depth": ["9 1/8", "17"]}
# what an item or the board calls a setting of the hives that is the same thing
SAME_THING = {
    ("board", "sugar"): "sugar",
    ("board", "density"): "density",
    ("quilt box", "skirt"): "cover_skirt",
    ("vent spacers", "skirt"): "cover_skirt",
    ("vent spacers", "clearance"): "cover_clearance",
}


def toml(value: Any) -> str:
    return "[" + ", ".join(f'"{each}"' for each in value) + "]" if isinstance(value, list) else f'"{value}"'


def refused(path: Path, text: str) -> str:
    """What is wanted, of the one problem of this design."""
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_run(path)
    (problem,) = caught.value.problems
    assert problem.do == "Give a value in that range."
    return problem.wanted


def words(key: str) -> str:
    limits = LIMITS[key]
    if key in ("sugar", "density"):
        return f"{limits.least} to {limits.most}"
    return f"{read_length(limits.least)} to {read_length(limits.most)}"


def test_every_limit_is_tried_and_every_key_of_a_box_that_has_a_size_has_a_limit() -> None:
    assert set(MOST) == set(LIMITS)
    sizes = {name for name, field in BoxKeys.model_fields.items() if "Length" in str(field) or "Mass" in str(field)}
    assert sizes - {"boxes"} == set(LIMITS) - {"density"}


@pytest.mark.parametrize("key", [key for key in MOST if key != "density"])
@pytest.mark.parametrize("table", ["hives", "box", "vary"])
def test_hives_boxes_of_orders_and_varied_keys_have_one_range(tmp_path: Path, table: str, key: str) -> None:
    line, path = f"{key} = {toml(MOST[key])}\n", tmp_path / "design.toml"
    text = HEAD + (f'[[box]]\nname = "x"\nframes = 10\n{line}{ORDER}' if table == "box" else f"{HIVES}{line}{MAKE}")
    if table == "vary":
        path.write_text(f"{HEAD}{HIVES}{MAKE}")
        with pytest.raises(InputError) as caught:
            design_of(into_design(((f"hives.{key}", MOST[key]),), load(path, "design")), path)
        assert [each.where for each in caught.value.problems] == [f"design.toml, hives number 1, {key}"]
        assert words(key) in caught.value.problems[0].wanted
        return
    assert words(key) in refused(tmp_path / "design.toml", text)


@pytest.mark.parametrize("key", LISTS)
@pytest.mark.parametrize("table", ["hives", "box"])
def test_every_value_of_a_list_is_held_to_the_range(tmp_path: Path, table: str, key: str) -> None:
    line = f"{key} = {toml(LISTS[key])}\n"
    text = HEAD + (f'[[box]]\nname = "x"\nframes = 10\n{line}{ORDER}' if table == "box" else f"{HIVES}{line}{MAKE}")
    path = tmp_path / "design.toml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_run(path)
    assert words("height" if key == "boxes" else key) in str(caught.value)
    assert f"{key} number 2" in str(caught.value)


@pytest.mark.parametrize(("where", "key"), SAME_THING.items())
def test_an_item_and_the_board_have_the_range_of_the_hives(tmp_path: Path, where: tuple[str, str], key: str) -> None:
    table, name = where
    line = f"{name} = {toml(MOST[key])}\n"
    more = f"[board]\n{line}" if table == "board" else f'[[make]]\nitem = "{table}"\n{line}'
    assert words(key) in refused(tmp_path / "design.toml", f'{HEAD}{HIVES}[[make]]\nitem = "board"\n{more}')
    (tmp_path / "lumberyard.toml").write_bytes(LUMBERYARD.read_bytes())
    flags = [
        "--frames",
        "10",
        "--count",
        "2",
        "--lumberyard",
        "lumberyard.toml",
        "--set",
        f"{table}.{name}={MOST[key]}",
    ]
    make = [] if table == "board" else ["--make", table]
    done = CliRunner().invoke(main, ["new", str(tmp_path / "new.toml"), *flags, *make])
    assert (done.exit_code, words(key) in done.stderr) == (3, True), done.output


def test_no_other_setting_of_an_item_is_called_like_one_of_the_hives_or_the_board() -> None:
    """A new double door must be named above: those below share a name and are each the item's own."""
    own = {"height", "width", "thickness", "play", "skirt", "clearance"}
    names = [(item.name, each.name) for item in items() for each in item.parameters]
    shared = {*LIMITS, *(each.name for each in fields_as_parameters(BoardSettings)), "skirt", "clearance"}
    assert {name for of, name in names if name in shared and (of, name) not in SAME_THING} <= own


@pytest.mark.parametrize(
    ("key", "value"), [(k, v) for k, v in MOST.items() if k in ("length", "width", "wall", "height", "gap")]
)
def test_a_measured_file_has_the_range_of_the_hives(tmp_path: Path, key: str, value: str) -> None:
    row = {"length": "19 7/8", "width": "16 1/4", "gap": "1/4"} | {key: value}
    good = '[[box.hive]]\nlength = "19 7/8"\nwidth = "16 1/4"\ngap = "1/4"\n'
    bad = "[[box.hive]]\n" + "".join(f'{name} = "{each}"\n' for name, each in row.items())
    path = tmp_path / "boxes.toml"
    head = 'format = "woodshop-measured/1"\nowner = "o"\n[[box]]\nname = "x"\nframes = 10\n'
    path.write_text(head + good * 2 + bad)
    with pytest.raises(InputError) as caught:
        read_measured(path)
    (problem,) = caught.value.problems
    assert words(key) in problem.wanted
    assert problem.where == f"boxes.toml, box number 1, hive number 3, {key}"


def test_a_gap_measured_of_a_unit_has_the_range_of_the_hives(tmp_path: Path) -> None:
    path = tmp_path / "unit.toml"
    path.write_text('format = "woodshop-unit/1"\n[measured.hive]\ngap = "1 1/2"\n')
    size = HiveSize("gap", inch("3/4"), work=Work.GAP)
    with pytest.raises(InputError) as caught:
        sizes_given(read_unit_file(path, "in"), {"hive": {"gap": size}}, INCHES)
    assert words("gap") in caught.value.problems[0].wanted


def test_a_trial_that_comes_to_no_density_of_sugar_is_refused_as_such_a_density_is(shop: Any) -> None:
    trial = '[trial]\nmass = "40 lb"\nbox = ["6", "6", "6"]\n'
    with pytest.raises(InputError) as caught:
        settle(shop.design(f"{HEAD}{trial}{HIVES}{MAKE}"), shop.lumberyard())
    (problem,) = caught.value.problems
    assert words("density") in problem.wanted
    assert "trial" in problem.where
