"""The weights of boards and boxes, their smallest cartons, and the station where boards are packed and dried.

Weights are estimates from a density for each material. Sizes are exact, from the placed parts. Until its sugar is hard,
each fondant board needs table space for its outside size, and its own backing board.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction
from math import ceil

from woodshop.design.batch import Batch, Hives, Unit, of_board, packed_boards
from woodshop.design.tables import FORMS
from woodshop.engineering.sugar import Mix
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import board_names, find_item
from woodshop.hardware.registry import BoardPart
from woodshop.plan.buy_list import batch_mix
from woodshop.plan.work.weights import weight_of
from woodshop.reference.facts import fact
from woodshop.shape.part import Assembly, Placed, Role
from woodshop.units.lengths import ZERO, Area, Length, Mass
from woodshop.units.wording import Wording

BOARD = (BoardPart.RIM, BoardPart.FLOOR, BoardPart.STRIPS)
_OF_FORM = {"packed": BOARD, "with mesh": BOARD, "unassembled kit": BOARD, "empty": BOARD[:1]}
Sizes = tuple[Length, Length, Length]


@dataclass(frozen=True, slots=True)
class Parcel:
    """One item in its carton. `size` is the minimum inside size, longest side first.

    `uncounted` are materials without a known density. `ordered` is the number of hives that get the item in that form
    or, for items that are not for hives, the number made.
    """

    what: str
    fits: str
    form: str
    _: KW_ONLY
    ordered: int
    weight: Mass
    size: Sizes
    uncounted: tuple[str, ...]

    @property
    def is_weighed(self) -> bool:
        """Whether the weight of any material is known."""
        return self.weight.grams > 0

    @property
    def girth(self) -> Length:
        """The girth around the longest side."""
        return (self.size[1] + self.size[2]) * 2

    @property
    def length_and_girth(self) -> Length:
        """The longest side plus the girth, which carriers use."""
        return self.size[0] + self.girth


def board_of(group: dict[str, Unit], parts: tuple[BoardPart, ...] = BOARD) -> tuple[Assembly, ...]:
    """The units of a board for these hives. If a part is not made for them, one with default settings is assumed."""
    found = {part: of_board(group, part) for part in BOARD}
    setting = next(unit for unit in found.values() if unit is not None).line.setting
    made = [(found[part], board_names(part)[0]) for part in parts]
    return tuple(_usual(name, setting) if unit is None else unit.assembly for unit, name in made)


def _usual(name: str, setting: Setting) -> Assembly:
    """An item made with default settings and with lengths from the table."""
    kind = find_item(name)
    rows = {each.name: each.param.fact for each in kind.parameters if each.default is None and each.param.fact}
    made: Assembly = kind.make(setting, **{key: fact(row).length for key, row in rows.items()})
    return made


def by_hives(units: tuple[Unit, ...]) -> tuple[tuple[Hives, dict[str, Unit]], ...]:
    """Each hive group with its units by item name. An item on two lines counts once."""
    found: dict[str, tuple[Hives, dict[str, Unit]]] = {}
    for unit in units:
        hives = unit.line.hives
        found.setdefault(hives.name, (hives, {}))[1].setdefault(unit.line.item.name, unit)
    return tuple(found.values())


def parcels_of(units: tuple[Unit, ...]) -> tuple[Parcel, ...]:
    """The parcels for boards of every size and form, for items with walls (assembled and as kits), and for flat items.

    If several groups of hives have the same sizes and weights, they share one parcel.
    """
    found: dict[tuple[object, ...], Parcel] = {}
    for parcel in _parcels(units):
        key = (parcel.what, parcel.fits, parcel.form, parcel.weight, parcel.size)
        before = found.get(key)
        ordered = parcel.ordered + (before.ordered if before else 0)
        found[key] = Parcel(
            parcel.what,
            parcel.fits,
            parcel.form,
            ordered=ordered,
            weight=parcel.weight,
            size=parcel.size,
            uncounted=parcel.uncounted,
        )
    return tuple(found.values())


def _parcels(units: tuple[Unit, ...]) -> Iterator[Parcel]:
    for hives, group in by_hives(units):
        own = [unit for part in BOARD if (unit := of_board(group, part)) is not None]
        if own:
            for form in FORMS:
                things = board_of(group, _OF_FORM[form])
                sugar = own[0].line.setting.damp if form == "packed" else Mass(Fraction(0))
                yield _parcel(
                    "board",
                    own[0],
                    form,
                    ordered=hives.count if form == hives.board_form else 0,
                    things=things,
                    sugar=sugar,
                )
        for name, unit in group.items():
            if unit.line.item.board_part in BOARD or not unit.line.item.is_per_hive or not _made(unit.assembly):
                continue
            if not unit.assembly.named("side"):
                count, none = unit.line.count, Mass(Fraction(0))
                yield _parcel(name, unit, "unassembled kit", ordered=count, things=(unit.assembly,), sugar=none)
                continue
            for form in ("put together", "unassembled kit"):
                ordered = unit.line.count if (form == "unassembled kit") != hives.is_assembled else 0
                yield _parcel(name, unit, form, ordered=ordered, things=(unit.assembly,), sugar=Mass(Fraction(0)))


def _parcel(what: str, unit: Unit, form: str, *, ordered: int, things: tuple[Assembly, ...], sugar: Mass) -> Parcel:
    parts = [placed for each in things for placed in _made(each)]
    weight, uncounted = weight_of(parts)
    if form == "unassembled kit":
        size = flat_carton(tuple(placed.part.size for placed in parts))
    else:
        size = _outside(things, bool(sugar.grams))
    return Parcel(what, unit.line.fits, form, ordered=ordered, weight=weight + sugar, size=size, uncounted=uncounted)


def _made(assembly: Assembly) -> tuple[Placed, ...]:
    return assembly.with_role(Role.MADE)


def _outside(things: tuple[Assembly, ...], packed: bool) -> Sizes:
    """The sides of the bounding block, longest first.

    Loose strips are inside the walls on the mesh, or under the board if it contains sugar.
    """
    parts = [placed for each in things for placed in _made(each) if placed.part.name != "strip"]
    sides = [max(p.box.high[n] for p in parts) - min(p.box.low[n] for p in parts) for n in range(3)]
    strips = [placed.part.size for each in things for placed in _made(each) if placed.part.name == "strip"]
    if strips and (packed or not _within(strips, things[0])):
        sides[2] = sides[2] + max(min(size) for size in strips)
    longest, middle, least = sorted(sides, reverse=True)
    return longest, middle, least


def _within(strips: list[Sizes], rim: Assembly) -> bool:
    """Whether the strips fit side by side between the walls of a rim."""
    sides, ends = rim.named("side"), rim.with_role(Role.MADE)
    wide = max(p.box.low[1] for p in sides) - min(p.box.high[1] for p in sides)
    across = [p for p in ends if p.part.name.endswith("end")]
    long = max(p.box.low[0] for p in across) - min(p.box.high[0] for p in across)
    flat = [_flat(size) for size in strips]
    return max(each[0] for each in flat) <= max(long, wide) and sum((each[1] for each in flat), ZERO) <= min(long, wide)


# ---- an unassembled kit ---------------------------------------------------------------------------------------


def flat_layers(parts: tuple[Sizes, ...], wide: Length) -> tuple[tuple[Sizes, ...], ...]:
    """The parts laid flat side by side in layers, thickest first, each in the first layer with enough width.

    Each part is length, width and thickness, longest first. Raises ValueError for a part wider than the carton.
    """
    layers: list[list[Sizes]] = []
    for part in sorted((_flat(each) for each in parts), key=lambda each: (each[2], each[1], each[0]), reverse=True):
        if part[1] > wide:
            raise ValueError(f"a part {part[1]} wide in a carton of {wide}")
        for layer in layers:
            if sum((each[1] for each in layer), ZERO) + part[1] <= wide:
                layer.append(part)
                break
        else:
            layers.append([part])
    return tuple(tuple(layer) for layer in layers)


def flat_carton(parts: tuple[Sizes, ...]) -> Sizes:
    """The sides, longest first, of the carton with the smallest length plus girth that holds the parts in layers.

    It is as wide as the widest part, or as two or more such parts side by side. Other arrangements may need less.
    """
    flat = sorted((_flat(each) for each in parts), key=lambda each: each[1], reverse=True)
    long, wide = max(each[0] for each in flat), ZERO
    tried: list[tuple[Length, Sizes]] = []
    for part in flat:
        wide = wide + part[1]
        high = sum((max(each[2] for each in layer) for layer in flat_layers(parts, wide)), ZERO)
        longest, middle, least = sorted((long, wide, high), reverse=True)
        tried.append((longest + (middle + least) * 2, (longest, middle, least)))
    return min(tried)[1]


def _flat(part: Sizes) -> Sizes:
    long, wide, thick = sorted(part, reverse=True)
    return long, wide, thick


_SQUARE_FOOT = Area(Fraction("304.8") ** 2)


@dataclass(frozen=True, slots=True)
class Flat:
    """Boards of one size to pack: hives, count, length and width on the table, and the weight of one packed board."""

    fits: str
    count: int
    long: Length
    _: KW_ONLY
    wide: Length
    sugar: Mass
    weight: Mass

    @property
    def area(self) -> Area:
        """The area of the backing board for one board."""
        return self.long * self.wide

    @property
    def square_feet(self) -> Fraction:
        """The area of the backing board in square feet."""
        return self.area.mm2 / _SQUARE_FOOT.mm2


@dataclass(frozen=True, slots=True)
class TableRow:
    """Boards of one size side by side across a table: the length that they use, and their number."""

    flat: int
    takes: Length
    boards: int


@dataclass(frozen=True, slots=True)
class Turn:
    """For a number of tables: the loads, the range of days until all boards are dry, and the backing boards needed."""

    tables: int
    loads: int
    days_least: int
    days_most: int
    backs: int


@dataclass(frozen=True, slots=True)
class PackingStation:
    """The whole packing station. `tables` lists the rows of boards on each table if all boards dry at once."""

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
        """The total number of boards."""
        return sum(flat.count for flat in self.flats)

    @property
    def area(self) -> Area:
        """The total area of backing boards, if all boards dry at once."""
        return sum((flat.area * flat.count for flat in self.flats), Area(Fraction(0)))

    @property
    def weight(self) -> Mass:
        """The total weight of all packed boards, fresh."""
        return sum((flat.weight * flat.count for flat in self.flats), Mass(Fraction(0)))


def usual_table(unit: str = "in") -> tuple[Length, Length]:
    """The length and width of the default table in a design with this `unit`."""
    return fact("season.table_length").length_in(unit), fact("season.table_width").length_in(unit)


def station_of(
    batch: Batch, units: tuple[Unit, ...], table: tuple[Length, Length], most: int = 4
) -> PackingStation | None:
    """The station for a batch, and its loads on 1 to `most` tables, or None if no board is packed.

    Raises InputError for a board larger than the table.
    """
    mix = batch_mix(batch, units)
    flats = tuple(_flats(batch, units))
    if mix is None or not flats:
        return None
    long, wide = max(table), min(table)
    laid = tuple(_on_tables(flats, long, wide, batch.wording))
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
    """A row of these boards on a table: the length that the row uses, and the number of boards across.

    The orientation is the one with more boards on the table. The number is zero if the board does not fit.
    """
    ways = []
    for along, over in ((flat.long, flat.wide), (flat.wide, flat.long)):
        boards, rows = wide // over, long // along
        ways.append((boards * rows, ZERO - along, along, boards if rows else 0))
    _, _, takes, boards = max(ways)
    return takes, boards


def _flats(batch: Batch, units: tuple[Unit, ...]) -> Iterator[Flat]:
    """The boards to pack, counted by size and weight over all groups of hives."""
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


def _on_tables(flats: tuple[Flat, ...], long: Length, wide: Length, wording: Wording) -> list[tuple[TableRow, ...]]:
    """Rows of identical boards, on as few tables as a first-fit search finds. The longest rows are placed first."""
    rows: list[TableRow] = []
    for n, flat in enumerate(flats):
        takes, boards = across(flat, long, wide)
        if not boards:
            length = wording.length
            given = f"a table {length(long)} x {length(wide)} for a board {length(flat.long)} x {length(flat.wide)}"
            raise InputError(
                Problem("table", given, "a table large enough for a board to lie flat", "Give a larger table.")
            )
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
