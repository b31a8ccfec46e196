"""The lumberyard file: goods for sale with prices, and offcuts on hand; several lumberyards combined into one."""

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import KW_ONLY, dataclass, replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

from woodshop.design.inventory import BookNote
from woodshop.design.lumberyard.cut_to_length import CutToLength, cut_to_length
from woodshop.design.lumberyard.example_prices import only_examples
from woodshop.design.lumberyard.lumberyard_tables import (
    LengthOffer,
    LumberyardTable,
    OffcutTable,
    PackTable,
    PieceTable,
    ReadyTable,
    RollTable,
    SheetTable,
    Terms,
    terms_of,
)
from woodshop.design.schema import LARGEST_FILE, Default, load_text, validate
from woodshop.design.settings.saw import saw_in_lumber_file
from woodshop.errors import InputError, Problem
from woodshop.files.one_file import read_text_file
from woodshop.hardware.catalogue import item_hint, items
from woodshop.hardware.screws import WANTED, Screw, read_screw
from woodshop.reference.materials import (
    CLOTH,
    Material,
    board_material,
    dressed,
    mesh_material,
    mesh_name,
    mesh_names,
    mesh_remedy,
    nominal_names,
    sheet_kinds,
    sheet_material,
    size_example,
)
from woodshop.units.lengths import Length, Mass, Money, size_name
from woodshop.units.wording import LengthUnit

ON_HAND = "bought"
"""The label of boards, sheets and rolls that were bought for an earlier plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One sheet, board or roll that is available: for sale at `lumberyard`, or on hand (if `label` is set) as an offcut
    or as stock bought for an earlier plan.

    `thickness` is set for boards and lattice; None if the material's name gives the thickness, or if there is none.
    `is_cut` marks goods sold cut to size; `seen` is the date of the price. A board with `square_ends` or
    `straight_edges` needs no trimming of these, unless it has `rounded_edges`; a `twisted` board is never ripped.
    `worth` is the charge in a quote for stock on hand, if it is not `price`. `buy_over` is the share of boards to buy
    in addition to those planned, and why. `chalked` is the code on a board that was set aside, if it has one. `cuts` is
    set for a board that its lumberyard cuts to length; one with `resaw` may be resawn at home into thinner boards.
    """

    id: str
    material: Material
    what: str
    length: Length
    width: Length
    price: Money
    count: int | None = None
    thickness: Length | None = None
    label: str = ""
    bad: tuple[tuple[Length, Length], ...] = ()
    lumberyard: str = ""
    seen: date | None = None
    is_cut: bool = False
    square_ends: bool = False
    straight_edges: bool = True
    rounded_edges: bool = False
    twisted: bool = False
    worth: Money | None = None
    buy_over: tuple[Fraction, str] | None = None
    chalked: str = ""
    cuts: CutToLength | None = None
    resaw: bool = False

    @property
    def most_to_cut(self) -> int | None:
        """How many can be cut if what is to be bought over is there too, or None for any number."""
        if self.count is None or self.buy_over is None or self.label:
            return self.count
        share = self.buy_over[0]
        return next(n for n in range(self.count, -1, -1) if n + math.ceil(n * share) <= self.count)

    @property
    def is_offcut(self) -> bool:
        """Whether it is on hand and has been cut since it was bought."""
        return self.label not in ("", ON_HAND)

    @property
    def to_carry(self) -> Length:
        """The length of the longest piece of it that can be taken home."""
        longest = None if self.cuts is None else self.cuts.longest
        return self.length if longest is None else min(self.length, longest)

    @property
    def is_measured(self) -> bool:
        """Whether its length and width were measured, not counted in mesh cells."""
        return bool(self.label) or self.is_cut


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """Goods sold by the bag, box or bottle. A pack is measured by mass, number of pieces, loose liters or milliliters.

    `screw` is the size of the screws, or None if it is not given. `at_least` is the minimum quantity at this price.
    """

    goods: str
    what: str
    price: Money
    mass: Mass | None = None
    pieces: int | None = None
    loose_litres: int | None = None
    millilitres: int | None = None
    at_least: int = 1
    lumberyard: str = ""
    seen: date | None = None
    screw: Screw | None = None


