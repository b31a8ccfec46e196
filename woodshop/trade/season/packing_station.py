"""The packing station: flat backs and tables that boards dry on, for how many days, and what is lifted.

A board takes its outside on a table and on a backing of its own until it is hard; sizes come from the placed parts.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction
from math import ceil

from woodshop.design.batch import Batch, Unit, of_board, packed_boards
from woodshop.engineering.sugar import Mix
from woodshop.errors import InputError, Problem
from woodshop.plan.buy_list import batch_mix
from woodshop.reference.facts import fact
from woodshop.shape.part import Role
from woodshop.trade.season.shipping import BOARD, board_of, by_hives, weight_of
from woodshop.units.lengths import ZERO, Area, Length, Mass

_SQUARE_FOOT = Area(Fraction("304.8") ** 2)


@dataclass(frozen=True, slots=True)
class Flat:
    """Boards of one size to pack: for whom, how many, length and width on the table, what one weighs when packed."""

    fits: str
    count: int
    long: Length
    _: KW_ONLY
    wide: Length
    sugar: Mass
    weight: Mass

    @property
    def area(self) -> Area:
        """The flat back that one takes."""
        return self.long * self.wide

    @property
    def square_feet(self) -> Fraction:
        """The same in square feet."""
        return self.area.mm2 / _SQUARE_FOOT.mm2


@dataclass(frozen=True, slots=True)
class TableRow:
    """Boards of one size side by side across a table: how much of its length they take, and how many there are."""

    flat: int
    takes: Length
    boards: int


@dataclass(frozen=True, slots=True)
class Turn:
    """With so many tables: in how many loads all dry, in how many days at least and at most, on how many backs."""

    tables: int
    loads: int
    days_least: int
    days_most: int
    backs: int


@dataclass(frozen=True, slots=True)
class PackingStation:
    """The whole station; `tables` are the full tables, row by row, were all boards to dry at once."""

    flats: tuple[Flat, ...]
    table: tuple[Length, Length]
    tables: tuple[tuple[TableRow, ...], ...]
    _: KW_ONLY
    turns: tuple[Turn, ...]
    mix: Mix
    bag: Mass
    bags: int

    @property
    def boards(self) -> int:
        """All boards."""
        return sum(flat.count for flat in self.flats)

    @property
    def area(self) -> Area:
        """All flat backs together, were all boards to dry at once."""
        return sum((flat.area * flat.count for flat in self.flats), Area(Fraction(0)))

    @property
    def weight(self) -> Mass:
        """All packed boards together, fresh."""
        return sum((flat.weight * flat.count for flat in self.flats), Mass(Fraction(0)))


def usual_table() -> tuple[Length, Length]:
    """The table taken where none is given: length and width."""
    return fact("season.table_length").length, fact("season.table_width").length


def station_of(
    batch: Batch, units: tuple[Unit, ...], table: tuple[Length, Length], most: int = 4
) -> PackingStation | None:
    """The station for a batch, and its loads on 1 to `most` tables; None when no board is packed.

    Raises InputError for a board that is larger than the table.
    """
    mix = batch_mix(batch, units)
    flats = tuple(_flats(batch, units))
    if mix is None or not flats:
        return None
    long, wide = max(table), min(table)
    laid = tuple(_on_tables(flats, long, wide))
    per_table = [sum(row.boards for row in rows) for rows in laid]
    low, high = (int(fact(key).number) for key in ("season.drying_days_least", "mix.drying_days"))
    turns = []
    for tables in range(1, min(most, len(laid)) + 1):
        loads = ceil(len(laid) / tables)
        backs = max(sum(per_table[n * tables : (n + 1) * tables]) for n in range(loads))
        turns.append(Turn(tables, loads, loads * low, loads * high, backs))
    bag = next(u.line.setting.board.bag for u in units if u.line.item.board_part in BOARD)
    return PackingStation(flats, (long, wide), laid, turns=tuple(turns), mix=mix, bag=bag, bags=ceil(mix.sugar / bag))


def across(flat: Flat, long: Length, wide: Length) -> tuple[Length, int]:
    """A row of that board on a table: how much of its length it takes, and how many boards stand across.

    Of its two ways round, the one with more boards to the table. Nothing stands across where it does not go on.
    """
    ways = []
    for along, over in ((flat.long, flat.wide), (flat.wide, flat.long)):
        boards, rows = wide // over, long // along
        ways.append((boards * rows, ZERO - along, along, boards if rows else 0))
    _, _, takes, boards = max(ways)
    return takes, boards


def _flats(batch: Batch, units: tuple[Unit, ...]) -> Iterator[Flat]:
    """Boards of a size and weight, over all groups that take them."""
    counts: Counter[Flat] = Counter()
    to_pack = {name: count for name, count, _ in packed_boards(batch, units)}
    for hives, group in by_hives(units):
        count = to_pack.get(hives.name or hives.format, 0)
        own = [unit for part in BOARD if (unit := of_board(group, part)) is not None]
        if not count or not own or not hives.is_packed:
            continue
        rim, floor, _ = board_of(group)
        parts = (*rim.with_role(Role.MADE), *floor.with_role(Role.MADE))
        size = [max(p.box.high[n] for p in parts) - min(p.box.low[n] for p in parts) for n in range(2)]
        setting = own[0].line.setting
        weight = weight_of(parts)[0] + setting.damp
        counts[Flat(own[0].line.fits, 0, max(size), wide=min(size), sugar=setting.sugar, weight=weight)] += count
    for flat, count in counts.items():
        yield Flat(flat.fits, count, flat.long, wide=flat.wide, sugar=flat.sugar, weight=flat.weight)


def _on_tables(flats: tuple[Flat, ...], long: Length, wide: Length) -> list[tuple[TableRow, ...]]:
    """Rows of like boards on as few tables as first-fit, longest row first, finds."""
    rows: list[TableRow] = []
    for n, flat in enumerate(flats):
        takes, boards = across(flat, long, wide)
        if not boards:
            given = f"a table {long} x {wide} for a board {flat.long} x {flat.wide}"
            raise InputError(Problem("table", given, "a table that a board lies on flat", "Give a larger table."))
        full, rest = divmod(flat.count, boards)
        rows += [TableRow(n, takes, boards)] * full + ([TableRow(n, takes, rest)] if rest else [])
    tables: list[list[TableRow]] = []
    for row in sorted(rows, key=lambda row: (row.takes, row.boards), reverse=True):
        for each in tables:
            if sum((other.takes for other in each), ZERO) + row.takes <= long:
                each.append(row)
                break
        else:
            tables.append([row])
    return [tuple(each) for each in tables]
