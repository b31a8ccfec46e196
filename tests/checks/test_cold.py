"""The top of the hive in winter: layers as they stand, temperatures by hand, what must hold, what is refused."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.shop_folder import still
from woodshop.checks.check_batch import measured_batch
from woodshop.checks.cold import Top, cold_tops, top_of, what_if
from woodshop.checks.passages import OUT
from woodshop.design.make_units import stacks_of
from woodshop.design.settings.conditions import ClimateTable, settled_climate
from woodshop.documents.report.cold_top import cold_chapter, cold_section
from woodshop.documents.report.report import findings_chapter
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.findings import Severity
from woodshop.hive.passages.top_layers import HeatColumn, columns_over
from woodshop.units.lengths import ZERO, inch, millimetre

QUILT = '[[make]]\nitem = "quilt box"\n'
SHUT = QUILT + 'holes = "none"\n'
SPACERS = '[[make]]\nitem = "vent spacers"\n'
COLD = '\n[climate]\noutside = "14 F"\n'
BOARD = 'item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]'
TOPS = {"board": "", "quilt": QUILT, "shut quilt": SHUT, "spacers": SPACERS, "shut quilt, spacers": SHUT + SPACERS}


def climate(**given: Any) -> Any:
    return settled_climate(ClimateTable.model_validate(given), "in", [])


def tops(shop: Any, more: str) -> tuple[Top, ...]:
    batch = shop.batch(shop.design_text + more + COLD)
    return cold_tops(shop.units(shop.design_text + more + COLD), batch.conditions.climate)


def stack_of(shop: Any, more: str) -> Any:
    units = shop.units(shop.design_text + more)
    return stacks_of({u.line.item.name: u for u in units if u.line.item.per == "hive"})[0]


# ---- layers ------------------------------------------------------------------------------------------


def test_the_layers_are_those_of_the_placed_parts(shop: Any) -> None:
    """From the bars: gap of 1/4 less the mesh's two wires, mesh, sugar, head room, cloth, shavings, air, cover."""
    over, way = columns_over(stack_of(shop, QUILT))
    assert [slab.stuff for slab in over.slabs] == ["air", "mesh", "sugar", "air", "cloth", "shavings", "air", "wood"]
    assert [slab.stuff for slab in way.slabs] == ["air", "mesh", "air", "cloth", "shavings", "air", "wood"]
    sizes = [slab.thick for slab in over.slabs]
    assert sizes[:2] == [inch("1/4"), inch("0.082")]
    assert (sizes[5], sizes[7]) == (inch(2), inch("3/4"))
    assert over.share > 0.9 > 0.1 > way.share > 0


@pytest.mark.invariant
@pytest.mark.parametrize("top", TOPS)
def test_slabs_lie_one_on_the_other_without_a_gap(shop: Any, top: str) -> None:
    for column in columns_over(stack_of(shop, TOPS[top])):
        for below, above in zip(column.slabs, column.slabs[1:], strict=False):
            assert below.high == above.low
        assert min(slab.thick for slab in column.slabs) > ZERO


@pytest.mark.parametrize(("top", "vents"), [
    ("board", ""), ("quilt", "vent holes"), ("shut quilt", ""), ("spacers", "slit under the cover"),
    ("shut quilt, spacers", "slit under the cover"),
])  # fmt: skip
def test_a_top_is_open_where_the_air_path_gets_out(shop: Any, top: str, vents: str) -> None:
    """The column finds its vents by height; the air path, walked by other code, must end within the hive or not."""
    design = shop.design_text + TOPS[top]
    (group,) = measured_batch(still(shop.batch(design)))[2]
    air = group.alternatives[0][1][0][1].air
    column = columns_over(stack_of(shop, TOPS[top]))[0]
    assert column.vents == vents
    assert (column.vented is None) is any(end.step == OUT for end in air.dead_ends)


# ---- figures ------------------------------------------------------------------------------------------