@dataclass(frozen=True, slots=True)
class PackOnHand:
    """Unopened packs on hand. `is_new` is true if they were bought since an earlier plan, but not for it."""

    pack: Pack
    count: int
    is_new: bool = False


@dataclass(frozen=True, slots=True)
class Ready:
    """An item sold ready-made for boxes with these numbers of frames, or for all boxes if no number is given."""

    item: str
    what: str
    price: Money
    _: KW_ONLY
    frames: tuple[int, ...]
    lumberyard: str
    seen: date

    def fits(self, item: str, frames: int) -> bool:
        """Whether this ready-made item is the named item and fits the box."""
        return self.item == item and (not self.frames or frames in self.frames)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lumberyard:
    """A lumberyard, or several combined: offers, omitted goods, and the terms of each lumberyard.

    `seen` is the date of the oldest prices. `too_long` are the boards and sheets omitted because they are too long to
    carry home. `listed` are values that the files do not give, and those used of the shop's book, which also gives
    `on_hand` (unopened packs) and `notes` (mismatches). `example_prices` are still those of the example that a file
    began from: the lumberyard, the goods as its own file names them, and the price.
    """

    name: str
    currency: str
    seen: date
    unit: LengthUnit
    shared_wires: bool
    offers: tuple[Offer, ...]
    packs: tuple[Pack, ...]
    left_out: tuple[str, ...]
    terms: tuple[Terms, ...] = ()
    ready: tuple[Ready, ...] = ()
    too_long: tuple[Offer, ...] = ()
    on_hand: tuple[PackOnHand, ...] = ()
    listed: tuple[Default, ...] = ()
    notes: tuple[BookNote, ...] = ()
    example_prices: frozenset[tuple[str, str, Money]] = frozenset()

    def boards(self, thickness: Length) -> tuple[Offer, ...]:
        """The boards of this thickness, both for sale and offcuts."""
        material = board_material(thickness)
        return tuple(o for o in self.offers if o.material == material)


def read_lumberyard(path: Path) -> Lumberyard:
    """Reads a lumberyard file as values. Raises InputError with every problem in it."""
    return read_lumberyard_text(read_text_file(path, "a lumberyard file", LARGEST_FILE), path)


def read_lumberyard_text(text: str, path: Path) -> Lumberyard:
    """The text of a lumberyard file as values. `path` names it in problems. Raises InputError with every problem."""
    raw = load_text(text, path.name, "lumberyard")
    found = lumberyard_of(raw, path)
    if (examples := only_examples(raw, text)) is None:
        return found
    theirs = lumberyard_of(examples, path)
    sold: tuple[Offer | Pack | Ready, ...] = (*theirs.offers, *theirs.packs, *theirs.ready)
    return replace(found, example_prices=frozenset((each.lumberyard, each.what, each.price) for each in sold))


