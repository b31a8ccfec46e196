"""A design tried without its yard; and one of an item with every default, on a 10-frame box, for pictures."""

from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import Offer, Yard
from woodshop.design.settle.settle import settle
from woodshop.findings import Report
from woodshop.hardware.registry import Item
from woodshop.reference.materials import board_material, dressed, nominal_names
from woodshop.units.lengths import Money, inch

FRAMES = 10


def every_board() -> Yard:
    """A yard that has every nominal board, 8 ft long, at no price: nothing is bought from it."""
    offers = []
    for name in nominal_names():
        thick, wide = dressed(name)
        offers.append(
            Offer(
                id=name,
                material=board_material(thick),
                what=name,
                length=inch(96),
                width=wide,
                price=Money(0, "USD"),
                count=None,
                thickness=thick,
            )
        )
    return Yard(
        name="every nominal board",
        currency="USD",
        seen=date.min,
        unit="in",
        shared_wires=False,
        offers=tuple(offers),
        packs=(),
        left_out=(),
    )


def tried(text: str, name: str) -> tuple[Batch, tuple[Unit, ...], Report]:
    """The design file's text, read under that file name and settled as if the yard had every nominal board.

    Raises InputError with everything wrong with it.
    """
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_text(text, encoding="utf-8")
        design = read_design(path)
    batch = settle(design, every_board())
    units, report = check_batch(batch)
    return batch, units, report


def specimen(item: Item) -> Unit:
    """One of the item for a 10-frame box of the table, every value its default. Raises InputError."""
    text = f"""format = "woodshop-design/1"
batch = "specimen"
unit = "in"
yard = "every board"
[[hives]]
frames = {FRAMES}
count = 1
[[make]]
item = "{item.name}"
"""
    _, units, _ = tried(text, "specimen.toml")
    return units[0]
