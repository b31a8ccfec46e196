"""Native controls with their labels: text, buttons, fields, choices. What is shown is text, never markup."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement
from nicegui.events import GenericEventArguments

from woodshop.errors import Problem
from woodshop.page.rebuild import count_turn

Handler = Callable[[], Any]


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
    button.on("click", lambda: on_press(), [], js_handler="() => sendInOrder(emit)")
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
    with _labeled(label, hint, problem, unit) as labeled:
        shown = text_input(value, on_change, kind)
        shown.props["data-name"] = label
        labeled.names(shown)
    return shown


def text_input(value: str, on_change: Callable[[str], Any], kind: str = "text") -> ui.element:
    """A field with `value` and no label yet; `on_change` and `kind` are those of `field`."""
    shown = ui.element("input")
    shown.props["type"] = kind
    shown.props["^value"] = value  # the attribute: the property is written again at every change of the page
    shown.props["autocomplete"] = "off"
    return _heard(shown, on_change, "value")


def list_input(options: Mapping[str, str], value: str, on_change: Callable[[str], Any]) -> ui.element:
    """A list to choose one from, without a label yet; `options`, `value` and `on_change` are those of `choice`."""
    shown = ui.element("select")
    shown.props["data-value"] = value
    with shown:
        for key, text in options.items():
            option = words("option", text)
            option.props["value"] = key
            if key == value:
                option.props["selected"] = True
    return _heard(shown, on_change, "value")


def _heard(shown: ui.element, on_change: Callable[[Any], Any], of: str) -> ui.element:
    """The control, which gives each value that it gets from the user to `on_change`; `of` is its property in HTML."""

    def changed(event: GenericEventArguments) -> None:
        count_turn(shown)
        on_change(event.args)

    return shown.on("change", changed, js_handler=f"(e) => sendInOrder(emit, e.target.{of})")


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
    with _labeled(label, hint, problem, "") as labeled:
        shown = list_input(options, value, on_change)
        shown.props["data-name"] = label
        labeled.names(shown)
    return shown


def tick(label: str, is_on: bool, on_change: Callable[[bool], Any], *, hint: str = "") -> ui.element:
    """A box to tick, with `label` and `hint` beside it. `is_on` says whether it is ticked now, `on_change` gets it."""
    with ui.element("div").classes("tick"):
        shown = ui.element("input")
        shown.props["type"] = "checkbox"
        shown.props["checked"] = is_on
        shown.props["data-value"] = "true" if is_on else "false"
        shown.props["data-name"] = label
        words("label", label).props["for"] = shown.html_id
        if hint:
            shown.props["aria-describedby"] = words("p", hint).classes("hint").html_id
    return _heard(shown, on_change, "checked")


class _labeled:
    """A label, the place of one control, its unit, its hint and its problem."""

    def __init__(self, label: str, hint: str, problem: str, unit: str) -> None:
        self._text, self._hint, self._problem = label + (f" ({unit})" if unit else ""), hint, problem

    def __enter__(self) -> "_labeled":
        self._outer = ui.element("div").classes("field with-problem" if self._problem else "field")
        self._outer.__enter__()
        self._label = words("label", self._text)
        sentences = (("hint", self._hint), ("problem", self._problem))
        self._described = [words("p", sentence).classes(name).html_id for name, sentence in sentences if sentence]
        return self

    def __exit__(self, *_: object) -> None:
        self._outer.__exit__()

    def names(self, control: ui.element) -> None:
        """Ties the control to its label, its hint and its problem."""
        self._label.props["for"] = control.html_id
        if self._described:
            control.props["aria-describedby"] = " ".join(self._described)
        if self._problem:
            control.props["aria-invalid"] = "true"


def show_problems(problems: Iterable[Problem]) -> None:
    """Lists problems in the words of the command line, where a screen has no field for them."""
    with ui.element("div").classes("problems").props("role=alert"), ui.element("ul"):
        for each in problems:
            words("li", str(each))
