"""Checks the goods of the lumberyard: outdated prices, and screws that are too short for the walls."""

from collections.abc import Iterable, Iterator
from datetime import date

from woodshop.design.batch import Batch, Unit, first_due
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.findings import Finding, Severity
from woodshop.hardware.screws import fits, least_grip
from woodshop.reference.facts import fact

_FEW = 3


def check_prices(batch: Batch) -> Iterator[Finding]:
    """A warning for each lumberyard whose prices will be older than `stale_after` on the day of buying.

    The day of buying is `on` in [buying], or the earliest due date. If neither is given, there is no warning.
    """
    first = first_due(batch.hives)
    day = batch.buying.on or (batch.days.on_by if first is None else first.day)
    if day is None:
        return
    key = "on under [buying]"
    if not batch.buying.on:
        whose = "" if first is None or first.day == batch.days.on_by else f" of {first.orders[0]}"
        key = f"the earliest due date{whose}, when everything is bought"
    for terms in batch.lumberyard.terms:
        prices = _prices(batch.lumberyard, terms.lumberyard)
        old = sorted({(seen, what) for what, seen in prices if (day - seen).days > terms.days})
        if not old:
            continue
        oldest = (day - old[0][0]).days
        names = ", ".join(what for _, what in old[:_FEW]) + (f" and {len(old) - _FEW} more" if len(old) > _FEW else "")
        yield Finding(
            "prices-are-old",
            Severity.WARNING,
            f"lumberyard {terms.lumberyard}",
            f"{len(old)} prices up to {oldest} days old on {day.isoformat()} ({key}): {names}",
            f"prices at most {terms.days} days old",
            "stale_after in the lumberyard file" if terms.stale_after else "common practice, no source",
            "The total may be wrong. Check the prices, then set seen in the lumberyard file to the day you checked.",
        )


def days_seen(lumberyard: Lumberyard, name: str) -> tuple[date, date] | None:
    """The first and last dates of one lumberyard's prices, or None if it sells nothing."""
    days = [seen for _, seen in _prices(lumberyard, name)]
    return (min(days), max(days)) if days else None


def _prices(lumberyard: Lumberyard, name: str) -> list[tuple[str, date]]:
    """All goods that this lumberyard sells, each with the date of its price."""
    priced = [(o.what, o.lumberyard, o.seen) for o in lumberyard.offers if not o.label]
    priced += [(pack.what, pack.lumberyard, pack.seen) for pack in lumberyard.packs]
    priced += [(ready.what, ready.lumberyard, ready.seen) for ready in lumberyard.ready]
    return [(what, seen) for what, seller, seen in priced if seller == name and seen is not None]


def check_screws(units: Iterable[Unit]) -> Iterator[Finding]:
    """A warning if screws are used and the lumberyard sells screws, but none that fit."""
    for unit in units:
        setting = unit.line.setting
        used = unit.line.count and any("screw" in fastener.kind for fastener in unit.assembly.fasteners)
        if not used or not setting.screws or any(fits(screw, setting.wood) for screw in setting.screws):
            continue
        row, screw = fact("screw.end_grip"), setting.corner_screw
        sizes = ", ".join(screw.size for screw in setting.screws)
        yield Finding(
            "screws-do-not-fit",
            Severity.WARNING,
            "corners",
            f"no screw for sale ({setting.wording.quoted(sizes)}) fits walls {setting.say(setting.wood)} thick",
            f"at least {setting.say(least_grip(screw))} of thread in the end grain behind the wall",
            row.cite,
            f"Short screws pull out. Buy screws {screw.size} elsewhere, or add them to the lumberyard file under "
            "[[pack]].",
        )
        return
