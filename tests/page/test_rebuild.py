"""Building a part of a screen again in place: what stays the same keeps its element, and no value goes elsewhere."""

import asyncio
import json
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from nicegui import Client, ui
from nicegui.element import Element
from nicegui.page import page

from woodshop.page.controls import choice, field, group, press, tick, words
from woodshop.page.rebuild import TURN, ask_for_lost, kept_up


class Tab:
    """A tab that shows a list of rows as people see them: each with a name, a count, a kind, and Remove."""

    def __init__(self, *rows: tuple[str, str]) -> None:
        self.rows = list(rows)
        self.is_refused = False
        self.client = Client(page("/"))
        ask_for_lost(self.client)
        with self.client:
            self.again = kept_up(self._build)

    def _build(self) -> None:
        if self.is_refused:
            words("p", "A problem that was not there before.")
        for n, (name, count) in enumerate(self.rows):
            with group(f"Group {n + 1}: {name}"):
                field("Name", name, self._put(n, 0), hint="A hint.").props["data-at"] = f"hives.{n}.name"
                field("Count", count, self._put(n, 1)).props["data-at"] = f"hives.{n}.count"
                choice("Kind", {"a": "A", "b": "B"}, "a", lambda value: None)
                tick("Ready", False, lambda is_on: None)
                press("Remove", self._remover(n)).props["data-name"] = "remove"

    def _put(self, n: int, at: int) -> Callable[[str], None]:
        def put(text: str) -> None:
            row = list(self.rows[n])
            row[at] = text
            self.rows[n] = (row[0], row[1])
            self.again()

        return put

    def _remover(self, n: int) -> Callable[[], None]:
        def remove() -> None:
            del self.rows[n]
            self.again()

        return remove

    def ids(self) -> dict[str, list[int]]:
        """The numbers of the elements, by tag, in the order of the screen."""
        found: dict[str, list[int]] = {}
        for each in self.client.content.descendants():
            found.setdefault(each.tag, []).append(each.id)
        return found

    def at(self, place: str) -> Element:
        (found,) = (each for each in self.client.elements.values() if each.props.get("data-at") == place)
        return found

    def message(self, element: Element, *value: object) -> dict[str, Any]:
        """What the browser sends when this control is changed to a value, or pressed."""
        (listener,) = element._event_listeners
        return {"id": element.id, "listener_id": listener, "args": [json.dumps(each) for each in value]}


def in_a_tab(test: Callable[[], None]) -> None:
    async def run() -> None:
        test()

    asyncio.run(run())


THREE = (("ten", "3"), ("five", "4"), ("top", "5"))


@pytest.mark.invariant
def test_a_changed_value_keeps_every_element_and_what_comes_from_it_late() -> None:
    def test() -> None:
        tab = Tab(*THREE)
        before = tab.ids()
        late = [tab.message(tab.at("hives.1.count"), str(count)) for count in (12, 13)]
        tab.client.handle_event(tab.message(tab.at("hives.0.name"), "mill"))
        tab.client.handle_event(late[0])
        tab.is_refused = True  # a text above the fields, as for a problem
        tab.client.handle_event(late[1])
        assert tab.rows == [("mill", "3"), ("five", "13"), ("top", "5")]
        del (now := tab.ids())["p"][0]
        assert now == before
        assert tab.at("hives.1.count").props["^value"] == "13"
        assert tab.at("hives.1.count").props[TURN] == 2, "the browser learns that both of its values arrived"
        ids = {each.html_id for each in tab.client.content.descendants()}
        for each in tab.client.content.descendants():
            for name in ("for", "aria-describedby"):
                assert {*str(each.props.get(name, "")).split()} <= ids

    in_a_tab(test)


@pytest.mark.invariant
@pytest.mark.parametrize("gone", [0, 1, 2])
def test_rows_that_stay_keep_their_elements_when_another_is_removed_or_added(gone: int) -> None:
    def test() -> None:
        tab = Tab(*THREE)
        known = [tab.at(f"hives.{n}.count").id for n in range(3)]
        late = [tab.message(tab.at(f"hives.{n}.count"), "99") for n in range(3)]
        tab._remover(gone)()
        left = [n for n in range(3) if n != gone]
        assert [tab.at(f"hives.{n}.count").id for n in range(2)] == [known[n] for n in left]
        rows = list(tab.rows)
        tab.client.handle_event(late[gone])
        assert tab.rows == rows, "what was typed into a row that is gone is in no other"
        assert "Count: not taken over" in str([message for _, _, message in tab.client.outbox.messages])
        for n in left:
            tab.client.handle_event(late[n])
        assert tab.rows == [(THREE[n][0], "99") for n in left]
        tab.rows.insert(1, ("new", "1"))
        tab.again()
        assert [tab.at(f"hives.{n}.count").id for n in (0, 2)] == [known[n] for n in left]

    in_a_tab(test)


@pytest.mark.invariant
def test_a_row_that_is_changed_and_copied_at_once_stays_the_same_row() -> None:
    def test() -> None:
        tab = Tab(*THREE)
        known = [tab.at(f"hives.{n}.name").id for n in range(3)]
        tab.rows[:1] = [("ten", "11"), ("ten 2", "11")]
        tab.again()
        assert [tab.at(f"hives.{n}.name").id for n in (0, 2, 3)] == known

    in_a_tab(test)


@pytest.mark.invariant
def test_a_press_never_reaches_a_button_that_says_something_else() -> None:
    def test() -> None:
        pressed: list[str] = []
        shown = ["Plan", "Compare"]
        client = Client(page("/"))
        ask_for_lost(client)

        def build() -> None:
            for text in shown:
                press(text, partial(pressed.append, text))

        with client:
            again = kept_up(build)
        plan, compare = (each for each in client.elements.values() if each.tag == "button")
        late = [
            {"id": each.id, "listener_id": next(iter(each._event_listeners)), "args": []} for each in (plan, compare)
        ]
        shown[0] = "Cancel"
        again()
        for each in late:
            client.handle_event(each)
        assert pressed == ["Compare"]
        assert "Plan: not taken over" in str([message for _, _, message in client.outbox.messages])

    in_a_tab(test)


@pytest.mark.invariant
def test_a_button_stays_when_the_field_before_it_gets_another_name() -> None:
    def test() -> None:
        names = ["How many"]
        client = Client(page("/"))

        def build() -> None:
            with group("What do you build for?"):
                for name in names:
                    field(name, "6", lambda text: None)
                press("Add another", lambda: None)

        with client:
            again = kept_up(build)
        (known,) = (each.id for each in client.elements.values() if each.tag == "button")
        for now in (["How many, kind 1", "How many, kind 2"], ["How many"]):
            names[:] = now
            again()
            assert [each.id for each in client.elements.values() if each.tag == "button"] == [known]

    in_a_tab(test)


@pytest.mark.invariant
def test_what_a_build_raises_leaves_the_tab_in_use() -> None:
    def test() -> None:
        tab = Tab(*THREE)
        fail = [True]

        def build() -> None:
            words("p", "first")
            if fail[0]:
                raise ZeroDivisionError

        with tab.client, ui.element("div"):
            fail[0] = False
            again = kept_up(build)
        fail[0] = True
        with pytest.raises(ZeroDivisionError):
            again()
        fail[0] = False
        again()
        assert all(each.id == number for number, each in tab.client.elements.items())

    in_a_tab(test)