def lumberyard_of(raw: dict[str, Any], path: Path) -> Lumberyard:
    """The tables of a lumberyard file as values.

    `path` names the file in problems. Raises InputError with every problem.
    """
    unit = raw.get("unit", "in")
    if tools := saw_in_lumber_file(raw, path.name):
        raise InputError(*tools)
    table = validate(LumberyardTable, raw, path.name, unit if unit in ("in", "mm") else "in")
    found: list[Problem] = []
    where = path.name
    listed: list[Default] = []
    cuts = cut_to_length(where, table, found, listed)
    boards = list(_boards(where, table, found))  # a cut helps none that fits the car as it is: it comes home whole
    boards = [replace(b, cuts=cuts) if b.resaw or b.length > (table.longest or b.length) else b for b in boards]
    rolls, sheets = (list(read(where, table, found)) for read in (_rolls, _sheets))
    too_long = _too_long((*boards, *sheets), table.longest)
    most = "" if table.longest is None else _long(table.longest, table.unit)
    left_out = [f"{offer.what} (longer than {most}, the longest you can carry home)" for offer in too_long]
    offers = [offer for offer in (*boards, *rolls, *sheets) if not any(offer is each for each in too_long)]
    offers += [*_pieces(where, table, found), *_offcuts(where, table, found, left_out)]
    found += _twice(where, offers)
    packs = [_pack(f"{where}, pack number {n}", pack, table, found) for n, pack in enumerate(table.pack, 1)]
    ready = [_ready(f"{where}, ready number {n}", each, table, found) for n, each in enumerate(table.ready, 1)]
    terms = terms_of(table, where, found)
    if found:
        raise InputError(*found)
    days = [
        *(offer.seen for offer in offers if offer.seen),
        *(pack.seen for pack in packs if pack.seen),
        *(r.seen for r in ready),
    ]
    return Lumberyard(
        name=table.name,
        currency=table.currency,
        seen=min(days, default=table.seen),
        unit=table.unit,
        shared_wires=table.shared_wires,
        offers=tuple(offers),
        packs=tuple(packs),
        left_out=tuple(left_out),
        terms=(terms,),
        ready=tuple(ready),
        too_long=tuple(too_long),
        listed=tuple(listed),
    )


def _too_long(offers: Iterable[Offer], longest: Length | None) -> list[Offer]:
    """The boards and sheets that are too long for the vehicle, unless they are cut where they are bought.

    Rolls fit, because they stay rolled up.
    """
    return [] if longest is None else [offer for offer in offers if max(offer.to_carry, offer.width) > longest]


def _offer(
    table: LumberyardTable,
    form: LengthOffer | RollTable | SheetTable | PieceTable,
    name: str,
    seen: date | None,
    **more: Any,
) -> Offer:
    """An offer. `seen` is the date of its price, if it differs from the file's; `more` holds its other fields."""
    return Offer(
        id=name.replace(" ", "_"),
        length=form.length,
        price=Money(form.price, table.currency),
        count=form.count,
        lumberyard=table.name,
        seen=seen or table.seen,
        **more,
    )


_TREATED = re.compile(r"(?<!un)(?<!heat )(?<!heat-)treated|ground contact|\bPT\b", re.IGNORECASE)
"""In the name of a wood: preserved. Wood treated with heat alone is not."""


def _boards(where: str, table: LumberyardTable, found: list[Problem]) -> Iterator[Offer]:
    for n, board in enumerate(table.board, 1):
        section = _section(f"{where}, board number {n}", board.nominal, board.thickness, board.width, found)
        if section is None:
            continue
        if _TREATED.search(board.wood):
            given, wanted = repr(board.wood), "untreated wood: preservatives do not belong in a hive or in your lungs"
            found.append(Problem(f"{where}, board number {n}, wood", given, wanted, "Remove this board."))
        thick, wide = section
        kind = board.nominal or f"{size_name(thick, table.unit)} x {size_name(wide, table.unit)}"
        over = board.buy_over
        for size in board.sizes:
            if over is not None and size.count == 1:
                given, wanted = "buy_over for a single board", "at least 2: one to cut, and one over"
                place = f"{where}, board number {n}, sizes, count"
                found.append(Problem(place, given, wanted, "Leave out buy_over, or the count."))
            yield _offer(
                table,
                size,
                f"{kind} {size.length.number(table.unit)}",
                board.seen,
                material=board_material(thick, table.unit),
                what=f"{kind} {board.wood}".strip() + f", {_long(size.length, table.unit)}",
                width=wide,
                thickness=thick,
                straight_edges=board.straight_edges,
                rounded_edges=board.rounded_edges,
                resaw=board.resaw,
                buy_over=None if over is None else (over.share, over.because),
            )


