"""The design file: the hives, the items to make for them, and hardware already in the shed.

A beginner's file:

    format = "woodshop-design/2"
    batch = "first-winter"
    unit = "in"
    lumberyard = "county-lumberyard.toml"
    [[hives]]
    frames = 10
    count = 6
    [[make]]
    item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks"]
"""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Protocol

from pydantic import ValidationError, create_model

from woodshop.cutting.model.job import Surplus
from woodshop.design.inventory import BookNote, Inventory
from woodshop.design.measured_files import MeasuredBox, read_measured
from woodshop.design.own_patterns import own_patterns
from woodshop.design.schema import TYPES, Default, SettingTable, load, load_text, outside, problems
from woodshop.design.settings.buying import Buying, Days, WorthTable, buying_settings, worth_faults
from woodshop.design.settings.conditions import ConditionTables, climate_faults, trial_faults
from woodshop.design.settings.crew_table import CrewTable, crew_faults, read_crew
from woodshop.design.settings.labels import LabelSettings, Pages, label_settings, paper_of
from woodshop.design.settings.saw import SawTable, ToolsTable, read_tools, with_own
from woodshop.design.settings.times import ShopWork, settled_work
from woodshop.design.settings.tolerances import ToleranceTables, tolerance_faults
from woodshop.design.tables import DesignTable, HivesTable, MakeTable, OrderBoxTable, SetTable, ShedTable
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import item_hint, items, items_named
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters
from woodshop.reference.limits import named_band
from woodshop.reference.patterns import HivePattern
from woodshop.units.lengths import Length, lengths_in
from woodshop.units.wording import LengthUnit


class Wish(Protocol):
    """The names in a [[make]] table, for one of its items."""

    @property
    def item(self) -> Item:
        """The item to make."""

    @property
    def hives(self) -> tuple[str, ...]:
        """The names of its hives; empty means all."""

    @property
    def where(self) -> str:
        """The place of the [[make]] table in the file."""


def name_faults(
    where: str, hives: Sequence[HivesTable], makes: Sequence[Wish], shed: Sequence[ShedTable]
) -> list[Problem]:
    """Every unknown name of hives, items to make, or items in the shed. `where` names the file."""
    named = [each.name for each in hives]
    return [
        *_hives(where, named),
        *_used(where, named, makes, shed),
        *_shed(where, hives, shed),
        *_twice(where, named, makes),
    ]


def _hives(where: str, named: list[str]) -> list[Problem]:
    found = []
    if len(named) > 1:
        for n, name in enumerate(named, 1):
            if not name:
                found.append(
                    Problem(f"{where}, hives number {n}", "no name", "a name for each of several", "Add a name line.")
                )
            elif name in named[: n - 1]:
                found.append(
                    Problem(f"{where}, hives number {n}, name", repr(name), "each name once", "Choose another name.")
                )
    return found


def _used(where: str, named: list[str], makes: Sequence[Wish], shed: Sequence[ShedTable]) -> list[Problem]:
    found: list[Problem] = []
    used = [(make.where, name) for make in makes for name in make.hives]
    used += [(f"{where}, shed number {n}", row.hives) for n, row in enumerate(shed, 1)]
    for place, name in used:
        if name not in named:
            listed = f"Named in this file: {', '.join(filter(None, named))}." if any(named) else "Name the hives first."
            problem = Problem(
                f"{place}, hives", repr(name), "the name of one of the [[hives]]", did_you_mean(name, named, listed)
            )
            if problem not in found:
                found.append(problem)
    return found


def _shed(where: str, hives: Sequence[HivesTable], shed: Sequence[ShedTable]) -> list[Problem]:
    found = []
    per = {item.name: item.per for item in items()}
    counts = {each.name: each.count for each in hives}
    seen: set[tuple[str, str]] = set()
    for n, row in enumerate(shed, 1):
        place = f"{where}, shed number {n}"
        if row.item not in per:
            found.append(
                Problem(f"{place}, item", repr(row.item), "one of " + ", ".join(per), item_hint(row.item, per))
            )
        elif per[row.item] != "hive":
            wanted = f"items that every hive gets; {row.item} are counted by {per[row.item]}"
            found.append(Problem(f"{place}, item", repr(row.item), wanted, f"Lower {per[row.item]} instead."))
        if row.repair > row.have:
            given = f"{row.repair} to repair of {row.have}"
            found.append(Problem(place, given, "at most as many repairs as units on hand", "Count again."))
        if row.hives in counts and row.have > counts[row.hives]:
            given, do = f"{row.have} for {counts[row.hives]} hives", "Count only items for these hives."
            found.append(Problem(f"{place}, have", given, "at most one for each hive", do))
        if (row.item, row.hives) in seen:
            found.append(Problem(place, f"{row.item} for {row.hives} again", "each pair once", "Add them together."))
        seen.add((row.item, row.hives))
    return found


