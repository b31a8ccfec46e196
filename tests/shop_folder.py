"""Designs and yards written to a folder, read and settled as the commands do."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from tests.nightly import IS_NIGHT
from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import Batch
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_yard
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle

YARD = (Path(__file__).resolve().parents[1] / "designs" / "creekside-yard.toml").read_text(encoding="utf-8")
DESIGN = """format = "woodshop-design/1"
batch = "first-winter"
unit = "in"
yard = "yard.toml"
[[hives]]
frames = 10
count = 6
gap = "1/4"
[[make]]
item = ["fondant rim", "mesh floor", "spacer strips", "packing blocks"]
"""


def still(batch: Batch) -> Batch:
    """The batch with gaps that do not vary, which spares its checks half their work; at night as it is."""
    return batch if IS_NIGHT else replace(batch, conditions=replace(batch.conditions, tolerances=None))


class Shop:
    """A folder with a design and a yard in it."""

    design_text = DESIGN
    yard_text = YARD

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def _write(self, name: str, text: str | bytes) -> Path:
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    def design(self, text: str | bytes = DESIGN) -> Any:
        return read_design(self._write("design.toml", text))

    def yard(self, text: str | bytes = YARD) -> Any:
        return read_yard(self._write("yard.toml", text))

    def batch(self, text: str | bytes = DESIGN, yard: str | bytes = YARD) -> Any:
        return settle(self.design(text), self.yard(yard))

    def units(self, text: str = DESIGN, yard: str = YARD) -> Any:
        return make_units(self.batch(text, yard))

    def findings(self, text: str = DESIGN, yard: str = YARD, *, varied: bool = False) -> dict[str, Any]:
        """The findings by code; the last of each. Those on what varies only if asked for, or at night."""
        batch = self.batch(text, yard)
        return {f.code: f for f in check_batch(batch if varied else still(batch))[1].findings}
