"""Turns a design and a lumberyard into a settled batch: every value decided, every default listed with its source."""

from dataclasses import fields, replace
from typing import Any

from woodshop.design.batch import Batch, BatchLine, Hives, SawSettings
from woodshop.design.design_file import Design, Make
from woodshop.design.inventory import Inventory
from woodshop.design.lumber import (
    block_of,
    default_wood,
    half_millimeters,
    in_half_millimeters,
    no_wider,
    steel_of,
    wall_widths,
)
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.design.lumberyard.lumberyard_tables import STALE_AFTER
from woodshop.design.measured_files import MeasuredBox
from woodshop.design.schema import Default, outside
from woodshop.design.settings.buying import Worth
from woodshop.design.settings.conditions import Conditions, settled_climate, settled_trial
from woodshop.design.settings.crew_table import settled_crew
from woodshop.design.settings.labels import SOURCE
from woodshop.design.settings.saw import Strips, settled_tools
from woodshop.design.settings.tolerances import settled_tolerances
from woodshop.design.settle.box_sizes import settled_box
from woodshop.design.settle.kerfs import with_kerfs
from woodshop.design.settle.on_hand import with_units
from woodshop.design.settle.resawing import settled_resawing
from woodshop.design.settle.screws import screws_for, wall_woods, with_fitting_screws
from woodshop.design.settle.woodenware import cover_settings, rim_size, settled_woodenware
from woodshop.design.tables import Form, HivesTable
from woodshop.engineering.sugar import share_by_area, whole_bags
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import LIMITS, BoardSettings, Setting
from woodshop.hardware.catalogue import board_names
from woodshop.hardware.items.spacer_strips import usual_width
from woodshop.hardware.registry import BoardPart, Item, Parameter, default_of, fields_as_parameters
from woodshop.hardware.screws import corner_screw, least_grip_key
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.woodenware.box import HiveBox
from woodshop.reference import boxes
from woodshop.reference.facts import Fact, fact
from woodshop.reference.limits import DEFAULT_BAND, band
from woodshop.reference.patterns import AMERICAN
from woodshop.units.lengths import ZERO, Area, Density, Length, Mass, Money, inch, lengths_in
from woodshop.units.wording import LengthUnit, Wording

_SAW_FACTS = {
    "mark": "saw.smallest_mark",
    "end_trim": "saw.end_trim",
    "edge_allowance": "saw.edge_trim",
    "shortest_offcut": "saw.offcut_least",
    "narrowest_offcut": "saw.offcut_narrowest",
    "thinnest_rip": "saw.thinnest_rip",
    "narrow_rip": "saw.jig_below",
    "wood_in_hand": "saw.parent_least",
    "shortest_rip": "saw.shortest_to_rip",
    "least_remainder": "saw.least_remainder",
    "straight_edge_cut": "saw.straight_edge_cut",
    "longest_rip": "saw.longest_to_rip",
}
_NO_REMAINDER = "none: no part is the remainder of a board"
_NOT_IN_EMPTY = (BoardPart.FLOOR, BoardPart.STRIPS)  # not included in a rim sold empty
_FILLED = (TierKind.TOP_BOX, TierKind.FEEDER)  # with shavings
_LEFT_OUTSIDE = inch("1/8")  # common practice, no source


def settle(design: Design, lumberyard: Lumberyard, shown: LengthUnit | None = None) -> Batch:
    """The settled batch, with texts in the unit `shown`, by default that of the design.

    Raises InputError if the design contradicts itself.

    Raises ValueError if the orders or the book of the design were not read, because the counts would be wrong.
    """
    if design.ordering is not None:
        raise ValueError("the design has orders: read them with design.orders.lines.read_run")
    if design.book is not None and design.inventory is None:
        raise ValueError("the design has a book: read it with plan.book.reading.read_booked")
    with lengths_in(shown or design.unit):
        return _settle(design, lumberyard, shown)