@pytest.mark.outside("resistances of WAC 51-11-0526, ISO 6946 and the rows of sugar and shavings: arithmetic shown")
def test_a_quilt_over_a_board_by_hand(shop: Any) -> None:
    """10 °C at 75 % inside, 14 °F = -10 °C outside, vent holes open.

    Films 0.61 x 0.17611 = 0.1074 each; sugar 2.041 in = 0.05184 m / 0.19 = 0.2728; air space 0.459 in = 11.7 mm:
    1 / (0.025 / 0.01166 + 4.212) = 0.1573; shavings 2 x 2.22 x 0.17611 = 0.7819. Together 1.4268 m2 K/W.
    Underside of the sugar 10 - 20 x 0.1074 / 1.4268 = 8.49 °C; its top 10 - 20 x 0.3802 / 1.4268 = 4.67 °C, under the
    dew point of 5.78 °C: there water comes out first. Over the channel 10 - 20 x 0.1074 / 0.9968 = 7.84 °C, and the
    shavings wanted are (0.1074 x 20 / 4.222 - 0.2148) / (2.22 x 0.17611 / 0.0254) = 19 mm.
    """
    (top,) = tops(shop, QUILT)
    month = top.coldest
    assert round(month.path.underside, 2) == 8.49
    assert round(month.path.faces[1].celsius, 2) == pytest.approx(4.67, abs=0.011)
    assert month.path.wet_first == month.path.faces[1]
    assert month.path.faces[1].below == "packed sugar"
    assert round(month.by_the_way.underside, 2) == 7.85 or round(month.by_the_way.underside, 2) == 7.84
    assert month.shavings * 1000 == pytest.approx(19.1, abs=0.2)


@pytest.mark.outside("CoolProp, HAPropsSI: dew point of moist air at 10 °C and 75 %, at sea level")
def test_the_dew_point_that_tops_are_held_against(shop: Any) -> None:
    from CoolProp.HumidAirProp import HAPropsSI

    (top,) = tops(shop, "")
    theirs = HAPropsSI("D", "T", 283.15, "P", 101_325.0, "R", 0.75) - 273.15
    assert top.coldest.path.dew_point == pytest.approx(theirs, abs=0.02)


def test_foam_under_a_shut_cover_warms_the_ceiling_and_under_an_open_one_does_not(shop: Any) -> None:
    for more, warmer in (("", True), (SPACERS, False)):
        (bare,) = tops(shop, more)
        (foamed,) = (top_of(bare.columns, replace(bare.climate, foam=inch(1))),)
        assert (foamed.coldest.path.underside > bare.coldest.path.underside) is warmer


def test_other_is_the_same_top_the_other_way(shop: Any) -> None:
    (shut,), (opened,) = tops(shop, SHUT), tops(shop, QUILT)
    assert not shut.is_open
    assert opened.is_open
    assert shut.coldest_other.path.underside == pytest.approx(opened.coldest.path.underside)
    assert opened.coldest_other.path.underside == pytest.approx(shut.coldest.path.underside)


def test_what_if_the_air_is_warmer_or_damper(shop: Any) -> None:
    """Both want more shavings: a greater fall of temperature, or a dew point nearer."""
    (top,) = tops(shop, QUILT)
    warmer, damper = what_if(top, "in")
    assert "9 °F warmer" in warmer.words
    assert warmer.month.shavings > top.coldest.shavings < damper.month.shavings


# ---- what must hold -----------------------------------------------------------------------------------


@pytest.mark.invariant
@pytest.mark.parametrize("quilt", [QUILT, SHUT])
@pytest.mark.parametrize("board", [True, False])
def test_more_shavings_as_made_never_lower_the_underside(shop: Any, quilt: str, board: bool) -> None:
    """Through the design, with a board beneath and without."""
    found = []
    for depth in ("1", "2", "3 1/2", "5", "8"):
        design = shop.design_text + quilt + f'shavings = "{depth}"\n' + COLD
        design = design if board else design.replace(BOARD, 'item = "bee-space gauge"')
        (top,) = cold_tops(shop.units(design), shop.batch(design).conditions.climate)
        found.append([path.underside for path in top.coldest.paths])
    assert found == sorted(found)
    assert found[0] != found[-1]


