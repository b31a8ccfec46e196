"""Plans a batch with variations: reads KEY=V1,V2,..., and plans each case and its purchases like the design itself."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from itertools import product
from math import prod
from pathlib import Path
from typing import Any

from woodshop.checks.check_batch import check_batch
from woodshop.cutting.model.plan import Effort
from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import Design, design_of, with_book
from woodshop.design.inventory import Inventory
from woodshop.design.keys import design_keys, table_names
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, joined, read_lumberyard
from woodshop.design.lumberyard.stocked import stocked
from woodshop.design.orders.lines import with_read_orders
from woodshop.design.schema import load
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError, Problem, WoodshopError, did_you_mean
from woodshop.findings import Report, Severity
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items, items_named
from woodshop.hardware.registry import fields_as_parameters
from woodshop.plan.buying.groups import PlanBook, Variant, groups_of
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.lumber_at_home import CUTS
from woodshop.plan.values import PlannedBatch, stock_used
from woodshop.units.lengths import Money, decimals, exact, read_money
from woodshop.workers import over_cores

MOST_CASES = 60

Case = tuple[tuple[str, str], ...]
"""The changes of one case: keys with their values, as written. There are none for the design itself."""


@dataclass(frozen=True, slots=True)
class Vary:
    """One key and the values to try."""

    key: str
    values: tuple[str, ...]


def read_varies(texts: tuple[str, ...], *, is_each_alone: bool = False) -> tuple[Vary, ...]:
    """The keys to vary. Raises InputError with every unknown key, or if there is nothing to vary or too many cases.

    The cases are counted as `compare` makes them: every combination, or, if `is_each_alone` is true, each value alone.
    """
    found: list[Problem] = []
    varies: list[Vary] = []
    known = known_keys()
    for text in texts:
        key, sign, rest = (part.strip() for part in text.partition("="))
        values = tuple(dict.fromkeys(value.strip() for value in rest.split(",") if value.strip()))
        if not (key and sign and values):
            wanted = "a key and its values, such as board.mounting=stapled under,flush rabbet"
            found.append(Problem("compare, --vary", repr(text), wanted, "Write an equals sign, then the values."))
            continue
        if not _is_known(key, known):
            do = did_you_mean(key, known, "For the keys see: woodshop guide design.", 0.5)
            found.append(Problem("compare, --vary", repr(key), "a key of the design, the saw, or price.WHAT", do))
        elif key in {vary.key for vary in varies}:
            found.append(Problem("compare, --vary", repr(key), "each key once", "Put all its values in one --vary."))
        varies.append(Vary(key, values))
    if not texts:
        found.append(Problem("compare", "nothing to vary", "one --vary or more", "Add --vary KEY=V1,V2."))
    count = (sum if is_each_alone else prod)(len(vary.values) for vary in varies)
    if count > MOST_CASES:
        found.append(Problem("compare", f"{count} cases", f"at most {MOST_CASES}", "Vary fewer keys at a time."))
    if found:
        raise InputError(*found)
    return tuple(varies)


def cases_of(varies: tuple[Vary, ...]) -> tuple[Case, ...]:
    """Every case, in the order of the values. The first key changes slowest."""
    keys = [vary.key for vary in varies]
    return tuple(tuple(zip(keys, values, strict=True)) for values in product(*(vary.values for vary in varies)))


def cases_alone(varies: Sequence[Vary]) -> tuple[Case, ...]:
    """A case for each value of each key, with no other change, in the order of the keys."""
    return tuple(case for each in varies for case in cases_of((each,)))


def known_keys() -> tuple[str, ...]:
    """Every key that can be varied. For hives and prices, these are the common prefixes."""
    board = (f"board.{parameter.name}" for parameter in fields_as_parameters(BoardSettings))
    keys = ["lumberyards", *board, "price.WHAT"]
    keys += [key.address for key in design_keys() if key.is_varied]
    keys += [f"{item.name}.{parameter.name}" for item in items() for parameter in item.parameters]
    return tuple(dict.fromkeys(keys))


def _is_known(key: str, known: tuple[str, ...]) -> bool:
    head, _, rest = key.partition(".")
    if head == "price":
        return bool(rest)
    if head == "hives" and "." in rest:
        return f"hives.{rest.rpartition('.')[2]}" in known
    return key in known


LISTED = ("tools.crosscut_with",)
"""Keys whose value is a list, which is written with " + " between."""


def into_design(case: Case, design: dict[str, Any]) -> dict[str, Any]:
    """The tables of the design, with the changes of the case."""
    for key, text in case:
        head, _, name = key.rpartition(".")
        value = _typed(text)
        if key in LISTED:
            value = tuple(part.strip() for part in text.split("+"))
        if key == "lumberyards":
            design = design | {"lumberyard": tuple(part.strip() for part in text.split("+"))}
        elif head == "hives" or head.startswith("hives."):
            design = design | {"hives": _hives(design, head.partition(".")[2], name, value)}
        elif table_names().get(head) == f"[{head}]":
            design = design | {head: design.get(head, {}) | {name: value}}
        elif head == "":
            design = design | {name: value}
        elif not key.startswith("price."):
            design = design | {"make": _makes(design, head, name, value)}
    return design


def _hives(design: dict[str, Any], whose: str, name: str, value: Any) -> tuple[Any, ...]:
    groups = design.get("hives", ())
    names = [str(group.get("name", "")) for group in groups]
    if not groups or (whose and whose not in names):
        do = did_you_mean(whose, names, "Name hives of the design. Orders are in their own files.")
        raise InputError(Problem("compare, --vary", f"hives.{whose}", "the name of one of the [[hives]]", do))
    return tuple(g | {name: value} if not whose or g.get("name") == whose else g for g in groups)


def _makes(design: dict[str, Any], item: str, name: str, value: Any) -> tuple[Any, ...]:
    """The items to make, with the setting changed only for this item. The item gets its own [[make]] table."""
    made: list[Any] = []
    there = False
    for make in design.get("make", ()):
        listed = make.get("item", ())
        listed = (listed,) if isinstance(listed, str) else listed
        listed = tuple(each for name in listed for each in items_named(name) or (name,))
        if item not in listed:
            made.append(make)
            continue
        there = True
        others = tuple(each for each in listed if each != item)
        made.append(make | {"item": item, name: value})
        if others:
            made.append(make | {"item": others})
    if not there:
        raise InputError(
            Problem(
                "compare, --vary",
                f"{item}.{name}",
                "an item that this design makes",
                f"Add {item} to the design first.",
            )
        )
    return tuple(made)


def _typed(text: str) -> Any:
    """A value with its TOML type: true, 3, 2026-10-01, or otherwise text."""
    if text in ("true", "false"):
        return text == "true"
    if re.fullmatch(r"\d{1,9}", text):
        return int(text)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            return text
    return text


def with_prices(case: Case, lumberyard: Lumberyard) -> Lumberyard:
    """The lumberyard with the prices of the case: a price, or a change in percent.

    Raises InputError for a value that is not a price, or for goods that no lumberyard sells.
    """
    for key, text in case:
        if key.startswith("price."):
            lumberyard = _repriced(lumberyard, key.removeprefix("price."), text)
    return lumberyard


def _repriced(lumberyard: Lumberyard, what: str, text: str) -> Lumberyard:
    def new(price: Money) -> Money:
        per_cent = re.fullmatch(r"([+-]?\d{1,3}(?:\.\d{1,2})?)\s*%", text)
        if per_cent is None:
            return Money(read_money(text).minor, price.currency)
        change = exact(per_cent[1].lstrip("+-")) / 100
        part = 1 + change if text.startswith("+") else 1 - change if text.startswith("-") else change
        if part < 0:
            raise ValueError("a price below 0")
        return Money(int(price.minor * part + Fraction(1, 2)), price.currency)

    sold = [(id(o), o.what, "") for o in lumberyard.offers if not o.label]
    sold += [(id(o.cuts), CUTS, "") for o in lumberyard.offers if o.cuts is not None]
    sold += [(id(p), p.what, p.goods) for p in lumberyard.packs] + [(id(r), r.what, r.item) for r in lumberyard.ready]
    chosen = {number for number, words, goods in sold if is_named_by(what, words) or goods == what}
    if not chosen:
        names = list(dict.fromkeys(words for _, words, _ in sold))
        do = did_you_mean(what, names, "Use the words of the buy list.", 0.3)
        raise InputError(Problem("compare, --vary", f"price.{what}", "something a lumberyard sells", do))
    try:
        return replace(
            lumberyard,
            offers=tuple(
                replace(o, price=new(o.price))
                if id(o) in chosen
                else replace(o, cuts=replace(o.cuts, price=new(o.cuts.price)))
                if o.cuts is not None and id(o.cuts) in chosen
                else o
                for o in lumberyard.offers
            ),
            packs=tuple(replace(p, price=new(p.price)) if id(p) in chosen else p for p in lumberyard.packs),
            ready=tuple(replace(r, price=new(r.price)) if id(r) in chosen else r for r in lumberyard.ready),
        )
    except ValueError:
        wanted = "a price such as 9.95, or a change such as +10 %, -5 % or 95 %"
        raise InputError(Problem("compare, --vary", f"price.{what}={text}", wanted, "Correct this value.")) from None


def is_named_by(words: str, what: str) -> bool:
    """Whether all these words occur in the name of the goods, each as a whole word.

    >>> is_named_by("1x6 8 ft", "1x6 pine, 8 ft (Creekside)"), is_named_by("1x6", "1x60 pine")
    (True, False)
    """
    has = re.findall(r"[^\s,()]+", what.lower())
    return all(word in has for word in re.findall(r"[^\s,()]+", words.lower()))


def changed_by(money: int, base: int) -> str:
    """A difference as a percentage of `base`, with sign and one decimal."""
    if not base:
        return ""
    part = Fraction(money - base, base) * 100
    return f"{'+' if part > 0 else '-' if part < 0 else ''}{decimals(abs(part), 1)} %"


Progress = Callable[[str], None]
Measured = tuple[Batch, tuple[Unit, ...], Report]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """The result of one case. If the case cannot be made, `refused` is the reason, and the other fields are empty.

    `pays` is the total at all lumberyards plus the value of the offcuts used, and `least` is the lower bound on this.
    `layouts` and `boards` count the stock that is cut. `codes` counts the findings more serious than a note.
    """

    case: Case
    refused: str = ""
    pays: Money | None = None
    least: Money | None = None
    layouts: int = 0
    boards: int = 0
    errors: int = 0
    warnings: int = 0
    codes: tuple[str, ...] = ()
    lumberyards: tuple[str, ...] = ()


def compare(
    path: Path,
    varies: Sequence[Vary],
    effort: Effort = "default",
    progress: Progress | None = None,
    *,
    book: Path | None = None,
    inventory: Inventory | None = None,
    is_each_alone: bool = False,
) -> tuple[Outcome, ...]:
    """The result of each case, the design itself first. Cutting jobs shared by cases are planned once.

    The cases are every combination of the values, or, if `is_each_alone` is true, each value of each key by itself.
    `effort` is the effort of the planner; `progress` receives a line for each step. `book` is the shop's book, and
    `inventory` is its state. Raises InputError if the design itself or a given value cannot be read.
    """
    cases: tuple[Case, ...] = ((), *(cases_alone(varies) if is_each_alone else cases_of(tuple(varies))))
    raw = with_book(load(path, "design"), book)
    for case in cases:
        _read(path, raw, case, inventory)  # report a mistake in a value before anything is planned
    if progress is not None:
        progress(f"checking the design and {len(cases) - 1} changes of it")
    measured = over_cores(_measure, [(path, raw, case, inventory) for case in cases])
    plans = PlanBook(effort, is_shared=True)
    _prepare(plans, [each for each in measured if not isinstance(each, str)], progress)
    return tuple(_outcome(case, each, plans, progress) for case, each in zip(cases, measured, strict=True))


def refuse_values(path: Path, varies: Sequence[Vary], book: Path | None = None) -> None:
    """Raises InputError if a value cannot be read into the design at `path`. `book` is as in `compare`."""
    raw = with_book(load(path, "design"), book)
    for case in cases_alone(varies):
        _read(path, raw, case, None)


def _read(path: Path, raw: dict[str, Any], case: Case, inventory: Inventory | None) -> tuple[Design, Lumberyard]:
    design = replace(design_of(into_design(case, raw), path), inventory=inventory)
    lumberyards = [read_lumberyard(file) for file in design.lumberyards]
    lumberyard = joined(lumberyards, [file.name for file in design.lumberyards])
    return design, with_prices(case, stocked(lumberyard, inventory, design.unit))


def _measure(path: Path, raw: dict[str, Any], case: Case, inventory: Inventory | None) -> Measured | str:
    try:
        design, lumberyard = _read(path, raw, case, inventory)
        design = with_read_orders(design)
        batch = settle(design, lumberyard)
        return batch, *check_batch(batch)
    except WoodshopError as why:
        if not case:
            raise
        return str(why.problems[0])


def _prepare(book: PlanBook, measured: list[Measured], progress: Progress | None) -> None:
    """Plans every job of all lumberyards together, for all cases, in parallel."""
    wanted = []
    for batch, units, _ in measured:
        try:
            groups = groups_of(Variant(batch, units), book)
        except WoodshopError:
            continue  # the error is reported with its case
        if not batch.buying.one_lumberyard:
            everyone = frozenset(terms.lumberyard for terms in batch.lumberyard.terms)
            wanted += [group.job_for(everyone) for group in groups.values()]
    book.prepare(wanted, progress)


def _outcome(case: Case, measured: Measured | str, book: PlanBook, progress: Progress | None) -> Outcome:
    if isinstance(measured, str):
        return Outcome(case=case, refused=measured)
    try:
        planned = plan_to_buy(*measured, progress=progress, book=book)
    except WoodshopError as why:
        if not case and isinstance(why, InputError):
            raise
        return Outcome(case=case, refused=str(why.problems[0]))
    report = planned.report
    pays, least = _money(planned)
    weighty = [finding for finding in report.findings if finding.severity is not Severity.NOTE]
    return Outcome(
        case=case,
        pays=pays,
        least=least,
        layouts=sum(len(each.plan.layouts) for each in planned.plans),
        boards=sum(layout.times for each in planned.plans for layout in each.plan.layouts),
        errors=report.count(Severity.ERROR),
        warnings=report.count(Severity.WARNING),
        codes=tuple(dict.fromkeys(finding.code for finding in weighty)),
        lumberyards=tuple(bill.lumberyard for bill in planned.bills),
    )


def _money(planned: PlannedBatch) -> tuple[Money, Money]:
    """The total, with offcuts at their value, and its lower bound."""
    currency = planned.batch.lumberyard.currency
    if planned.choices is not None:
        return planned.to_pay + planned.choices.offcuts, planned.choices.least
    offcuts = 0
    for each in planned.priced:
        worth = {offer.id: offer.price.minor for offer in each.job.offers if offer.label}
        offcuts += sum(worth.get(stock, 0) * count for stock, count in stock_used(each).items())
    pays = planned.to_pay + Money(offcuts, currency)
    return pays, pays - Money(planned.gap, currency)
