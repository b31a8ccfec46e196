"""The yard file: what can be bought and for how much, the rack at home, and the saw."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from woodshop.batch.schema import AnyLength, Cents, Size, SomeMass, Table, Words, load, validate
from woodshop.errors import InputError, Problem
from woodshop.reference.lumber import dressed, nominal_names
from woodshop.reference.sheets import sheet_kind, sheet_kinds, sheet_material
from woodshop.units import ZERO, Length, Mass, Money

Goods = Literal["sugar", "shavings", "staples", "screws", "pins", "glue", "vinegar", "cloth"]
Count = Annotated[int, Field(ge=1, le=1_000_000)]
Strips = Literal["fall free", "thin-rip stop"]


class SawTable(Table):
    """[saw]"""

    rip_kerf: AnyLength | None = None
    crosscut_kerf: AnyLength | None = None
    mark: Size | None = None
    end_trim: AnyLength | None = None
    edge_allowance: AnyLength | None = None
    shortest_offcut: AnyLength | None = None
    narrowest_offcut: AnyLength | None = None
    thinnest_rip: AnyLength | None = None
    narrow_rip: AnyLength | None = None
    wood_in_hand: AnyLength | None = None
    shortest_rip: AnyLength | None = None
    longest_rip: Size | None = None
    strips: Strips | None = None


class LengthOffer(Table):
    """One length of a board and its price."""

    length: Size
    price: Cents
    count: Count | None = None


class BoardTable(Table):
    """[[board]]"""

    nominal: str | None = None
    thickness: Size | None = None
    width: Size | None = None
    wood: Words = ""
    sizes: tuple[LengthOffer, ...] = Field(min_length=1)


class RollTable(Table):
    """[[roll]]"""

    mesh: str | None = None
    cloth: str | None = None
    width: Size
    length: Size
    price: Cents
    count: Count | None = None


class SheetTable(Table):
    """[[sheet]]: one kind of sheet by its nominal size; the length runs along the flutes or the face grain."""

    fluted: str | None = None
    steel: str | None = None
    plywood: str | None = None
    foam: str | None = None
    what: Words = ""
    length: Size
    width: Size
    price: Cents
    count: Count | None = None


class RackTable(Table):
    """[[rack]]"""

    label: Words = Field(min_length=1)
    nominal: str | None = None
    thickness: Size | None = None
    width: Size | None = None
    mesh: str | None = None
    cloth: str | None = None
    fluted: str | None = None
    steel: str | None = None
    plywood: str | None = None
    foam: str | None = None
    length: Size
    count: Count = 1
    worth: Cents = 0
    bad: tuple[tuple[AnyLength, AnyLength], ...] = ()


class PackTable(Table):
    """[[pack]]"""

    goods: Goods
    what: Words = ""
    mass: SomeMass | None = None
    pieces: Count | None = None
    loose_litres: Annotated[int, Field(ge=1, le=100_000)] | None = None
    pressed_litres: Annotated[int, Field(ge=1, le=100_000)] | None = None
    millilitres: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    price: Cents


class YardTable(Table):
    """A yard file."""

    format: str
    name: Words = Field(min_length=1)
    unit: Literal["in", "mm"] = "in"
    currency: str = Field(default="USD", pattern=r"^[A-Z]{3}$")
    seen: date
    longest: Size | None = None
    shared_wires: bool = False
    saw: SawTable = SawTable()
    board: tuple[BoardTable, ...] = ()
    roll: tuple[RollTable, ...] = ()
    sheet: tuple[SheetTable, ...] = ()
    rack: tuple[RackTable, ...] = ()
    pack: tuple[PackTable, ...] = ()


@dataclass(frozen=True, slots=True)
class Offer:
    """One form of a sheet, board or roll that can be had: for sale, or from the rack (`label` set).

    `thickness` is given for boards and lattice, and None for what is named by its thickness or has none.
    """

    id: str
    material: str
    what: str
    length: Length
    width: Length
    price: Money
    count: int | None = None
    thickness: Length | None = None
    label: str = ""
    bad: tuple[tuple[Length, Length], ...] = ()


@dataclass(frozen=True, slots=True)
class Pack:
    """Goods by the bag, box or bottle. One of mass, pieces, loose litres, millilitres tells how much is in it."""

    goods: str
    what: str
    price: Money
    mass: Mass | None = None
    pieces: int | None = None
    loose_litres: int | None = None
    millilitres: int | None = None


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard: its offers, the day its prices were seen, the saw's settings as given, and what it leaves out."""

    name: str
    currency: str
    seen: date
    unit: str
    shared_wires: bool
    saw: SawTable
    offers: tuple[Offer, ...]
    packs: tuple[Pack, ...]
    left_out: tuple[str, ...]

    def board_widths(self, thickness: Length) -> tuple[Length, ...]:
        """Widths of boards for sale in this thickness, least first."""
        material = f"board {thickness}"
        return tuple(sorted({o.width for o in self.offers if o.material == material and not o.label}))


