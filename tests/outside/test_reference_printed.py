"""The rows agree with print. Values are typed as their source writes them, source and locator beside.

Where the source itself could not be opened, the place where its value was read is named with it.
What is remembered, practice or computed is not checked here: agreement with oneself proves nothing.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from woodshop.reference import facts
from woodshop.reference.boxes import box_height, box_size, frame_depth
from woodshop.reference.facts import Fact, fact
from woodshop.reference.limits import band
from woodshop.reference.materials import dressed, mesh, passages
from woodshop.units.lengths import LITRES_PER_US_CUP, litres, pound, read_length, read_mass

PS_20 = "NIST Voluntary Product Standard PS 20, as tabulated by Engineering ToolBox, Softwood lumber: standard sizes"
BLACKISTON = "Howland Blackiston, Building Beehives, cut list"
PINEY = "Piney Woods Beekeepers, Candy Board Feeder and Recipe"
SAGADAHOC = "Sagadahoc County Beekeepers, Easy Candy Board"
CUSHMAN_PAGE = "beginner-beekeeping.co.uk, Bee space, after Cushman"
SUPPLY_A = "a US bee-supply house, hive body size page"
SUPPLY_C = "another US bee-supply house, box weights"
QUILT = "Honey Bee Suite, Moisture quilt"

LENGTHS = {
    BLACKISTON: {
        "box.length": "19-7/8",
        "box.wall": "3/4",
        "box.corner_rabbet_width": "3/4",
        "box.corner_rabbet_depth": "3/8",
    },
    "Howland Blackiston, Building Beehives, vital stats": {
        "cover.length": "22",
        "cover.width_10": "18",
        "cover.width_8": "15-3/4",
    },
    SUPPLY_A: {
        "box.width_10.sixteen": "16",
        "box.width_8": "14",
        "box.height_deep": "9-5/8",
        "box.height_medium": "6-5/8",
        "box.height_shallow": "5-7/8",
    },
    "hobby builders' quilt box pages": {"box.width_10": "16-1/4", "quilt.height": "3-1/2"},
    "Walter T. Kelley, How to Keep Bees and Sell Honey, ch. 3": {"box.height_deep.manual": "9-9/16"},
    "The Hive and the Honey Bee, as quoted on Beesource": {"box.height_deep.handbook": "9-19/32"},
    "a third US bee-supply house, size page": {"box.height_shallow.low": "5-3/4"},
    "Beesource forum, Building Hives": {"box.height_deep.builders": "9-1/2"},
    "Beesource forum, The making of a frame": {
        "box.rabbet_depth": "5/8",
        "box.rabbet_depth.metal": "7/8",
        "box.rabbet_width": "3/8",
        "frame.top_bar_length": "19",
    },
    "Beesource forum, Why is a Langstroth body the width that it is": {
        "box.inside_length.old": "18-5/16",
        "box.inside_width_10.old": "14-11/16",
        "frame.end_bar_width": "1-3/8",
    },
    "Beesource forum, Bee space is extremely important": {
        "box.gap_over_top_bars.supplied": "3/16",
        "box.gap_over_top_bars.flush": "3/8",
    },
    "Beesource forum, Wet hive": {"opening.upper_notch_height": "1/4", "opening.upper_notch_width": "3"},
    "Beesource forum, Quilt box ventilation": {
        "quilt.height.skimpy": "3",
        "quilt.height.used": "4-1/2",
        "quilt.height.preferred": "5-1/2",
    },
    "Beesource forum, Dimensions crucial for telescoping cover?": {
        "cover.clearance": "1/4",
        "cover.skirt_most": "4",
    },
    "E. F. Phillips, Bees, USDA Farmers' Bulletin 447 (1911), Hives": {
        "frame.length": "17-5/8",
        "frame.depth_deep": "9-1/8",
    },
    "bee-supply houses' frame size pages": {"frame.depth_medium": "6-1/4", "frame.depth_shallow": "5-3/8"},
    "Roy Hendrickson, The Bee Space, Bee Culture, Summer 2016": {"box.maker_tolerance": "1/4"},
    "A. J. Cook, Manual of the Apiary": {"box.wall.cook": "1"},
    "Wikibooks, British National": {
        "box.national_side": "18-1/8",
        "box.national_brood_height": "8-7/8",
        "box.national_super_height": "5-7/8",
        "box.national_inside_width": "16-5/8",
        "box.national_inside_length": "14-5/8",
        "frame.national_top_bar_length": "17",
        "frame.national_length": "14",
        "frame.national_depth": "8-1/2",
        "frame.lug_length": "7/8",
    },
    "Howland Blackiston, Building Beehives, cut list of the British National": {
        "frame.national_end_bar_width": "1-3/8",
        "frame.national_end_bar_thickness": "3/8",
        "frame.national_bottom_bar_width": "3/4",
        "frame.national_bottom_bar_thickness": "3/8",
    },
    "Apicoltura Giordano, Come costruire un'arnia": {
        "dadant_blatt.inside_length": "450 mm",
        "dadant_blatt.inside_width": "385 mm",
        "dadant_blatt.wall": "25 mm",
        "dadant_blatt.end_wall": "25 mm",
        "dadant_blatt.rest": "15 mm",
        "dadant_blatt.rest_depth": "18 mm",
        "dadant_blatt.floor_height": "338 mm",
        "dadant_blatt.under_frames": "30 mm",
        "dadant_blatt.height_brood": "318 mm",
        "dadant_blatt.height_super": "168 mm",
    },
    "a Russian beekeeping journal's page, Frames with lugs that come off": {
        "dadant_blatt.top_bar_length": "470 mm",
        "dadant_blatt.end_bar_width": "25 mm",
        "dadant_blatt.end_bar_thickness": "10 mm",
        "dadant_blatt.bottom_bar_thickness": "10 mm",
        "dadant_blatt_square.top_bar_length": "470 mm",
        "dadant_blatt_square.end_bar_width": "25 mm",
        "dadant_blatt_square.end_bar_thickness": "10 mm",
        "dadant_blatt_square.bottom_bar_thickness": "10 mm",
    },
    "a book of tips for beekeepers, in Russian, Hive of Dadant and Blatt": {
        "dadant_blatt.top_bar_width": "25 mm",
        "dadant_blatt_square.top_bar_width": "25 mm",
        "dadant_blatt_square.frame_depth_brood": "300 mm",
    },
    "a Russian beekeeping journal's page, The hive frame": {
        "dadant_blatt.top_bar_thickness": "20 mm",
        "dadant_blatt_square.top_bar_thickness": "20 mm",
    },
    "Edouard Bertrand, La conduite du rucher": {
        "dadant_blatt.frame_length": "435 mm",
        "dadant_blatt.spacing": "37 mm",
        "dadant_blatt.frame_depth_super": "160 mm",
        "dadant_blatt_square.inside_length": "450 mm",
        "dadant_blatt_square.inside_width": "450 mm",
        "dadant_blatt_square.frame_length": "435 mm",
        "dadant_blatt_square.spacing": "37 mm",
        "dadant_blatt_square.height_super": "167 mm",
        "dadant_blatt_square.frame_depth_super": "160 mm",
    },
    "Polish Wikibooks, Ramka": {
        "dadant_blatt.frame_depth_brood": "300 mm",
        "langstroth_metric.frame_length": "448 mm",
        "langstroth_metric.frame_depth_deep": "232 mm",
    },
    "a Russian beekeeping page, Bortnik, Hives": {
        "dadant_blatt_square.wall": "37 mm",
        "dadant_blatt_square.end_wall": "37 mm",
        "dadant_blatt_square.rest": "11 mm",
    },
    "a Russian beekeeping book, A few words on bees": {
        "dadant_blatt_square.height_brood": "320 mm",
    },
    "AGA, La colmena y sus diferentes materiales y componentes, Langstroth": {
        "langstroth_metric.inside_length": "465 mm",
    },
    "Corona Apicultura, Colmena Langstroth": {
        "langstroth_metric.inside_width": "375 mm",
        "langstroth_metric.wall": "20 mm",
        "langstroth_metric.end_wall": "20 mm",
        "langstroth_metric.rest": "10 mm",
        "langstroth_metric.rest_depth": "16 mm",
        "langstroth_metric.height_deep": "242 mm",
    },
    "Alpentrogbeute, Bemessung der Rähmchen": {
        "langstroth_metric.lug_thickness": "10 mm",
        "deutsch_normal.top_bar_length": "394 mm",
    },
    "Honigimker, Die verschiedenen Beuten und Kästen": {
        "langstroth_metric.top_bar_length": "482 mm",
    },
    "beekeepers' club of Schwäbisch Hall, Ausrüstung selbst machen": {
        "langstroth_metric.end_bar_width": "35 mm",
        "langstroth_metric.spacing": "35 mm",
        "zander.frame_length": "420 mm",
        "zander.spacing": "35 mm",
        "zander.frame_depth_deep": "220 mm",
        "deutsch_normal.frame_length": "370 mm",
        "deutsch_normal.spacing": "35 mm",
        "deutsch_normal.frame_depth_deep": "223 mm",
    },
    PS_20: {
        "lumber.thickness_1": "3/4",
        "lumber.thickness_1_1_4": "1",
        "lumber.thickness_1_1_2": "1-1/4",
        "lumber.width_2": "1-1/2",
        "lumber.width_3": "2-1/2",
        "lumber.width_4": "3-1/2",
        "lumber.width_5": "4-1/2",
        "lumber.width_6": "5-1/2",
        "lumber.width_7": "6-1/2",
        "lumber.width_8": "7-1/4",
        "lumber.width_9": "8-1/4",
        "lumber.width_10": "9-1/4",
        "lumber.width_11": "10-1/4",
        "lumber.width_12": "11-1/4",
        "lumber.green_thickness_1": "25/32",
        "lumber.green_width_4": "3-9/16",
        "lumber.green_width_6": "5-5/8",
    },
    "Woodbin, Lumber dimensions": {"lumber.hardwood_4_4_s2s": "13/16"},
    "sizes.com, lumber (cites PS 20-05)": {
        "lumber.shortest_stocked": "6 ft",
        "lumber.longest_stocked": "16 ft",
        "lumber.length_step": "2 ft",
    },
    "APA performance category table, after Voluntary Product Standard PS 1": {
        "panel.size_under_most": "1/16",
        "panel.thickness_off_unsanded": "1/32",
        "panel.thickness_off_sanded": "1/64",
    },
    "a web summary of sheet gauges, 20 gauge": {
        "metal.sheet_20_plain": "0.0359",
        "metal.sheet_20_galvanised": "0.0396",
        "metal.sheet_20_aluminium": "0.0320",
    },
    "Wikipedia, Corrugated plastic: 3, 4 and 5 mm": {
        "plastic.fluted_thickness": "4 mm",
        "plastic.fluted_thickness.thin": "3 mm",
        "plastic.fluted_thickness.thick": "5 mm",
    },
    "Dave Cushman, Bee-L list, 10 June 2001: 8 mm (5/16 in)": {
        "opening.mouse_slot": "8 mm",
    },
    "a British beekeeping forum, mouse guards: 9 mm bore sold as 3/8 in; NSW DPI quoted, mice pass 8 mm": {
        "opening.mouse_hole": "9 mm",
        "opening.mouse_hole.sold": "3/8",
        "opening.mouse_skull": "10 mm",
        "opening.mouse_slot.contrary": "8 mm",
    },
    "Wiltshire Beekeepers' Association, hornet note": {
        "opening.hornet_gap": "6.0 mm",
        "opening.hornet_gap_too_wide": "6.5 mm",
    },
    "The Hive and the Honey Bee, 1949, p. 239, as cited on Beesource": {"opening.queen_excluder": "0.163"},
    CUSHMAN_PAGE: {
        "opening.pollen_stripper": "5 mm",
        "bee_space.propolis_below": "4 mm",
        "bee_space.between_combs_least": "6 mm",
    },
    "How-To, Body of hive": {"opening.entrance_height": "3/8", "opening.entrance_length": "4"},
    "Mud Songs, 2010": {"opening.reducer_height": "1 cm", "opening.reducer_length": "6 cm"},
    "Gene Kritsky, The Quest for the Perfect Hive, 2010, p. 116": {"bee_space.langstroth": "3/8"},
    "Wade and Derwent, Bee Buzz Box, July 2020": {"bee_space.wade": "9 mm"},
    "Michael Bush, list of meshes (#4, #8)": {"opening.worker_easy": "1/4", "opening.bee_stopped": "1/8"},
    PINEY: {
        "rim.height_least": "2",
        "rim.height_most": "4",
        "wire_bottom.mesh": "1/2",
        "wire_bottom.mesh_finest": "1/4",
        "sugar.layer": "1-1/2",
        "sugar.block_length": "11",
        "sugar.block_width": "7",
        "sugar.block_thickness": "2",
    },
    SAGADAHOC: {
        "rim.height.low": "1-3/4",
        "wire_bottom.liner_turn_up": "1/2",
        "opening.upper_hole": "3/8",
    },
    "a maker of spacer rims": {"rim.height.spacer": "1-1/2", "rim.head_room.maker": "1/2"},
    "Stanwood-Camano Beekeepers, dry sugar on newspaper": {"rim.head_room.shim": "3/4"},
    QUILT: {"quilt.hole_diameter": "1", "quilt.shavings_depth": "2"},
    "a second US bee-supply house, quilt box instructions": {"quilt.vent_square": "1-1/2"},
    "California Code of Regulations, Title 8, s. 4296": {"saw.riving_knife_gap_most": "1/2"},
    "Little House on the Big Hill, telescoping cover": {
        "cover.skirt_depth": "2-1/4",
        "cover.frame_side": "20-1/8",
        "cover.frame_end": "18-1/8",
    },
    "ASTM A740 s. 3.1: mesh is counted centre to centre": {
        "mesh.half.pitch": "1/2",
        "mesh.third.pitch": "1/3",
        "mesh.quarter.pitch": "1/4",
        "mesh.eighth.pitch": "1/8",
    },
}

MASSES = {
    PINEY: {"sugar.per_ten_frame_board": "16 lb", "sugar.block": "4 lb"},
    SAGADAHOC: {"sugar.per_ten_frame_board.low_rim": "10 lb"},
    "R. Salz, 30 pounds of sugar": {"sugar.per_ten_frame_board.thirty_pounds": "10 lb"},
    "a honey farm's no-cook page": {"mix.bowl_sugar": "8 lb"},
    "Honey Bee Suite, cup weights": {"sugar.cup": "200 g", "mix.water_cup": "236 g"},
    "Phillips and Demuth, Wintering Bees in Cellars": {"stores.general": "45 lb"},
    "How to Succeed with Bees, s. 39": {"stores.unprotected_least": "25 lb", "stores.unprotected_most": "50 lb"},
    "Vincent Aloyo, seasonal advice": {"stores.pennsylvania_least": "60 lb", "stores.pennsylvania_most": "80 lb"},
    "Bee Club of SE Idaho, 2025": {"stores.idaho": "50 lb"},
    "a talk by Kim Flottum reported by Linda's Bees, 2011": {
        "stores.ohio": "145 lb",
        "stores.atlanta_least": "40 lb",
    },
    "Walter T. Kelley, How to Keep Bees and Sell Honey": {"weight.deep_honey": "80 lb"},
    SUPPLY_C: {
        "weight.deep_honey.supply": "85 lb",
        "weight.deep_honey.eight": "70 lb",
        "weight.medium_honey": "60 lb",
        "weight.medium_honey.eight": "50 lb",
    },
}

BANDS = {
    "Roy Hendrickson, The Bee Space, Bee Culture, Summer 2016": {"most quoted": ("1/4 in", "3/8 in")},
    "Wikipedia, Langstroth hive": {"rounded metric": ("6.4 mm", "9.5 mm")},
    "Honey Bee Suite, bee space": {"metric": ("6 mm", "10 mm")},
    "RJ Beekeeping, Space for a bee": {"six to nine": ("6 mm", "9 mm")},
    "an Irish bee-supply house, What is bee space?": {
        "irish": ("8 mm", "9 mm"),
        "irish outer": ("4.5 mm", "10 mm"),
    },
    "Wade and Derwent, Bee Buzz Box, July 2020": {"canberra": ("8 mm", "10 mm")},
    "Peeblesshire Beekeepers, study notes 2.2: 8 +/- 2 mm; 4 to 12 mm": {
        "peeblesshire": ("6 mm", "10 mm"),
        "quoted in books": ("4 mm", "12 mm"),
    },
    CUSHMAN_PAGE: {
        "usual british": ("4.5 mm", "8 mm"),
        "one bee": ("4.8 mm", "5.8 mm"),
        "back to back": ("8 mm", "10 mm"),
    },
    "a web glossary, Langstroths": {"glossary": ("3/16 in", "3/8 in")},
    "P & L beekeepers": {"quarter inch": ("6 mm", "7 mm")},
    "A. J. Cook, Manual of the Apiary, frame spacing": {"cook": ("3/16 in", "3/8 in")},
    "Gene Kritsky, The Quest for the Perfect Hive, 2010, p. 116": {"langstroth plans": ("3/8 in", "1/2 in")},
    "Teffera and Sahile, Livestock Research for Rural Development 23(10), 2011": {"field trial": ("7 mm", "10 mm")},
}

RANGES = {
    CUSHMAN_PAGE: {"opening.drone_excluder": ("5.2 mm", "5.4 mm")},
    "queen excluder gaps as measured, on a Beesource thread": {
        "opening.queen_excluder.plastic": ("4.05 mm", "4.10 mm"),
        "opening.queen_excluder.wire": ("4.3 mm", "4.4 mm"),
    },
    QUILT: {"quilt.wet_depth": ("1/4 in", "1/2 in"), "opening.upper_hole_quilt": ("3/4 in", "1 in")},
    "Sustainable Beekeepers Guild of Michigan, FAQ": {"cover.foam": ("1 in", "2 in")},
    "a farm store's no-cook page": {"rim.height.no_cook": ("1 in", "2 in")},
}

CUPS = {
    PINEY: {"mix.water": Fraction(3), "mix.vinegar": Fraction(1, 16), "mix.block_water": Fraction(1)},
    "R. Salz, 30 pounds of sugar": {"mix.thirty_pounds_water": Fraction(2)},
    "a honey farm's no-cook page": {"mix.bowl_water": Fraction(3, 2)},
}

Check = Callable[[], bool]


def _same_length(key: str, printed: str) -> Check:
    return lambda: fact(key).length == read_length(printed)


def _same_mass(key: str, printed: str) -> Check:
    return lambda: fact(key).mass == read_mass(printed)


def _same_band(name: str, ends: tuple[str, str]) -> Check:
    return lambda: (band(name).least, band(name).most) == (read_length(ends[0]), read_length(ends[1]))


def _same_range(key: str, ends: tuple[str, str]) -> Check:
    return lambda: fact(key).range == (read_length(ends[0]), read_length(ends[1]))


def _same_cups(key: str, cups: Fraction) -> Check:
    return lambda: fact(key).volume == litres(cups * LITRES_PER_US_CUP)


def _checks() -> dict[str, tuple[str, Check]]:
    """Key of the guarded row -> where it was printed, and the check that it agrees."""
    checks: dict[str, tuple[str, Check]] = {}
    for table, same in ((LENGTHS, _same_length), (MASSES, _same_mass), (RANGES, _same_range), (CUPS, _same_cups)):
        for printed_in, rows in table.items():
            for key, printed in rows.items():
                assert key not in checks
                checks[key] = (printed_in, same(key, printed))
    for printed_in, bands in BANDS.items():
        for name, ends in bands.items():
            checks[f"bee_space.band.{name.replace(' ', '_')}"] = (printed_in, _same_band(name, ends))
    checks["sugar.density.by_cup"] = (
        "kitchen tables citing the USDA: 200 g to the US cup",
        lambda: round(Fraction(200, 1000) / LITRES_PER_US_CUP, 3) == fact("sugar.density.by_cup").density.kg_per_litre,
    )
    checks["sugar.density.brown_packed"] = (
        "USDA FoodData Central 168833, as cited by a kitchen table: 0.93 g/mL",
        lambda: fact("sugar.density.brown_packed").density.kg_per_litre == Fraction(93, 100),
    )
    checks["sugar.density.brown_loose"] = (
        "USDA FoodData Central 168833, as cited by a kitchen table: 0.75 g/mL",
        lambda: fact("sugar.density.brown_loose").density.kg_per_litre == Fraction(3, 4),
    )
    checks["sugar.water_content"] = (
        "GDV Transport Information Service, White sugar: 0.075 %",
        lambda: fact("sugar.water_content").number == Fraction(75, 100_000),
    )
    checks["mix.water_share.dry"] = (
        f"{SAGADAHOC}: 1 oz cold water per lb",
        lambda: fact("mix.water_share.dry").number == read_mass("1 oz") / pound(1),
    )
    checks["quilt.hole_count"] = (f"{QUILT}: four holes", lambda: fact("quilt.hole_count").number == 4)
    checks["quilt.hole_count.two"] = (
        "Beesource forum, Quilt box ventilation: two holes",
        lambda: fact("quilt.hole_count.two").number == 2,
    )
    checks["mix.drying_days"] = (
        "R. Salz, 30 pounds of sugar: dries in 1 to 2 days",
        lambda: fact("mix.drying_days").number == 2,
    )
    for key, printed in {
        "rim.height.solid_back": "2",
        "rim.height.block": "4",
        "cover.inner_rim": "3/8",
        "opening.upper_notch_width.narrow": "2",
    }.items():
        checks[key] = ("Beesource forum", _same_length(key, printed))
    checks["opening.queen_excluder.british"] = (
        "queen excluder gap, UK, on a Beesource thread",
        _same_length("opening.queen_excluder.british", "4.3 mm"),
    )
    checks["frame.top_bar_thickness.thick"] = (
        "A. I. and E. R. Root, ABC of Bee Culture, Thick-top-bar frame",
        _same_length("frame.top_bar_thickness.thick", "7/8"),
    )
    checks["screw.side_grip"] = (
        "The Spruce Crafts, How to Choose the Correct Size Wood Screws: 1 to 1 1/2 in of thread",
        _same_length("screw.side_grip", "1"),
    )
    checks["screw.end_grain_share"] = (
        "Audel Carpenters and Builders Math, Plans, and Specifications, Strength of Wood Screws: 60 % in end grain",
        lambda: facts.fact("screw.end_grain_share").number == Fraction(60, 100),
    )
    return checks


CHECKS = _checks()


def is_numeric(row: Fact) -> bool:
    """Whether the row's value reads as a quantity."""
    return nudged(row) is not None


