"""The home screen: the designs of the folder, a new batch in three answers, and an example to try."""

import re
from asyncio import to_thread
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from itertools import count

from nicegui import ui

from woodshop.design.design_file import Design
from woodshop.design.lumberyard.example_prices import EXAMPLE_PRICES, example_lumberyard, example_text
from woodshop.design.schema import toml_tables
from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.page.controls import choice, field, group, link, press, words
from woodshop.page.frame import address, framed, load_screens
from woodshop.page.opened.folder import Folder
from woodshop.page.rebuild import kept_up
from woodshop.reference.patterns import AMERICAN, patterns
from woodshop.units.wording import LengthUnit

_INVENTED = "The people and prices in it are invented."
EXAMPLES: dict[LengthUnit, tuple[str, str, str]] = {
    "in": ("hobby-batch", "creekside-lumberyard", f"Two bee yards, with boxes of two makers. {_INVENTED}"),
    "mm": ("birkholm-run", "birkholm-lumberyard", f"Hives of two patterns, and three measured boxes. {_INVENTED}"),
}
"""The design to try in each unit, its lumberyard, and what it is."""
_STARTER = "my-lumberyard"  # the file that a new batch gets in a folder without a lumberyard in its unit
_BOXES = {"10": "10-frame boxes", "8": "8-frame boxes", "5": "5-frame nucleus boxes"}
_OTHERS = {f"{n} {each.name}": f"{each.name}, {n} frames" for each in patterns()[1:] for n in each.frames}
_UNITS: dict[LengthUnit, str] = {"in": "inches", "mm": "millimeters"}
KINDS: dict[LengthUnit, dict[str, str]] = {
    "in": _BOXES | _OTHERS,
    "mm": _OTHERS | {frames: f"{AMERICAN}, {frames} frames" for frames in _BOXES},
}
"""The kinds of hive to choose from in each unit: the text of each by its frames and its pattern, "10 Dadant-Blatt"."""
_SHOWN = ("frames", "count", "batch")  # the answers that have a field


