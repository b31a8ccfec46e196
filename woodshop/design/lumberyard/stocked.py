"""A lumberyard with the additions from the shop's book: newer prices, the rack, and leftover boards and packs.

The book lists the offcuts on the rack. If there is a book, the offcuts in the lumberyard file are not used.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TypeVar

from woodshop.design.design_file import Design
from woodshop.design.inventory import BookNote, DatedPrice, Inventory, RackPiece, StockOnHand, named
from woodshop.design.lumberyard.lumberyard_file import (
    ON_HAND,
    Lumberyard,
    Offer,
    Pack,
    PackOnHand,
    Ready,
    read_lumberyards,
)
from woodshop.design.schema import Default
from woodshop.errors import InputError, Problem
from woodshop.hardware.catalogue import folded
from woodshop.reference.materials import Material, read_material
from woodshop.units.lengths import ZERO, Money
from woodshop.units.wording import LengthUnit

SHARE = 100
"""A board already paid for counts at a hundredth of its price, so that it is used before a new board but not wasted."""

Goods = TypeVar("Goods", Offer, Pack, Ready)


def read_stocked(design: Design) -> Lumberyard:
    """The lumberyards of a design, with additions from its book. Raises InputError with every problem in the files."""
    return stocked(read_lumberyards(design.lumberyards), design.inventory, design.unit)


def stocked(lumberyard: Lumberyard, inventory: Inventory | None, unit: LengthUnit) -> Lumberyard:
    """The lumberyard with the newer prices, rack and stock of the book, or unchanged if there is no book.

    Raises InputError if the book is in another currency.
    """
    if inventory is None:
        return lumberyard
    if inventory.currency != lumberyard.currency:
        wanted = f"{lumberyard.currency}, as in the lumberyard file"
        raise InputError(Problem("the shop's book", inventory.currency, wanted, "Name a book in that currency."))
    added = _Added(inventory, unit)
    lumberyard = _priced(lumberyard, added)
    offers: list[Offer] = []
    packs: list[PackOnHand] = []
    for piece in inventory.rack:
        offers += added.piece(piece, lumberyard)
    for stock in inventory.stock:
        added.stock(stock, lumberyard, offers, packs)
    own = [offer for offer in lumberyard.offers if offer.label]
    rack = {(offer.label, offer.material, offer.length, offer.width): offer.count for offer in offers}
    missing = [
        offer.what for offer in own if rack.get((offer.label, offer.material, offer.length, offer.width)) != offer.count
    ]
    if missing:
        added.notes.append(
            BookNote(
                place=f"lumberyard file {lumberyard.name!r}, offcuts",
                value=named(missing),
                wanted="offcuts that the book has",
                do='They are not used. Enter each one as "offcut put away", and remove [[offcut]].',
                is_in_book=False,
            )
        )
    if added.strange:
        added.notes.append(
            BookNote(
                place=f"{inventory.source}, stock",
                value=named(added.strange),
                wanted="names of the lumberyard file, and materials of the packet",
                do="Correct the name, or add the goods to the lumberyard file.",
            )
        )
    return replace(
        lumberyard,
        offers=(*(offer for offer in lumberyard.offers if not offer.label), *offers),
        on_hand=tuple(packs),
        listed=(*lumberyard.listed, *added.defaults),
        notes=tuple(added.notes),
    )


@dataclass(slots=True)
class _Added:
    """Collects what the book adds: defaults to list, notes, and names that match nothing."""

    inventory: Inventory
    unit: LengthUnit
    defaults: list[Default] = field(default_factory=list)
    notes: list[BookNote] = field(default_factory=list)
    strange: list[str] = field(default_factory=list)

    def piece(self, piece: RackPiece, lumberyard: Lumberyard) -> Iterator[Offer]:
        """The offer of an offcut or a marked board. There is none if its material or size is unknown."""
        words = f"{'board' if piece.is_board else 'offcut'} {piece.label}"
        own = offer_named(piece.stock, lumberyard) if piece.stock else None
        material = _material(piece.material) or (own.material if own is not None else None)
        length = piece.length or (own.length if own is not None else None)
        width = piece.width or (own.width if own is not None else None)
        if material is None or length is None or width is None:
            lacking = f"material {piece.material!r}" if material is None else "a size that is not known"
            self.strange.append(f"{words} ({lacking})")
            return
        bad = tuple(sorted((low, min(high, length)) for low, high in piece.bad if ZERO <= low < min(high, length)))
        size = f"{width.number(self.unit)} x {length.text(self.unit)}, {material}"
        yield Offer(
            id=f"offcut_{words.removeprefix('offcut ').replace(' ', '_')}",
            material=material,
            what=f"offcut {words.removeprefix('offcut ')}: {size}",
            length=length,
            width=width,
            price=Money(0, lumberyard.currency),
            count=1,
            thickness=material.thickness if material.is_lumber else None,
            label=words.removeprefix("offcut "),
            bad=bad,
            square_ends=piece.square_ends or (piece.is_board and own is not None and own.square_ends),
            straight_edges=piece.straight_edges or (piece.is_board and (own is None or own.straight_edges)),
            rounded_edges=piece.is_board and own is not None and own.rounded_edges,
            chalked=piece.label if piece.is_board else "",
        )
        self.defaults.append(Default("on hand", words, size, self.inventory.source))

    def stock(self, stock: StockOnHand, lumberyard: Lumberyard, offers: list[Offer], packs: list[PackOnHand]) -> None:
        """Adds leftover boards to `offers`, or leftover packs to `packs`."""
        pack = next(iter(matching(stock.stock, lumberyard.packs, lumberyard)), None)
        own = None if pack is not None else offer_named(stock.stock, lumberyard)
        material = _material(stock.material)
        if pack is not None:
            packs.append(PackOnHand(pack, stock.count, stock.is_new))
        elif own is not None:
            paid = stock.price or own.price
            offers.append(_left_over(own, stock, paid))
        elif material is not None and stock.length is not None and stock.width is not None:
            paid = stock.price or Money(0, lumberyard.currency)
            new = Offer(
                id=stock.stock.replace(" ", "_"),
                material=material,
                what=stock.stock,
                length=stock.length,
                width=stock.width,
                price=paid,
                thickness=material.thickness if material.is_lumber else None,
            )
            offers.append(_left_over(new, stock, paid))
        else:
            self.strange.append(f"{stock.count} x {stock.stock}")
            return
        self.defaults.append(Default("on hand", stock.stock, f"{stock.count} left over", self.inventory.source))


def _left_over(offer: Offer, stock: StockOnHand, paid: Money) -> Offer:
    """Boards, sheets or rolls already paid for, as stock that is preferred to new goods."""
    return replace(
        offer,
        id=f"{'new' if stock.is_new else 'left over'} {offer.id}",
        what=f"{offer.what}, bought",
        price=Money(-(-paid.minor // SHARE), paid.currency),
        count=stock.count,
        label=ON_HAND,
        worth=paid,
        cuts=None,
        lumberyard="",
        seen=None,
    )


def _material(name: str) -> Material | None:
    try:
        return read_material(name)
    except (ValueError, KeyError):
        return None


def offer_named(stock: str, lumberyard: Lumberyard) -> Offer | None:
    """The board, sheet or roll for sale to which the book gives this name, or None if no lumberyard sells it."""
    sold = [offer for offer in (*lumberyard.offers, *lumberyard.too_long) if not offer.label]
    return next(iter(matching(stock, sold, lumberyard)), None)


def matching(stock: str, goods: Iterable[Goods], lumberyard: Lumberyard) -> list[Goods]:
    """The goods meant by `stock`, a name on a buy list. It may end with "(lumberyard)" or ", lumberyard"."""
    sellers = [terms.lumberyard for terms in lumberyard.terms]
    plain = bare(stock, sellers)
    named = [(bare(each.what, sellers), each) for each in goods]
    exact = [each for name, each in named if name == plain]
    if exact:
        return exact
    begun = [(name, each) for name, each in named if plain.startswith(f"{name},")]
    longest = max((name for name, _ in begun), key=len, default="")
    return [each for name, each in begun if name == longest]


def bare(what: str, sellers: Iterable[str]) -> str:
    """A buy-list name in lowercase, without the name of its lumberyard."""
    for seller in sellers:
        what = what.replace(f" ({seller})", "")
    return folded(what)


def _priced(lumberyard: Lumberyard, added: _Added) -> Lumberyard:
    """The lumberyard with each price from the book that is not older than the file's price. Both prices are listed."""
    offers, packs, ready = lumberyard.offers, lumberyard.packs, lumberyard.ready
    unknown: list[str] = []
    for price in added.inventory.prices:
        seller = _seller(price.lumberyard, lumberyard)
        before = len(added.defaults)
        offers = _repriced(offers, price, seller, lumberyard, added)
        packs = _repriced(packs, price, seller, lumberyard, added)
        ready = _repriced(ready, price, seller, lumberyard, added)
        if len(added.defaults) == before:
            unknown.append(f"{price.stock} at {price.lumberyard}")
    if unknown:
        wanted = "goods of these lumberyard files"
        do = "They are not used. Correct the name, or add the goods to the lumberyard file."
        added.notes.append(
            BookNote(place=f"{added.inventory.source}, prices", value=named(unknown), wanted=wanted, do=do)
        )
    days = [each.seen for goods in (offers, packs, ready) for each in goods if each.seen is not None]
    return replace(lumberyard, offers=offers, packs=packs, ready=ready, seen=min(days, default=lumberyard.seen))