def _rolls(where: str, table: LumberyardTable, found: list[Problem]) -> Iterator[Offer]:
    for n, roll in enumerate(table.roll, 1):
        material = _soft(f"{where}, roll number {n}", roll.mesh, roll.cloth, table.unit, found)
        if material is not None:
            size = f"{roll.width.text(table.unit)} x {_long(roll.length, table.unit)}"
            what = f"{_soft_goods(material, roll.cloth)}, roll {size}"
            name = f"{material} {roll.width.number(table.unit)} x {roll.length.number(table.unit)}"
            yield _offer(table, roll, name, roll.seen, material=material, what=what, width=roll.width)


def _sheets(where: str, table: LumberyardTable, found: list[Problem]) -> Iterator[Offer]:
    for n, sheet in enumerate(table.sheet, 1):
        material = _sheet(f"{where}, sheet number {n}", sheet, table.unit, found)
        if material is not None:
            size = f"{sheet.width.text(table.unit)} x {sheet.length.text(table.unit)}"
            what = f"{material} {sheet.what}".strip() + f", sheet {size}"
            name = f"{material} {sheet.width.number(table.unit)} x {sheet.length.number(table.unit)}"
            yield _offer(table, sheet, name, sheet.seen, material=material, what=what, width=sheet.width)


def _pieces(where: str, table: LumberyardTable, found: list[Problem]) -> Iterator[Offer]:
    """The offers for goods sold cut to size."""
    for n, piece in enumerate(table.piece, 1):
        place = f"{where}, piece number {n}"
        is_sheet = any(getattr(piece, kind) is not None for kind in sheet_kinds())
        is_soft = not is_sheet and (piece.mesh is not None or piece.cloth is not None)
        material = (
            _soft(place, piece.mesh, piece.cloth, table.unit, found)
            if is_soft
            else _sheet(place, piece, table.unit, found)
        )
        if material is not None:
            goods = _soft_goods(material, piece.cloth) if is_soft else material.name
            size = f"{piece.width.text(table.unit)} x {piece.length.text(table.unit)}"
            what = f"{goods} {piece.what}".strip() + f", cut to {size}"
            name = f"{material} cut {piece.width.number(table.unit)} x {piece.length.number(table.unit)}"
            yield _offer(table, piece, name, piece.seen, material=material, what=what, width=piece.width, is_cut=True)


def _ready(place: str, ready: ReadyTable, table: LumberyardTable, found: list[Problem]) -> Ready:
    known = [item.name for item in items() if item.is_per_hive]
    if ready.item not in known:
        do = item_hint(ready.item, known)
        found.append(Problem(f"{place}, item", repr(ready.item), "one of " + ", ".join(known), do))
    frames = ready.frames if isinstance(ready.frames, tuple) else () if ready.frames is None else (ready.frames,)
    what = ready.what or f"{ready.item}, ready-made"
    return Ready(
        ready.item,
        what,
        Money(ready.price, table.currency),
        frames=frames,
        lumberyard=table.name,
        seen=ready.seen or table.seen,
    )


