"""The [labels] table of a design file: which labels to print, and the layout of the sheet."""

from dataclasses import KW_ONLY, dataclass, field
from typing import Annotated, Literal

from pydantic import Field

from woodshop.design.schema import AnyLength, SettingTable, Size, design_key
from woodshop.drawing.pages.plates import PAPER_SIZES, LabelGrid, label_grid
from woodshop.errors import Problem
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit

Number = Annotated[int, Field(ge=1, le=40)]


_GRID = ("width", "height", "columns", "rows", "left", "top", "column_gap", "row_gap")
Paper = Literal["letter", "a4"]
SOURCE = "a plain grid centered on the page, no source; measure your sheet"


class LabelsTable(SettingTable):
    """The [labels] table."""

    hives: bool = design_key("A label for each hive.", True)
    units: bool = design_key("A label for each item made.", True)
    pieces: bool = design_key("A label for each piece cut.", False)
    frame: bool = design_key("An outline around each label, for cutting plain paper.", True)
    width: Size | None = design_key(
        "Width of one label. Measure your sheet.", otherwise="2 1/2 in, or 62 mm on a4 paper", example='"2 1/2"'
    )
    height: Size | None = design_key(
        "Height of one label.", otherwise="1 1/4 in, or 33 mm on a4 paper", example='"1 1/4"'
    )
    columns: Number | None = design_key("Number of labels across the sheet.", usual="3")
    rows: Number | None = design_key("Number of labels down the sheet.", usual="8")
    left: AnyLength | None = design_key(
        "Distance from the left edge of the paper to the first label.", otherwise="centered", example='"1/2"'
    )
    top: AnyLength | None = design_key(
        "Distance from the top edge of the paper to the first label.", otherwise="centered", example='"1/2"'
    )
    column_gap: AnyLength = design_key("Space between labels, across.", ZERO, otherwise="0", example='"0"')
    row_gap: AnyLength = design_key("Space between labels, down.", ZERO, otherwise="0", example='"0"')


@dataclass(frozen=True, slots=True)
class LabelSettings:
    """Which labels to print, whether to print a cutting outline, and the grid (None for the default of the paper)."""

    hives: bool = True
    units: bool = True
    pieces: bool = False
    _: KW_ONLY
    frame: bool = True
    grid: LabelGrid | None = None
    defaults: tuple[tuple[str, str], ...] = ()  # keys that the design omits, and their values

    def on(self, paper: str) -> LabelGrid:
        """The grid on this paper."""
        return self.grid if self.grid is not None else label_grid(paper)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """The heading of every page, the paper, and the labels."""

    title: str
    paper: Paper
    labels: LabelSettings = field(default_factory=LabelSettings)


def paper_of(unit: LengthUnit) -> Paper:
    """The paper of a design that names none: letter, or A4 in a metric design."""
    return "a4" if unit == "mm" else "letter"


def label_settings(table: LabelsTable, paper: str, where: str, found: list[Problem], unit: LengthUnit) -> LabelSettings:
    """The settled table of the file `where`, with lengths in `unit`.

    A grid that does not fit the paper is added to `found`.
    """
    grid = label_grid(
        paper,
        width=table.width,
        height=table.height,
        columns=table.columns,
        rows=table.rows,
        left=table.left,
        top=table.top,
        column_gap=table.column_gap,
        row_gap=table.row_gap,
    )
    for n, (key, word) in enumerate((("left", "columns"), ("top", "rows"))):
        margin, all_of, page = (grid.left, grid.top)[n], grid.size[n], PAPER_SIZES[paper][n]
        if margin + all_of > page:
            given = f"{getattr(grid, word)} {word} that need {all_of.text(unit)} and a margin of {margin.text(unit)}"
            wanted = f"at most {page.text(unit)}, the {('width', 'height')[n]} of {paper} paper"
            do = f"Give fewer {word}, smaller labels, or a smaller {key}; measure the sheet."
            found.append(Problem(f"{where}, labels", given, wanted, do))
    shown = {key: getattr(grid, key) for key in _GRID}
    shown |= {key: "yes" if getattr(table, key) else "no" for key in ("hives", "units", "pieces", "frame")}
    taken = tuple(
        (key, value.text(unit) if isinstance(value, Length) else str(value))
        for key, value in shown.items()
        if key not in table.model_fields_set
    )
    return LabelSettings(table.hives, table.units, table.pieces, frame=table.frame, grid=grid, defaults=taken)