def _settle(design: Design, lumberyard: Lumberyard, shown: LengthUnit | None) -> Batch:
    if design.unit == "mm":
        lumberyard = in_half_millimeters(lumberyard)
        makes = (replace(each, wood=half_millimeters(each.wood)) if each.wood else each for each in design.makes)
        design = replace(design, wood=half_millimeters(design.wood) if design.wood else None, makes=tuple(makes))
    defaults: list[Default] = [*design.order_defaults, *lumberyard.listed]
    notes = [*design.notes, *lumberyard.notes]
    saw = _saw(design, lumberyard, defaults)
    wording = Wording(design.unit, saw.mark, design.both_units, None if shown == design.unit else shown)
    if design.inventory is not None:
        formats = {
            table.name: settled_box(table, measured, [], wording, design.patterns)[0].name
            for table, measured in zip(design.hives, design.measured, strict=True)
        }
        design, unused = with_units(design, design.inventory, formats, defaults)
        notes += unused
    _terms(lumberyard, defaults)
    if any(offer.label and offer.thickness and not offer.straight_edges for offer in lumberyard.offers):
        edges = f"no: {saw.straight_edge_cut.text(design.unit)} is cut off each edge of such a board"
        defaults.append(Default("offcut", "straight_edges", edges, "common practice, no source"))
    if any(offer.rounded_edges for offer in lumberyard.offers):
        row = fact("saw.rounded_edge_cut")
        edges = f"{saw.rounded_edge_cut.text(design.unit)} is cut off each edge of such a board"
        defaults.append(Default("board", "rounded_edges", edges, row.cite))
    usual_wood = design.wood or default_wood(lumberyard, design.unit, defaults)
    woods = wall_woods(design, usual_wood)
    screws = screws_for(lumberyard, woods, design)
    lumberyard = with_fitting_screws(lumberyard, woods)
    trial = settled_trial(design.conditions.trial, defaults)
    weighed = None if trial is None else trial.found
    shared = dict(design.board) | ({} if weighed is None else {"density": weighed.density})
    if design.inventory is not None:
        shared = _with_density(shared, design.inventory, defaults)
    shared |= block_of(shared, lumberyard, usual_wood, wording, defaults)
    board = _board(shared, "board", defaults, design.unit)
    hives_of = zip(design.hives, design.measured, strict=True)
    groups = {
        table.name: _group(table, measured, wording, board=board, design=design, defaults=defaults)
        for table, measured in hives_of
    }
    covers = {table.name: cover_settings(table) for table in design.hives}
    lines: list[BatchLine] = []
    for make in design.makes:
        wood = make.wood or usual_wood
        widths = wall_widths(lumberyard, wood, saw, design.unit)
        why = no_wider(lumberyard, wood, widths, saw, design.unit)
        wanted = make.hives or tuple(groups)
        under = {name: _under_cover(make, covers[name]) for name in wanted}
        by_all = {key: value for key, value in under[wanted[0]].items() if all(key in each for each in under.values())}
        given = dict(make.given)
        if (
            make.item.board_part is BoardPart.STRIPS
            and "width" not in given
            and (width := usual_width(wood, design.unit)) != fact("strip.width").length_in(design.unit)
        ):
            given["width"] = width
            words = (
                "the thickness of the wood, so that strips can be ripped from its boards; common practice, no source"
            )
            defaults.append(Default(make.item.name, "width", wording.length(width), words))
        if design.unit == "mm" and "gauge" not in given and any(p.name == "gauge" for p in make.item.parameters):
            given |= steel_of(make.item.name, lumberyard, defaults)
        own = given | _fill(make.item.parameters, given | by_all, make.item.name, defaults, design.unit)
        here = board if not make.board else _board(shared | dict(make.board), "board", defaults, design.unit)
        settings = []
        for name in wanted:
            box, rim, hives = groups[name]
            setting = Setting(
                box=box,
                board=here,
                sugar=hives.sugar,
                wood=wood,
                widths=widths,
                wording=wording,
                rim=rim,
                screws=screws,
                no_wider=why,
            )
            if trial is not None:
                loosest = None if weighed is None else weighed.least
                setting = replace(setting, water=trial.water, loosest=loosest)
            fits_box(setting, "design, wood" if make.wood is None else f"make, {make.item.name}, wood")
            settings.append((hives, setting))
        if not make.item.is_per_hive:
            hives, setting = max(settings, key=lambda pair: pair[1].height)
            count = own[make.item.per] + make.spare
            arithmetic = f"{make.item.per}: {own[make.item.per]}" + (f" + {make.spare} spare" if make.spare else "")
            lines.append(
                BatchLine(
                    item=make.item,
                    hives=hives,
                    setting=setting,
                    given=tuple(own.items()),
                    count=count,
                    arithmetic=arithmetic,
                    has_own_wood=make.wood is not None,
                )
            )
            continue
        for hives, setting in settings:
            if hives.form == "empty" and make.item.board_part in _NOT_IN_EMPTY:
                continue
            (have, repair), (count, arithmetic) = _on_hand(design, make, hives), _count(design, make, hives)
            here_own = own | under[hives.name]
            line = BatchLine(
                item=make.item,
                hives=hives,
                setting=setting,
                given=tuple(here_own.items()),
                count=count,
                arithmetic=arithmetic,
            )
            lines.append(replace(line, kept=have - repair, repaired=repair, has_own_wood=make.wood is not None))
    if not lines:
        lacking = "an item to make; an empty rim has no wire bottom and no strips"
        raise InputError(Problem("design, make", "wire bottom or strips for empty rims alone", lacking, "Add an item."))
    _agree(lines)
    screw = corner_screw(woods[0], screws, design.unit)
    _listed(defaults, "corner screws", f"least thread, {screw.size}", least_grip_key(screw), design.unit)
    if any(line.item.board_part is BoardPart.FLOOR for line in lines):
        for name in ("wire_modulus", "wire_yield", "slack"):
            _listed(defaults, "mesh under sugar", name, f"mesh.{name}", design.unit)
    defaults += [Default("labels", key, value, SOURCE) for key, value in design.pages.labels.defaults]
    climate = settled_climate(design.conditions.climate, design.unit, defaults)
    worth = _worth(design, saw, lumberyard.currency, defaults)
    if design.conditions.band is None:
        row = band().row
        defaults.append(Default("check", "bee_space", f"{DEFAULT_BAND}, {row.value}", row.cite))
    tolerances = settled_tolerances(design.conditions.tolerances, design.unit, defaults)
    return Batch(
        name=design.batch,
        wording=wording,
        pages=design.pages,
        days=design.days,
        surplus=design.surplus,
        hives=tuple(hives for _, _, hives in groups.values()),
        lines=tuple(lines),
        lumberyard=lumberyard,
        saw=saw,
        defaults=tuple(dict.fromkeys(each.worded(wording) for each in defaults)),
        worth=worth,
        buying=design.buying,
        conditions=Conditions(
            band=design.conditions.band or DEFAULT_BAND, trial=trial, climate=climate, tolerances=tolerances
        ),
        inventory=design.inventory,
        notes=tuple(notes),
        crew=settled_crew(design.crew, design.unit),
        work=design.work,
    )


