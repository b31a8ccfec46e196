"""The fewest sizes of rim, told: as lines to read and as plain values for machines."""

from collections.abc import Iterator
from typing import Any

from woodshop.hive.variation.fewest_sizes import RimSize, Seat
from woodshop.plan.fewest_rims import FewestSizes, Work
from woodshop.trade.stocking import Priced, Stocked
from woodshop.units.lengths import ZERO, Length, Money

_COUNTED = (("sizes", "sizes of rim"), ("parts", "different parts made to them"), ("stops", "lengths to set a stop to"))

_AT_THE_SAW = (("boards", "boards to saw"), ("layouts", "layouts to mark out"), ("settings", "settings at the saw"))


def sizes_told(found: FewestSizes, unit: str, money: Priced | None = None) -> dict[str, Any]:
    """Plain values: every length as text in the design's unit; overhang below 0 is inside the box's edge.

    `money` adds what both ways cost.
    """
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
        "as_it_stands": _work_told(found.before) | ({} if money is None else _stocked_told(money.before)),
        "with_these": _work_told(found.after) | ({} if money is None else _stocked_told(money.after)),
        **({} if money is None else {"kept_of_each": money.keep}),
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
    return told | {"errors": work.errors}


def _stocked_told(stocked: Stocked) -> dict[str, Any]:
    told: dict[str, Any] = {key: getattr(stocked, key) for key, _ in _AT_THE_SAW}
    return told | {
        "kinds": stocked.kinds,
        "shelf": str(stocked.shelf),
        "cost": str(stocked.pays),
        "no_plan_below": str(stocked.least),
    }


def sizes_lines(found: FewestSizes, unit: str, money: Priced | None = None) -> Iterator[str]:
    """What is printed: the sizes and the hives of each, what they save, what stays apart, what to write."""
    yield f"Fewest sizes that seat on every box within {found.overhang.text(unit)} at each end and side, proved:"
    for size in found.sizes:
        yield ""
        yield _size_line(size, unit)
        yield from (f"  {_seat_line(seat, unit)}" for seat in size.seats)
    yield ""
    yield f"{'':30} {'as it stands':>12} {'with these':>12} {'difference':>12}"
    for key, words in _COUNTED:
        yield _counted(words, getattr(found.before, key), getattr(found.after, key))
    if money is not None:
        yield from _money_lines(money)
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
    yield "Write under these [[hives]]; for orders under the [[box]] that they name:"
    for each in written:
        yield ""
        yield f'# name = "{each.hives}"'
        yield from (f'{key} = "{made.text(unit)}"' for key, made in each.keys)


def _counted(words: str, before: int, after: int) -> str:
    return f"{words:30} {before:>12} {after:>12} {after - before:>+12}"


def _money_lines(money: Priced) -> Iterator[str]:
    """Work at the saw, what is paid, and what a shelf with some of each thing holds."""
    before, after = money.before, money.after
    for key, words in _AT_THE_SAW:
        yield _counted(words, getattr(before, key), getattr(after, key))
    yield _paid("to pay", before.pays, after.pays)
    yield _counted("things to stock", before.kinds, after.kinds)
    yield _paid(f"shelf with {money.keep} of each", before.shelf, after.shelf)
    for word, way in (("as it stands", before), ("with these sizes", after)):
        if way.least < way.pays:
            yield f"No plan {word} costs less than {way.least}."


def _paid(words: str, before: Money, after: Money) -> str:
    more = after - before
    sign = "+" if more.minor > 0 else ""
    return f"{words:30} {before!s:>12} {after!s:>12} {sign + str(more):>12}"


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
