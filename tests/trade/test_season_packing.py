"""The packing station and the cartons, against sums done by hand and boxes laid out again here."""

from fractions import Fraction
from pathlib import Path

import pytest

from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.documents.packet.mix import mix_chapter
from woodshop.errors import InputError
from woodshop.findings import Report
from woodshop.plan.cost import cost_rows
from woodshop.plan.plan_batch import bought_batch
from woodshop.plan.work.counts import work_of
from woodshop.plan.work.weights import weight_of
from woodshop.trade.season.packing import (
    Flat,
    Sizes,
    across,
    flat_carton,
    flat_layers,
    parcels_of,
    station_of,
    usual_table,
)
from woodshop.units.lengths import ZERO, Length, inch, pound

DESIGNS = Path(__file__).resolve().parents[2] / "designs"
LUMBERYARD = DESIGNS / "creekside-lumberyard.toml"
BOARDS = 'item = ["fondant rim", "wire bottom", "spacer strips"]\n'


def batch(tmp_path: Path, text: str, items: str = BOARDS) -> tuple[Batch, tuple[Unit, ...]]:
    head = f'format = "woodshop-design/2"\nbatch = "t"\nunit = "in"\nlumberyard = "{LUMBERYARD}"\n'
    (tmp_path / "d.toml").write_text(f"{head}{text}[[make]]\n{items}")
    design = read_design(tmp_path / "d.toml")
    settled = settle(design, read_lumberyards(design.lumberyards))
    return settled, make_units(settled)


TENS = '[[hives]]\nframes = 10\nwidth = "16 1/4"\ncount = 24\ngap = "1/4"\nsugar = "16 lb"\n'


@pytest.mark.outside("Piney Woods Beekeepers: 16 lb, 3 cups, 1 tablespoon to a board; a honey farm: bowls of 8 lb")
def test_twenty_four_boards_of_sixteen_pounds(tmp_path: Path) -> None:
    """By hand: 384 lb, 96 bags of 4 lb, 72 cups = 4 1/2 gal, 24 tablespoons, 48 bowls; 19 7/8 x 16 1/4 in = 2.24 sq ft.

    Ten on a table of 4 x 8 ft: 96 / 16 1/4 = 5 rows of 48 / 19 7/8 = 2. 24 boards are 12 rows: 3 tables.
    """
    found = station_of(*batch(tmp_path, TENS), usual_table())
    assert found is not None
    assert (found.mix.sugar, found.bags) == (pound(384), 96)
    assert found.mix.water.us_cups / 16 == Fraction(9, 2)
    assert (int(found.mix.vinegar_tablespoons), found.mix.bowls) == (24, 48)
    (flat,) = found.flats
    assert round(float(flat.square_feet), 2) == 2.24
    assert across(flat, *found.table) == (inch("16 1/4"), 2)
    assert [sum(row.boards for row in table) for table in found.tables] == [10, 10, 4]
    assert [(t.tables, t.loads, t.days_least, t.days_most, t.backs) for t in found.turns] == [
        (1, 3, 3, 6, 10),
        (2, 2, 2, 4, 20),
        (3, 1, 1, 2, 24),
    ]


@pytest.mark.parametrize(
    ("text", "bowls"),
    [
        (TWELVES := '[[hives]]\nframes = 10\ncount = 10\ngap = "1/4"\nsugar = "12 lb"\n', 20),
        (f'{TWELVES}[board]\nbowl = "12 lb"\n', 10),
        (f'{TWELVES}[board]\nbowl = "5 lb"\n', 30),
        (f'{TWELVES}name = "a"\n[[hives]]\nname = "b"\nframes = 8\ncount = 3\ngap = "1/4"\nsugar = "9 lb"\n', 26),
    ],
)
def test_every_board_has_bowls_of_its_own(tmp_path: Path, text: str, bowls: int) -> None:
    """By hand: 12 lb is two bowls of 6 lb under the limit of 8 lb, so ten boards are 20 bowls, not 120 / 8 = 15."""
    settled, units = batch(tmp_path, text)
    station = station_of(settled, units, usual_table())
    assert station is not None
    assert station.mix.bowls == bowls
    planned = bought_batch(settled, units, (), purchases=(), unpriced=(), report=Report(()))
    assert f"in {bowls} bowls. Each fondant board gets equal bowls" in str(mix_chapter(planned).blocks)
    (mixing,) = (work for work in work_of(planned, cost_rows(settled, units)) if work.key == "mix")
    assert mixing.count == bowls
    assert any((d.where, d.name, d.value) == ("board", "bowl", "8 lb") for d in settled.defaults) == (
        "bowl" not in text
    )


@pytest.mark.outside("Piney Woods Beekeepers: 16 lb sugar, 3 cups of water; a cup of water is 236 g (Honey Bee Suite)")
def test_a_packed_board_weighs_its_sugar_water_wood_and_mesh(tmp_path: Path) -> None:
    """By hand: 16 lb and 710 g, 1.56 lb. Walls 2 x (19 7/8 + 14 3/4) x 2 1/2 x 3/4 in, 129.8 cu in at 0.392, less a
    notch: 1.83 lb. Mesh of 19.5 x 15.5 in, wires of 0.041 in each half inch both ways: 1,209 in x 0.00132 sq in is
    1.6 cu in at 7.85: 0.45 lb.
    """
    found = station_of(*batch(tmp_path, TENS), usual_table())
    assert found is not None
    assert float(found.flats[0].weight.pounds) == pytest.approx(16 + 1.56 + 1.83 + 0.45, abs=0.05)
    assert found.weight == found.flats[0].weight * 24


