"""Shopping: the goods to buy, with place, use and price; goods on hand; and the material cost of each item."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import ceil

from woodshop.checks.for_sale import days_seen
from woodshop.design.batch import Batch, packed_boards
from woodshop.design.lumber import edge_off, end_off, is_large_enough, is_usable, usable_width
from woodshop.design.lumberyard.lumberyard_file import ON_HAND, Lumberyard, Offer
from woodshop.design.lumberyard.lumberyard_tables import Bill, Terms
from woodshop.design.settings.times import SQUARE_FOOT
from woodshop.documents.packet.at_the_counter import counter_blocks
from woodshop.documents.packet.bought_strips import bought_strip_blocks
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.measure_first import widths_to_buy
from woodshop.documents.packet.packing import backing_size
from woodshop.documents.packet.thin_rip_stop import stop_hardware
from woodshop.documents.report.bounds import dearer
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    Table,
)
from woodshop.plan.buy_list import of_book
from woodshop.plan.cost import cost_rows
from woodshop.plan.lumber_at_home import boards_used_up, bought_as, is_whole
from woodshop.plan.values import Choice, MaterialJob, PlannedBatch, Purchase
from woodshop.plan.work.counts import painted_area
from woodshop.reference.facts import fact
from woodshop.units.lengths import Money, decimals, inch, millimetre
from woodshop.units.wording import date_text

_COLUMNS = (
    Column("", weight=1),
    Column("count", Align.RIGHT, weight=1),
    Column("what", weight=10),
    Column("each", Align.RIGHT, weight=1),
    Column("total", Align.RIGHT, weight=1),
    Column("used for", weight=12),
)
_MOST_SHOWN = 12


def shopping_chapter(planned: PlannedBatch) -> Section:
    """The shopping chapter: goods to buy and why, offcuts used, other needs, and the material cost of each item."""
    batch = planned.batch
    blocks: list[Block] = [
        Paragraph(f"{seen_text(batch.lumberyard)} How low a cost is possible: report.pdf."),
        *_bill_blocks(planned),
        *_example_blocks(planned),
        *counter_blocks(planned),
        *_amounts(planned),
        *widths_to_buy(planned),
        *choice_blocks(planned),
    ]
    offcuts: dict[str, list[str]] = {}
    for lay in numbered_layouts(planned):
        if lay.is_offcut:
            offcuts.setdefault(lay.what, []).extend([lay.name.removeprefix("Layout ")] * lay.times)
    taken = [
        f"{len(names)} of {_in_parentheses(what.removeprefix('offcut '))}, for {_layouts(list(dict.fromkeys(names)))}"
        for what, names in offcuts.items()
    ]
    lines = [f"Offcuts on hand{of_book(batch)}: {'; '.join(taken)}."] if taken else []
    packs = [f"{each.count} x {each.pack.what}" for each in batch.lumberyard.on_hand]
    lines += [f"Packs on hand{of_book(batch)}, used before any is bought: {'; '.join(packs)}."] if packs else []
    there = Counter(
        offers[layout.stock].what
        for each in planned.plans
        for offers in [{offer.id: offer for offer in each.job.offers if offer.label == ON_HAND}]
        for layout in each.plan.layouts
        if layout.stock in offers and is_whole(layout.stock)
        for _ in range(layout.times)
    )
    for each in planned.lumber:
        there += Counter({offer.what: count for offer, count in boards_used_up(each) if offer.label == ON_HAND})
    bought = "; ".join(f"{n} of {what.removesuffix(', bought')}" for what, n in there.items())
    lines += [f"Bought earlier{of_book(batch)}, to be cut now: {bought}."] if there else []
    lines += [f"No price in the lumberyard file: {u.what}, {u.amount}." for u in planned.unpriced]
    lines += [f"Not in the lumberyard file, so not in the total: {words}." for words in stop_hardware(planned)]
    lines += [f"You probably have: {at_hand}." for at_hand in (", ".join(_at_hand(planned)),) if at_hand]
    lines += [*backings(planned), *_paint(planned)]
    lines += [f"Left out of the plan: {words}." for words in batch.lumberyard.left_out]
    if lines:
        blocks += [Heading("Also needed", 2), Bullets(tuple(lines))]
    if idle := unused_offcuts(planned):
        not_used = tuple(f"{_listed(labels)}: {why}" for why, labels in idle.items())
        blocks += [Heading("Offcuts not used", 2), Bullets(not_used)]
    return Section("Shopping", (*blocks, *bought_strip_blocks(planned)))


def _listed(labels: tuple[str, ...]) -> str:
    more = len(labels) - _MOST_SHOWN
    return ", ".join(labels[:_MOST_SHOWN]) + (f" and {more} more" if more > 0 else "")


def _in_parentheses(what: str) -> str:
    """An offcut with its size in parentheses.

    >>> _in_parentheses("R1: 5 1/2 x 50 in, 3/4 in board")
    'R1 (5 1/2 x 50 in, 3/4 in board)'
    """
    name, _, size = what.partition(": ")
    return f"{name} ({size})" if size else name


def _layouts(numbers: list[str]) -> str:
    """The layouts as text.

    >>> _layouts(["12"]), _layouts(["10", "11"])
    ('layout 12', 'layouts 10, 11')
    """
    return f"layout{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"


def _at_hand(planned: PlannedBatch) -> list[str]:
    """Other things needed for the work, which most shops and kitchens have."""
    batch, unit = planned.batch, planned.batch.unit
    found = ["pencil", "tape to mark pieces"]
    if any(plan.job.material.is_sawn for plan in planned.plans):
        found += ["push block", "clamps", "scrap for trial cuts"]
    boards = sum(count for _, count, _ in packed_boards(batch, planned.units))
    if boards:
        bowl = planned.units[0].line.setting.board.bowl
        size = f"{decimals(bowl.grams / 1000, 1)} kg" if unit == "mm" else f"{decimals(bowl.pounds, 1)} lb"
        found += [
            f"a bowl for {size} of sugar",
            "scale",
            "measuring jug and spoons" if unit == "mm" else "measuring cup and spoons",
        ]
    return found


def backings(planned: PlannedBatch) -> Iterator[str]:
    """A line about goods not in lumberyard files: backing boards, and wax paper for the boards that dry together."""
    boards = sum(count for _, count, _ in packed_boards(planned.batch, planned.units))
    if not boards:
        return
    unit, (long, wide) = planned.batch.unit, backing_size(planned)
    sheet, said = (inch(96), inch(48)), "4 x 8 ft sheet"
    if unit == "mm":
        sold = (each for each in planned.batch.lumberyard.offers if each.material.kind.name == "plywood")
        largest = max(((each.length, each.width) for each in sold), default=(millimetre(2440), millimetre(1220)))
        sheet, said = largest, f"sheet of {largest[0].number(unit)} x {largest[1].text(unit)}"
        long, wide = long.up_to(millimetre(1)), wide.up_to(millimetre(1))
    each = max((sheet[0].mm // a.mm) * (sheet[1].mm // b.mm) for a, b in ((long, wide), (wide, long)))
    area = (long * wide).mm2
    paper = f"{ceil(area / SQUARE_FOOT)} sq ft" if unit == "in" else f"{decimals(area / 10**6, 2)} m\u00b2"
    text = f"Not in the total: a backing board, {long.number(unit)} x {wide.text(unit)} or more, for each "
    text += "drying fondant board"
    if each:
        half = ceil(Fraction(boards, 2))
        whole = ceil(Fraction(boards, each))
        text += f". A {said} of plywood makes {each}. To dry {boards} at a time, you need {_sheets(whole)}"
        text += f"; to dry {half} at a time, {ceil(Fraction(half, each))}" if boards > each else ""
    yield f"{text}. Wax paper: {paper} for each backing board."


def _paint(planned: PlannedBatch) -> Iterator[str]:
    """The paint for the run, which is not on the buy list, if the shop paints."""
    area, coats = painted_area(planned), planned.batch.work.coats
    if area:
        metric = planned.batch.unit == "mm"
        said = f"{decimals(area * SQUARE_FOOT / 10**6, 1)} m\u00b2" if metric else f"{decimals(area, 1)} sq ft"
        times = f", {coats} coats" if coats > 1 else ", 1 coat"
        yield f"Not in the total: exterior paint for {said} of outside faces{times}. The can says how far it goes."


def _sheets(count: int) -> str:
    return f"{count} sheet{'' if count == 1 else 's'}"


def _amounts(planned: PlannedBatch) -> list[Block]:
    """The amount of wood and sheet bought: board feet and square feet, or cubic and square meters."""
    offers = {o.id: o for each in planned.priced for o in each.job.offers}
    lumber, sheets = Fraction(0), Fraction(0)
    for p in planned.purchases:
        offer = offers.get(p.stock)
        if offer is None:
            continue
        if not offer.material.is_lumber:
            sheets += (offer.length * offer.width).mm2 * p.count
        elif planned.batch.unit == "mm":
            lumber += (offer.length * offer.width).mm2 * (offer.thickness or offer.width).mm * p.count
        else:
            named = _NOMINAL.match(offer.what)
            sizes = [Fraction(each) for each in named.groups()] if named else [Fraction(0)] * 2
            lumber += sizes[0] * sizes[1] * offer.length.inches / 144 * p.count
    metric = planned.batch.unit == "mm"
    words = []
    if lumber:
        words.append(
            f"{decimals(lumber / 10**9, 3)} m\u00b3 of lumber" if metric else f"{decimals(lumber, 1)} board feet"
        )
    if sheets:
        area = f"{decimals(sheets / 10**6, 1)} m\u00b2" if metric else f"{decimals(sheets / SQUARE_FOOT, 0)} sq ft"
        words.append(f"{area} of mesh, cloth and sheets")
    return [Paragraph(f"{'; '.join(words)}.", lead="Amounts:")] if words else []


_NOMINAL = re.compile(r"(\d+)x(\d+) ")  # the name of a board: inches thick and wide


def _used_for(planned: PlannedBatch, purchase: Purchase) -> str:
    """The use of a purchase and, for goods, how the amount is calculated."""
    found: dict[str, None] = {}
    titles = {line.item.name: line.item.title for line in planned.batch.lines}
    for each in planned.plans:
        needs = {need.address: need for need in each.job.needs}
        for layout in each.plan.layouts:
            if bought_as(layout.stock) == purchase.stock:
                names = (needs[piece.id].address.partition(" / ")[0] for piece in layout.pieces)
                found |= dict.fromkeys(titles.get(name, name) for name in names)
    if found:
        return ", ".join(found) + (f": {purchase.why}" if purchase.is_spare else "")
    rows = cost_rows(planned.batch, planned.units)
    found = dict.fromkeys(
        _FILLED.get(row.what) or titles.get(row.what, row.what) for row in rows if row.use_of(purchase.group)
    )
    return f"{', '.join(found)}: {purchase.why}" if found else purchase.why


_FILLED = {"sugar": "Fondant boards", "shavings": "Quilt boxes"}


def _named(planned: PlannedBatch, purchase: Purchase) -> str:
    """The name of a purchase in the lumberyard file, with the wire size of hardware cloth and the crown of staples."""
    for each in planned.plans:
        mesh = each.job.material.mesh
        if mesh is not None and any(offer.id == purchase.stock for offer in each.job.offers):
            if planned.batch.unit == "mm":
                return f"{purchase.what}, wire {mesh.wire.text('mm')}"
            gauge = next((m[1] for row in mesh.rows if (m := re.search(r"(\d+) gauge", row.what))), "")
            if gauge and f"{gauge} ga" not in purchase.what:
                return f"{purchase.what}, {gauge}\u00a0ga."
    crown = fact("wire_bottom.staple").value_in(planned.batch.unit).partition(" crown")[0]
    if "staple" in purchase.what and "crown" not in purchase.what:
        return f"{purchase.what}, {crown} crown"
    return purchase.what


_SOLVED = "the solver's search found nothing cheaper; this is not proved in whole numbers."


def certainty_text(planned: PlannedBatch) -> str:
    """A few sentences about how much a cheaper plan could save, and how certain that is."""
    currency = planned.batch.lumberyard.currency
    if any(each.numbers for each in planned.plans):
        return _certainty_of_rest(planned)
    by_choice, over = sum(dearer(each) for each in planned.plans), planned.gap
    bought = sum(p.total.minor for p in planned.purchases if (p.stock or p.is_cut) and not p.is_spare)
    spare = Money(sum(p.total.minor for p in planned.purchases if p.stock and p.is_spare), currency)
    offcuts = Money(sum(each.plan.cost for each in planned.priced) - bought, currency)
    who = "these lumberyards" if len(planned.bills) > 1 else "this lumberyard"
    text = f"A cheaper plan from {who} could save at most {Money(over, currency)}."
    if not over:
        text = f"No plan from {who} costs less."
    if offcuts.minor:
        text = f"Counting your own offcuts and boards at {offcuts}, {text[:1].lower()}{text[1:]}"
    if spare.minor:
        text += f" Spare boards for {spare} are not counted here."
    if by_choice:
        text += f" By choice it costs {Money(by_choice, currency)} more than the cheapest found, for less work"
        text += " and better offcuts." if planned.batch.worth is not None and planned.batch.worth.offcut.minor else "."
    by_solver = [each.job.spoken for each in planned.priced if each.plan.bound_kind == "solver"]
    return text + (f" For {' and '.join(by_solver)}, {_SOLVED}" if by_solver else "")


def _certainty_of_rest(planned: PlannedBatch) -> str:
    """How much a cheaper plan of the rest could save, counting only stock to buy, because stock on hand is paid for."""
    least = 0
    for each in planned.plans:
        there = {offer.id for offer in each.job.offers if offer.label}
        least += max(0, each.plan.bound - sum(s.cost * (s.count or 0) for s in each.plan.job.stock if s.id in there))
    cents = sum(p.total.minor for p in planned.purchases if p.stock and not p.is_spare)
    bought = Money(cents, planned.batch.lumberyard.currency)
    if least >= bought.minor:
        return "No plan of what is missing buys less."
    most = Money(bought.minor - least, bought.currency)
    return f"Boards, sheets and rolls to buy: {bought}. A cheaper plan of what is missing could save at most {most}."


def _bill_blocks(planned: PlannedBatch) -> list[Block]:
    """One table if one lumberyard sells everything without extra charges; otherwise a table and a bill for each."""
    terms = {each.lumberyard: each for each in planned.batch.lumberyard.terms}
    bills = planned.bills
    if len(bills) < 2 and all(not (bill.fee.minor or bill.tax.minor) for bill in bills):
        after = "before tax" if all(not each.tax for each in terms.values()) else ""
        after = "; ".join(filter(None, (after, _without_goods(planned))))
        rows = [*(_row(planned, each) for each in planned.purchases), ("", "", "Total", "", str(planned.total), after)]
        return [Table(_COLUMNS, tuple(rows), (len(rows) - 1,), links=_to_layouts(planned, planned.purchases))]
    blocks: list[Block] = []
    for bill in bills:
        own = tuple(purchase for purchase in planned.purchases if purchase.lumberyard == bill.lumberyard)
        rows = [*(_row(planned, purchase, bare=True) for purchase in own), *_bill_rows(bill, terms[bill.lumberyard])]
        strong = tuple(range(len(own), len(rows)))
        seen = _days_text(planned.batch.lumberyard, terms[bill.lumberyard])
        blocks.append(Heading(f"{bill.lumberyard}, prices as of {seen}", 2))
        blocks.append(Table(_COLUMNS, tuple(rows), strong, links=_to_layouts(planned, own)))
    if len(bills) > 1:
        text = "; ".join(filter(None, (f"{planned.to_pay} at {len(bills)} lumberyards", _without_goods(planned))))
        blocks.append(Paragraph(f"{text}.", lead="Total to pay:"))
    elif planned.unpriced:
        blocks.append(Paragraph(f"{_without_goods(planned)}.", lead="To pay:"))
    return blocks


def _without_goods(planned: PlannedBatch) -> str:
    return f"without {planned.unpriced_goods}, which have no price" if planned.unpriced else ""


def _example_blocks(planned: PlannedBatch) -> list[Block]:
    """How much of the total is prices of an example, and of which goods; empty if nothing is bought at such a price."""
    goods = dict.fromkeys(_named(planned, each) for each in planned.purchases if planned.is_example_price(each))
    if not goods:
        return []
    total = "this total" if planned.to_pay == planned.total else "the goods, before delivery and tax"
    how_much = "all" if planned.example_cost == planned.total else str(planned.example_cost)
    text = f"{how_much} of {total}. Nobody has confirmed the prices of: {'; '.join(goods)}. Ask what they cost."
    return [Paragraph(planned.batch.wording.quoted(text), lead="Example prices:")]


def seen_text(lumberyard: Lumberyard) -> str:
    """The lumberyards, each with the day on which its prices were seen. Prices of an example are excepted."""
    seen = [f"{each.lumberyard}, prices as of {_days_text(lumberyard, each)}" for each in lumberyard.terms]
    return f"{'; '.join(seen) or f'{lumberyard.name}, prices as of {date_text(lumberyard.seen)}'}."


def _days_text(lumberyard: Lumberyard, terms: Terms) -> str:
    """The day on which the prices of one lumberyard were seen, or the first and last day if they differ."""
    first, last = days_seen(lumberyard, terms.lumberyard) or (terms.seen, terms.seen)
    days = date_text(first) if first == last else f"{date_text(first)} to {date_text(last)}"
    return f"{days} (except example prices)" if terms.lumberyard in {x[0] for x in lumberyard.example_prices} else days


def _row(planned: PlannedBatch, purchase: Purchase, *, bare: bool = False) -> tuple[str, ...]:
    name = planned.batch.wording.quoted(_named(planned, purchase))
    name += " (example price)" if planned.is_example_price(purchase) else ""
    return (
        "[ ]",
        str(purchase.count),
        name.replace(f" ({purchase.lumberyard})", "") if bare else name,
        str(purchase.price),
        str(purchase.total),
        _used_for(planned, purchase),
    )


def _bill_rows(bill: Bill, terms: Terms) -> Iterator[tuple[str, ...]]:
    if not (bill.fee.minor or bill.tax.minor or terms.fee or terms.tax):
        yield ("", "", "Total", "", str(bill.total), "before tax")
        return
    yield ("", "", "Goods", "", str(bill.goods), "")
    if terms.fee:
        yield ("", "", "Delivery", "", str(bill.fee), delivery_text(terms, bill))
    if terms.tax:
        yield ("", "", "Tax", "", str(bill.tax), tax_text(terms))
    yield ("", "", "To pay", "", str(bill.total), "")


def delivery_text(terms: Terms, bill: Bill) -> str:
    """A sentence that explains the cost of delivery."""
    if terms.free_from is None:
        return "once an order"
    free = Money(terms.free_from, bill.goods.currency)
    return f"free from {free}" if not bill.fee.minor else f"free only from {free}"


def tax_text(terms: Terms) -> str:
    """The tax rate, and the amounts to which it applies."""
    on = "goods and delivery" if terms.tax_on_delivery else "the goods"
    return f"{decimals(terms.tax * 100, 4)} % of {on}"


def choice_blocks(planned: PlannedBatch) -> list[Block]:
    """The cost and its lower bound for each choice of lumberyards. The result is empty if there was no choice."""
    choices = planned.choices
    if choices is None or len(choices.looked_at) < 3:
        return []
    shown = sorted((each for each in choices.looked_at if each.least is not None), key=_order)
    rows = [
        (
            name_of(each),
            "" if each.pays is None else str(each.pays),
            str(each.least),
            each.why or ("chosen" if n == 0 else ""),
        )
        for n, each in enumerate(shown[:_MOST_SHOWN])
    ]
    columns = (
        Column("bought at", weight=8),
        Column("comes to", Align.RIGHT, weight=2),
        Column("not below", Align.RIGHT, weight=2),
        Column("", weight=4),
    )
    cannot = [each for each in choices.looked_at if each.least is None and each.lumberyards]
    notes = tuple(dict.fromkeys(f"{name_of(each)}: {each.why}" for each in cannot))
    blocks: list[Block] = [Heading("Where to buy", 2), Paragraph(choice_text(planned)), Table(columns, tuple(rows))]
    if len(shown) > _MOST_SHOWN:
        blocks.append(Paragraph(f"{len(shown) - _MOST_SHOWN} more expensive choices are in plan.json.", small=True))
    if notes:
        blocks.append(Bullets(notes[:_MOST_SHOWN]))
    return [KeepTogether(tuple(blocks))]


def choice_text(planned: PlannedBatch) -> str:
    """One or two sentences about how much another choice of lumberyards could save."""
    choices = planned.choices
    if choices is None:
        return ""
    pays = planned.to_pay + choices.offcuts
    among = "no one lumberyard" if choices.one_lumberyard else "no choice among these lumberyards"
    offcuts = f", with {choices.offcuts} for offcuts" if choices.offcuts.minor else ""
    solver = " This rests on a solver's search, because no prices prove it." if choices.by_solver else ""
    if pays.minor <= choices.least.minor:
        return f"This comes to {pays}{offcuts}; {among} can cost less.{solver}"
    return f"This comes to {pays}{offcuts}; {among} can cost less than {choices.least}.{solver}"


def name_of(choice: Choice) -> str:
    """The lumberyards of a choice, and the goods bought ready-made."""
    lumberyards = " and ".join(choice.lumberyards) or "offcuts alone"
    return f"{lumberyards}; {', '.join(choice.ready)}" if choice.ready else lumberyards


def _order(choice: Choice) -> tuple[bool, int]:
    least = 0 if choice.least is None else choice.least.minor
    return (choice.pays is None, least if choice.pays is None else choice.pays.minor)


def _to_layouts(planned: PlannedBatch, purchases: tuple[Purchase, ...]) -> tuple[tuple[int, int, str], ...]:
    """Links from each purchase to the first layout cut from it."""
    first: dict[str, str] = {}
    for layout in numbered_layouts(planned):
        first.setdefault(bought_as(layout.layout.stock), layout.anchor)
    return tuple((n, 2, first[p.stock]) for n, p in enumerate(purchases) if p.stock in first)


def unused_offcuts(planned: PlannedBatch) -> dict[str, tuple[str, ...]]:
    """The marks of the offcuts of which no piece is used, keyed by the reason and what to do, in sentences."""
    used = Counter(bought_as(layout.stock) for each in planned.plans for layout in each.plan.layouts)
    found: dict[str, list[str]] = {}
    for offer in planned.batch.lumberyard.offers:
        if offer.is_offcut and not used[offer.id]:
            found.setdefault(_why_idle(planned, offer), []).append(offer.label)
    return {why: tuple(labels) for why, labels in found.items()}


def _why_idle(planned: PlannedBatch, offer: Offer) -> str:
    batch = planned.batch
    jobs = [each.job for each in planned.plans if each.job.material == offer.material]
    jobs += [each.job for each in planned.plans if offer in each.job.offers and each.job not in jobs]
    if not jobs:
        return f"No part of this plan is cut from {offer.material.spoken}."
    if not offer.material.is_lumber:
        return "The parts do not fit on it, or this plan cuts them from other stock."
    fits = _fitting_parts(batch, jobs, offer)
    straight = " ".join(_true_edges(batch, jobs, offer, fits))
    if straight:
        return straight
    if not fits:
        return "No part is small enough for what can be used of it."
    return "Parts fit on it, but this plan cuts them from other boards."


def _true_edges(batch: Batch, jobs: list[MaterialJob], offer: Offer, fits: int) -> Iterator[str]:
    """What keeps parts from an offcut only because the lumberyard file does not say that its edges or ends are true."""
    say, file = batch.wording.length, "The lumberyard file does not say that its"
    if batch.inventory is not None:
        file = "The shop's book does not say that its"
    if not offer.straight_edges and _fitting_parts(batch, jobs, replace(offer, straight_edges=True)) > fits:
        yield (
            f"{file} edges are straight, so {say(edge_off(offer, batch.saw))} is cut "
            f"off each edge, and {say(usable_width(offer, batch.saw))} of its width can be used. If both edges are "
            f"straight, {_say_so(batch, 'straight_edges', 'edges are straight')}, and plan again."
        )
    elif not offer.square_ends and _fitting_parts(batch, jobs, replace(offer, square_ends=True)) > fits:
        yield (
            f"{file} ends are square, so {say(end_off(offer, batch.saw))} is cut off "
            f"each end. If both ends are square, {_say_so(batch, 'square_ends', 'ends are square')}, and plan again."
        )


def _say_so(batch: Batch, key: str, column: str) -> str:
    if batch.inventory is not None:
        return f"enter {key} for it in the shop's book"
    return f'set {key} = true under [[offcut]] (on the planning page: column "{column}")'


def _fitting_parts(batch: Batch, jobs: list[MaterialJob], offer: Offer) -> int:
    """How many kinds of parts are no larger than what can be used of the offcut."""
    if not is_usable(offer, batch.saw):
        return 0
    needs = [(need, (*job.offers, offer)) for job in jobs for need in job.needs]
    return sum(is_large_enough(offer, need, offers, batch.saw, batch.unit) for need, offers in needs)
