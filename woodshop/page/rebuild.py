"""Builds a part of a screen again in place: a control that stays the same keeps its element in the browser.

So it keeps its focus, its selection, and what is half typed in it, and what the browser sends from it arrives.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple, cast
from weakref import WeakKeyDictionary

from nicegui import Client, binding, ui
from nicegui.element import Element
from nicegui.elements.mixins.text_element import TextElement

TURN = "data-turn"
"""The attribute that says how many values of a control have arrived; `frame.js` counts those that it sent."""
_KEPT_TYPES = (Element, TextElement, ui.html)  # nothing of them lives in the browser alone
_ROWS = ("tr", "fieldset")
_MOST = 20_000  # removed controls that are remembered: those of several builds of a large screen
_Pair = tuple[Element, Element]
_removed: WeakKeyDictionary[Client, dict[int, str]] = WeakKeyDictionary()


class _Kind(NamedTuple):
    """Elements that can be one another: type, tag, type of input, what they listen to, and their key without numbers.

    `is_named` is true for controls, and for what has controls in it.
    """

    of: type[Element]
    tag: str
    type: str
    listens: tuple[object, ...]
    key: str
    is_named: bool


def rebuild(container: Element, build: Callable[[], object]) -> None:
    """Replaces what is in the container by what `build` makes; controls that stay the same keep their elements.

    A control is the same if it has the same place in its file, or name, in the same part of the screen. Rows of a list
    are the same in their order if there are as many as before; otherwise those that hold the most alike.
    """
    slot = container.default_slot
    before, slot.children = slot.children, []
    try:
        with container:
            build()
    finally:
        _keep(container.client, before, slot.children)
        container.update()


def kept_up(build: Callable[[], object], classes: str = "as-built") -> Callable[[], None]:
    """Builds a part of the screen here and now; the function that is returned builds it again, in place.

    Without other `classes` the part adds no box of its own to the screen.
    """
    container = ui.element("div").classes(classes)
    with container:
        build()
    return lambda: rebuild(container, build)


def ask_for_lost(client: Client) -> None:
    """From now on this tab shows a notice when a value or a press came from a control that was just removed."""
    removed, handle = _removed.setdefault(client, {}), client.handle_event

    def deliver(msg: dict) -> None:  # type: ignore[type-arg]
        name = removed.get(msg["id"])
        if msg["id"] in client.elements or not name:
            handle(msg)
            return
        with client:
            ui.notify(f"{name}: not taken over, because the screen changed at that moment. Do it again.", timeout=0,
                      type="warning", close_button="Close")  # fmt: skip

    client.handle_event = deliver  # type: ignore[method-assign]


def _keep(client: Client, before: Sequence[Element], after: Sequence[Element]) -> None:
    """Gives new elements the numbers of the old ones in whose place they are, and removes the other old ones."""
    pairs = list(_pairs(before, after))
    was = {old.id: old._to_dict() for old, _ in pairs}
    kept = {id(old) for old, _ in pairs}
    gone = [each for top in before for each in top.descendants(include_self=True) if id(each) not in kept]
    names = _removed.setdefault(client, {})
    names |= {each.id: _spoken(each) for each in gone if _listens(each)}
    for oldest in list(names)[:-_MOST]:
        del names[oldest]
    renamed = {new.html_id: old.html_id for old, new in pairs}
    client.remove_elements(gone)
    binding.remove([old for old, _ in pairs])
    for old, new in pairs:
        _take_place(client, old, new)
    for top in after:
        for each in top.descendants(include_self=True):
            _refer(each, renamed)
    updates = client.outbox.updates
    for old, new in pairs:
        if updates.pop(old.id, None) is not None or new._to_dict() != was[old.id]:
            client.outbox.enqueue_update(new)


def _take_place(client: Client, old: Element, new: Element) -> None:
    """Gives the new element the number of the old one, and those of its listeners."""
    client.outbox.updates.pop(new.id, None)
    del client.elements[new.id]
    new.id = old.id
    client.elements[new.id] = new
    listeners = {}
    for then, now in zip(old._event_listeners.values(), new._event_listeners.values(), strict=True):
        now.id, now.element_id = then.id, old.id
        listeners[now.id] = now
    new._event_listeners = listeners
    if (turn := old.props.get(TURN)) is not None:
        dict.__setitem__(new.props, TURN, turn)
    old._handle_delete()
    old._deleted = True


def _refer(element: Element, renamed: dict[str, str]) -> None:
    """Puts the numbers that elements have now into what refers to them."""
    for name in ("for", "aria-describedby", "aria-labelledby"):
        if given := element.props.get(name):
            dict.__setitem__(element.props, name, " ".join(renamed.get(each, each) for each in str(given).split()))


def _pairs(before: Sequence[Element], after: Sequence[Element]) -> Iterator[_Pair]:
    """Each old element with the new one that is the same, from the outside in."""
    olds, news = _by_kind(before), _by_kind(after)
    found = [pair for kind, old in olds.items() for pair in _in_order(kind, old, news.get(kind, []))]
    for then, now in [*found, *_alone(before, after, found)]:
        yield then, now
        yield from _pairs(then.default_slot.children, now.default_slot.children)


def _alone(before: Sequence[Element], after: Sequence[Element], found: Sequence[_Pair]) -> Iterator[_Pair]:
    """What is around controls, and is no row, if it is the only one of its tag that is left before and after.

    Its first control has another name now; its other controls may be the same.
    """
    taken = {id(each) for pair in found for each in pair}

    def left(elements: Sequence[Element]) -> dict[tuple[type[Element], str], list[Element]]:
        tags = defaultdict(list)
        for each in elements:
            if id(each) not in taken and type(each) in _KEPT_TYPES and not _listens(each):
                tags[type(each), each.tag].append(each)
        return tags

    olds, news = left(before), left(after)
    for tag, old in olds.items():
        new = news.get(tag, [])
        if len(old) == len(new) == 1 and not any(re.search(r"\.\d", _key(each)) for each in (*old, *new)):
            yield old[0], new[0]


def _by_kind(elements: Iterable[Element]) -> dict[_Kind, list[Element]]:
    found: dict[_Kind, list[Element]] = defaultdict(list)
    for each in elements:
        if type(each) in _KEPT_TYPES:
            key = _key(each)
            if _listens(each) and not key:
                continue
            listens = tuple((on.type, on.js_handler, str(on.args)) for on in each._event_listeners.values())
            found[
                _Kind(type(each), each.tag, str(each.props.get("type")), listens, re.sub(r"\d+", "#", key), bool(key))
            ].append(each)
    return found


def _in_order(kind: _Kind, old: list[Element], new: list[Element]) -> Iterable[_Pair]:
    """The elements of one kind in one place that are the same, in their order."""
    if len(old) == len(new) or not kind.is_named:
        return zip(old, new, strict=False)
    return _most_alike(old, new)


def _most_alike(old: list[Element], new: list[Element]) -> list[_Pair]:
    """Pairs of old and new rows in their order that have the most values in common; more than half of each pair's."""
    held, holds = [_values(each) for each in old], [_values(each) for each in new]
    best: list[list[float]] = [[0.0] * (len(new) + 1) for _ in range(len(old) + 1)]

    def alike(a: int, b: int) -> float:
        same = len(held[a] & holds[b]) / max(len(held[a] | holds[b]), 1)
        return same if same > 0.5 else 0.0

    shares = [[alike(a, b) for b in range(len(new))] for a in range(len(old))]
    for a in reversed(range(len(old))):
        for b in reversed(range(len(new))):
            both = best[a + 1][b + 1] + shares[a][b]
            best[a][b] = max(both if shares[a][b] else 0.0, best[a + 1][b], best[a][b + 1])
    found, a, b = [], 0, 0
    while a < len(old) and b < len(new):
        if shares[a][b] and best[a][b] == best[a + 1][b + 1] + shares[a][b]:
            found.append((old[a], new[b]))
            a, b = a + 1, b + 1
        elif best[a][b] == best[a + 1][b]:
            a += 1
        else:
            b += 1
    return found