def _with_density(shared: dict[str, Any], inventory: Inventory, defaults: list[Default]) -> dict[str, Any]:
    """The settings of the board, with the book's mean density if the design gives none. Otherwise, both are listed."""
    found = inventory.density
    if found is None:
        return shared
    density, given = Density(found.mean), shared.get("density")
    words = f"{density}, the mean of {found.count} measured"
    if given is not None:
        defaults.append(Default("board", "density measured", f"{words}; {given} is used", inventory.source))
        return shared
    limits = LIMITS["density"]
    wanted = outside(density, limits.what, limits.least, limits.most)
    if wanted:
        do = "Correct the measurement: woodshop book correct. Or give density under [board]."
        raise InputError(Problem(f"{inventory.source}, density", str(density), wanted, do))
    defaults.append(Default("board", "density", words, inventory.source))
    return shared | {"density": density}


def fits_box(setting: Setting, where: str = "design, wood") -> None:
    """Checks that the walls leave space inside, and that the packing blocks fit there, clear of each other and the bar.

    `where` is the place of the thickness of the wood, for problems. Raises InputError if they do not.
    """
    inside, length = setting.inside, setting.wording.length
    _wood_left(setting)
    _bears(setting)
    if inside.x0 >= inside.x1 or inside.y0 >= inside.y1:
        given = f"wood {length(setting.wood)} thick on a {setting.box.name} box"
        raise InputError(Problem(where, given, "thinner walls", "Give the real thickness."))
    kept = (*setting.voids, *setting.bars)
    for n, one in enumerate(kept):
        outside = one.x0 < inside.x0 or one.x1 > inside.x1 or one.y0 < inside.y0 or one.y1 > inside.y1
        if outside or any(one.shares(other) for other in kept[n + 1 :]):
            sizes = f"{length(setting.board.block_length)} x {length(setting.board.block_width)}"
            given = f"{sizes} blocks in a {setting.box.name} box"
            wanted = f"a {one.name} that clears the other blocks, the bar and the walls"
            raise InputError(Problem("board, block_length", given, wanted, "Use smaller blocks, or turn them."))