def _twice(where: str, named: list[str], makes: Sequence[Wish]) -> list[Problem]:
    found = []
    made: set[tuple[str, str]] = set()
    for make in makes:
        for name in make.hives or named:
            if (make.item.name, name) in made:
                found.append(
                    Problem(
                        f"{where}, make",
                        f"{make.item.name} for {name or 'the hives'} twice",
                        "each item once for the same hives",
                        "Remove one, or name other hives.",
                    )
                )
            made.add((make.item.name, name))
    return found


_FOR_ALL = ("sugar", "other_sugar", "bag", "bowl")


@dataclass(frozen=True, slots=True)
class Make:
    """An item to make, the names of its hives (empty means all), the spares for each group, and the settings given.

    `where` is the place of the [[make]] in its file. `wood` is None for the thickness of the design.
    """

    item: Item
    hives: tuple[str, ...]
    spare: int
    _: KW_ONLY
    given: tuple[tuple[str, Any], ...]
    board: tuple[tuple[str, Any], ...]
    where: str = ""
    wood: Length | None = None


@dataclass(frozen=True, slots=True)
class Ordering:
    """The orders of a design, not yet read: its own [[order]] lines, its files, and the names that both use.

    `boxes` holds each [[box]], with its owner's sizes if a measured-box file is named; `sets` holds the items of each
    [[set]]. `other_columns` are the columns to ignore in the files; `folder` is where files named in orders are.
    """

    where: str
    folder: Path
    boxes: tuple[tuple[OrderBoxTable, MeasuredBox | None], ...]
    _: KW_ONLY
    sets: tuple[SetTable, ...]
    lines: tuple[dict[str, Any], ...]
    files: tuple[Path, ...]
    other_columns: tuple[str, ...]
    unit: LengthUnit = "in"


@dataclass(frozen=True, slots=True, kw_only=True)
class SawTables:
    """The saw and tools as given in the design or its shop file, and the value of saved work."""

    saw: SawTable = field(default_factory=SawTable)
    tools: ToolsTable = field(default_factory=ToolsTable)
    worth: WorthTable = field(default_factory=WorthTable)


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """A design file as checked values; `board` holds only what the user gave.

    `measured` holds, for each of `hives`, the owner's sizes of its box, if a measured-box file is named. `ordering`
    holds the orders; it is None if there are none, or if `design.orders` has turned them into groups of hives.
    `order_defaults` are the defaults used in that step; `order_boxes` pairs each group made from orders with the box
    that its orders name. `book` is the shop's book, and `inventory` is its state, which `plan.book.reading` must read
    before the design is settled. `crew` holds the people and their hours; `work` is how long each operation takes.
    `notes` lists mismatches between design and book. `packed` pairs each group of hives with its packed boards on hand.
    `patterns` are those that the design describes.
    """

    batch: str
    unit: LengthUnit
    lumberyards: tuple[Path, ...]
    pages: Pages
    wood: Length | None
    surplus: Surplus
    hives: tuple[HivesTable, ...]
    measured: tuple[MeasuredBox | None, ...]
    shed: tuple[ShedTable, ...]
    board: tuple[tuple[str, Any], ...]
    makes: tuple[Make, ...]
    days: Days = field(default_factory=Days)
    sawing: SawTables = field(default_factory=SawTables)
    conditions: ConditionTables = field(default_factory=ConditionTables)
    buying: Buying = field(default_factory=Buying)
    both_units: bool = False
    ordering: Ordering | None = None
    order_defaults: tuple[Default, ...] = ()
    order_boxes: tuple[tuple[str, str], ...] = ()
    book: Path | None = None
    inventory: Inventory | None = None
    crew: CrewTable = field(default_factory=CrewTable)
    work: ShopWork = field(default_factory=lambda: settled_work(None))
    notes: tuple[BookNote, ...] = ()
    packed: tuple[tuple[str, int], ...] = ()
    patterns: tuple[HivePattern, ...] = ()


