"""Native controls with their labels: text, buttons, fields, choices. What is shown is text, never markup."""

from collections.abc import Callable, Iterable, Mapping
from itertools import count
from typing import Any

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement

from woodshop.errors import Problem

Handler = Callable[[], Any]
_numbers = count(1)


def words(tag: str, text: str) -> TextElement:
    """An HTML element, such as "h2" or "p", that holds only this text."""
    return TextElement(tag=tag, text=text)


def link(text: str, target: str) -> TextElement:
    """A link to an address of the page."""
    shown = words("a", text)
    shown.props["href"] = target
    return shown


def press(text: str, on_press: Handler, *, is_main: bool = False) -> TextElement:
    """A button that shows `text` and calls `on_press`. `is_main` marks the one that goes on with the work."""
    button = words("button", text).classes("press main-press" if is_main else "press")
    button.props["type"] = "button"
    button.on("click", lambda: on_press(), [])
    return button


def group(legend: str) -> ui.element:
    """A group of controls with a legend; the controls are made inside `with`."""
    made = ui.element("fieldset")
    with made:
        words("legend", legend)
    return made


def field(
    label: str,
    value: str,
    on_change: Callable[[str], Any],
    *,
    hint: str = "",
    problem: str = "",
    kind: str = "text",
    unit: str = "",
) -> ui.element:
    """A text field with `value` under its `label`. `on_change` gets the text when it is left or Enter is pressed.

    `hint` and `problem` are one sentence each beside the field; `kind` is its type in HTML; `unit` follows the label.
    """
    with _labeled(label, hint, problem, unit) as told:
        shown = ui.element("input")
        shown.props["type"] = kind
        shown.props["^value"] = value  # the attribute: the property is written again at every change of the page
        shown.props["autocomplete"] = "off"
        shown.props["data-name"] = label
        _told(shown, told, problem)
        shown.on("change", lambda e: on_change(str(e.args)), js_handler="(e) => emit(e.target.value)")
    return shown


def choice(
    label: str,
    options: Mapping[str, str],
    value: str,
    on_change: Callable[[str], Any],
    *,
    hint: str = "",
    problem: str = "",
) -> ui.element:
    """A list to choose one from, with its `label`: `options` has the text of each by its value.

    `value` is the one chosen now, `on_change` gets another; `hint` and `problem` are one sentence each beside it.
    """
    with _labeled(label, hint, problem, "") as told:
        shown = ui.element("select")
        shown.props["data-name"] = label
        _told(shown, told, problem)
        with shown:
            for key, text in options.items():
                option = words("option", text)
                option.props["value"] = key
                if key == value:
                    option.props["selected"] = True
        shown.on("change", lambda e: on_change(str(e.args)), js_handler="(e) => emit(e.target.value)")
    return shown


def tick(label: str, is_on: bool, on_change: Callable[[bool], Any], *, hint: str = "") -> ui.element:
    """A box to tick, with `label` and `hint` beside it. `is_on` says whether it is ticked now, `on_change` gets it."""
    with ui.element("div").classes("tick"):
        key = f"tick-{next(_numbers)}"
        shown = ui.element("input")
        shown.props["type"] = "checkbox"
        shown.props["id"] = key
        shown.props["checked"] = is_on
        shown.props["data-name"] = label
        words("label", label).props["for"] = key
        if hint:
            words("p", hint).classes("hint").props["id"] = f"{key}-hint"
            shown.props["aria-describedby"] = f"{key}-hint"
        shown.on("change", lambda e: on_change(bool(e.args)), js_handler="(e) => emit(e.target.checked)")
    return shown


class _labeled:
    """A label, the place of one control, its unit, its hint and its problem; gives the key of the control."""

    def __init__(self, label: str, hint: str, problem: str, unit: str) -> None:
        self._label, self._hint, self._problem, self._unit = label, hint, problem, unit

    def __enter__(self) -> tuple[str, str]:
        key = f"field-{next(_numbers)}"
        told = []
        self._outer = ui.element("div").classes("field with-problem" if self._problem else "field")
        self._outer.__enter__()
        text = self._label + (f" ({self._unit})" if self._unit else "")
        words("label", text).props["for"] = key
        for name, sentence in (("hint", self._hint), ("problem", self._problem)):
            if sentence:
                words("p", sentence).classes(name).props["id"] = f"{key}-{name}"
                told.append(f"{key}-{name}")
        return key, " ".join(told)

    def __exit__(self, *_: object) -> None:
        self._outer.__exit__()


def _told(shown: ui.element, told: tuple[str, str], problem: str) -> None:
    shown.props["id"] = told[0]
    if told[1]:
        shown.props["aria-describedby"] = told[1]
    if problem:
        shown.props["aria-invalid"] = "true"


def show_problems(problems: Iterable[Problem]) -> None:
    """Lists problems in the words of the command line, where a screen has no field for them."""
    with ui.element("div").classes("problems").props("role=alert"), ui.element("ul"):
        for each in problems:
            words("li", str(each))