def _wood_left(setting: Setting) -> None:
    """Checks that a rabbet or groove for the mesh leaves enough wood outside it."""
    board, length = setting.board, setting.wording.length
    cuts = {"flush rabbet": ("rabbet_width", board.rabbet_width), "saw groove": ("groove_depth", board.groove_depth)}
    if board.mounting in cuts:
        key, deep = cuts[board.mounting]
        if setting.wood - deep < _LEFT_OUTSIDE:
            most, wood = length(setting.wood - _LEFT_OUTSIDE), length(setting.wood)
            wanted = f"at most {most} in wood {wood} thick, so that the wall is not cut through"
            raise InputError(Problem(f"board, {key}", length(deep), wanted, "Use a smaller size, or thicker wood."))


def _bears(setting: Setting) -> None:
    """Checks that a rim of a different size than its box rests on the wood of the box all around."""
    box, board, length = setting.box, setting.board, setting.wording.length
    lip = setting.wood - (board.rabbet_width if board.mounting == "flush rabbet" else ZERO)
    tops = (("rim_length", box.end_wall - box.rest), ("rim_width", box.wall))
    for over, (key, top) in zip(setting.overhang, tops, strict=True):
        if over and min(lip - over, top) <= max(ZERO, ZERO - over):
            how = f"{length(abs(over))} {'over' if over > ZERO else 'inside'} the edge of the box"
            wood = f"a rim whose lower edge, {length(lip)} of wood"
            wanted = f"{wood}, rests on the upper edge of the box, {length(top)} of wood"
            do = "Make it closer to the size of the box."
            raise InputError(Problem(f"{box.name} hives, {key}", how + " at each side", wanted, do))


def _agree(lines: list[BatchLine]) -> None:
    """Checks that rim, floor, strips and blocks of one board have the same settings."""
    first: dict[str, BatchLine] = {}
    for line in lines:
        if line.item.board_part is None:
            continue
        other = first.setdefault(line.hives.name, line)
        names = [
            f.name
            for f in fields(BoardSettings)
            if getattr(line.setting.board, f.name) != getattr(other.setting.board, f.name)
        ] + ["wood"] * (line.setting.wood != other.setting.wood)
        if names:
            raise InputError(
                Problem(
                    f"make, {line.item.name}, {', '.join(names)}",
                    f"other values than the {other.item.name} for the same hives ({line.hives.name or 'all'}) has",
                    "parts of one board that fit together",
                    f'Make both in one [[make]], item = ["{other.item.name}", "{line.item.name}"], with these lines '
                    "once and, if hives differ, one [[make]] for each group with its hives. Or move the lines under "
                    "[board].",
                )
            )


def _on_hand(design: Design, make: Make, hives: Hives) -> tuple[int, int]:
    """How many of the item these hives already have, and how many of those must be replaced."""
    row = next((r for r in design.shed if r.item == make.item.name and r.hives == hives.name), None)
    return (row.have, row.repair) if row else (0, 0)


def _count(design: Design, make: Make, hives: Hives) -> tuple[int, str]:
    """The number to make: hives minus items on hand, plus replacements and spares.

    Also gives the calculation as text.
    """
    have, repair = _on_hand(design, make, hives)
    words = f"{hives.count} hives"
    if have:
        words += f" - {have} on hand"
    if repair:
        words += f" + {repair} to repair"
    if make.spare:
        words += f" + {make.spare} spare"
    count = hives.count - have + repair + make.spare
    return count, f"{words} = {count}"


def _listed(defaults: list[Default], where: str, name: str, key: str, unit: LengthUnit) -> Fact:
    row = fact(key)
    defaults.append(Default(where, name, _of_row(row, unit), _cited(row, unit)))
    return row


def _cited(row: Fact, unit: LengthUnit) -> str:
    """The source of a row; the metric value of a row that is calculated in inches is common practice."""
    is_rounded = row.source == "computed" and row.value_in(unit) != row.value
    return "common practice, no source" if is_rounded else row.cite


def _of_row(row: Fact, unit: LengthUnit) -> str:
    """The value of a row as listed: in a metric design its metric value and, from a source, what that is for."""
    value = row.value_in(unit)
    return value if row.is_own or value == row.value else f"{value}, for {row.value}"