def _offcuts(where: str, table: LumberyardTable, found: list[Problem], left_out: list[str]) -> list[Offer]:
    offers = []
    for n, piece in enumerate(table.offcut, 1):
        place = f"{where}, offcut number {n}"
        thick: Length | None = None
        is_sheet = any(getattr(piece, kind) is not None for kind in sheet_kinds())
        if is_sheet or piece.mesh is not None or piece.cloth is not None:
            material = (
                _sheet(place, piece, table.unit, found)
                if is_sheet
                else _soft(place, piece.mesh, piece.cloth, table.unit, found)
            )
            width = piece.width
            if width is None:
                found.append(Problem(f"{place}, width", "nothing", "the width of the piece", "Measure it."))
        else:
            section = _section(place, piece.nominal, piece.thickness, piece.width, found)
            material = None if section is None else board_material(section[0], table.unit)
            thick, width = section or (None, None)
        found += piece.problems(place, table.unit)
        if material is None or width is None:
            continue
        what = f"offcut {piece.label}: {width.number(table.unit)} x {piece.length.text(table.unit)}, {material.spoken}"
        worth = Money(piece.worth, table.currency)
        if piece.twisted and not piece.straight_edges and thick is not None:
            left_out.append(f"{what}: twisted, so it is not ripped; its edges may not be straight")
            continue
        stays = table.tight_knots_to
        knots = tuple((low, high) for low, high in piece.tight_knots if stays is None or high - low > stays)
        offers.append(
            Offer(
                id=f"offcut_{piece.label}",
                material=material,
                what=what,
                length=piece.length,
                width=width,
                price=worth,
                count=piece.count,
                thickness=thick,
                label=piece.label,
                bad=tuple(sorted(piece.bad + knots)),
                square_ends=piece.square_ends,
                straight_edges=piece.straight_edges,
                rounded_edges=piece.rounded_edges,
                twisted=piece.twisted,
                resaw=piece.resaw,
            )
        )
    return offers


def _section(
    place: str, nominal: str | None, thickness: Length | None, width: Length | None, found: list[Problem]
) -> tuple[Length, Length] | None:
    """The dressed thickness and width. Measured sizes override the nominal name."""
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


def _soft(place: str, pitch: str | None, cloth: str | None, unit: LengthUnit, found: list[Problem]) -> Material | None:
    if (pitch is None) == (cloth is None):
        found.append(Problem(place, "both mesh and cloth, or neither", "either mesh or cloth", "Name exactly one."))
        return None
    if pitch is None:
        return CLOTH
    try:
        return mesh_material(mesh_name(pitch, unit), unit)
    except KeyError:
        do = mesh_remedy(pitch, unit)
        found.append(Problem(f"{place}, mesh", repr(pitch), f"one of {', '.join(mesh_names(unit))}", do))
        return None


def _soft_goods(material: Material, cloth: str | None) -> str:
    """The name of mesh or cloth in stores: "1/2 in hardware cloth", "cotton canvas"."""
    return cloth or f"{material.size} hardware cloth"


def _sheet(
    place: str, table: SheetTable | PieceTable | OffcutTable, unit: LengthUnit, found: list[Problem]
) -> Material | None:
    """The material of a sheet. Exactly one kind must be named, with a known size."""
    named = {kind: size for kind in sheet_kinds() if (size := getattr(table, kind)) is not None}
    others = [word for word in ("nominal", "mesh", "cloth") if getattr(table, word, None) is not None]
    if len(named) != 1 or others:
        given = " and ".join((*named, *others)) or "no sheet material"
        found.append(Problem(place, given, f"one of {', '.join(sheet_kinds())}", "Name exactly one."))
        return None
    ((kind, size),) = named.items()
    try:
        return sheet_material(kind, size, unit)
    except ValueError:
        found.append(Problem(f"{place}, {kind}", repr(size), size_example(kind), "Give the size it is sold by."))
        return None


PACK_HOLDS = {
    "sugar": "mass", "shavings": "loose_litres", "staples": "pieces", "screws": "pieces", "pins": "pieces",
    "glue": "millilitres", "vinegar": "millilitres", "cloth": "pieces",
}  # fmt: skip


def _pack(place: str, pack: PackTable, table: LumberyardTable, found: list[Problem]) -> Pack:
    holds = PACK_HOLDS[pack.goods]
    if getattr(pack, holds) is None:
        found.append(Problem(place, f"{pack.goods} without {holds}", f"{holds}: how much is in one", "Add the line."))
    if pack.pressed_litres and pack.loose_litres and pack.pressed_litres > pack.loose_litres:
        given = f"{pack.pressed_litres} L pressed, {pack.loose_litres} L loose"
        found.append(Problem(place, given, "more liters loose than pressed", "Swap the two numbers."))
    what = pack.what or pack.goods
    return Pack(
        goods=pack.goods,
        what=what,
        price=Money(pack.price, table.currency),
        mass=pack.mass,
        pieces=pack.pieces,
        loose_litres=pack.loose_litres,
        millilitres=pack.millilitres,
        at_least=pack.at_least,
        lumberyard=table.name,
        seen=pack.seen or table.seen,
        screw=_screw(place, pack, found),
    )


