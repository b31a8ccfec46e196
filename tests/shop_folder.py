"""Designs and lumberyards written to a folder, read and settled as the commands do."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from tests.nightly import IS_NIGHT
from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import Batch
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyard
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle

LUMBERYARD = (Path(__file__).resolve().parents[1] / "designs" / "creekside-lumberyard.toml").read_text(encoding="utf-8")
DESIGN = """format = "woodshop-design/2"
batch = "first-winter"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
frames = 10
count = 6
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]
"""


def still(batch: Batch) -> Batch:
    """The batch with gaps that do not vary, which spares its checks half their work; at night as it is."""
    return batch if IS_NIGHT else replace(batch, conditions=replace(batch.conditions, tolerances=None))


class Shop:
    """A folder with a design and a lumberyard in it."""

    design_text = DESIGN
    lumberyard_text = LUMBERYARD

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def _write(self, name: str, text: str | bytes) -> Path:
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    def design(self, text: str | bytes = DESIGN) -> Any:
        return read_design(self._write("design.toml", text))

    def lumberyard(self, text: str | bytes = LUMBERYARD) -> Any:
        return read_lumberyard(self._write("lumberyard.toml", text))

    def batch(self, text: str | bytes = DESIGN, lumberyard: str | bytes = LUMBERYARD) -> Any:
        return settle(self.design(text), self.lumberyard(lumberyard))

    def units(self, text: str = DESIGN, lumberyard: str = LUMBERYARD) -> Any:
        return make_units(self.batch(text, lumberyard))

    def findings(self, text: str = DESIGN, lumberyard: str = LUMBERYARD, *, varied: bool = False) -> dict[str, Any]:
        """The findings by code; the last of each. Those on what varies only if asked for, or at night."""
        batch = self.batch(text, lumberyard)
        return {f.code: f for f in check_batch(batch if varied else still(batch))[1].findings}