def _decimal(value: Fraction) -> str:
    """The number without a fraction, since some fractions of an inch are refused as ambiguous."""
    return format(Decimal(value.numerator) / value.denominator, "f")


def nudged(row: Fact) -> Fact | None:
    """The same row with its value one part in a hundred larger; None when the value is plain words."""
    more = Fraction(101, 100)
    tries: list[Callable[[], str]] = [
        lambda: f"{_decimal(row.length.mm * more)} mm",
        lambda: f"{_decimal(row.mass.grams * more)} g",
        lambda: f"{_decimal(row.number * 100 * more)} %",
        lambda: f"{_decimal(row.density.kg_per_litre * more)} kg/L",
        lambda: f"{_decimal(row.volume.litres / LITRES_PER_US_CUP * more)} cups",
        lambda: f"{_decimal(row.range[0].mm * more)} to {_decimal(row.range[1].mm * more)} mm",
    ]
    for write in tries:
        try:
            return replace(row, value=write())
        except ValueError:
            continue
    return None


def nudge(monkeypatch: pytest.MonkeyPatch, key: str) -> None:
    """Put the nudged row in the place of the row, for every reader of the tables."""
    rows = {row.key: row for row in facts.all_facts()}
    changed = nudged(rows[key])
    assert changed is not None
    assert changed.value != rows[key].value
    monkeypatch.setattr(facts, "_facts", lambda: {**rows, key: changed})