def _terms(lumberyard: Lumberyard, defaults: list[Default]) -> None:
    """Lists the terms that the lumberyard files do not give, with their defaults."""
    for terms in lumberyard.terms:
        where = f"lumberyard {terms.lumberyard}"
        if terms.stale_after is None:
            defaults.append(Default(where, "stale_after", f"{STALE_AFTER} days", "common practice, no source"))
        if terms.fee and terms.tax and terms.tax_on_delivery is None:
            defaults.append(Default(where, "tax_on_delivery", "no", "states differ, no source; ask the lumberyard"))


def _saw(design: Design, lumberyard: Lumberyard, defaults: list[Default]) -> SawSettings:
    table, unit = design.sawing.saw, design.unit
    tools_table = with_kerfs(design.sawing, design.inventory, unit, defaults)
    tools = settled_tools(tools_table, table.rip_kerf, table.crosscut_kerf, unit, defaults)
    resawing = settled_resawing(tools_table, tools.table_saw_kerf, lumberyard.offers, unit, defaults)
    tools = replace(tools, resawing=resawing)
    values: dict[str, Any] = {}
    for name, kerf in (("rip_kerf", tools.rip_kerf), ("crosscut_kerf", tools.crosscut_kerf)):
        given = getattr(table, name)
        if given is None:
            defaults.append(
                Default("saw", name, kerf.text(unit), "the widest kerf of the saws under [tools] for such cuts")
            )
        values[name] = kerf if given is None else given
    metric = {"mark": "saw.smallest_mark_metric"} if unit == "mm" else {}
    for name, key in (_SAW_FACTS | metric).items():
        given = getattr(table, name)
        values[name] = given if given is not None else _listed(defaults, "saw", name, key, unit).length_in(unit)
    strips: Strips | None = table.strips
    if strips is None:
        strips = "thin-rip stop"
        defaults.append(Default("saw", "strips", strips, "common practice, no source"))
    if table.order is None:
        row = fact("saw.by_setting_from")
        defaults.append(
            Default("saw", "order", f"by setting for {row.value} or more of a material, else by board", row.cite)
        )
    if table.remainder_allowance is None:
        defaults.append(Default("saw", "remainder_allowance", _NO_REMAINDER, "common practice, no source"))
    values |= {"order": table.order, "remainder_allowance": table.remainder_allowance}
    values["rounded_edge_cut"] = fact("saw.rounded_edge_cut").length_in(unit)
    return SawSettings(strips=strips, tools=tools, **values)


def _worth(design: Design, saw: SawSettings, currency: str, defaults: list[Default]) -> Worth | None:
    """The value of saved work and offcuts, or None if nothing has a value."""
    table = design.sawing.worth
    if not (table.layout or table.setting or table.offcut):
        return None
    sizes: list[Length] = []
    for name, size in (("least_length", saw.shortest_offcut), ("least_width", saw.narrowest_offcut)):
        given: Length | None = getattr(table, name)
        if given is None and table.offcut:
            defaults.append(Default("worth", name, size.text(design.unit), "the smallest offcut kept under [saw]"))
        sizes.append(size if given is None else given)
    layout, setting, offcut = (Money(cents, currency) for cents in (table.layout, table.setting, table.offcut))
    return Worth(layout, setting, offcut, *sizes)


def _board(given: dict[str, Any], where: str, defaults: list[Default], unit: LengthUnit) -> BoardSettings:
    parameters = fields_as_parameters(BoardSettings)
    return BoardSettings(**(given | _fill(parameters, given, where, defaults, unit)))


def _fill(
    parameters: tuple[Parameter, ...], given: dict[str, Any], where: str, defaults: list[Default], unit: LengthUnit
) -> dict[str, Any]:
    """Fills in missing values, and lists each one that matters here with its source."""
    filled: dict[str, Any] = {}
    listed: list[tuple[Parameter, str, str]] = []
    for parameter in parameters:
        if parameter.name in given:
            continue
        param = parameter.param
        if param.fact is not None:
            row = fact(param.fact)
            filled[parameter.name] = default_of(parameter, unit)
            listed.append((parameter, _of_row(row, unit), _cited(row, unit)))
        else:
            filled[parameter.name] = parameter.default
            shown = "worked out" if parameter.default is None else _shown(parameter.default, unit)
            listed.append((parameter, shown, param.source or "common practice, no source"))
    values = given | filled
    for parameter, shown, source in listed:
        only = parameter.param.only
        if only is None or str(values[only[0]]).startswith(only[1]):
            defaults.append(Default(where, parameter.name, shown, source))
    return filled