def test_sizes_share_tables_and_every_table_holds_its_rows(tmp_path: Path) -> None:
    eights = '[[hives]]\nname = "e"\nframes = 8\nwidth = "13 3/4"\ncount = 7\ngap = "1/4"\n'
    text = '[[hives]]\nname = "t"\nframes = 10\nwidth = "16 1/4"\ncount = 5\ngap = "1/4"\n' + eights
    found = station_of(*batch(tmp_path, text), (inch(96), inch(48)))
    assert found is not None
    boards = [sum(row.boards for table in found.tables for row in table if row.flat == n) for n in range(2)]
    assert boards == [flat.count for flat in found.flats] == [5, 7]
    for table in found.tables:
        assert sum(float(row.takes.inches) for row in table) <= 96
        for row in table:
            flat = found.flats[row.flat]
            over = flat.wide if row.takes == flat.long else flat.long
            assert row.boards * over <= inch(48)


def test_forms_that_are_not_packed_need_no_table(tmp_path: Path) -> None:
    made = batch(tmp_path, TENS + 'form = "with mesh"\n')
    assert station_of(*made, usual_table()) is None
    with pytest.raises(InputError, match="a table large enough for a board to lie flat"):
        station_of(*batch(tmp_path, TENS), (inch(20), inch(15)))


def test_a_board_turns_to_fit_the_table() -> None:
    flat = Flat("x", 1, inch(20), wide=inch(10), sugar=pound(1), weight=pound(1))
    assert across(flat, inch(30), inch(20)) == (inch(10), 1)
    assert across(flat, inch(20), inch(10)) == (inch(20), 1)
    assert across(flat, inch(19), inch(9))[1] == 0


# ---- cartons ----------------------------------------------------------------------------------------


def test_cartons_of_the_four_forms(tmp_path: Path) -> None:
    """By hand: 19 7/8 x 16 1/4; 2 1/2 high, mesh 2 x 0.041 under it, and strips of 7/32 under a packed one."""
    found = {p.form: p for p in parcels_of(batch(tmp_path, TENS)[1])}
    highs = {"empty": "2.5", "with mesh": "2.582", "packed": "2.80075"}
    for form, high in highs.items():
        assert found[form].size == (inch("19 7/8"), inch("16 1/4"), inch(high))
    assert found["empty"].girth == inch("37 1/2")
    assert found["empty"].length_and_girth == inch("57 3/8")
    assert found["unassembled kit"].weight == found["with mesh"].weight > found["empty"].weight
    assert (found["packed"].weight - found["with mesh"].weight).pounds > 16
    assert [found[form].ordered for form in found] == [24, 0, 0, 0]


def test_an_unassembled_kit_lies_in_its_carton(tmp_path: Path) -> None:
    """Laid out again here: no part over another in its layer, all of them there, and none past the carton."""
    quilts = '[[make]]\nitem = "quilt box"\n'
    units = batch(tmp_path, TENS, BOARDS + quilts)[1]
    for unit in units:
        sizes: tuple[Sizes, ...] = tuple(placed.part.size for placed in unit.assembly.placed)
        carton = flat_carton(sizes)
        wides = {sum(sorted((sorted(s)[1] for s in sizes), reverse=True)[:n], ZERO) for n in range(1, len(sizes) + 1)}
        assert any(_holds(sizes, wide, carton) for wide in wides)


def _holds(sizes: tuple[Sizes, ...], wide: Length, carton: Sizes) -> bool:
    try:
        layers = flat_layers(sizes, wide)
    except ValueError:
        return False
    assert sorted(part for layer in layers for part in layer) == sorted(_longest_first(s) for s in sizes)
    high = sum((max(part[2] for part in layer) for layer in layers), ZERO)
    assert all(sum((part[1] for part in layer), ZERO) <= wide for layer in layers)
    long = max(max(size) for size in sizes)
    return sorted((long, wide, high)) == sorted(carton)


def _longest_first(size: Sizes) -> Sizes:
    long, wide, thick = sorted(size, reverse=True)
    return long, wide, thick


def test_materials_without_a_density_are_told(tmp_path: Path) -> None:
    units = batch(tmp_path, TENS, 'item = ["quilt box"]\n')[1]
    (parcel, flat) = parcels_of(units)
    assert parcel.uncounted == flat.uncounted == ("cloth",)
    assert weight_of(())[0] == pound(0)


def test_loose_pieces_are_not_weighed_as_nothing_and_lie_flat(tmp_path: Path) -> None:
    """Fluted plastic has no density here: said so. Four squares take a carton no wider than they are."""
    (parcel,) = parcels_of(batch(tmp_path, TENS, 'item = ["vent spacers"]\n')[1])
    assert not parcel.is_weighed
    assert parcel.uncounted[0].startswith("fluted")
    assert parcel.form == "unassembled kit"
    assert parcel.size[0] < inch(12)