@pytest.mark.invariant
@given(st.floats(-35, 9), st.floats(0.25, 1), st.integers(1, 200), st.integers(0, 200), st.booleans())
@settings(max_examples=tries(60), suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_more_shavings_never_lower_the_underside(
    shop: Any, outside: float, humidity: float, depth: int, more: int, is_open: bool
) -> None:
    """In any weather, over the sugar and over the channel."""
    columns = _quilt(shop, is_open)
    weather = replace(climate(outside="14 F"), humidity=humidity)
    cold = replace(weather.cold[0], outside=replace(weather.cold[0].outside, celsius=outside))
    weather = replace(weather, cold=(cold,))
    less, deeper = (top_of(_filled(columns, mm), weather).coldest for mm in (depth, depth + more))
    for one, other in zip(less.paths, deeper.paths, strict=True):
        assert one.underside <= other.underside + 1e-12
        assert one.u >= other.u - 1e-12
    assert less.shavings == deeper.shavings
    if less.shavings is not None and less.shavings * 1000 <= depth:
        assert less.is_dry or less.shavings * 1000 == pytest.approx(depth)


_KEPT: dict[bool, tuple[HeatColumn, ...]] = {}


def _quilt(shop: Any, is_open: bool) -> tuple[HeatColumn, ...]:
    if is_open not in _KEPT:
        _KEPT[is_open] = columns_over(stack_of(shop, QUILT if is_open else SHUT))
    return _KEPT[is_open]


def _filled(columns: tuple[HeatColumn, ...], mm: int) -> tuple[HeatColumn, ...]:
    def slab(each: Any) -> Any:
        return replace(each, thick=millimetre(mm)) if each.stuff == "shavings" else each

    return tuple(replace(column, slabs=tuple(slab(each) for each in column.slabs)) for column in columns)


# ---- the design ---------------------------------------------------------------------------------------


def told(blocks: Any) -> str:
    return str(blocks)


def test_without_a_climate_nothing_is_asked_and_one_line_says_how_to_get_it(shop: Any) -> None:
    batch = shop.batch()
    units, report, _ = measured_batch(still(batch))
    planned = SimpleNamespace(batch=batch, units=units, report=report, plans=(), lumber=())
    assert batch.conditions.climate is None
    assert cold_chapter(planned).blocks == ()
    assert not any(default.where == "climate" for default in batch.defaults)
    assert 'Give outside = \\"21 F\\"' in told(findings_chapter(planned).blocks) or 'Give outside = "21 F"' in told(
        findings_chapter(planned).blocks
    )
    assert section_text(cold_section(cold_tops(units, None), "in")) == ""


def test_the_page_shows_both_schools_and_lists_what_it_stands_on(shop: Any) -> None:
    design = shop.design_text + QUILT + COLD
    batch = shop.batch(design)
    units, report, _ = measured_batch(still(batch))
    page = told(cold_chapter(SimpleNamespace(batch=batch, units=units, report=report, plans=(), lumber=())).blocks)
    for words in (
        "steady-state estimate",
        "Open at the top, as built",
        "Closed: surface over the bees",
        "some sources call for top and bottom entrances, others for a tight insulated top",
        "the shavings absorb the drip",
        "Sugar conducts 0.19 W/m K",
        "from memory",
    ):
        assert words in page
    listed = {d.name: d for d in batch.defaults if d.where == "climate"}
    assert listed.keys() == {"hive_air", "humidity", "honey"}
    assert listed["hive_air"].value == "50 °F"
    assert "no source" in listed["hive_air"].source


def test_the_check_names_the_cold_cover_of_a_board_without_shavings(shop: Any) -> None:
    found = shop.findings(shop.design_text + SPACERS + COLD)["dew-over-the-bees"]
    assert found.severity is Severity.NOTE
    assert "the cover is as cold as the air outside, and nothing under it absorbs the water that drips" in found.value
    assert "dew-over-the-bees" not in shop.findings(shop.design_text + QUILT + COLD)


def test_too_few_shavings_are_told_with_the_depth_that_would_do(shop: Any) -> None:
    """In air of 92 % an inch is too little; the line proposed is enough, and the finding goes."""
    damp = COLD + 'humidity = "90"\n'
    design = shop.design_text + QUILT + 'shavings = "1"\n' + damp
    found = shop.findings(design)["dew-over-the-bees"]
    ((path, value),) = found.remedy
    assert path == "make.quilt box.shavings"
    mended = design.replace('shavings = "1"', f"shavings = {value}")
    assert "dew-over-the-bees" not in shop.findings(mended)


def test_months_that_are_warm_are_left_out_and_twelve_are_named(shop: Any) -> None:
    twelve = ", ".join(f'"{degrees} F"' for degrees in (21, 23, 32, 43, 54, 63, 68, 66, 59, 48, 37, 26))
    design = shop.design_text + f"[climate]\noutside = [{twelve}]\n"
    (top,) = cold_tops(shop.units(design), shop.batch(design).conditions.climate)
    assert [month.cold.month for month in top.months if month.paths] == [
        "January", "February", "March", "April", "October", "November", "December"]  # fmt: skip
    assert top.coldest.cold.month == "January"
    (values,) = section_json(cold_section((top,), "in"))["cold"]
    assert [month["dew_point"] for month in values["months"]].count(None) == 5


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('outside = "21"', "climate, outside: given '21'; wanted a temperature with its unit"),
        ('outside = ["21 F", "20 F"]', "outside: given 2 values; wanted one figure, or twelve"),
        ('outside = "-90 F"', "outside: given -90 °F; wanted -40 to 45 °C"),
        ('outside = "21 F"\nhumidity = "10"', "humidity: given 10 %; wanted 20 to 100 %"),
        ('outside = "21 F"\nfoam_kind = "straw"', "foam_kind"),
        ('hive_air = "50 F"', "climate, outside: given nothing"),
    ],
)  # fmt: skip
def test_what_is_no_climate_is_refused(shop: Any, lines: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        shop.batch(shop.design_text + f"[climate]\n{lines}\n")
