"""Two settings that say one thing: refused where they differ, taken where they agree. All pairs there are."""

from typing import Any

import pytest

from woodshop.design.tables import BoxKeys, DesignTable
from woodshop.errors import InputError
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import fields_as_parameters

HEAD = 'format = "woodshop-design/2"\nbatch = "b"\nunit = "in"\nlumberyard = "lumberyard.toml"\n'
QUILT = '[[make]]\nitem = "quilt box"\n'
SPACERS = '[[make]]\nitem = "vent spacers"\n'
MEASURED = 'measured = "boxes.toml"\nbox = "tens"\n'
BOXES = 'format = "woodshop-measured/1"\nowner = "o"\n[[box]]\nname = "tens"\nframes = 10\n' + (
    '[[box.hive]]\nlength = "19 7/8"\nwidth = "16 1/4"\nwall = "3/4"\nheight = "9 5/8"\ngap = "1/4"\n' * 3
)


def hives(lines: str) -> str:
    gap = "" if "gap" in lines or "measured" in lines else 'gap = "1/4"\n'
    return f"[[hives]]\nframes = 10\ncount = 2\n{gap}{lines}"


# where each pair may stand: what is set, then two values of the second that differ from and agree with the first
PAIRS: dict[tuple[str, str], tuple[str, str, str]] = {
    ("hives.cover_skirt", "quilt box.skirt"): (
        hives('cover_skirt = "1 1/2"\n') + QUILT + "skirt = {}\n", '"3"', '"1 1/2"'),
    ("hives.cover_skirt", "vent spacers.skirt"): (
        hives('cover_skirt = "1 1/2"\n') + SPACERS + "skirt = {}\n", '"3"', '"1 1/2"'),
    ("quilt box.skirt", "vent spacers.skirt"): (
        hives("") + QUILT + 'skirt = "2"\n' + SPACERS + "skirt = {}\n", '"3"', '"2"'),
    ("hives.cover", "hives.cover_skirt"): (hives("cover = {}\ncover_skirt = 2\n") + QUILT, '"flat"', '"telescoping"'),
    ("hives.cover", "hives.cover_clearance"): (
        hives("cover = {}\ncover_clearance = \"1/8\"\n") + QUILT, '"flat"', '"telescoping"'),
    ("hives.cover", "quilt box.skirt"): (hives('cover = "flat"\n') + QUILT + "skirt = {}\n", '"2"', '"0"'),
    ("hives.cover telescoping", "quilt box.skirt"): (
        hives('cover = "telescoping"\n') + QUILT + "skirt = {}\n", '"0"', '"2"'),
    ("hives.cover_clearance", "vent spacers.clearance"): (
        hives('cover_clearance = "1/8"\n') + SPACERS + "clearance = {}\n", '"1/4"', '"1/8"'),
    ("hives.cover_clearance", "vent spacers.cover_length"): (
        hives('cover_clearance = "1/4"\n') + SPACERS + "cover_length = {}\n", '"20"', '"20 3/8"'),
    ("hives.cover_clearance", "vent spacers.cover_width"): (
        hives('width = "16 1/4"\ncover_clearance = "1/4"\n') + SPACERS + "cover_width = {}\n", '"17"', '"16 3/4"'),
    ("vent spacers.clearance", "vent spacers.cover_length"): (
        hives("") + SPACERS + 'clearance = "1/4"\ncover_length = {}\n', '"21"', '"20 3/8"'),
    ("hives.height", "hives.boxes"): (hives('height = "9 5/8"\nboxes = ["deep", {}]\n') + QUILT, '"medium"', '"9 5/8"'),
    ("hives.bee_space", "hives.gap"): (hives('bee_space = "bottom"\ngap = {}\n') + QUILT, '"1/4"', '"1/16"'),
    ("hives.frames", "measured file"): (hives(MEASURED).replace("frames = 10", "frames = {}") + QUILT, "8", "10"),
    ("hives.width", "measured file"): (hives(MEASURED + "width = {}\n") + QUILT, '"16"', '"16 1/4"'),
    ("hives.length", "measured file"): (hives(MEASURED + "length = {}\n") + QUILT, '"19 1/2"', '"19 7/8"'),
    ("hives.wall", "measured file"): (hives(MEASURED + "wall = {}\n") + QUILT, '"7/8"', '"3/4"'),
    ("hives.height", "measured file"): (hives(MEASURED + "height = {}\n") + QUILT, '"medium"', '"deep"'),
    ("hives.boxes", "measured file"): (hives(MEASURED + 'boxes = ["deep", {}]\n') + QUILT, '"medium"', '"deep"'),
    ("hives.gap", "measured file"): (hives(MEASURED + "gap = {}\n") + QUILT, '"5/16"', '"1/4"'),
    ("board.density", "trial"): (
        '{}[trial]\nmass = "7 lb"\nbox = ["6", "6", "6"]\n' + hives("") + '[[make]]\nitem = "board"\n',
        '[board]\ndensity = "0.8 kg/L"\n', ""),
    ("board", "make of its parts"): (
        '[board]\nmounting = "flush rabbet"\n' + hives("") + '[[make]]\nitem = ["fondant rim", "spacer strips"]\n'
        '[[make]]\nitem = "wire bottom"\nmounting = {}\n', '"saw groove"', '"flush rabbet"'),
}  # fmt: skip


def settled(shop: Any, text: str) -> Any:
    shop._write("boxes.toml", BOXES)
    return shop.batch(HEAD + text)


@pytest.mark.parametrize("pair", PAIRS, ids=" and ".join)
def test_values_that_differ_are_refused_and_equal_ones_are_taken(shop: Any, pair: tuple[str, str]) -> None:
    text, differs, agrees = PAIRS[pair]
    assert settled(shop, text.format(agrees)).lines
    with pytest.raises(InputError) as refused:
        settled(shop, text.format(differs))
    for problem in refused.value.problems:
        assert problem.given
        assert problem.wanted
        assert problem.do


def test_every_pair_of_settings_that_share_a_name_or_a_thing_is_listed_or_is_not_one_thing() -> None:
    """Names that come up in more than one table, and those of the hives that an item asks for under another name."""
    places: dict[str, set[str]] = {}
    for item in items():
        for parameter in item.parameters:
            places.setdefault(parameter.name, set()).add(item.name)
    for name in BoxKeys.model_fields:
        places.setdefault(name.removeprefix("cover_"), set()).add("hives")
    for parameter in fields_as_parameters(BoardSettings):
        places.setdefault(parameter.name, set()).add("board")
    for name in DesignTable.model_fields:
        places.setdefault(name, set()).add("design")
    listed = {name.rpartition(".")[2].removeprefix("cover_") for pair in PAIRS for name in pair}
    # each the thing's own size; the sugar of these hives beside that of a 10-frame board is the more special one
    not_one_thing = {"height", "width", "length", "thickness", "play", "sugar", "wall", "board", "box", "pattern"}
    shared = {name for name, tables in places.items() if len(tables) > 1}
    assert shared - listed <= not_one_thing
    assert {"skirt", "clearance"} <= shared