def read_yard(path: Path) -> Yard:
    """The yard file as values. Raises InputError with every problem in it."""
    raw = load(path, "yard")
    unit = raw.get("unit", "in")
    table = validate(YardTable, raw, path.name, unit if unit in ("in", "mm") else "in")
    found: list[Problem] = []
    offers: list[Offer] = []
    left_out: list[str] = []
    for n, board in enumerate(table.board, 1):
        section = _section(f"{path.name}, board number {n}", board.nominal, board.thickness, board.width, found)
        if section is None:
            continue
        thick, wide = section
        kind = board.nominal or f"{thick} x {wide}"
        for size in board.sizes:
            what = f"{kind} {board.wood}".strip() + f", {_feet(size.length)}"
            if table.longest is not None and size.length > table.longest:
                left_out.append(f"{what}: longer than {_feet(table.longest)}, the most that can be carried home")
                continue
            price = Money(size.price, table.currency)
            ident = f"{kind} {size.length.number()}".replace(" ", "_")
            offers.append(Offer(ident, f"board {thick}", what, size.length, wide, price, size.count, thick))
    for n, roll in enumerate(table.roll, 1):
        material = _soft(f"{path.name}, roll number {n}", roll.mesh, roll.cloth, found)
        if material is None:
            continue
        what = f"{material}, roll {roll.width.number()} in x {_feet(roll.length)}"
        ident = f"{material} {roll.width.number()} x {roll.length.number()}".replace(" ", "_")
        offers.append(
            Offer(ident, material, what, roll.length, roll.width, Money(roll.price, table.currency), roll.count)
        )
    for n, sheet in enumerate(table.sheet, 1):
        material = _sheet(f"{path.name}, sheet number {n}", sheet, found)
        if material is None:
            continue
        what = f"{material} {sheet.what}".strip() + f", sheet {sheet.width.number()} in x {sheet.length.number()} in"
        ident = f"{material} {sheet.width.number()} x {sheet.length.number()}".replace(" ", "_")
        price = Money(sheet.price, table.currency)
        offers.append(Offer(ident, material, what, sheet.length, sheet.width, price, sheet.count))
    offers += _rack(path.name, table, found)
    found += _twice(path.name, offers)
    packs = [
        _pack(f"{path.name}, pack number {n}", pack, table.currency, found) for n, pack in enumerate(table.pack, 1)
    ]
    if found:
        raise InputError(*found)
    return Yard(
        table.name,
        table.currency,
        table.seen,
        table.unit,
        table.shared_wires,
        table.saw,
        tuple(offers),
        tuple(packs),
        tuple(left_out),
    )


def _rack(where: str, table: YardTable, found: list[Problem]) -> list[Offer]:
    offers = []
    for n, piece in enumerate(table.rack, 1):
        place = f"{where}, rack number {n}"
        thick: Length | None = None
        is_sheet = any(getattr(piece, kind) is not None for kind in sheet_kinds())
        if is_sheet or piece.mesh is not None or piece.cloth is not None:
            material = _sheet(place, piece, found) if is_sheet else _soft(place, piece.mesh, piece.cloth, found)
            width = piece.width
            if width is None:
                found.append(Problem(f"{place}, width", "nothing", "the width of the piece", "Measure it."))
        else:
            section = _section(place, piece.nominal, piece.thickness, piece.width, found)
            material = None if section is None else f"board {section[0]}"
            thick, width = section or (None, None)
        for low, high in piece.bad:
            if not ZERO <= low < high <= piece.length:
                found.append(
                    Problem(
                        f"{place}, bad", f"{low} to {high}", f"a stretch within 0 to {piece.length}", "Measure again."
                    )
                )
        if material is None or width is None:
            continue
        what = f"rack {piece.label}: {width.number()} x {piece.length.number()} in, {material}"
        worth = Money(piece.worth, table.currency)
        offers.append(
            Offer(
                f"rack_{piece.label}",
                material,
                what,
                piece.length,
                width,
                worth,
                piece.count,
                thick,
                piece.label,
                piece.bad,
            )
        )
    return offers


