"""Explains which parts limited boards cannot make, with their sizes, and what would cure it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from woodshop.design.batch import Batch, SawSettings, Unit
from woodshop.design.lumber import (
    Need,
    across,
    boards_for,
    clear_length,
    cut_width,
    is_near,
    resawn,
    resawn_at_most,
    resawn_reason,
    usable_width,
)
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.errors import InputError, Problem, Shortage, ShortOfStockError
from woodshop.hardware.registry import BoardPart
from woodshop.reference.materials import board_material
from woodshop.units.lengths import ZERO, Length

_SHARE_WOOD = (BoardPart.RIM, BoardPart.FLOOR, BoardPart.STRIPS)


def shortages(
    batch: Batch, units: Sequence[Unit], needs: Iterable[Need], offers: Sequence[Offer], why: ShortOfStockError
) -> tuple[Problem, ...]:
    """The problems of `why` in the words of the design, or as they are if they name no parts of boards.

    `offers` is the stock of the job for these `needs`. Only remedies that give at least one more piece are named.
    """
    by_address = {need.address: need for need in needs}
    found: list[Problem] = []
    for short in why.short:
        own = [by_address[name] for name in short.names if name in by_address]
        if len(own) < len(short.names) or not own[0].part.material.is_lumber:
            return why.problems
        found.append(_shortage(batch, units, own, offers, short, is_first=not found))
    return tuple(found) or why.problems


def _shortage(
    batch: Batch, units: Sequence[Unit], needs: Sequence[Need], offers: Sequence[Offer], short: Shortage, is_first: bool
) -> Problem:
    """The problem of one size. Only the `is_first` says why thicker boards do not help."""
    need, unit, saw = needs[0], batch.unit, batch.saw
    material = need.part.material
    wood = material.thickness or need.part.thickness
    own = [offer for offer in offers if offer.material == material and offer.count is not None]
    long, wide = need.part.length.up_to(saw.mark), cut_width(need, offers, saw, unit)
    size = f"{long.text(unit)} long, {wide.text(unit)} wide and {wood.text(unit)} thick"
    limited = [offer for offer in offers if offer in own or (offer.count is not None and resawn(offer, wood, saw))]
    there = ", ".join(f"{offer.count} of {offer.what}" for offer in limited)
    makers = [each for each in units if any(need.address.startswith(f"{each.line.item.name} / ") for need in needs)]
    makers = [each for each in makers if any(placed.part == need.part for placed in each.assembly.placed)]
    reason = resawn_reason(batch.lumberyard, wood, batch.saw, unit) if is_first else ""
    remedies = [
        *([reason] if reason else []),
        f"Add boards {wood.text(unit)} thick to the lumberyard file, or offcuts, {wide.text(unit)} wide or more and "
        f"longer than {long.text(unit)}.",
    ]
    for maker in makers[:1]:
        remedies += [*_other_wood(batch, maker, need, wood), *_lower(batch, maker, need, own)]
    remedies += [*_straight(batch, own, long, wide), "Or make fewer."]
    return Problem(
        f"{' and '.join(each.address for each in needs)}, from {batch.lumberyard.name!r} and the offcuts",
        f"{short.missing} of {short.wanted} pieces that cannot be cut, each {size}",
        f"boards for all of them; there {f'are only {there}' if there else 'are none'}",
        " ".join(remedies),
    )


def _other_wood(batch: Batch, maker: Unit, need: Need, wood: Length) -> Iterator[str]:
    """The closest thickness of which boards for sale without limit make this part."""
    item, saw = maker.line.item, batch.saw
    if item.board_part is BoardPart.BLOCKS or maker.line.setting.board.made_of != "boards":
        return
    sold = [offer for offer in batch.lumberyard.offers if offer.count is None]
    woods = {offer.thickness for offer in sold if offer.thickness is not None and _is_board(offer)}
    woods = {wood_of for wood_of in (*woods, resawn_at_most(batch.lumberyard, saw, batch.unit)) if wood_of > ZERO}
    high = _least_height(maker, need) or across(need)
    for other in sorted(woods - {wood}, key=lambda each: (abs(each - wood), each)):
        # A wall between two others is longer if these are thinner.
        long = need.part.length.up_to(saw.mark) + max(wood - other, ZERO) * 2
        boards = [offer for offer in boards_for(batch.lumberyard, other, saw) if offer.count is None]
        if is_near(wood, other) and any(
            usable_width(offer, saw) >= high and clear_length(offer, saw) >= long for offer in boards
        ):
            name = "all parts of the fondant board" if item.board_part in _SHARE_WOOD else f"the {item.name}"
            yield (
                f'Or set wood = "{other.number(batch.unit)}" for {name}, under [[make]]: boards of that thickness are '
                "for sale."
            )
            return


def _is_board(offer: Offer) -> bool:
    return offer.thickness is not None and offer.material == board_material(offer.thickness)


def _least_height(maker: Unit, need: Need) -> Length | None:
    """The height of this wall if it were ripped to the height needed; None for what is not a wall."""
    line = maker.line
    if line.item.place is None or need.part.name not in line.item.place.walls:
        return None
    given = {key: None if key == "height" else value for key, value in line.given}
    board = replace(line.setting.board, height=None, ripped=True)
    try:
        made = line.item.make(replace(line.setting, board=board), **given)
    except InputError:
        return None
    return made.named(need.part.name)[0].part.width


def _lower(batch: Batch, maker: Unit, need: Need, own: Sequence[Offer]) -> Iterator[str]:
    """A lower wall, if more of them then come of a board."""
    saw, line, high = batch.saw, maker.line, need.part.width
    least = _least_height(maker, need)
    long = need.part.length.up_to(saw.mark)
    if (
        least is None
        or least >= high
        or not any(_pieces(saw, offer, long, least) > _pieces(saw, offer, long, high) for offer in own)
    ):
        return
    is_rim = line.item.board_part is BoardPart.RIM
    place = "[board]" if is_rim else f"[[make]] for the {line.item.name}"
    if (line.setting.board.height if is_rim else dict(line.given).get("height")) is not None:
        yield f'Or set height = "{least.number(batch.unit)}" under {place}: it needs no more.'
    else:
        yield (
            f"Or set ripped = true under {place}: walls are then {least.text(batch.unit)} high, and more of them come "
            "of a board."
        )


def _straight(batch: Batch, own: Sequence[Offer], long: Length, wide: Length) -> Iterator[str]:
    """Edges and ends of offcuts that are not said to be straight and square, if that costs a piece."""
    offcuts = [offer for offer in own if offer.is_offcut]
    for key, words, better in (
        ("straight_edges", "edges are straight", [replace(offer, straight_edges=True) for offer in offcuts]),
        ("square_ends", "ends are square", [replace(offer, square_ends=True) for offer in offcuts]),
    ):
        labels = [
            offer.label
            for offer, other in zip(offcuts, better, strict=True)
            if _pieces(batch.saw, other, long, wide) > _pieces(batch.saw, offer, long, wide)
        ]
        if labels:
            do = f"set {key} = true under [[offcut]]"
            if batch.inventory is not None:
                do = f"enter {key} for it in the shop's book"
            yield f"Or, if the {words} on offcut {' and '.join(labels)}, {do}: less is cut off."


def _pieces(saw: SawSettings, offer: Offer, long: Length, wide: Length) -> int:
    """How many pieces of this size come of the longest clear stretch of a board, ripped into strips first."""
    usable, clear = usable_width(offer, saw), clear_length(offer, saw)
    # Without a remainder, the last strip needs no kerf.
    spare = saw.least_remainder if saw.remainder_allowance is None else ZERO - saw.rip_kerf
    strips = 1 if wide == usable else 0 if offer.twisted else max(usable - spare, ZERO) // (wide + saw.rip_kerf)
    return strips * ((max(clear, ZERO) + saw.crosscut_kerf) // (long + saw.crosscut_kerf))