class _Answers:
    """What was typed in one tab; each row is a kind of hive and its count."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.rows: list[list[str]] = [["10", "6"]]
        self.unit: LengthUnit = "in"
        self.lumberyard: str | None = None  # as chosen, "" for a new one; None until then
        self.problems: dict[str, str] = {}
        self.show_example: Callable[[], None] = lambda: None  # once it is shown, in the unit that is chosen then


def serve_home(folder: Folder) -> None:
    """Serves the home screen at /."""

    @ui.page("/")
    def home() -> None:
        with framed("Your designs"):
            _designs(folder)
            answers = _Answers(_free_name(folder))
            _new(folder, answers)
            _example(folder, answers)
            ui.timer(0.5, lambda: to_thread(load_screens), once=True)


def _designs(folder: Folder) -> None:
    names = folder.designs()
    if not names:
        words("p", "There is no design in this folder yet. Start a batch below, or look at the example first.")
        return
    with ui.element("ul").classes("cards"):
        for name in names:
            with ui.element("li").classes("card"):
                try:
                    design = folder.open(name).design()
                except WoodshopError as error:
                    link(name, address(name, "file"))
                    words("p", f"This file has a mistake. {error.problems[0]}").classes("problem")
                else:
                    link(design.pages.title or design.batch, address(name))
                    words("p", f"{design.batch}: {_hives(design)}").classes("hint")


def _hives(design: Design) -> str:
    count = sum(each.count for each in design.hives)
    if not count and design.ordering is not None:
        return "hives from orders"
    return "1 hive" if count == 1 else f"{count} hives"


def _new(folder: Folder, answers: _Answers) -> None:
    def form() -> None:
        yards, yard = _lumberyards(folder, answers)
        with group("What do you want to build for?"):
            measure_in()
            for n, row in enumerate(answers.rows):
                kind_row(n, row)
            press("Add another kind of hive", add)
            with ui.element("div").classes("kind-row"):
                field("Name of the batch", answers.name, rename, problem=answers.problems.get("batch", ""))
                if len(yards) > 1:
                    choice("Lumberyard", yards, yard, buy_from)
        if not yard:
            kind = "lumberyard file yet" if len(yards) == 1 else f"lumberyard file in {_UNITS[answers.unit]} yet"
            words(
                "p",
                f"This folder has no {kind}, so the batch begins with an example of one. Its prices are an "
                "example too. Replace them with your own in step 3, and put in the wood that you have.",
            ).classes("hint")
        if rest := [text for key, text in answers.problems.items() if not key.startswith(_SHOWN)]:
            with ui.element("div").classes("problems").props("role=alert"):
                for text in rest:
                    words("p", text)
        press("Start the batch", begin, is_main=True)

    def measure_in() -> None:
        with ui.element("div").classes("kind-row"), ui.element("div").classes("field"):
            named = words("span", "Measure in").classes("label").html_id
            with ui.element("div").classes("unit").props(f"role=group aria-labelledby={named}"):
                for unit, text in _UNITS.items():
                    pressed = "true" if unit == answers.unit else "false"
                    press(text, partial(measure, unit)).props["aria-pressed"] = pressed

    def measure(unit: LengthUnit) -> None:
        answers.unit = unit
        form_again()
        answers.show_example()

    def kind_row(n: int, row: list[str]) -> None:
        which = f", kind {n + 1}" if len(answers.rows) > 1 else ""
        problems = answers.problems
        with ui.element("div").classes("kind-row"):
            kinds, problem = KINDS[answers.unit], problems.get(f"frames {n}", "")
            kind = choice(f"Kind of hive{which}", kinds, row[0], _put(row, 0), problem=problem)
            many = field(
                f"How many{which}", row[1], _put(row, 1), problem=problems.get(f"count {n}", ""), kind="number"
            )
            kind.props["data-key"], many.props["data-key"] = f"kinds.{n}.kind", f"kinds.{n}.count"
            if which:
                press("Remove", lambda: remove(n)).props["aria-label"] = f"Remove kind {n + 1}"

    def remove(n: int) -> None:
        del answers.rows[n]
        answers.problems = {}
        form_again()

    def rename(text: str) -> None:
        answers.name = text

    def buy_from(name: str) -> None:
        answers.lumberyard = name
        form_again()

    def add() -> None:
        left = [kind for kind in KINDS[answers.unit] if kind not in {row[0] for row in answers.rows}]
        answers.rows.append([left[0] if left else "10", "6"])
        form_again()

    def begin() -> None:
        try:
            name = _begin(folder, answers)
        except InputError as error:
            answers.problems = {}
            for each in error.problems:
                key = next((key for key in _SHOWN if each.where.endswith(key)), str(len(answers.problems)))
                if key in ("frames", "count"):
                    typed = [row[key == "count"].partition(" ")[0].strip() for row in answers.rows]
                    faulty = [n for n, text in enumerate(typed) if repr(text) == each.given or not text]
                    key = f"{key} {faulty[0] if faulty else 0}"
                answers.problems.setdefault(key, f"Given {each.given}; wanted {each.wanted}. {each.do}")
            form_again()
        else:
            ui.navigate.to(address(name))

    words("h2", "Start a new batch")
    words("p", "A batch is everything that you build in one go, such as fondant boards for six hives.")
    form_again = kept_up(form)


def _put(row: list[str], at: int) -> Callable[[str], None]:
    def put(text: str) -> None:
        row[at] = text

    return put


def _free_name(folder: Folder) -> str:
    taken = set(folder.designs())
    return next(
        each for each in ("first-winter", *(f"winter-{n}" for n in range(2, len(taken) + 3))) if each not in taken
    )


def _lumberyards(folder: Folder, answers: _Answers) -> tuple[dict[str, str], str]:
    """The lumberyards to choose from, the text of each by its name, and the one chosen now; "" is a new one.

    Without a choice it is the first that has the unit of the batch. A file that cannot be read counts as in inches.
    """
    names, fits = folder.lumberyards(), []
    for name in names:
        unit = "in"
        with suppress(WoodshopError):
            unit = toml_tables(folder.open_lumberyard(name).text, "lumberyard").get("unit", "in")
        if unit == answers.unit:
            fits.append(name)
    shown = ({} if fits else {"": "A new one, from an example"}) | {each: each for each in names}
    chosen = answers.lumberyard
    return shown, chosen if chosen is not None and chosen in shown else next(iter(fits), "")


def _file_name(title: str) -> str:
    """A name for a file and a batch, from any title: its Latin letters and its digits.

    >>> _file_name("Winter 2026: Anna's boards"), _file_name("..")
    ('winter-2026-anna-s-boards', '')
    """
    return re.sub(r"[^a-z0-9]+", "-", title.lower())[:60].strip("-")


def _begin(folder: Folder, answers: _Answers) -> str:
    """Writes the new design, and a lumberyard if the folder has none. Raises InputError with every problem."""
    from woodshop.documents.answers.new_design import BEGINNER, RAISED, as_answers, new_design

    title = answers.name.strip()
    name = _file_name(title) or _free_name(folder)
    if name in folder.designs():
        raise InputError(Problem("new, batch", repr(title), "a name that is not in use", "Type another name."))
    if not all(row[1].strip() for row in answers.rows):
        raise InputError(Problem("new, count", "nothing", "how many hives there are", "Fill it in."))
    kinds = [row[0].partition(" ") for row in answers.rows]
    _, yard = _lumberyards(folder, answers)
    taken = {name, *(each.stem for each in folder.path.glob("*.toml"))}
    numbered = (f"{_STARTER}-{n}".removesuffix("-1") for n in count(1))
    starter = next(each for each in numbered if each not in taken)
    given = {
        **dict.fromkeys(("gap", "width", "name", "customer", "make"), ()),
        "set": (),
        "raised": RAISED[answers.unit],
        "frames": tuple(frames for frames, _, _ in kinds),
        "count": tuple(row[1] for row in answers.rows),
        "batch": name,
        "title": title if title != name else "",
        "unit": answers.unit,
        "on_by": "",
        "pattern": tuple(pattern for _, _, pattern in kinds),
        "lumberyard": (f"{yard or starter}.toml",),
    }
    text = new_design(as_answers(BEGINNER, name, given), f"{name}.toml")
    if not yard:
        folder.new_lumberyard(starter, starter_lumberyard("a lumberyard with invented prices", answers.unit))
    folder.new(name, text)
    return name


def starter_lumberyard(name: str, unit: LengthUnit = "in") -> str:
    """The text of a lumberyard file to begin with: the goods and prices of an example in this unit, but no offcuts.

    `name` is the name of the lumberyard. Its first line says that the prices are an example.
    """
    from woodshop.page.opened.changes import tables_at
    from woodshop.page.opened.editing import remove_table, set_value

    text = set_value(example_lumberyard(unit), ("name",), name)
    while tables_at(text, "offcut"):
        text = remove_table(text, ("offcut", 0))
    rest = text.partition("\n")[2] if text.startswith("#") else text
    return f"{EXAMPLE_PRICES}\n{rest}"


def _example(folder: Folder, answers: _Answers) -> None:
    def shown() -> None:
        name, lumberyard, what = EXAMPLES[answers.unit]
        if name in folder.designs():
            return
        words("h2", "Look at an example")
        words("p", what)
        press("Open the example", lambda: copy(name, lumberyard)).classes("alone")

    def copy(name: str, lumberyard: str) -> None:
        if lumberyard not in folder.lumberyards():
            folder.new_lumberyard(lumberyard, example_text(lumberyard))
        folder.new(name, example_text(name))
        ui.navigate.to(address(name))

    answers.show_example = kept_up(shown)
