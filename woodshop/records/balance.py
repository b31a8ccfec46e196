"""Checks a book's state against plain sums of its events, with code independent of `fold`."""

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from typing import Any

from woodshop.records.events import Event
from woodshop.records.state import BookState

_TALLIES = {
    "stock bought": "bought", "stock used": "used", "units finished": "finished", "units sold": "sold",
    "units scrapped": "scrapped", "pieces made": "made", "pieces spoiled": "spoiled", "pieces lost": "lost",
    "pieces found": "found",
}  # fmt: skip
_PAID = {"deposit paid": "deposit", "balance paid": "balance", "refund paid": "refund"}


def imbalances(events: Sequence[Event], state: BookState) -> list[str]:
    """A sentence for each thing that does not add up in the state after these events. Empty if everything adds up.

    The checks show that nothing is counted twice or lost: the state has each sum of the events, everything that came in
    has gone out or is still on hand, and no count is below 0.
    """
    expected = _sums(events)
    found = _in_state(state)
    faults = [
        f"{_words(key)}: the events add up to {expected[key]}, the state has {found[key]}"
        for key in sorted(expected.keys() | found.keys(), key=str)
        if expected[key] != found[key]
    ]
    for tally in state.units_totals:
        held = sum(n for key, n in state.units.items() if (key.item, key.box) == (tally.item, tally.box))
        left = tally.finished + tally.difference - tally.sold - tally.scrapped
        if held != left:
            faults.append(f"{tally.item} for {tally.box}: {held} are somewhere, {left} should be")
    faults += [f"{key.item} for {key.box}: {n} in one place" for key, n in state.units.items() if n < 0]
    faults += [f"{each.stock}: {each.on_hand} on hand" for each in state.stock if each.on_hand < 0]
    for order in state.orders:
        faults += [
            f"order {order.order}: {line.sold} of {line.count} {line.item} sold"
            for line in order.lines
            if not line.is_cancelled and line.sold > line.count
        ]
    return faults


def _sums(events: Sequence[Event]) -> Counter[Hashable]:
    """The totals of the events that count, keyed by the thing counted."""
    sums: Counter[Hashable] = Counter()
    for kind, e in _standing(events):
        if kind in _TALLIES:
            name = _TALLIES[kind]
            things = ("stock",) if "stock" in e else ("item", "box") if "item" in e else ("batch", "material", "part")
            sums[(name, *(e[each] for each in things))] += e["count"]
        if kind == "layout cut":
            sums["times", e["batch"], e.get("plan", ""), e["material"], e["layout"]] += e["times"]
            if "stock" in e:
                sums["used", e["stock"]] += e["times"]
        if kind == "cuts made":
            sums["ticked", e["batch"], e["plan"], e["step"], e["layout"]] += e["times"]
        if kind == "board unusable":
            sums["unusable boards", e["batch"]] += e["count"]
            if "stock" in e:
                sums["unusable", e["stock"]] += e["count"]
        if kind == "units sold" and "order" in e:
            sums["sold on order", e["order"]] += e["count"]
        if kind in _PAID:
            sums[_PAID[kind], e["order"]] += e["amount"]
        if kind == "minutes taken":
            sums["pieces timed", e["operation"]] += e["count"]
        if kind == "offcut put away":
            sums["offcuts"] += 1
        if kind == "offcut used" or (kind == "layout cut" and "offcut" in e):
            sums["offcuts"] -= 1
        if kind == "offcut counted":
            sums["offcuts"] -= e["expected"]
        if kind in ("price seen", "box measured", "density measured", "kerf measured"):
            sums[kind] += 1
    return +sums


def _standing(events: Sequence[Event]) -> list[tuple[str, Mapping[str, Any]]]:
    """The kind and fields of each event that counts. An event does not count if it was undone by an undo that counts.
    Its fields are those of its last correction that counts, if there is one."""
    undos: dict[str, list[Event]] = {}
    corrections: dict[str, list[Event]] = {}
    for event in events:
        if event.kind in ("undo", "correction"):
            (undos if event.kind == "undo" else corrections).setdefault(event.fields["of"], []).append(event)

    def stands(event: Event) -> bool:
        return not any(stands(undo) for undo in undos.get(event.id, ()))

    kept: list[tuple[str, Mapping[str, Any]]] = []
    for event in events:
        if event.kind not in ("undo", "correction") and stands(event):
            last = [each for each in corrections.get(event.id, ()) if stands(each)][-1:]
            kept.append((event.kind, (last or [event])[0].fields))
    return kept


def _in_state(state: BookState) -> Counter[Hashable]:
    """The same totals as in `_sums`, taken from a state."""
    found: Counter[Hashable] = Counter()
    for stock in state.stock:
        for name in ("bought", "used", "unusable"):
            found[name, stock.stock] = getattr(stock, name)
    for units in state.units_totals:
        for name in ("finished", "sold", "scrapped"):
            found[name, units.item, units.box] = getattr(units, name)
    for batch in state.batches:
        for pieces in batch.pieces:
            for name in ("made", "spoiled", "lost", "found"):
                found[name, batch.batch, pieces.material, pieces.part] = getattr(pieces, name)
        for cut in batch.layouts:
            found["times", batch.batch, cut.plan, cut.material, cut.layout] = cut.times
        for tick in batch.ticks:
            found["ticked", batch.batch, tick.plan, tick.step, tick.layout] = tick.times
        found["unusable boards", batch.batch] = sum(each.count for each in batch.unusable)
    for order in state.orders:
        found["sold on order", order.order] = sum(line.sold for line in order.lines)
        for name in ("deposit", "balance", "refund"):
            found[name, order.order] = getattr(order, f"{name}s").minor
    for operation, minutes in state.minutes.items():
        found["pieces timed", operation] = minutes.count
    found["offcuts"] = len(state.offcuts)
    found["price seen"], found["box measured"] = len(state.seen), len(state.boxes)
    found["density measured"] = state.density.entries if state.density else 0
    found["kerf measured"] = sum(each.entries for each in state.kerfs.values())
    return +found


def _words(key: Hashable) -> str:
    return " / ".join(map(str, key)) if isinstance(key, tuple) else str(key)