def _seller(name: str, lumberyard: Lumberyard) -> str:
    """The lumberyard with this name, or else the only one whose name starts with it; "" if none or several match."""
    plain = folded(name)
    known = [terms.lumberyard for terms in lumberyard.terms]
    exact = [each for each in known if folded(each) == plain]
    begun = [each for each in known if folded(each).startswith(f"{plain} ")]
    return next(iter(exact or (begun if len(begun) == 1 else ())), "")


def _repriced(
    goods: tuple[Goods, ...], price: DatedPrice, seller: str, lumberyard: Lumberyard, added: _Added
) -> tuple[Goods, ...]:
    """The goods, repriced where the book names them. Each price that is chosen is listed as a default."""
    own = [each for each in goods if seller and each.lumberyard == seller and not getattr(each, "label", "")]
    meant = matching(price.stock, own, lumberyard)
    return tuple(_with_price(each, price, added) if any(each is m for m in meant) else each for each in goods)


def _with_price(goods: Goods, price: DatedPrice, added: _Added) -> Goods:
    seen = goods.seen
    is_newer = seen is None or price.day >= seen
    in_book = f"{price.price} on {price.day.isoformat()} in the book"
    in_file = f"{goods.price} on {seen.isoformat()} in the file" if seen is not None else f"{goods.price} in the file"
    which = "the book's is used" if price.day == seen else "the newer is used"
    words = f"{in_book}; {in_file}: {which}"
    added.defaults.append(Default(f"prices, {goods.lumberyard}", goods.what, words, added.inventory.source))
    return replace(goods, price=price.price, seen=price.day) if is_newer else goods