def read_design(path: Path, book: Path | None = None) -> Design:
    """Reads a design file as values; `book` replaces the book named there. Raises InputError with every problem.

    Orders stay unread in `ordering`; see `design.orders.lines.read_run`.
    """
    return design_of(with_book(load(path, "design"), book), path)


def read_design_text(text: str, path: Path) -> Design:
    """The text of a design file as values. Files named in it are in the folder of `path`, which is not read itself.

    Raises InputError with every problem.
    """
    return design_of(load_text(text, path.name, "design"), path)


def files_named(raw: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    """Each file that the tables of a design name: the key that names it, as in messages, and its name."""
    found: list[tuple[str, Any]] = []
    for key in ("lumberyard", "shop", "book", "orders", "crew", "patterns"):
        names = raw.get(key)
        found += [(key, name) for name in (names if isinstance(names, list | tuple) else (names,))]
    for key in ("hives", "box"):
        tables = raw.get(key)
        for n, table in enumerate(tables if isinstance(tables, list | tuple) else (), 1):
            if isinstance(table, dict):
                found.append((f"{key} number {n}, measured", table.get("measured")))
    return tuple((place, name) for place, name in found if isinstance(name, str))


def with_book(raw: dict[str, Any], book: Path | None) -> dict[str, Any]:
    """The tables of a design file with its book replaced by `book`, or unchanged if there is none."""
    return raw if book is None else raw | {"book": str(book.absolute())}


def design_of(raw: dict[str, Any], path: Path) -> Design:
    """The tables of a design file as values. Files named in them are in the folder of `path`. Raises InputError."""
    unit: LengthUnit = "mm" if raw.get("unit") == "mm" else "in"
    with lengths_in(unit):
        return _design_of(raw, path, unit)


def _design_of(raw: dict[str, Any], path: Path, unit: LengthUnit) -> Design:
    where = path.name
    found: list[Problem] = []
    crew_file = raw.get("crew")
    if isinstance(crew_file, str):
        raw = {key: value for key, value in raw.items() if key != "crew"}
    table = _checked(DesignTable, raw, where, unit, found)
    shared = raw.get("board", {})
    board_parameters = fields_as_parameters(BoardSettings)
    board: dict[str, Any] = {}
    if isinstance(shared, dict):
        board = _settings("board", board_parameters, shared, where=f"{where}, board", unit=unit, found=found)
    makes: list[Make] = []
    wishes = raw.get("make", [])
    for n, wish in enumerate(wishes if isinstance(wishes, tuple) else (), 1):
        if isinstance(wish, dict):
            makes += _make(wish, f"{where}, make number {n}", unit, board_parameters, found)
    if table is not None:
        found += _needed(table, raw, where) + worth_faults(table.worth, where)
        own = "density" in board or any(name == "density" for make in makes for name, _ in make.board)
        found += trial_faults(table.trial, own, where) + climate_faults(table.climate, where)
        if not table.has_orders:
            found += name_faults(where, table.hives, makes, table.shed)
    measured: list[MeasuredBox | None] = []
    boxes: list[MeasuredBox | None] = []
    labels, buying, tolerances = LabelSettings(), Buying(), ToleranceTables()
    band: str | None = None
    saw, tools, work, crew = SawTable(), ToolsTable(), settled_work(None), CrewTable()
    described: list[HivePattern] = []
    if table is not None:
        saw, tools, work = _tools(table, path, found)
        crew = table.crew
        if isinstance(crew_file, str):
            crew = _crew_of(crew_file, path, unit, found)
        else:
            found += crew_faults(crew, f"{where}, crew")
        files = () if table.patterns is None else table.patterns
        paths = [path.parent / name for name in ((files,) if isinstance(files, str) else files)]
        described = own_patterns(table.pattern, paths, where, unit, found)
        labels = label_settings(table.labels, table.paper or paper_of(unit), where, found, unit)
        buying = buying_settings(table.buying, where, found)
        tolerances = ToleranceTables(table.tolerance, table.moisture)
        found += tolerance_faults(tolerances, where, unit)
        try:
            band = None if table.check.bee_space is None else named_band(table.check.bee_space, f"{where}, check")
        except InputError as bad:
            found += bad.problems
        measured = [
            measured_box(hives, f"{where}, hives number {n}", path.parent, found)
            for n, hives in enumerate(table.hives, 1)
        ]
        boxes = [
            measured_box(box, f"{where}, box number {n}", path.parent, found) for n, box in enumerate(table.box, 1)
        ]
    if found or table is None:
        raise InputError(*found)
    lumberyards = (table.lumberyard,) if isinstance(table.lumberyard, str) else table.lumberyard
    return Design(
        batch=table.batch,
        unit=table.unit,
        lumberyards=tuple(path.parent / name for name in lumberyards),
        pages=Pages(title=table.title or table.batch, paper=table.paper or paper_of(unit), labels=labels),
        days=Days(on_by=table.on_by, quoted_on=table.quoted_on),
        wood=table.wood,
        surplus=table.surplus,
        hives=table.hives,
        measured=tuple(measured),
        shed=table.shed,
        board=tuple(board.items()),
        makes=tuple(makes),
        sawing=SawTables(saw=saw, tools=tools, worth=table.worth),
        conditions=ConditionTables(band=band, trial=table.trial, climate=table.climate, tolerances=tolerances),
        buying=buying,
        both_units=table.both_units,
        crew=crew,
        work=work,
        patterns=tuple(described),
        ordering=_ordering(table, boxes, path) if table.has_orders else None,
        book=None if table.book is None else path.parent / table.book,
    )


def _tools(table: DesignTable, path: Path, found: list[Problem]) -> tuple[SawTable, ToolsTable, ShopWork]:
    """The saw settings and tools from the shop file, overridden by the design, and the shop's time standards."""
    if table.shop is None:
        return table.saw, table.tools, settled_work(None)
    try:
        shop = read_tools(path.parent / table.shop)
    except InputError as bad:
        found += bad.problems
        return table.saw, table.tools, settled_work(None)
    return with_own(shop.saw, table.saw), with_own(shop.tools, table.tools), settled_work(shop)


def _crew_of(name: str, path: Path, unit: LengthUnit, found: list[Problem]) -> CrewTable:
    """The crew file named in the design."""
    try:
        return read_crew(path.parent / name, unit)
    except InputError as bad:
        found += bad.problems
        return CrewTable()


def _needed(table: DesignTable, raw: dict[str, Any], where: str) -> list[Problem]:
    """For a design without orders: problems for missing keys, and for keys that make sense only with orders."""
    found = []
    for key in () if table.has_orders else ("hives", "make"):
        if not getattr(table, key):
            given, wanted, do = ("()", "at least 1 of these", "Correct this value.") if key in raw else (
                "nothing", f"a value for {key!r}", "Add the line.")  # fmt: skip
            found.append(Problem(f"{where}, {key}", given, wanted, do))
    for key in ("box", "set", "other_columns"):
        if getattr(table, key) and not table.has_orders:
            wanted = "orders, or [[order]] lines, that it is for"
            found.append(Problem(f"{where}, {key}", "this key, but no orders", wanted, "Add orders, or remove it."))
    return found


def _ordering(table: DesignTable, boxes: list[MeasuredBox | None], path: Path) -> Ordering:
    files = () if table.orders is None else (table.orders,) if isinstance(table.orders, str) else table.orders
    return Ordering(
        path.name,
        path.parent,
        tuple(zip(table.box, boxes, strict=True)),
        sets=table.set,
        lines=table.order,
        files=tuple(path.parent / file for file in files),
        other_columns=table.other_columns,
        unit=table.unit,
    )


def measured_box(
    hives: HivesTable | OrderBoxTable, where: str, folder: Path, found: list[Problem]
) -> MeasuredBox | None:
    """The owner's sizes for these hives, found by the name of the box, or by the name of the hives.

    Measured-box files are in `folder`. `where` is put before the place of each problem, which is added to `found`.
    """
    if hives.measured is None:
        if hives.box is not None:
            found.append(
                Problem(f"{where}, box", repr(hives.box), "a measured-box file that lists it", "Add a measured line.")
            )
        return None
    try:
        boxes = read_measured(folder / hives.measured)
    except InputError as bad:
        found += [problem for problem in bad.problems if problem not in found]
        return None
    name = hives.box or hives.name
    if name not in boxes:
        do = did_you_mean(name, boxes, f"Measured there: {', '.join(boxes)}.")
        found.append(Problem(f"{where}, box", repr(name), f"a box of {hives.measured}", do))
        return None
    box = boxes[name]
    if box.frames != hives.frames:
        given = f"{hives.frames}, where {hives.measured} has {box.frames} for {name!r}"
        found.append(Problem(f"{where}, frames", given, "the same count in both", "Correct one of them."))
    return box


def _checked(model: type[SettingTable], raw: dict[str, Any], where: str, unit: LengthUnit, found: list[Problem]) -> Any:
    try:
        return model.model_validate(raw, context={"unit": unit})
    except ValidationError as bad:
        found += problems(bad, model, where)
        return None


def _settings(
    name: str,
    parameters: tuple[Parameter, ...],
    raw: dict[str, Any],
    *,
    where: str,
    unit: LengthUnit,
    found: list[Problem],
) -> dict[str, Any]:
    """The user's settings for these parameters, checked for type and limits. `raw` is the table `name` as read."""
    model = _model(name, SettingTable, tuple((p.name, p.type) for p in parameters))
    values = _checked(model, raw, where, unit, found)
    if values is None:
        return {}
    given = {p.name: getattr(values, p.name) for p in parameters if p.name in raw}
    for parameter in parameters:
        if given.get(parameter.name) is not None:
            found += _limits(parameter, given[parameter.name], raw[parameter.name], where, unit)
    return given


@cache
def _model(name: str, base: type[SettingTable], parameters: tuple[tuple[str, Any], ...]) -> type[SettingTable]:
    """A table with a key for each parameter (name, type), in addition to the keys of `base`."""
    fields: dict[str, Any] = {key: (_field_type(kind), None) for key, kind in parameters}
    return create_model(name, __base__=base, **fields)


def _field_type(kind: Any) -> Any:
    if kind in TYPES:
        return TYPES[kind]
    arms = getattr(kind, "__args__", ())
    if type(None) in arms:
        inner = next(arm for arm in arms if arm is not type(None))
        return _field_type(inner) | None
    return kind


def _limits(parameter: Parameter, value: Any, raw: Any, where: str, unit: LengthUnit) -> list[Problem]:
    param = parameter.param
    wanted = outside(value, param.help, param.least, param.most, unit)
    if not wanted:
        return []
    return [Problem(f"{where}, {parameter.name}", repr(raw), wanted, "Give a value in that range.")]


def _make(
    raw: dict[str, Any], where: str, unit: LengthUnit, board_parameters: tuple[Parameter, ...], found: list[Problem]
) -> list[Make]:
    known = {item.name: item for item in items()}
    wished = raw.get("item")
    names = wished if isinstance(wished, tuple) else (wished,)
    if wished is None or not names:
        found.append(Problem(where, "no item", "what to make, one of: " + ", ".join(known), "Add an item line."))
        return []
    for name in names:
        if not items_named(name):
            do = item_hint(name, known)
            found.append(Problem(f"{where}, item", repr(name), "board, or one of " + ", ".join(known), do))
    chosen = [known[each] for name in names for each in items_named(name)]
    if not chosen:
        return []
    own: dict[str, Parameter] = {}
    for item in chosen:
        own.update({p.name: p for p in item.parameters})
    shared = {p.name: p for p in board_parameters if p.name not in own}
    parameters = (*own.values(), *shared.values())
    model = _model("make", MakeTable, tuple((p.name, p.type) for p in parameters))
    values = _checked(model, raw, where, unit, found)
    if values is None:
        return []
    for parameter in parameters:
        if getattr(values, parameter.name) is not None:
            found += _limits(parameter, getattr(values, parameter.name), raw[parameter.name], where, unit)
    for key in (key for key in raw if key in _FOR_ALL):
        wanted = f"{key} under [board], for every board" + (", or under one of the [[hives]]" if key == "sugar" else "")
        found.append(Problem(f"{where}, {key}", f"{key} for some items only", wanted, "Move the line there."))
    for p in board_parameters:
        lacking = [i.name for i in chosen if p.name not in {q.name for q in i.parameters}]
        if p.name in raw and p.name in own and lacking:
            wanted = f"{p.name} for one of them: {', '.join(lacking)} would not take it"
            found.append(
                Problem(f"{where}, {p.name}", f"{p.name} for several items", wanted, "Give each its own [[make]].")
            )
    hives = (values.hives,) if isinstance(values.hives, str) else values.hives
    board = tuple((name, getattr(values, name)) for name in shared if name in raw)
    return [
        Make(
            item,
            hives,
            values.spare,
            given=tuple((p.name, getattr(values, p.name)) for p in item.parameters if p.name in raw),
            board=board,
            where=where,
            wood=values.wood,
        )
        for item in chosen
    ]
