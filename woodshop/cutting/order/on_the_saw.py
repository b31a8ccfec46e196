"""How large the part is that lies on the saw at each cut of a layout: what decides which saw can make the cut."""

from collections.abc import Sequence

from woodshop.cutting.model.job import Stock
from woodshop.cutting.order.sequence import SawCut

Size = tuple[int, int]
"""Length and width in the job's unit, length along the stock."""


def sizes_on_the_saw(stock: Stock, cuts: Sequence[SawCut]) -> tuple[Size, ...]:
    """For each cut, the size of the part as it first comes to the saw: never smaller than what is cut.

    `cuts` are those of one board of that stock, in their order (`sequence.saw_cuts`).
    """
    whole = (stock.length, stock.width or 0)
    parts: dict[str, Size] = {}
    found: list[Size] = []
    for cut in cuts:
        length, width = parts.get(cut.of, whole)
        found.append((length, width))
        if cut.kind == "trim":
            continue
        made = (length, cut.strip if cut.is_narrow else cut.setting) if cut.along else (cut.setting, width)
        parts.update(dict.fromkeys(cut.yields, made))
    return tuple(found)
