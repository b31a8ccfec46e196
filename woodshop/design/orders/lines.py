"""Reads orders from [[order]] tables or spreadsheets, cell by cell. If one line is wrong, none is used."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from woodshop.design.design_file import Design, Ordering, read_design
from woodshop.design.inventory import BookNote, Inventory, named
from woodshop.design.orders.accepted import accepted_default, accepted_rows, order_notes
from woodshop.design.orders.orders import BoxNames, Order, OrderBox, Orders, name_hint, same_hives, shown, with_orders
from woodshop.design.schema import Default, path_text
from woodshop.design.settle.unit_forms import PACKED, WITH_MESH, has_form, need_form
from woodshop.design.sheets import Cell, SheetColumn, SheetRow, read_grid, refuse, rows_of
from woodshop.design.tables import COUNT_MOST, FORMS, NAME_MOST, PRIORITY_LAST
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.catalogue import SETS, board_names, folded, item_hint, items
from woodshop.hardware.registry import BoardPart
from woodshop.reference.boxes import box_name, box_widths

COLUMNS = (
    SheetColumn(
        "customer",
        ("name", "client", "for whom"),
        required=True,
        meaning="The customer, always spelled the same way.",
        example='"Mill Lane Bees"',
    ),
    SheetColumn(
        "order",
        ("order no", "order number", "no"),
        meaning="The order number. Lines of one order for one box go on the same hives.",
        otherwise="all lines of a customer are one order",
        example='"A-17"',
    ),
    SheetColumn(
        "item",
        ("items", "what", "product"),
        required=True,
        meaning="The item ordered: an item, a set, or several joined by +.",
        example='"board + quilt box"',
    ),
    SheetColumn(
        "box",
        ("hive", "box type"),
        required=True,
        meaning="The box it is for: one in this file, a maker's box by frames and width, or a box in a "
        'measured-box file, such as "wren-boxes.toml: wren eights".',
        example='"10-frame 16 1/4"',
    ),
    SheetColumn(
        "count", ("qty", "quantity", "how many", "number"), required=True, meaning="Number of hives.", example="20"
    ),
    SheetColumn(
        "form",
        ("made as",),
        meaning="How far it is finished; see hives.form.",
        otherwise="as for the same hives, else packed; required for fondant rims and boards",
        example='"unassembled kit"',
    ),
    SheetColumn(
        "due",
        ("due date", "needed by", "wanted by", "date"),
        meaning="The day promised: a date, or text with the year first.",
        otherwise="on_by",
        example="2026-11-15",
    ),
    SheetColumn("priority", ("prio",), meaning="1 is highest, 9 is lowest.", otherwise="5", example="5"),
    SheetColumn(
        "note",
        ("notes", "remark", "remarks"),
        meaning="A remark; woodshop orders prints it.",
        otherwise="none",
        example='"picked up on Friday"',
    ),
)
_DATE = "a date such as 2026-11-15, or a real date of the spreadsheet"


def not_in_empty() -> tuple[str, ...]:
    """The items that are not included with an empty rim."""
    return board_names(BoardPart.FLOOR, BoardPart.STRIPS)


class LineReader:
    """Checks one line after another and collects the problems."""

    def __init__(self, ordering: Ordering, found: list[Problem]) -> None:
        self.ordering, self.found = ordering, found
        self.per = {item.name: item.per for item in items()}
        self.sets = dict(SETS) | self._sets()
        self.boxes = BoxNames(ordering)
        named = [table.name for table, _ in ordering.boxes]
        for n, name in enumerate(named, 1):
            if folded(name) in map(folded, named[: n - 1]):
                self.wrong(f"{ordering.where}, box number {n}, name", repr(name), "each name once", "Choose another.")

    def wrong(self, where: str, given: str, wanted: str, do: str) -> None:
        """Adds a problem: the place `where`, what is `given`, what is `wanted`, and what to `do`."""
        self.found.append(Problem(where, given, wanted, do))

    def _sets(self) -> dict[str, tuple[str, ...]]:
        sets: dict[str, tuple[str, ...]] = {}
        for n, table in enumerate(self.ordering.sets, 1):
            where, name = f"{self.ordering.where}, set number {n}", folded(table.name)
            if name in self.per or name in SETS or name in sets or "+" in name:
                wanted = "a name not used by an item or another set, without +"
                self.wrong(f"{where}, name", repr(table.name), wanted, "Choose another.")
            else:
                sets[name] = self._named(f"{where}, item", table.item, SETS)
        return sets

    def line(self, row: SheetRow) -> Order | None:
        """The order in a row, or None if anything in it is wrong."""
        before = len(self.found)
        customer = self._read_text(row, "customer", NAME_MOST)
        number = self._read_text(row, "order", NAME_MOST, numbers=True)
        names = self._items(row)
        box = self._box(row)
        count = self._whole(row, "count", COUNT_MOST)
        form = self._form(row)
        due = self._due(row)
        priority = self._whole(row, "priority", PRIORITY_LAST, needed=False)
        note = self._read_text(row, "note", 200)
        if form == "empty" and names and set(names) <= set(not_in_empty()):
            cell = row.cells["form"]
            self.wrong(
                cell.where, "'empty'", f"another form for {' + '.join(names)}", "An empty rim does not include these."
            )
        has_fault = any(cell.is_reported for cell in row.cells.values())
        if len(self.found) > before or has_fault or box is None or count is None:
            return None
        return Order(
            where=row.where,
            customer=customer,
            number=number,
            items=names,
            box=box,
            count=count,
            form=form,
            due=due,
            priority=priority,
            note=note,
        )

    def _text(self, row: SheetRow, key: str, wanted: str) -> tuple[str, str]:
        """The place and text of a cell. The text is "" if the cell is empty, which is an error in a required column."""
        cell = row.cells.get(key, Cell(row.where))
        if cell.is_reported:
            return cell.where, ""
        if cell.value is None or cell.value == "":
            if key in row.cells and next(column.required for column in COLUMNS if column.name == key):
                self.wrong(cell.where, "nothing", wanted, "Fill it in, or delete the row.")
            return cell.where, ""
        if not isinstance(cell.value, str):
            self.wrong(cell.where, shown(cell.value), wanted, "Write it as text.")
            return cell.where, ""
        return cell.where, cell.value.strip()

    def _read_text(self, row: SheetRow, key: str, most: int, numbers: bool = False) -> str:
        cell = row.cells.get(key)
        if (
            numbers
            and cell is not None
            and not cell.is_reported
            and isinstance(cell.value, int)
            and not isinstance(cell.value, bool)
        ):
            return str(cell.value)
        where, text = self._text(row, key, f"the {key}, in words")
        if not text.isprintable():
            wanted = "text on one line, without control or direction marks"
            self.wrong(where, shown(text), wanted, "Type it again.")
        elif len(text) > most:
            self.wrong(where, f"{len(text)} letters", f"at most {most}", "Shorten it.")
        return " ".join(text.split(" "))

    def _items(self, row: SheetRow) -> tuple[str, ...]:
        where, text = self._text(row, "item", "the item ordered")
        if not text:
            return ()
        return self._named(where, [part.strip() for part in text.split("+")], self.sets)

    def _named(self, where: str, names: Sequence[str], sets: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
        """The items for these names, without duplicates. Each name is an item or a set of items."""
        known = [*sets, *(name for name, per in self.per.items() if per == "hive")]
        chosen: list[str] = []
        for name in names:
            plain = folded(name)
            if self.per.get(plain, "hive") != "hive":
                do = f"Set {self.per[plain]} in a [[make]] for it."
                self.wrong(where, repr(name), f"an item for each hive; {plain} serve the whole run", do)
            elif plain not in known:
                do = item_hint(plain, known, "Choose one of these, or several joined by +.")
                self.wrong(where, shown(name), "one of " + ", ".join(known), do)
            else:
                for item in sets.get(plain, (plain,)):
                    if item in chosen:
                        self.wrong(where, f"{item} twice", "each item once", "Remove one of them.")
                    chosen.append(item)
        return tuple(chosen)

    def _box(self, row: SheetRow) -> OrderBox | None:
        such = box_name(10, box_widths(10)[0], self.boxes.unit)
        where, text = self._text(row, "box", f"a box, such as {such}")
        box = self.boxes.find(text) if text else None
        if isinstance(box, tuple):
            self.found += [problem if problem.where else replace(problem, where=where) for problem in box]
            return None
        return box

    def _whole(self, row: SheetRow, key: str, most: int, needed: bool = True) -> int | None:
        cell = row.cells.get(key)
        if cell is None or cell.is_reported:
            return None
        value, wanted = cell.value, f"a whole number, 1 to {most}"
        if value is None or value == "":
            if needed:
                self.wrong(cell.where, "nothing", wanted, "Fill it in, or delete the row.")
            return None
        if isinstance(value, str) and re.fullmatch(r"[0-9]{1,9}", value.strip()):
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= most:
            do = "Delete the row if nothing is needed." if value == 0 else "Write digits only."
            self.wrong(cell.where, shown(value), wanted, do)
            return None
        return value

    def _form(self, row: SheetRow) -> str:
        where, text = self._text(row, "form", "how far it is finished")
        if text and folded(text) not in FORMS:
            self.wrong(where, shown(text), "one of " + ", ".join(FORMS), name_hint(text, FORMS))
        return folded(text)

    def _due(self, row: SheetRow) -> date | None:
        cell = row.cells.get("due")
        value = None if cell is None else cell.value
        if cell is None or cell.is_reported or value is None or value == "":
            return None
        if isinstance(value, date) and not isinstance(value, datetime) and 2000 <= value.year < 2100:
            return value
        if isinstance(value, str) and re.fullmatch(r"20[0-9]{2}-[0-9]{2}-[0-9]{2}", value.strip()):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                self.wrong(cell.where, shown(value), "a valid date", "Check the calendar.")
                return None
        self.wrong(cell.where, shown(value), _DATE, _date_advice(value))
        return None


def _date_advice(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(r"\s*[0-9]{1,2}[/.-][0-9]{1,2}[/.-][0-9]{2,4}\s*", value):
        return "Day and month are ambiguous. Write the year first."
    if isinstance(value, int | float) and not isinstance(value, bool):
        return "It is a number. Format the cell as a date, or write the year first."
    return "Write the year first."


SHEET = "Orders"
Place = Callable[[Order, str], str]  # the place of a line's value in a column


def read_orders(ordering: Ordering, inventory: Inventory | None = None) -> Orders:
    """Reads every order of a design and of the files that it names. Raises InputError with every problem in them.

    If there is a book, only its open orders count; the design's own orders are compared with them.
    """
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
    lines = _lines_of(rows, reader, found, taken)
    notes: tuple[BookNote, ...] = ()
    if inventory is not None:
        taken = [each for each in taken if each.name != "form"]
        written, lines = lines, _lines_of(accepted_rows(inventory), reader, found, taken)
        notes = order_notes(written, lines, inventory)
        taken.append(accepted_default(lines, inventory))
    refuse(found)
    return Orders(tuple(lines), tuple(taken), notes)


def _lines_of(rows: Iterable[SheetRow], reader: LineReader, found: list[Problem], taken: list[Default]) -> list[Order]:
    """The lines of one source of orders, with their forms. If a form was not given, its default is added to `taken`.

    Conflicts between the lines are added to `found`.
    """
    read_lines = {row.where: (row, line) for row in rows if (line := reader.line(row)) is not None}

    def place(line: Order, key: str) -> str:
        row, _ = read_lines[line.where]
        return row.cells[key].where if key in row.cells else f"{row.where}, {key}"

    formed = _formed([line for _, line in read_lines.values()], place, found)
    unsaid = [
        f"{' + '.join(line.items)} for {line.customer}, {line.box.name}: {line.form}"
        for (_, given), line in zip(read_lines.values(), formed, strict=True)
        if not given.form and any(map(has_form, line.items))
    ]
    if unsaid:
        taken.append(Default("orders", "form", named(unsaid), "as for the same hives, else packed"))
    found += _twice(formed, place) + _spelled_alike(formed, place)
    return formed


def _tables(ordering: Ordering, found: list[Problem]) -> Iterable[SheetRow]:
    """The [[order]] lines of the design itself, as rows."""
    known = [column.name for column in COLUMNS]
    for n, table in enumerate(ordering.lines, 1):
        where = f"{ordering.where}, order number {n}"
        for key in (key for key in table if key not in known):
            do = did_you_mean(key, known, f"Known here: {', '.join(known)}.")
            given, wanted = f"the unknown key {shown(key)}", "a known key"
            found.append(Problem(f"{where}, {path_text((key,))}", given, wanted, do))
        cells = {
            column.name: Cell(f"{where}, {column.name}", _plain(table.get(column.name)))
            for column in COLUMNS
            if column.required or column.name in table
        }
        yield SheetRow(where, cells)


def _plain(value: object) -> object:
    """A list of items as one string, joined with plus signs."""
    if isinstance(value, tuple) and value and all(isinstance(each, str) for each in value):
        return " + ".join(value)
    return value


def _formed(lines: Sequence[Order], place: Place, found: list[Problem]) -> list[Order]:
    """Gives each line a form: its own; otherwise the form of other lines for the same hives; otherwise the usual form.

    The usual form is "packed", or "with mesh" if the same hives get a wire bottom and nothing to fill. Items that are
    not included with an empty rim are removed.
    """
    forms: dict[object, set[str]] = {}
    ordered: dict[object, set[str]] = {}
    (floor,) = board_names(BoardPart.FLOOR)
    for line in lines:
        ordered.setdefault(same_hives(line), set()).update(line.items)
        if line.form:
            forms.setdefault(same_hives(line), set()).add(line.form)
    formed = []
    for line in lines:
        same = forms.get(same_hives(line), set())
        if not line.form and len(same) != 1 and set(line.items) & need_form():
            wanted = f"the form of {' + '.join(line.items)}: one of {', '.join(FORMS)}"
            found.append(Problem(place(line, "form"), "nothing", wanted, "Fill it in."))
        is_bare = floor in ordered[same_hives(line)] and not any(map(has_form, ordered[same_hives(line)]))
        form = line.form or (next(iter(same)) if len(same) == 1 else WITH_MESH if is_bare else PACKED)
        items = tuple(item for item in line.items if form != "empty" or item not in not_in_empty())
        formed.append(replace(line, form=form, items=items))
    return formed


def _twice(lines: Sequence[Order], place: Place) -> list[Problem]:
    """Finds items that are on two lines for the same hives. The customer must combine these lines."""
    found = []
    seen: dict[object, Order] = {}
    for line in lines:
        for item in line.items:
            other = seen.setdefault((same_hives(line), line.form, item), line)
            if other is not line:
                given = f"{item} for {line.customer}, {line.box.name}, as in {other.where.rpartition(', ')[2]}"
                do = "Add them together, or give each line its order number."
                found.append(Problem(place(line, "item"), given, "each item once for the same hives", do))
                break
    return found


def _spelled_alike(lines: Sequence[Order], place: Place) -> list[Problem]:
    """Finds customers whose names differ only in capitals or spaces, which is probably a typo."""
    found = []
    seen: dict[str, Order] = {}
    for line in lines:
        other = seen.setdefault("".join(line.customer.casefold().split()), line)
        if other.customer != line.customer:
            given, wanted = repr(line.customer), f"{other.customer!r}, as in {other.where.rpartition(', ')[2]}"
            found.append(Problem(place(line, "customer"), given, wanted, "Spell the name one way."))
    return found


def read_run(path: Path) -> Design:
    """Reads a design with its orders as groups of hives. Raises InputError for problems in the design or the orders.

    For a design with a book, use `plan.book.reading.read_booked`.
    """
    return with_read_orders(read_design(path))


def with_read_orders(design: Design) -> Design:
    """The design with its orders, or the open orders of its book, as groups of hives. Raises InputError."""
    if design.ordering is None:
        return design
    return with_orders(design, read_orders(design.ordering, design.inventory))
