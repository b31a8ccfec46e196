"""Every file that a person names is read within limits, and a pipe or a device is never waited for."""

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from woodshop.cli.frame import read_text
from woodshop.cutting.model.reading import parse_json
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyard
from woodshop.design.measured_files import read_measured, read_unit_file
from woodshop.design.sheets import read_grid
from woodshop.errors import InputError
from woodshop.files.one_file import LARGEST, read_file
from woodshop.plan.work.shop_file import read_shop
from woodshop.trade.season.stores import read_stores

READERS: dict[str, Callable[[Path], object]] = {
    "design.toml": read_design,
    "lumberyard.toml": read_lumberyard,
    "measured.toml": read_measured,
    "unit.toml": lambda path: read_unit_file(path, "in"),
    "shop.toml": read_shop,
    "stores.toml": read_stores,
    "orders.csv": read_grid,
    "orders.xlsx": read_grid,
    "plan.json": read_text,
}


GIVEN = {
    "pipe": "a pipe or a device",
    "device": "a pipe or a device",
    "folder": "a folder",
    "link to itself": "cannot be read",
    "long name": "cannot be read",
    "nothing": "no such file",
    "vast": "MB",
}


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize("kind", GIVEN)
def test_what_is_no_plain_file_of_some_size_is_one_error(tmp_path: Path, name: str, kind: str) -> None:
    path = tmp_path / name
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        path.symlink_to("/dev/zero")
    elif kind == "folder":
        path.mkdir()
    elif kind == "link to itself":
        path.symlink_to(path)
    elif kind == "long name":
        path = tmp_path / ("n" * 300 + name)
    elif kind == "vast":
        with path.open("wb") as file:
            file.truncate(10**12)
    with pytest.raises(InputError) as refused:
        READERS[name](path)
    (problem,) = refused.value.problems
    assert GIVEN[kind] in problem.given
    assert problem.do


def test_the_largest_file_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    with (tmp_path / "a").open("wb") as file:
        file.truncate(LARGEST)
    assert len(read_file(tmp_path / "a", "a file")) == LARGEST
    with (tmp_path / "a").open("ab") as file:
        file.write(b"x")
    with pytest.raises(InputError, match="over 16 MB"):
        read_file(tmp_path / "a", "a file")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[" * 100_000, "not JSON"),
        ("[" * 50 + "]" * 50, "nested too deep"),
        ("[" + "1," * 2_000_001 + "1]", "too many values"),
        ('{"a": "\\ud800"}', "half a character"),
        ('{"a": 1, "\\udfff": 1}', "half a character"),
        ('{"a": 1, "a": 2}', "the same key twice"),
        ("[NaN]", "no number"),
        ("[-Infinity]", "no number"),
        ("[" + "9" * 5000 + "]", "not JSON"),
    ],
)
def test_json_is_read_within_limits(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_json(text, "plan")


def test_very_many_keys_are_read_at_once() -> None:
    """Looking each key up among all the others would take hours."""
    many = {str(n): n for n in range(300_000)}
    assert parse_json(json.dumps(many), "plan") == many


@pytest.mark.parametrize("line", ["{} = 1", "[{}]", "b = {{{} = 1}}"])
def test_keys_of_very_many_parts_are_refused_at_once(tmp_path: Path, line: str) -> None:
    line = line.format("a" + ".a" * 200_000)
    (tmp_path / "design.toml").write_text(f'format = "woodshop-design/2"\n{line}\n')
    with pytest.raises(InputError, match="nested too deep"):
        read_design(tmp_path / "design.toml")