def _screw(place: str, pack: PackTable, found: list[Problem]) -> Screw | None:
    """The size of screws, taken from `size` or from their description."""
    if pack.size is None:
        return read_screw(pack.what) if pack.goods == "screws" else None
    screw = read_screw(pack.size)
    if pack.goods != "screws":
        found.append(Problem(f"{place}, size", f"a size of {pack.goods}", "a size of screws only", "Remove it."))
    elif screw is None:
        found.append(Problem(f"{place}, size", repr(pack.size), WANTED, "Copy it from the box."))
    return screw


def _twice(where: str, offers: list[Offer]) -> list[Problem]:
    seen: set[str] = set()
    found = []
    for offer in offers:
        if offer.id in seen:
            found.append(
                Problem(where, f"{offer.what} twice", "each size and each offcut label once", "Remove one of the two.")
            )
        seen.add(offer.id)
    return found


def _long(length: Length, unit: LengthUnit) -> str:
    if unit == "mm":
        return length.text(unit)
    feet = length.inches / 12
    return f"{feet} ft" if feet.denominator == 1 else length.text()


def read_lumberyards(paths: tuple[Path, ...]) -> Lumberyard:
    """Reads one or more lumberyards and combines them. The offcuts are in the first file.

    If there is more than one, each offer names its lumberyard. Raises InputError with every problem and conflict.
    """
    lumberyards: list[Lumberyard] = []
    found: list[Problem] = []
    for path in paths:
        try:
            lumberyards.append(read_lumberyard(path))
        except InputError as bad:
            found += bad.problems
    if found:
        raise InputError(*found)
    return joined(lumberyards, [path.name for path in paths])


def joined(lumberyards: list[Lumberyard], files: list[str]) -> Lumberyard:
    """Combines several lumberyards. Raises InputError if they conflict; `files` are their names."""
    first = lumberyards[0]
    if len(lumberyards) == 1:
        return first
    found: list[Problem] = []
    for file, each in zip(files[1:], lumberyards[1:], strict=True):
        if each.currency != first.currency:
            found.append(
                Problem(f"{file}, currency", each.currency, f"{first.currency}, as in the first", "Convert it.")
            )
        if any(offer.label for offer in each.offers):
            found.append(Problem(file, "offcuts", "offcuts in the first lumberyard file alone", "Move them there."))
        if each.name in {other.name for other in lumberyards if other is not each}:
            found.append(Problem(f"{file}, name", repr(each.name), "lumberyards with different names", "Name it."))
    if found:
        raise InputError(*found)
    return replace(
        first,
        name=" and ".join(each.name for each in lumberyards),
        seen=min(each.seen for each in lumberyards),
        offers=tuple(
            offer if offer.label else replace(offer, id=f"{each.name}: {offer.id}", what=f"{offer.what} ({each.name})")
            for each in lumberyards
            for offer in each.offers
        ),
        packs=tuple(replace(pack, what=f"{pack.what} ({each.name})") for each in lumberyards for pack in each.packs),
        too_long=tuple(offer for each in lumberyards for offer in each.too_long),
        left_out=tuple(f"{words} ({each.name})" for each in lumberyards for words in each.left_out),
        terms=tuple(terms for each in lumberyards for terms in each.terms),
        ready=tuple(replace(ready, what=f"{ready.what} ({each.name})") for each in lumberyards for ready in each.ready),
        listed=tuple(row for each in lumberyards for row in each.listed),
        example_prices=frozenset[tuple[str, str, Money]]().union(*(each.example_prices for each in lumberyards)),
    )
