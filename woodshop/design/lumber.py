"""Finds the boards and offcuts that suit a part. If there are none, explains why and gives the simplest remedies."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from woodshop.design.batch import Batch, SawSettings
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, Offer
from woodshop.design.schema import Default
from woodshop.errors import Problem
from woodshop.hardware.board import NoWider
from woodshop.reference.facts import fact
from woodshop.reference.materials import Material, board_material, sheet_material
from woodshop.shape.part import Part
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import LengthUnit, Wording

_NEAR_WOOD, _NEAR_BLOCK = inch("1/8"), millimetre(8)  # common practice, no source


@dataclass(frozen=True, slots=True)
class Need:
    """A part needed from stock: its mark on the drawings, its address, its count, and the part itself.

    `serves` is the range of thickness of a ready-made strip that can replace it, or None if only its own size will do.
    """

    mark: str
    address: str
    part: Part
    count: int
    serves: tuple[Length, Length] | None = None


def grid_of(unit: LengthUnit) -> Length:
    """The unit of length in a cutting job for a design with this unit; sizes are whole multiples of it."""
    return inch("1/64") if unit == "in" else millimetre("1/10")


def in_half_millimeters(lumberyard: Lumberyard) -> Lumberyard:
    """The lumberyard with boards that are sold in inches rounded down to half millimeters, for a metric design.

    They keep their names. No part is then planned wider or thicker than its board is.
    """
    return replace(
        lumberyard,
        offers=tuple(map(_in_half_millimeters, lumberyard.offers)),
        too_long=tuple(map(_in_half_millimeters, lumberyard.too_long)),
    )


def _in_half_millimeters(offer: Offer) -> Offer:
    if offer.thickness is None or offer.material != board_material(offer.thickness):
        return offer
    thick, wide = half_millimeters(offer.thickness), half_millimeters(offer.width)
    return replace(offer, thickness=thick, width=wide, material=board_material(thick, "mm"))


def half_millimeters(length: Length) -> Length:
    """The length rounded down to a half millimeter."""
    return length.down_to(millimetre("1/2"))


def is_near(wood: Length, other: Length) -> bool:
    """Whether boards of one thickness usually do for the other."""
    return abs(wood - other) <= _NEAR_WOOD


def default_wood(lumberyard: Lumberyard, unit: LengthUnit, defaults: list[Default]) -> Length:
    """The default thickness of the wood: in a metric design, of the boards for sale the closest to the usual one."""
    row = fact("box.wall")
    usual = row.length
    sold = {offer.thickness for offer in lumberyard.offers if offer.thickness is not None and not offer.label}
    near = [each for each in sold if is_near(each, usual)]
    if unit == "in" or not near or usual in near:
        defaults.append(Default("design", "wood", row.value, row.cite))
        return usual
    wood = min(near, key=lambda each: (abs(each - usual), each))
    words = f"the boards for sale that are the closest to {usual.text(unit)}; common practice, no source"
    defaults.append(Default("design", "wood", wood.text(unit), words))
    return wood


def block_of(
    shared: dict[str, Any], lumberyard: Lumberyard, wood: Length, wording: Wording, defaults: list[Default]
) -> dict[str, Any]:
    """The thickness of packing blocks in a metric design: that of thick boards for sale, or of two boards, glued.

    `shared` are the settings of the board that the design gives.
    """
    if wording.unit == "in" or "block_boards" in shared:
        return {}
    given, usual, doubled = shared.get("block_width"), fact("block.width").length_in("mm"), wood * 2
    sold = {offer.thickness for offer in lumberyard.offers if offer.thickness is not None}
    if given is not None:
        return {"block_boards": 2} if given == doubled and given not in sold else {}
    near = [each for each in sold if abs(each - usual) <= _NEAR_BLOCK]
    width = min(near, key=lambda each: (abs(each - usual), each), default=doubled)
    why = f"the boards for sale that are the closest to {wording.length(usual)}"
    if not near:
        why = (
            f"two boards {wording.length(wood)} thick, glued, because no boards about {wording.length(usual)} are sold"
        )
    defaults.append(Default("board", "block_width", wording.length(width), f"{why}; common practice, no source"))
    found: dict[str, Any] = {"block_width": width, "block_boards": 1 if near else 2}
    deep = fact("block.length").length_in("mm")
    whole = [o.width for o in lumberyard.offers if near and o.thickness == width and abs(o.width - deep) <= _NEAR_BLOCK]
    if whole and "block_length" not in shared:
        found["block_length"] = min(whole, key=lambda each: (abs(each - deep), each))
        words = f"the width of these boards that is the closest to {wording.length(deep)}; common practice, no source"
        defaults.append(Default("board", "block_length", wording.length(found["block_length"]), words))
    return found


def steel_of(item: str, lumberyard: Lumberyard, defaults: list[Default]) -> dict[str, Any]:
    """The steel for sale closest to the usual thickness, if that is not for sale, as a setting of this `item`."""
    usual = sheet_material("steel", fact("guard.gauge").value_in("mm"), "mm")
    sold = {offer.material for offer in lumberyard.offers if offer.material.kind == usual.kind}
    if not sold or usual in sold:
        return {}
    near = min(sold, key=lambda each: (abs(_thick(each) - _thick(usual)), each.name))
    words = f"the sheet for sale that is the closest to {usual.size}; common practice, no source"
    defaults.append(Default(item, "gauge", near.size, words))
    return {"gauge": near.size}


def _thick(sheet: Material) -> Length:
    return sheet.thickness or ZERO


def wall_widths(lumberyard: Lumberyard, wood: Length, saw: SawSettings, unit: LengthUnit) -> tuple[Length, ...]:
    """The possible heights of a wall that uses the full width of its board: boards for sale, then wider offcuts.

    Heights are in ascending order. If a board's edges are left on, its width is not rounded to a mark, because a
    rounded width would have to be ripped.
    """
    sold: set[Length] = set()
    offcuts: set[Length] = set()
    for offer in boards_for(lumberyard, wood, saw):
        off = edge_off(offer, saw)
        width = (offer.width - off * 2).down_to(saw.mark) if off else offer.width.down_to(grid_of(unit))
        if width > ZERO:
            (offcuts if offer.label else sold).add(width)
    widest = max(sold, default=ZERO)
    return tuple(sorted(sold | {width for width in offcuts if width > widest}))


def boards_for(lumberyard: Lumberyard, wood: Length, saw: SawSettings) -> tuple[Offer, ...]:
    """The boards of this thickness, and those that are resawn to it, both for sale and offcuts."""
    own = lumberyard.boards(wood)
    return (*own, *(offer for offer in lumberyard.offers if offer not in own and resawn(offer, wood, saw)))


def resawn(offer: Offer, wood: Length, saw: SawSettings) -> int:
    """How many boards of this thickness come of a thicker board that may be resawn, or 0."""
    own = saw.tools.resawing
    if own is None or not offer.resaw or offer.thickness is None:
        return 0
    return own.resawn(offer.thickness, offer.width, offer.to_carry, wood)


def no_wider(
    lumberyard: Lumberyard, wood: Length, widths: tuple[Length, ...], saw: SawSettings, unit: LengthUnit
) -> NoWider:
    """A sentence about why no wall can be higher than the widest of `widths`."""
    thick = wood.text(unit)
    on_hand = all(offer.label for offer in boards_for(lumberyard, wood, saw))
    reason = _resawn_words(lumberyard, wood, saw, unit) if on_hand else ""
    if widths:
        wide = [offer for offer in lumberyard.too_long if _is_thick(offer, wood) and offer.width > widths[-1]]
        given = f"{widths[-1].text(unit)} as the widest board {thick} thick"
        if not wide:
            do = 'Add a wider board, or set made_of = "plywood" for this item, under [[make]].'
            return NoWider(given, reason or do, True)
        return NoWider(f"{given}; {_dropped(lumberyard, wide, unit)}", _longer(wide, unit), True)
    given, do = _none(lumberyard, wood, unit)
    return NoWider(given, reason or do, False)


def none_of(batch: Batch, material: Material, needs: Sequence[Need]) -> Problem:
    """The problem if a material is neither for sale nor on hand as an offcut."""
    listed = f"stock for {', '.join(need.address for need in needs)}"
    where = f"lumberyard file {batch.lumberyard.name!r}"
    if material.is_lumber and not material.is_ready_strip:
        wood = needs[0].part.thickness
        given, do = _none(batch.lumberyard, wood, batch.unit)
        do = _resawn_words(batch.lumberyard, wood, batch.saw, batch.unit) or do
        if all(need.address.startswith("packing blocks /") for need in needs) and any(
            offer.thickness is not None and offer.thickness * 2 == wood for offer in batch.lumberyard.offers
        ):
            half = (wood / 2).text(batch.unit)
            do = (
                f"Set block_boards to 2 under [board]: each packing block is then glued from two boards {half} thick. "
                f"Or add boards {wood.text(batch.unit)} thick to the lumberyard file, or an offcut."
            )
        return Problem(where, given, listed, do)
    long = [offer for offer in batch.lumberyard.too_long if offer.material == material]
    if long:
        given = f"every {material}: {_dropped(batch.lumberyard, long, batch.unit)}"
        return Problem(where, given, listed, _longer(long, batch.unit))
    given, do = f"no {material}", _other_ways(batch, material, needs)
    of_plywood = {line.item.name for line in batch.lines if line.setting.board.made_of == "plywood"}
    if material.kind.name == "plywood" and any(need.address.split(" / ")[0] in of_plywood for need in needs):
        given += ', of which walls are made: made_of = "plywood"'
        do += ' Or set made_of = "boards" under [board], or under [[make]] for some items.'
    return Problem(where, given, listed, do)


def _other_ways(batch: Batch, material: Material, needs: Sequence[Need]) -> str:
    """What to do about sheets, rolls and strips that nobody sells: list them, add a shop, change or omit the item."""
    do = "Add it to the lumberyard file, with its price. Or add the file of another shop that sells it: lumberyard = "
    do += '["one.toml", "another.toml"].'
    sold = [offer.material for offer in batch.lumberyard.offers if offer.material.kind == material.kind]
    if others := ", ".join(dict.fromkeys(str(each) for each in sold if each != material)):
        do += f" For sale: {others}. If that suits, change the setting of the item under [[make]] or [board]."
    items = dict.fromkeys(need.address.partition(" / ")[0] for need in needs)
    return f"{do} Or remove from [[make]]: {', '.join(items)}."


def unfit(batch: Batch, needs: Iterable[Need], offers: tuple[Offer, ...]) -> list[Problem]:
    """A problem for each part that does not fit on any board in `offers`, naming the sizes in the design."""
    return [problem for need in needs if (problem := _unfit(batch, need, offers)) is not None]


def too_little(batch: Batch, material: Material, offers: tuple[Offer, ...]) -> Problem | None:
    """The problem if boards can run short, because none of the material is for sale without limit; otherwise None."""
    if any(offer.count is None for offer in offers):
        return None
    unit = batch.unit
    dropped = [offer for offer in batch.lumberyard.too_long if offer.material == material]
    if dropped:
        given = f"only these pieces of {material}; {_dropped(batch.lumberyard, dropped, unit)}"
        do = _longer(dropped, unit)
    else:
        given = f"only these pieces of {material}: none is for sale without limit"
        do = "Add boards for sale to the lumberyard file, with their prices."
    return Problem(f"lumberyard file {batch.lumberyard.name!r} and the offcuts", given, "enough for every part", do)


def is_usable(offer: Offer, saw: SawSettings) -> bool:
    """Whether any part of a board remains after its ends and edges are trimmed."""
    return usable_width(offer, saw) > ZERO and offer.length > end_off(offer, saw) * 2


def edge_off(offer: Offer, saw: SawSettings) -> Length:
    """The width cut off each edge of a board before use."""
    return saw.edge_off(is_straight=offer.straight_edges, is_rounded=offer.rounded_edges)


def end_off(offer: Offer, saw: SawSettings) -> Length:
    """The length cut off each end of a board: enough to square it and to cut the last piece free.

    Where the lumberyard cuts boards, every end has the allowance for its cuts, whether it is one of them or not.
    """
    own = saw.least_end_trim if offer.square_ends else max(saw.end_trim, saw.least_end_trim)
    return own if offer.cuts is None else max(own, offer.cuts.allowance)


def usable_width(offer: Offer, saw: SawSettings) -> Length:
    """The usable width of a board after its edges are straightened."""
    return offer.width - edge_off(offer, saw) * 2


def clear_length(offer: Offer, saw: SawSettings) -> Length:
    """The longest clear stretch of a board, or of a part of it to take home, between ends or defects."""
    at, end, longest = end_off(offer, saw), offer.to_carry - end_off(offer, saw), ZERO
    for low, high in (*offer.bad, (end, end)):
        longest = max(longest, min(low, end) - at)
        at = max(at, high)
    return longest


def _unfit(batch: Batch, need: Need, offers: tuple[Offer, ...]) -> Problem | None:
    saw, unit, part = batch.saw, batch.unit, need.part
    length = part.length.up_to(saw.mark)
    width = cut_width(need, offers, saw, unit)
    wide = [offer for offer in offers if _is_wide_enough(offer, width, saw)]
    if any(clear_length(offer, saw) >= length for offer in wide):
        return None
    given = f"part {need.mark}, {length.text(unit)} long and {width.text(unit)} wide"
    place = f"{need.address}, from {batch.lumberyard.name!r} and the offcuts"
    dropped = [o for o in batch.lumberyard.too_long if _is_thick(o, part.thickness) and _is_wide_enough(o, width, saw)]
    if dropped:
        wanted = f"a board large enough; {_dropped(batch.lumberyard, dropped, unit)}"
        return Problem(place, given, wanted, _longer(dropped, unit))
    if wide:
        longest = max(clear_length(offer, saw) for offer in wide)
        wanted = f"a clear stretch that long; the longest is {longest.text(unit)}, less its ends and defects"
        do = "Add a longer board to the lumberyard file, or an offcut."
        if any(offer.to_carry < offer.length for offer in wide):
            carry = min(offer.to_carry for offer in wide if offer.to_carry < offer.length).text(unit)
            do = f"Pieces up to {carry} come home: set a larger longest in the lumberyard file, or add an offcut."
        do += _no_resawn(batch, need, offers)
        return Problem(place, given, wanted, do)
    if not offers:
        return Problem(place, given, f"a board {part.thickness.text(unit)} thick", "Add one to the lumberyard file.")
    widest = max(usable_width(offer, saw) for offer in offers)
    spare = saw.rip_kerf + saw.least_remainder
    wanted = f"a board exactly that wide, or {(width + spare).text(unit)} wide and more"
    if saw.remainder_allowance is None:
        wanted += f" (for a kerf and {saw.least_remainder.text(unit)} beside the last rip)"
    do = f"Add such a board; the widest here is {widest.text(unit)}."
    if any(offer.twisted for offer in offers):
        do += " Twisted boards are never ripped."
    do += _no_resawn(batch, need, offers)
    if saw.remainder_allowance is None and width < widest:
        allowance = "1 mm" if unit == "mm" else "1/16"
        do += f' Or set remainder_allowance = "{allowance}" under [saw], and measure what remains.'
    return Problem(place, given, wanted, do)


def _no_resawn(batch: Batch, need: Need, offers: Iterable[Offer]) -> str:
    """Why thicker boards do not help, with a space before it, if there are only offcuts of this thickness."""
    wood = need.part.material.thickness
    if wood is None or not all(offer.label for offer in offers):
        return ""
    reason = resawn_reason(batch.lumberyard, wood, batch.saw, batch.unit)
    return reason and f" {reason}"


def across(need: Need) -> Length:
    """The size to which a part is ripped: the thickness of a strip on edge, otherwise the width."""
    return need.part.thickness if need.part.on_edge else need.part.width


def cut_width(need: Need, offers: Iterable[Offer], saw: SawSettings, unit: LengthUnit) -> Length:
    """The width to which a part is cut: a mark on the tape, or the exact width of a board that needs no rip."""
    if need.part.on_edge:
        return need.part.thickness
    width = need.part.width
    whole = {offer.width.down_to(grid_of(unit)) for offer in offers if not edge_off(offer, saw)}
    return width if width in whole else width.up_to(saw.mark)


def is_large_enough(offer: Offer, need: Need, offers: Iterable[Offer], saw: SawSettings, unit: LengthUnit) -> bool:
    """Whether a part can be cut from a board, beside `offers`, the boards that its width is chosen for."""
    is_wide = _is_wide_enough(offer, cut_width(need, offers, saw, unit), saw)
    return is_wide and clear_length(offer, saw) >= need.part.length.up_to(saw.mark)


def _is_wide_enough(offer: Offer, width: Length, saw: SawSettings) -> bool:
    usable = usable_width(offer, saw)
    return width == usable or (not offer.twisted and width <= saw.widest_rip(usable))


def _is_thick(offer: Offer, wood: Length) -> bool:
    return offer.material == board_material(wood)


def _none(lumberyard: Lumberyard, wood: Length, unit: LengthUnit) -> tuple[str, str]:
    """The problem if there is no board of a thickness, and what to do."""
    thick = wood.text(unit)
    long = [offer for offer in lumberyard.too_long if _is_thick(offer, wood)]
    if long:
        return f"no board {thick} thick: {_dropped(lumberyard, long, unit)}", _longer(long, unit)
    known = (*lumberyard.offers, *lumberyard.too_long)
    others = sorted({o.thickness for o in known if o.thickness and _is_thick(o, o.thickness)})
    if not others:
        return f"no board {thick} thick, and no other board", f"Add boards {thick} thick, with their prices."
    listed = " and ".join(each.text(unit) for each in others)
    name = "1x4" if wood == inch("3/4") else f"{thick} boards"
    do = f"Add boards {thick} thick ({name}, say) to the lumberyard file, or an offcut, or change wood in the design."
    if others[-1] > wood * 2:
        do += " Boards that are thick enough for two can be resawn: see resaw in woodshop guide lumberyard."
    return f"no board {thick} thick; there are boards {listed} thick", do


def _resawn_words(lumberyard: Lumberyard, wood: Length, saw: SawSettings, unit: LengthUnit) -> str:
    """What to do if boards may be resawn, but not to this thickness; "" if none may be."""
    reason = resawn_reason(lumberyard, wood, saw, unit)
    return reason and (
        f"{reason} Set wood in the design to {resawn_at_most(lumberyard, saw, unit).text(unit)} or less, or add boards "
        f"{wood.text(unit)} thick to the lumberyard file."
    )


def _thickest(lumberyard: Lumberyard) -> Length:
    """The thickness of the thickest boards that may be resawn."""
    return max((o.thickness for o in lumberyard.offers if o.resaw and o.thickness is not None), default=ZERO)


def resawn_at_most(lumberyard: Lumberyard, saw: SawSettings, unit: LengthUnit) -> Length:
    """How thick two boards out of one can be, rounded down to an eighth or a millimeter, or zero."""
    own, thick = saw.tools.resawing, _thickest(lumberyard)
    if own is None or thick <= own.kerf + own.planing * 4:
        return ZERO
    return ((thick - own.kerf) / 2 - own.planing * 2).down_to(inch("1/8") if unit == "in" else millimetre(1))


def resawn_reason(lumberyard: Lumberyard, wood: Length, saw: SawSettings, unit: LengthUnit) -> str:
    """Why no board of this thickness comes of those that may be resawn; "" if none may be, or if one does."""
    own, two = saw.tools.resawing, resawn_at_most(lumberyard, saw, unit)
    if own is None or two <= ZERO or any(resawn(offer, wood, saw) for offer in lumberyard.offers):
        return ""
    return (
        f"Of a board {_thickest(lumberyard).text(unit)} thick come two of {two.text(unit)} at most, after a kerf of "
        f"{own.kerf.text(unit)} and {own.planing.text(unit)} planed off each face."
    )


def _dropped(lumberyard: Lumberyard, offers: list[Offer], unit: LengthUnit) -> str:
    shortest = min(offer.length for offer in offers).text(unit)
    return (
        f"longest excludes {len(offers)} suitable board{'s' if len(offers) > 1 else ''}, the shortest {shortest} long"
    )


def _longer(offers: list[Offer], unit: LengthUnit) -> str:
    shortest = min(offer.length for offer in offers).text(unit)
    return (
        f'Set longest = "{shortest}" or more in the lumberyard file. If the lumberyard cuts boards to length, give '
        'the price of a cut there, such as crosscut = "1.00".'
    )
