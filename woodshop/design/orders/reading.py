"""Orders read from [[order]] tables or from spreadsheets, by the same rules: one line wrong, none taken."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from difflib import get_close_matches

from woodshop.design.batch import Default
from woodshop.design.design_file import Ordering
from woodshop.design.orders.box import shown
from woodshop.design.orders.line import COLUMNS, LineReader, need_form, not_in_empty
from woodshop.design.orders.orders import Order, Orders, same_hives
from woodshop.design.schema import path_text
from woodshop.design.sheets.sheets import Cell, SheetRow, read_grid, refuse, rows_of
from woodshop.design.tables import FORMS
from woodshop.errors import InputError, Problem

SHEET = "Orders"
Place = Callable[[Order, str], str]  # where a line's value of a column stands


def read_orders(ordering: Ordering) -> Orders:
    """Every order of a design and of the files it names. Raises InputError with all that is wrong in any of them."""
    found: list[Problem] = []
    taken: list[Default] = []
    rows = [*_tables(ordering, found)]
    for path in ordering.files:
        try:
            grid = read_grid(path, SHEET)
            read, faults = rows_of(grid, COLUMNS, ordering.other_columns)
        except InputError as bad:
            found += bad.problems
            continue
        rows += read
        found += faults
        if grid.unread:
            taken.append(Default(grid.where, "sheets not read", ", ".join(grid.unread), f"the one called {SHEET} is"))
    reader = LineReader(ordering, found)
    read_lines = {row.where: (row, line) for row in rows if (line := reader.line(row)) is not None}
    lines = [line for _, line in read_lines.values()]

    def place(line: Order, key: str) -> str:
        row, _ = read_lines[line.where]
        return row.cells[key].where if key in row.cells else f"{row.where}, {key}"

    formed = _formed(lines, place, found)
    found += _twice(formed, place) + _spelled_alike(formed, place)
    refuse(found)
    return Orders(tuple(formed), tuple(taken))


def _tables(ordering: Ordering, found: list[Problem]) -> Iterable[SheetRow]:
    """The [[order]] lines of the design itself, as rows."""
    known = [column.name for column in COLUMNS]
    for n, table in enumerate(ordering.lines, 1):
        where = f"{ordering.where}, order number {n}"
        for key in (key for key in table if key not in known):
            near = get_close_matches(key, known, n=1)
            do = f"Did you mean {near[0]!r}?" if near else f"Known here: {', '.join(known)}."
            given, wanted = f"the unknown key {shown(key)}", "a key that is known here"
            found.append(Problem(f"{where}, {path_text((key,))}", given, wanted, do))
        cells = {
            column.name: Cell(f"{where}, {column.name}", _plain(table.get(column.name)))
            for column in COLUMNS
            if column.required or column.name in table
        }
        yield SheetRow(where, cells)


def _plain(value: object) -> object:
    """A list of items is the same as their names with a plus between them."""
    if isinstance(value, tuple) and value and all(isinstance(each, str) for each in value):
        return " + ".join(value)
    return value


def _formed(lines: Sequence[Order], place: Place, found: list[Problem]) -> list[Order]:
    """Each line with its form: its own, else that of the same hives; else, where none matters, packed.

    What an empty rim goes without is taken off.
    """
    forms: dict[object, set[str]] = {}
    for line in lines:
        if line.form:
            forms.setdefault(same_hives(line), set()).add(line.form)
    formed = []
    for line in lines:
        same = forms.get(same_hives(line), set())
        if not line.form and len(same) != 1 and set(line.items) & need_form():
            wanted = f"the form of {' + '.join(line.items)}: one of {', '.join(FORMS)}"
            found.append(Problem(place(line, "form"), "nothing", wanted, "Fill it in."))
        form = line.form or (next(iter(same)) if len(same) == 1 else FORMS[0])
        items = tuple(item for item in line.items if form != "empty" or item not in not_in_empty())
        formed.append(replace(line, form=form, items=items))
    return formed


def _twice(lines: Sequence[Order], place: Place) -> list[Problem]:
    """The same thing for the same hives on two lines: added up by whoever meant that, not here."""
    found = []
    seen: dict[object, Order] = {}
    for line in lines:
        for item in line.items:
            other = seen.setdefault((same_hives(line), line.form, item), line)
            if other is not line:
                given = f"{item} for {line.customer}, {line.box.name}, again as in {other.where.rpartition(', ')[2]}"
                do = "Add the two up, or give each the number of its order."
                found.append(Problem(place(line, "item"), given, "each thing once for the same hives", do))
                break
    return found


def _spelled_alike(lines: Sequence[Order], place: Place) -> list[Problem]:
    """Customers that differ in capitals or spaces alone: one of the two is a slip."""
    found = []
    seen: dict[str, Order] = {}
    for line in lines:
        other = seen.setdefault("".join(line.customer.casefold().split()), line)
        if other.customer != line.customer:
            given, wanted = repr(line.customer), f"{other.customer!r}, as in {other.where.rpartition(', ')[2]}"
            found.append(Problem(place(line, "customer"), given, wanted, "Spell the name in one way."))
    return found
