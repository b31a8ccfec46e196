"""A folder with a design, a lumberyard and a shop's book of invented events, read as the commands read them."""

from dataclasses import replace
from pathlib import Path

from tests.shop_folder import LUMBERYARD
from woodshop.checks.shop_book import check_book
from woodshop.design.batch import Batch
from woodshop.design.lumberyard.stocked import read_stocked
from woodshop.design.settle.settle import settle
from woodshop.findings import Finding
from woodshop.plan.book.reading import read_booked
from woodshop.records.events import NewEvent
from woodshop.records.store import new_book, open_book

_TABLES = LUMBERYARD.split("\n[[")
NO_RACK = "\n[[".join(each for each in _TABLES if not each.startswith("offcut]]"))
"""The lumberyard file without its offcuts."""
HEAD = """format = "woodshop-design/2"
batch = "winter"
unit = "in"
lumberyard = "lumberyard.toml"
book = "shop.book"
"""
QUILTS = """[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 6
gap = "1/4"
[[hives]]
name = "eights"
frames = 8
count = 3
gap = "1/4"
[[make]]
item = "quilt box"
"""


class BookedShop:
    """A folder in which a design, its lumberyard and its book are written and settled."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = folder / "shop.book"

    def enter(self, *events: NewEvent) -> None:
        """Adds events to the book, which is begun if there is none."""
        if not self.book.exists():
            new_book(self.book)
        with open_book(self.book) as book:
            last, _ = book.head()
            book.add([replace(event, id=f"event {last + n}") for n, event in enumerate(events, 1)])

    def write(self, design: str = HEAD + QUILTS, lumberyard: str = NO_RACK) -> Path:
        """Writes the design and the lumberyard; the design's path."""
        if not self.book.exists():
            new_book(self.book)
        (self.folder / "lumberyard.toml").write_text(lumberyard, encoding="utf-8")
        path = self.folder / "design.toml"
        path.write_text(design, encoding="utf-8")
        return path

    def batch(self, design: str = HEAD + QUILTS, lumberyard: str = NO_RACK, as_of: int | None = None) -> Batch:
        """The settled batch."""
        wanted = read_booked(self.write(design, lumberyard), as_of=as_of)
        return settle(wanted, read_stocked(wanted))

    def counts(
        self, design: str = HEAD + QUILTS, as_of: int | None = None
    ) -> dict[tuple[str, str], tuple[int, int, int]]:
        """Of each item and group of hives: how many are made, kept as they are, repaired."""
        lines = self.batch(design, as_of=as_of).lines
        return {(line.item.name, line.hives.name): (line.count, line.kept, line.repaired) for line in lines}

    def notes(self, design: str = HEAD + QUILTS, lumberyard: str = NO_RACK) -> list[Finding]:
        """The findings about the book."""
        return list(check_book(self.batch(design, lumberyard)))
