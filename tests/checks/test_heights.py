"""How high a wall is made of the boards there are: their full width, or ripped to the height needed."""

from typing import Any

import pytest

from tests.shop_folder import DESIGN, LUMBERYARD
from woodshop.design.make_units import make_units
from woodshop.documents.answers.listings import parameter_row
from woodshop.findings import Severity
from woodshop.hardware.catalogue import find_item
from woodshop.page.fields import setting_hint
from woodshop.units.lengths import inch, millimetre

QUILT = '[[make]]\nitem = "quilt box"\n'
FIRST, _, REST = LUMBERYARD.partition("[[board]]")
NO_BOARDS = FIRST + "[[roll]]" + REST.partition("[[roll]]")[2].partition("[[offcut]]")[0]
WIDE = '\n[[board]]\nthickness = "3/4"\nwidth = "{}"\nwood = "pine"\nsizes = [{{ length = "8 ft", price = "20.00" }}]\n'
BLOCKS = '\n[[board]]\nnominal = "2x4"\nwood = "spruce"\nsizes = [{ length = "8 ft", price = "5.00" }]\n'


def heights(shop: Any, text: str, *widths: str) -> dict[str, Any]:
    """The height of the sides of each item, with only these widths of board for sale."""
    lumberyard = NO_BOARDS + BLOCKS + "".join(WIDE.format(each) for each in widths)
    made = {unit.line.item.name: unit for unit in make_units(shop.batch(text, lumberyard))}
    return {name: sides[0].part.width for name, unit in made.items() if (sides := unit.assembly.named("side"))}


def found(shop: Any, text: str, *widths: str) -> dict[str, Any]:
    lumberyard = NO_BOARDS + BLOCKS + "".join(WIDE.format(each) for each in widths)
    findings: dict[str, Any] = shop.findings(text, lumberyard)
    return findings


def test_walls_are_ripped_if_every_board_is_far_too_wide(shop: Any) -> None:
    """A quilt box needs 2 in of shavings, a hole of 1 in and a skirt of 2 1/4 in: 5 1/4 in. A rim needs 2.416 in."""
    assert heights(shop, DESIGN + QUILT, "11 1/4") == {"fondant rim": inch("2 7/16"), "quilt box": inch("5 1/4")}


@pytest.mark.parametrize(
    ("width", "high"),
    [("5 1/2", "5 1/2"), ("7 1/4", "7 1/4"), ("7 5/16", "5 1/4"), ("11 1/4", "5 1/4")],
)
def test_a_board_up_to_two_inches_wider_is_used_at_its_full_width(shop: Any, width: str, high: str) -> None:
    """5 1/4 + 2 = 7 1/4: the last width that is not ripped."""
    assert heights(shop, DESIGN + QUILT, "2 1/2", width)["quilt box"] == inch(high)


def test_a_quilt_box_and_a_feeding_shim_take_ripped_as_a_rim_does(shop: Any) -> None:
    """A cake 1 1/2 in thick, 1/4 in of it in the gap over the bars, and 3/8 in over it: 1 5/8 in."""
    assert heights(shop, DESIGN + QUILT + "ripped = true\n", "3 1/2", "5 1/2") == {
        "fondant rim": inch("3 1/2"),
        "quilt box": inch("5 1/4"),
    }
    shim = DESIGN.replace('"fondant rim", "wire bottom", "spacer strips", "packing blocks"', '"feeding shim"')
    assert heights(shop, shim, "2 1/2") == {"feeding shim": inch("2 1/2")}
    assert heights(shop, shim + 'ripped = true\ncake = "1 1/2"\n', "2 1/2") == {"feeding shim": inch("1 5/8")}


def test_a_metric_wall_is_ripped_from_fifty_millimeters_more(shop: Any) -> None:
    """50 mm of shavings, a hole of 25 mm and a skirt of 57 mm need 132 mm; 182 mm is 50 more, 183 mm is too wide."""
    text = DESIGN.replace('unit = "in"', 'unit = "mm"').replace('gap = "1/4"', 'gap = "6.5"\ncover_skirt = "57"')
    assert heights(shop, text + QUILT, "182 mm")["quilt box"] == millimetre(182)
    assert heights(shop, text + QUILT, "183 mm")["quilt box"] == millimetre(132)


def test_a_ripped_wall_is_reported_with_the_width_it_comes_from(shop: Any) -> None:
    note = found(shop, DESIGN + QUILT, "2 1/2", "11 1/4")["wall-is-ripped"]
    assert (note.severity, note.place) == (Severity.NOTE, "quilt box / 10-frame 16 1/4")
    assert note.value == "5 1/4 in high, ripped from boards 11 1/4 in wide"
    assert "set height under [[make]]" in note.change
    rim = found(shop, DESIGN, "11 1/4")["wall-is-ripped"]
    assert rim.value == "2 7/16 in high, ripped from boards 11 1/4 in wide"
    assert "set height under [board]" in rim.change


@pytest.mark.parametrize("more", ['height = "4"', 'height = "11 1/4"', "ripped = true"])
def test_a_height_that_was_asked_for_is_not_reported(shop: Any, more: str) -> None:
    assert "wall-is-ripped" not in found(shop, f"{DESIGN}{QUILT}{more}\n", "2 1/2", "11 1/4")


def test_the_note_on_density_says_that_the_height_is_the_width_of_a_board(shop: Any) -> None:
    """Of 2.416 in needed, 2 1/2 in are made. A ripped rim has no room to spare, so looser sugar is too high in it."""
    note = found(shop, DESIGN, "2 1/2")["density-decides-lumber"]
    assert note.value == "a rim 2 1/2 in high, the full width of its boards, for sugar of 0.85 kg/L"
    ripped = found(shop, DESIGN, "11 1/4")["density-decides-lumber"]
    assert ripped.value == "a rim 2 7/16 in high, ripped to the height needed, for sugar of 0.85 kg/L"
    assert ripped.change.startswith("The rim may be too low. Before you cut, pack a box of known size")


def test_the_default_of_a_height_says_how_it_is_chosen() -> None:
    """On the page as in the listing. The full width of a board is not calculated; the number of strips is."""
    rows = {
        f"{item}.{each.name}": parameter_row(each, "in")
        for item in ("quilt box", "feeding shim", "spacer strips")
        for each in find_item(item).parameters
    }
    for name in ("quilt box.height", "feeding shim.height"):
        assert "then the next full width of a board" in rows[name]["source"]
        assert "calculated" not in setting_hint(rows[name], "in", "in")
    assert setting_hint(rows["spacer strips.number"], "in", "in").endswith(
        "Default: calculated from the sag of the mesh."
    )
