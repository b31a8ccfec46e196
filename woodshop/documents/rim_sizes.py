"""The fewest sizes of rim, told: as lines to read and as plain values for machines."""

from collections.abc import Iterator
from typing import Any

from woodshop.batch.sizes import FewestSizes, Work
from woodshop.hive.fewest import RimSize, Seat
from woodshop.units import ZERO, Length

_COUNTED = (("sizes", "sizes of rim"), ("parts", "different parts made to them"), ("stops", "lengths to set a stop to"))


def sizes_told(found: FewestSizes, unit: str) -> dict[str, Any]:
    """Plain values: every length as text in the design's unit; overhang below 0 is inside the box's edge."""
    return {
        "overhang": found.overhang.text(unit),
        "sizes": [
            {
                "length": size.length.text(unit),
                "width": size.width.text(unit),
                "is_a_box": size.is_a_box,
                "hives": [_seat_told(seat, unit) for seat in size.seats],
            }
            for size in found.sizes
        ],
        "as_it_stands": _work_told(found.before),
        "with_these": _work_told(found.after),
        "write": {each.hives: {key: made.text(unit) for key, made in each.keys} for each in found.lines if each.keys},
        "measured_spread": {name: spread.text(unit) for name, spread in found.spread},
        "made_to_the_rim": list(found.on_rim),
        "made_to_the_box": list(found.on_box),
    }


def _seat_told(seat: Seat, unit: str) -> dict[str, Any]:
    box = seat.box
    return {
        "name": box.name,
        "count": box.count,
        "length": box.length.text(unit),
        "width": box.width.text(unit),
        "at_ends": seat.at_ends.text(unit),
        "at_sides": seat.at_sides.text(unit),
    }


def _work_told(work: Work) -> dict[str, Any]:
    told: dict[str, Any] = {key: getattr(work, key) for key, _ in _COUNTED}
    return told | {"errors": work.errors} | ({} if work.cost is None else {"cost": str(work.cost)})


def sizes_lines(found: FewestSizes, unit: str) -> Iterator[str]:
    """What is printed: the sizes and the hives of each, what they save, what stays apart, what to write."""
    yield f"Fewest sizes that seat on every box within {found.overhang.text(unit)} at each end and side, proved:"
    for size in found.sizes:
        yield ""
        yield _size_line(size, unit)
        yield from (f"  {_seat_line(seat, unit)}" for seat in size.seats)
    yield ""
    yield f"{'':30} {'as it stands':>12} {'with these':>12}"
    for key, words in _COUNTED:
        yield f"{words:30} {getattr(found.before, key):>12} {getattr(found.after, key):>12}"
    if found.before.cost is not None:
        yield f"{'to buy':30} {found.before.cost!s:>12} {found.after.cost!s:>12}"
    if found.after.errors or found.before.errors:
        yield f"{'errors that check finds':30} {found.before.errors:>12} {found.after.errors:>12}"
    yield ""
    yield f"Made to these sizes: {', '.join(found.on_rim) or 'nothing in this design'}."
    if found.on_box:
        yield f"Still made to each box: {', '.join(found.on_box)}."
    for name, spread in found.spread:
        yield f"The boxes of {name} differ among themselves by {spread.text(unit)}; their average is taken."
    written = [each for each in found.lines if each.keys]
    yield ""
    if not written:
        yield "Nothing to write: every size is the box's own."
        return
    yield "Write under these [[hives]]:"
    for each in written:
        yield ""
        yield f'# name = "{each.hives}"'
        yield from (f'{key} = "{made.text(unit)}"' for key, made in each.keys)


def _size_line(size: RimSize, unit: str) -> str:
    hives = sum(seat.box.count for seat in size.seats)
    own = ", a box's own size" if size.is_a_box else ""
    return f"{size.width.number(unit)} x {size.length.text(unit)}{own}: {hives} hives"


def _seat_line(seat: Seat, unit: str) -> str:
    box = seat.box
    ends, sides = _stands(seat.at_ends, unit), _stands(seat.at_sides, unit)
    how = ends if ends == sides else f"{sides} at the sides, {ends} at the ends"
    return f"{box.count:5} {box.name}, {box.width.number(unit)} x {box.length.text(unit)}: {how}"


def _stands(by: Length, unit: str) -> str:
    if not by:
        return "flush"
    return f"{abs(by).text(unit)} {'over' if by > ZERO else 'inside'}"