def _section(
    place: str, nominal: str | None, thickness: Length | None, width: Length | None, found: list[Problem]
) -> tuple[Length, Length] | None:
    """Dressed thickness and width: measured sizes beat the nominal name."""
    if nominal is not None:
        try:
            thick, wide = dressed(nominal)
        except KeyError:
            names = ", ".join(nominal_names())
            found.append(Problem(f"{place}, nominal", repr(nominal), f"one of {names}", "Or give thickness and width."))
            return None
        return (thickness or thick, width or wide)
    if thickness is None or width is None:
        found.append(
            Problem(place, "no nominal size", 'nominal = "1x4", or thickness and width', "Add the missing size.")
        )
        return None
    return thickness, width


def _soft(place: str, mesh_name: str | None, cloth: str | None, found: list[Problem]) -> str | None:
    if (mesh_name is None) == (cloth is None):
        found.append(Problem(place, "mesh and cloth, or neither", "one of mesh and cloth", "Name the one it is."))
        return None
    if mesh_name is None:
        return "cloth"
    from woodshop.reference.mesh import mesh, mesh_names

    try:
        mesh(mesh_name)
    except KeyError:
        found.append(
            Problem(
                f"{place}, mesh", repr(mesh_name), f"one of {', '.join(mesh_names())}", "Choose a mesh of the table."
            )
        )
        return None
    return f"mesh {mesh_name}"


def _sheet(place: str, table: SheetTable | RackTable, found: list[Problem]) -> str | None:
    """The material of a sheet: just one kind may be named, by a size that there is."""
    named = {kind: size for kind in sheet_kinds() if (size := getattr(table, kind)) is not None}
    others = [word for word in ("nominal", "mesh", "cloth") if getattr(table, word, None) is not None]
    if len(named) != 1 or others:
        given = " and ".join((*named, *others)) or "no kind of sheet"
        found.append(Problem(place, given, f"one of {', '.join(sheet_kinds())}", "Name the one it is."))
        return None
    ((kind, size),) = named.items()
    try:
        return sheet_material(kind, size)
    except ValueError:
        row = sheet_kind(kind)
        wanted = row.nominal if row is not None else "its size"
        found.append(Problem(f"{place}, {kind}", repr(size), wanted, "Give the size by which it is sold."))
        return None


_HOLDS = {
    "sugar": "mass", "shavings": "loose_litres", "staples": "pieces", "screws": "pieces", "pins": "pieces",
    "glue": "millilitres", "vinegar": "millilitres", "cloth": "pieces",
}  # fmt: skip


def _pack(place: str, pack: PackTable, currency: str, found: list[Problem]) -> Pack:
    holds = _HOLDS[pack.goods]
    if getattr(pack, holds) is None:
        found.append(Problem(place, f"{pack.goods} without {holds}", f"{holds}: how much is in one", "Add the line."))
    if pack.pressed_litres and pack.loose_litres and pack.pressed_litres > pack.loose_litres:
        given = f"{pack.pressed_litres} L pressed, {pack.loose_litres} L loose"
        found.append(Problem(place, given, "more litres loose than pressed", "Exchange the two numbers."))
    what = pack.what or pack.goods
    price = Money(pack.price, currency)
    return Pack(pack.goods, what, price, pack.mass, pack.pieces, pack.loose_litres, pack.millilitres)


def _twice(where: str, offers: list[Offer]) -> list[Problem]:
    seen: set[str] = set()
    found = []
    for offer in offers:
        if offer.id in seen:
            found.append(
                Problem(where, f"{offer.what} twice", "each size and each rack label once", "Remove one of the two.")
            )
        seen.add(offer.id)
    return found


def _feet(length: Length) -> str:
    feet = length.inches / 12
    return f"{feet} ft" if feet.denominator == 1 else length.text()