@pytest.mark.parametrize(
    "key", [pytest.param(key, marks=pytest.mark.outside(printed_in)) for key, (printed_in, _) in CHECKS.items()]
)
def test_row_agrees_with_print(key: str) -> None:
    """The row holds what its source prints."""
    assert CHECKS[key][1]()


@pytest.mark.parametrize("key", CHECKS)
def test_check_fails_when_its_row_is_nudged(key: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row that is one part in a hundred off is caught."""
    nudge(monkeypatch, key)
    assert not CHECKS[key][1]()


def test_every_published_number_is_guarded() -> None:
    """No row claims a source without a check against it; and no check guards what is only practice or memory."""
    published = {row.key for row in facts.all_facts() if row.origin == "published" and is_numeric(row)}
    # guarded in test_reference_syrup.py and the other test_..._printed.py, the season's under trade/
    elsewhere = {row.key for table in ("syrup", "wood", "heat", "season", "strays") for row in facts.facts_in(table)}
    assert set(CHECKS) == published - elsewhere


# ---- worked figures ----------------------------------------------------------------------------


@pytest.mark.outside("Howland Blackiston, Building Beehives: box 19-7/8 long; hobby builders: 16-1/4 wide")
def test_ten_frame_box() -> None:
    """A 10-frame box is 19-7/8 by 16-1/4 outside and 18-3/8 by 14-3/4 within 3/4 walls."""
    assert (box_size(10).length, box_size(10).width) == (read_length("19-7/8"), read_length("16-1/4"))
    assert (box_size(10).inside_length, box_size(10).inside_width) == (read_length("18-3/8"), read_length("14-3/4"))


@pytest.mark.outside("Beesource forum, Building Hives: 9-5/8 boxes on 9-1/8 frames leave 1/2 in between tiers")
def test_deep_boxes_leave_half_an_inch_between_tiers() -> None:
    """The known complaint about deep boxes comes out of the two rows."""
    assert box_height("deep") - frame_depth("deep") == read_length("1/2")


@pytest.mark.outside(PS_20)
@pytest.mark.parametrize(
    ("name", "thickness", "width"),
    [("1x3", "3/4", "2-1/2"), ("1x6", "3/4", "5-1/2"), ("1x8", "3/4", "7-1/4"), ("1x12", "3/4", "11-1/4")],
)
def test_boards_dress_to_the_standard(name: str, thickness: str, width: str) -> None:
    """Boards dress, dry, to the least sizes of the standard."""
    assert dressed(name) == (read_length(thickness), read_length(width))


@pytest.mark.outside("wire-mesh makers' glossary and ASTM A740 s. 3.1: opening = 1/mesh - wire")
def test_opening_is_one_over_mesh_less_wire() -> None:
    """The rule of the trade, for n openings to the inch; wires themselves are from memory."""
    for name, per_inch in (("1/2 in", 2), ("1/3 in", 3), ("1/4 in", 4), ("1/8 in", 8)):
        assert mesh(name).clear_opening.inches == Fraction(1, per_inch) - mesh(name).wire.inches


@pytest.mark.outside("Michael Bush, list of meshes: #4 all castes pass, mice do not; #8 no bee passes")
def test_what_passes_as_listed() -> None:
    """Quarter-inch mesh lets all castes through and holds mice; eighth-inch mesh holds bees."""
    says = {(said.mesh, said.who): said.passes for said in passages()}
    assert says["1/4 in", "worker"]
    assert says["1/4 in", "drone"]
    assert says["1/4 in", "queen"]
    assert not says["1/4 in", "mouse"]
    assert not says["1/8 in", "worker"]


@pytest.mark.outside("Sustainable Beekeepers Guild of Michigan FAQ, against Kathy's Bees 2016")
def test_half_inch_mesh_as_mouse_guard_is_disputed() -> None:
    """Both opinions are kept."""
    assert {said.passes for said in passages("1/2 in") if said.who == "mouse"} == {True, False}