def _shown(value: Any, unit: LengthUnit) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.text(unit) if isinstance(value, Length) else str(value)


def _under_cover(make: Make, cover: dict[str, Length]) -> dict[str, Length]:
    """The hives' own cover settings, for an item that needs them and does not have its own."""
    names = {parameter.name for parameter in make.item.parameters} - {name for name, _ in make.given}
    return {key: value for key, value in cover.items() if key in names}


def _group(
    table: HivesTable,
    measured: MeasuredBox | None,
    wording: Wording,
    *,
    board: BoardSettings,
    design: Design,
    defaults: list[Default],
) -> tuple[HiveBox, tuple[Length, Length], Hives]:
    """The box, the outside length and width of its rims, and the group of hives."""
    before = len(defaults)
    box, gaps = settled_box(table, measured, defaults, wording, design.patterns)
    gap_source = next((each.source for each in defaults[before:] if each.name == "gap over the top bars"), "")
    rim = rim_size(table, box, defaults, wording)
    sugar = table.sugar or _sugar(box, board, is_usual=table.pattern == AMERICAN)
    where = table.name or f"{table.frames}-frame hives"
    boards = _boards_of(table, design)
    form = _form(table, boards, design, where, defaults)
    priority = table.priority
    if priority is None:
        priority = 5
        if any(each.priority is not None for each in design.hives):
            defaults.append(Default(where, "priority", "5", "between first (1) and last (9)"))
    spread = ZERO if measured is None or table.width or table.length else measured.spread
    ware = settled_woodenware(table, design, box, defaults, wording, measured)
    hives = Hives(
        name=table.name,
        format=box.name,
        count=table.count,
        gaps=gaps,
        is_gap_measured=bool(gaps),
        sugar=sugar,
        woodenware=ware,
        spread=spread,
        customer=table.customer,
        form=form,
        due=table.due or design.days.on_by,
        priority=priority,
        boards=boards,
        order=table.order,
        is_sugar_given=table.sugar is not None,
        packed=min(boards, dict(design.packed).get(table.name, 0)),
        apiary=table.apiary,
        gap_source=gap_source,
    )
    return box, rim, hives


def _made_for(table: HivesTable, design: Design) -> list[Item]:
    """The items made for these hives."""
    return [make.item for make in design.makes if not make.hives or table.name in make.hives]


def _boards_of(table: HivesTable, design: Design) -> int:
    """The number of boards for these hives: one for each hive if rims are made, otherwise the number of rims."""
    if any(item.board_part is BoardPart.RIM for item in _made_for(table, design)):
        return table.count
    (rim,) = board_names(BoardPart.RIM)
    return sum(row.have for row in design.shed if row.item == rim and row.hives == table.name)


def _form(table: HivesTable, boards: int, design: Design, where: str, defaults: list[Default]) -> Form:
    """How complete the boards are when sold: the given form, or packed by default.

    They are "with mesh" if floors are made but there is no board to fill.
    """
    made = _made_for(table, design)
    filled = any(item.place is not None and item.place.kind in _FILLED for item in made)
    is_bare = not boards and not filled and any(item.board_part is BoardPart.FLOOR for item in made)
    if table.form == "packed" and is_bare:
        wanted = "a rim for the wire bottom that is packed"
        do = 'Make a "fondant rim" too, list the rims that you have under [[shed]], or give form = "with mesh".'
        raise InputError(Problem(f"{where}, form", "'packed', with a wire bottom and no rim", wanted, do))
    if table.form is not None:
        return table.form
    form: Form = "with mesh" if is_bare else "packed"
    why = "no rim is made or in the shed" if is_bare else "a whole board, ready for the hive"
    defaults.append(Default(where if is_bare else "hives", "form", form, f"{why}; common practice, no source"))
    return form


def _sugar(box: HiveBox, board: BoardSettings, is_usual: bool) -> Mass:
    """The sugar for a box. American 10-frame boxes get the board's amount; others a share by area, exact or in bags."""
    if box.frames == 10 and is_usual:
        return board.sugar
    share = share_by_area(board.sugar, box.inside_length * box.inside_width, ten_frame_area())
    return share if board.other_sugar == "by area" else whole_bags(share, board.bag)


def ten_frame_area() -> Area:
    """The inside area of an American 10-frame box of the first width in the table, for which the recipe is made."""
    size = boxes.box_size(10)
    return size.inside_length * size.inside_width