def _values(row: Element) -> set[tuple[str, str]]:
    """What a row shows in its controls, whatever its number; of a control by itself its name."""
    found = {(row.tag, _key(row))} if _listens(row) else set()
    for each in row.descendants(include_self=True):
        for name in ("^value", "data-value"):
            if name in each.props:
                found.add((re.sub(r"\d+", "#", _key(each)), str(each.props[name])))
    return found


def _key(element: Element) -> str:
    """The place of a control in its file, or its name; of what is around controls that of the first, or "".

    Of rows it is the place of the row.
    """
    own = _own_key(element)
    if own or _listens(element):
        return own
    inside = next((key for each in element.default_slot.children if (key := _key(each))), "")
    return inside.rpartition(".")[0] or inside if element.tag in _ROWS else inside


def _own_key(element: Element) -> str:
    props = element.props
    names = [props.get("data-key"), props.get("data-at"), props.get("data-name")]
    if props.get("type") == "checkbox":
        del names[1]  # that of a list is the same for all, and that of an item changes when it is ticked
    if _listens(element):
        names += [props.get("aria-label"), element.text if isinstance(element, TextElement) else ""]
    return next((str(each) for each in names if each), "")


def _spoken(element: Element) -> str:
    """How a control is called on the screen, or ""."""
    props = element.props
    text = element.text if isinstance(element, TextElement) else ""
    return str(props.get("aria-label") or text or props.get("data-name") or "")


def _listens(element: Element) -> bool:
    return bool(element._event_listeners)


def count_turn(element: Element) -> None:
    """Notes that a value of this control has arrived. The browser learns of it when the control is next updated."""
    turn = cast(Any, element.props).get(TURN, 0)
    dict.__setitem__(element.props, TURN, turn + 1)
