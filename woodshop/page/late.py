"""Events of controls that were built again while they were used: the control in their place takes them up."""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from nicegui import Client, ui
from nicegui.element import Element
from nicegui.elements.mixins.text_element import TextElement

_MOST = 20_000  # removed controls that are remembered: those of several builds of a large screen
_Family = tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Gone:
    """A removed control: tag and name, its place among those of that name, its group, how many were like it."""

    family: _Family
    name: str
    nth: int
    group: str
    alike: int
    listeners: dict[str, str]


def keep_late_events(client: Client) -> None:
    """From now on no value that is entered in this tab is lost because its control was removed at that moment.

    The browser learns of a rebuilt screen a moment later than the server. What comes from a removed control goes to
    the one of the same name that took its place. If rows were removed meanwhile, or there is no such control, the user
    is asked to enter it again: it could be about something else.
    """
    gone: dict[int, _Gone] = {}
    remove, handle = client.remove_elements, client.handle_event

    def remember(elements: Iterable[Element]) -> None:
        removed = list(elements)
        known = _named(client.elements.values())
        alike = Counter(family for _, (family, _, _) in known)
        names = {id(each): name for each, name in known}
        for each in removed:
            if (held := names.get(id(each))) is not None:
                gone[each.id] = _Gone(*held, _group(each), alike[held[0]], _listeners(each))
        for old in list(gone)[:-_MOST]:
            del gone[old]
        remove(removed)

    def deliver(msg: dict) -> None:  # type: ignore[type-arg]
        was = gone.get(msg["id"])
        if msg["id"] in client.elements or was is None:
            handle(msg)
            return
        event = was.listeners.get(msg["listener_id"], "")
        if (again := _again(was, event, client)) is not None:
            listener = next(key for key, kind in _listeners(again).items() if kind == event)
            handle({**msg, "id": again.id, "listener_id": listener})
        elif event in ("change", "click"):
            do = "Press it again." if event == "click" else "Enter it again."
            with client:
                ui.notify(f"{was.name}: not taken over, because the screen changed at that moment. {do}", timeout=0,
                          type="warning", close_button="Close")  # fmt: skip

    client.remove_elements = remember  # type: ignore[method-assign]
    client.handle_event = deliver  # type: ignore[method-assign]


def _again(was: _Gone, event: str, client: Client) -> Element | None:
    """The control that took the place of a removed one, or None if that is not certain."""
    now = [(each, name, nth) for each, (family, name, nth) in _named(client.elements.values()) if family == was.family]
    same = [each for each, name, nth in now if (name, nth) == (was.name, was.nth)]
    if not same or event not in _listeners(same[0]).values() or (event == "click" and len(now) > 1):
        return None
    is_added = len(now) > was.alike and _group(same[0]) == was.group  # new rows are last, and a copy has a new name
    return same[0] if is_added or len(now) == was.alike else None


def _named(elements: Iterable[Element]) -> list[tuple[Element, tuple[_Family, str, int]]]:
    """The controls among these elements, each with its family, its name, and its number among those of that name."""
    found, counts = [], Counter[tuple[str, str]]()
    for each in elements:
        if not each._event_listeners or not (name := _name(each)):
            continue
        counts[each.tag, name] += 1
        is_place = name == each.props.get("data-at")
        family = each.tag, re.sub(r"\d+", "#", name) if is_place else name
        found.append((each, (family, name, counts[each.tag, name])))
    return found


def _name(element: Element) -> str:
    """The place of a field in its file, or how a control is called on the screen."""
    props = element.props
    names = [props.get("data-at"), props.get("data-name"), props.get("aria-label")]
    if props.get("type") == "checkbox":
        del names[0]
    return next((str(each) for each in names if each), element.text if isinstance(element, TextElement) else "")


def _group(element: Element) -> str:
    """The legend of the group of controls that the element is in, or ""."""
    try:
        slot = element.parent_slot
        while slot is not None and slot.parent.tag != "fieldset":
            slot = slot.parent.parent_slot
    except RuntimeError:  # what was around it is gone already, as when a tab is closed
        return ""
    held = slot.parent.default_slot.children[:1] if slot is not None else []
    return next((each.text for each in held if isinstance(each, TextElement)), "")


def _listeners(element: Element) -> dict[str, str]:
    return {each.id: each.type for each in element._event_listeners.values()}
