"""The season: winter stores and the last day to feed, syrup, light hives, and leftover sugar."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import TypeVar

from woodshop.design.settings.conditions import MONTHS
from woodshop.design.tables import COUNT_MOST
from woodshop.drawing.values.model import Align, Block, Caution, Column, Data, Heading, Paragraph, Section, Table
from woodshop.engineering.syrup import (
    ONE_TO_ONE,
    TWO_TO_ONE,
    LightHive,
    Strength,
    Syrup,
    SyrupFromBoard,
    density_of,
    feed_light_hive,
    read_strength,
    sugar_left,
    syrup_for_volume,
    syrup_from_board,
    syrup_from_sugar,
    syrup_of,
)
from woodshop.errors import InputError, Problem
from woodshop.reference.cautions import cautions, defer
from woodshop.reference.facts import all_facts, fact
from woodshop.trade.season.stores import Fed, MassRange, Stores, place_of
from woodshop.units.lengths import (
    LITRES_PER_US_CUP,
    Mass,
    Volume,
    decimals,
    exact,
    lengths_in,
    litres,
    mass_wanted,
    read_mass,
    unit_of_lengths,
)
from woodshop.units.wording import wording_of

_Value = TypeVar("_Value")
_VOLUMES = {
    "cup": LITRES_PER_US_CUP, "cups": LITRES_PER_US_CUP, "pt": LITRES_PER_US_CUP * 2, "qt": LITRES_PER_US_CUP * 4,
    "gal": LITRES_PER_US_CUP * 16, "l": Fraction(1), "ml": Fraction(1, 1000), "imp gal": Fraction("4.54609"),
}  # fmt: skip
_MASS = mass_wanted()
_SOME_MASS = f"more than 0: {_MASS}"
_VOLUME = "a volume with its unit, such as 5 gal, 2 qt, 10 L or 1 imp gal"
_LEAST, _MOST = Fraction(1, 1000), Fraction(1_000_000)  # liters or kilograms; others are typing errors


def syrup_section(
    strength: str | None = None,
    *,
    sugar: str | None = None,
    volume: str | None = None,
    stores_wanted: str | None = None,
    stores_there: str | None = None,
    hives: int = 1,
    board_weight: str | None = None,
    board_tare: str | None = None,
    board_water: str | None = None,
    boards: int = 1,
) -> Section:
    """The requested results, with cautions last.

    The data has "syrup", "light_hives" and "season_end" only if requested. If all amounts are given in metric units,
    only these are printed.

    `strength` is sugar to water by weight ("1:1", "2:1"); by default 2:1, and 1:1 for leftover sugar. "syrup" is made
    from `sugar` (a mass) or for `volume`; only one of them can be given. For "light_hives", `stores_wanted` and
    `stores_there` are for one hive; `hives` is the number of such hives. For "season_end", `board_weight` and
    `board_tare` are for one board, and `boards` is the number of such boards; `board_water` is the water left in its
    sugar by weight ("5 %"). The data also has "cautions", "sources" and "notes". Amounts have units and are rounded to
    two decimals. Raises InputError with every problem: nothing requested, only one of two flags that belong together,
    an unreadable amount, or an amount impossible for syrup.
    """
    texts = (sugar, volume, stores_wanted, stores_there, board_weight, board_tare)
    with lengths_in("mm" if _all_metric(texts) else "in"):
        return _syrup_section(
            strength,
            sugar=sugar,
            volume=volume,
            stores_wanted=stores_wanted,
            stores_there=stores_there,
            hives=hives,
            board_weight=board_weight,
            board_tare=board_tare,
            board_water=board_water,
            boards=boards,
        )


def _all_metric(texts: Iterable[str | None]) -> bool:
    """Whether amounts are given, and all of them in kilograms, grams, liters or milliliters."""
    given = [text for text in texts if text]
    return bool(given) and all(re.search(r"\d\s*(?:kg|g|m?l)\s*$", text, re.IGNORECASE) for text in given)


def _syrup_section(
    strength: str | None,
    *,
    sugar: str | None,
    volume: str | None,
    stores_wanted: str | None,
    stores_there: str | None,
    hives: int,
    board_weight: str | None,
    board_tare: str | None,
    board_water: str | None,
    boards: int,
) -> Section:
    """As `syrup_section`, in the units of the sentences around it."""
    ask = _Asked()
    ratio = "sugar to water by weight, such as 1:1 or 2:1"
    chosen = ask.read("strength", strength, read_strength, ratio, "Write whole numbers with a colon.")
    dry = ask.read("sugar", sugar, _read_some_mass, _SOME_MASS)
    wet = ask.read("volume", volume, read_volume, _VOLUME)
    wanted = ask.read("stores wanted", stores_wanted, _read_some_mass, _SOME_MASS)
    there = ask.read("stores there", stores_there, read_mass, _MASS)
    weight = ask.read("board weight", board_weight, _read_some_mass, _SOME_MASS)
    tare = ask.read("board tare", board_tare, _read_some_mass, _SOME_MASS)
    left = "water in the leftover sugar by weight, such as 5 %"
    damp = ask.read("board water", board_water, _read_percent, left, "Write it with its percent sign.")
    ask.both("stores wanted", stores_wanted, "stores there", stores_there)
    ask.both("board weight", board_weight, "board tare", board_tare)
    ask.count("hives", hives)
    ask.count("boards", boards)
    if sugar and volume:
        do = "Give either the sugar you have or the volume you want."
        ask.problems.append(Problem("sugar and volume", f"{sugar!r} and {volume!r}", "one of them", do))
    if board_water and not board_weight:
        do = "Give the board's weight and tare with it."
        ask.problems.append(Problem("board water", repr(board_water), "a board for it", do))
    if not (sugar or volume or stores_wanted or stores_there or board_weight or board_tare):
        wish = "sugar, volume, stores wanted and there, or a board's weight and tare"
        ask.problems.append(Problem("syrup", "nothing to calculate", wish, "Give one of them."))
    ask.done()
    parts: dict[str, Section | None] = {}
    if dry is not None:
        parts["syrup"] = ask.work(lambda: _syrup(syrup_from_sugar(dry, chosen or TWO_TO_ONE), chosen or TWO_TO_ONE))
    if wet is not None:
        parts["syrup"] = ask.work(lambda: _syrup(syrup_for_volume(wet, chosen or TWO_TO_ONE), chosen or TWO_TO_ONE))
    if wanted is not None and there is not None:
        parts["light_hives"] = ask.work(
            lambda: _light(feed_light_hive(wanted, there, chosen or TWO_TO_ONE), hives, chosen or TWO_TO_ONE)
        )
    if weight is not None and tare is not None:
        parts["season_end"] = ask.work(
            lambda: _season_end(
                syrup_from_board(sugar_left(weight * boards, tare * boards, damp), chosen or ONE_TO_ONE),
                boards,
                chosen or ONE_TO_ONE,
                damp is None,
            )
        )
    ask.done()
    sections = {name: part for name, part in parts.items() if part is not None}
    beside = _beside({name: part.data for name, part in sections.items()})
    blocks = dict.fromkeys(block for part in (*sections.values(), beside) for block in part.blocks)
    return Section("", tuple(blocks), {name: part.data for name, part in sections.items()} | dict(beside.data))


def read_volume(text: str) -> Volume:
    """Parses a volume as a person writes it, in cups, pt, qt, gal (all US), imp gal, L or mL. Raises ValueError.

    >>> read_volume("2 gal").us_cups, read_volume("4.5 L").litres
    (Fraction(32, 1), Fraction(9, 2))
    """
    match = re.fullmatch(r"\s*(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)\s*([A-Za-z ]+?)\s*", text, re.ASCII)
    if not match or match[2].lower() not in _VOLUMES or re.search(r"/0+\b", match[1]):
        raise ValueError(f"{text!r} is not a volume with its unit ({', '.join(_VOLUMES)})")
    size = sum((exact(part) for part in match[1].split()), Fraction(0)) * _VOLUMES[match[2].lower()]
    if not _LEAST <= size <= _MOST:
        raise ValueError(f"{text!r} is not a plausible volume of syrup. Is a decimal point or a unit missing?")
    return litres(size)


# ---- reading ---------------------------------------------------------------------------------------


class _Asked:
    """Reads the answers and collects all problems."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def read(
        self, where: str, given: str | None, reader: Callable[[str], _Value], wanted: str, do: str = ""
    ) -> _Value | None:
        if given is None:
            return None
        try:
            return reader(given)
        except ValueError:
            self.problems.append(Problem(where, repr(given), wanted, do or "Write the number and its unit."))
            return None

    def both(self, one: str, first: str | None, other: str, second: str | None) -> None:
        if (first is None) != (second is None):
            given, lacking = (one, other) if second is None else (other, one)
            self.problems.append(Problem(given, "alone", f"{one} and {other}", f"Give {lacking} too."))

    def count(self, where: str, count: int) -> None:
        if not 1 <= count <= COUNT_MOST:
            self.problems.append(Problem(where, str(count), f"1 to {COUNT_MOST}", "Count again."))

    def work(self, make: Callable[[], _Value]) -> _Value | None:
        try:
            return make()
        except InputError as error:
            self.problems += [each for each in error.problems if each not in self.problems]
            return None

    def done(self) -> None:
        if self.problems:
            raise InputError(*self.problems)


def _read_some_mass(text: str) -> Mass:
    mass = read_mass(text)
    if not _LEAST <= mass.grams / 1000 <= _MOST:
        raise ValueError(f"{text!r} is not a plausible mass")
    return mass


def _read_percent(text: str) -> Fraction:
    match = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)\s*%\s*", text, re.ASCII)
    if not match:
        raise ValueError(f"{text!r} is not a percentage")
    return exact(match[1]) / 100


# ---- the text ----------------------------------------------------------------------------------------


def _syrup(made: Syrup, strength: Strength) -> Section:
    below = made.crystals_below
    crystals = None if below is None else _celsius(below)
    sugar, water, small, volume = _mass(made.sugar), _mass(made.water), _small(made.water_volume), _large(made.volume)
    blocks = [Paragraph(f"Syrup {strength} by weight: {sugar} of sugar and {water} of water ({small}) make {volume}.")]
    if crystals:
        blocks.append(Paragraph(f"Sugar crystallizes in it below about {crystals}. Feed it fresh and warm."))
    return Section(
        "",
        tuple(blocks),
        {
            "strength": str(strength),
            "sugar_share": _percent(made.share),
            "sugar": sugar,
            "water": water,
            "water_volume": small,
            "volume": volume,
            "crystals_below": crystals,
        },
    )


def _light(one: LightHive, hives: int, strength: Strength) -> Section:
    syrup = _syrup(syrup_from_sugar(one.sugar * hives, strength), strength) if one.syrup else None
    wanted, there, short, sugar = (_mass(mass) for mass in (one.wanted, one.there, one.short, one.sugar))
    each, water = "one hive" if hives == 1 else f"each of {hives} hives", _percent(one.stores_water)
    blocks: list[Block] = [Paragraph(f"Stores of {each}: target {wanted}, now {there}, short by {short}.")]
    if syrup is None:
        blocks.append(Paragraph("Nothing to feed."))
    else:
        total = _mass(one.sugar * hives)
        words = f"Sugar to feed: {sugar} a hive, {total} in total, if stores contain {water} water."
        blocks += [Paragraph(words), *syrup.blocks]
    return Section(
        "",
        tuple(blocks),
        {
            "hives": hives,
            "wanted": wanted,
            "there": there,
            "short_each": short,
            "stores_water": water,
            "sugar_each": sugar,
            "syrup": None if syrup is None else syrup.data,
        },
    )


def _season_end(made: SyrupFromBoard, boards: int, strength: Strength, judged: bool) -> Section:
    left, syrup = made.left, _syrup(made.syrup, strength)
    share, add, small = _percent(left.water_share), _mass(made.add), _small(made.add_volume)
    weight, tare, net, water, sugar = map(_mass, (left.weight, left.tare, left.net, left.water, left.sugar))
    each = "One board" if boards == 1 else f"{boards} boards"
    return Section(
        "",
        (
            *(Caution(f"{row.text} [{row.cite}]") for row in left.cautions),
            Paragraph(f"{each}: {weight} less {tare} tare is {net}: {water} water ({share}) and {sugar} sugar."),
            Paragraph(f"Stir in {add} of water ({small})."),
            *syrup.blocks,
        ),
        {
            "boards": boards,
            "weight": weight,
            "tare": tare,
            "net": net,
            "left_water": water,
            "left_water_share": share,
            "left_water_judged": judged,
            "sugar": sugar,
            "add_water": add,
            "add_water_volume": small,
            "syrup": syrup.data,
            "cautions": [{"topic": row.topic, "text": row.text, "cite": row.cite} for row in left.cautions],
        },
    )


def _beside(found: Mapping[str, Data]) -> Section:
    """Notes, cautions and sources for the results, collected from the data of each result."""
    light, end = found.get("light_hives"), found.get("season_end")
    topics = [] if end is None else ["bee disease"]
    if "syrup" in found or end or (light and light["syrup"]):
        topics.append("syrup")
    notes = [f"Volumes are at {_celsius(Fraction(20))}, calculated from density. {_club_note()}"] if topics else []
    if light:
        notes.append(_stores_note())
    if light and light["syrup"]:
        notes.append(_keeper_note())
    if end and end["left_water_judged"]:
        notes.append(
            f"The water left in the sugar is an estimate ({fact('syrup.left_water').value}): weigh a lump, dry it, "
            f"and weigh it again."
        )
    rows = [fact("syrup.density_50"), fact("syrup.saturated_20")]
    rows += [fact("syrup.stores_water")] if light else []
    rows += [fact("syrup.left_water")] if end else []
    warned, leave_to = [each for topic in topics for each in cautions(topic)], [defer(topic) for topic in topics]
    return Section(
        "",
        (
            *map(Paragraph, notes),
            *(Caution(f"{each.text} [{each.cite}]") for each in warned),
            *map(Paragraph, leave_to),
        ),
        {
            "notes": notes,
            "cautions": [{"topic": each.topic, "text": each.text, "cite": each.cite} for each in warned],
            "defer": leave_to,
            "sources": [f"{row.key}: {row.cite}" for row in rows],
        },
    )


def _stores_note() -> str:
    rows = sorted((row for row in all_facts() if row.key.startswith("stores.")), key=lambda row: (row.mass, row.key))
    least, most = rows[0], rows[-1]
    return _quoted(
        f"The stores a colony needs depend on the place. Published figures run from {least.value} ({least.cite}) "
        f"to {most.value} ({most.cite}). Ask a local club."
    )


def _club_note() -> str:
    promised = []
    for kind in ("thin", "thick"):
        water = density_of(Fraction(0)).mass_of(fact(f"syrup.club_water_{kind}").volume)
        made = syrup_of(fact("syrup.club_sugar").mass, water)
        promised.append(fact(f"syrup.club_yield_{kind}").volume.litres / made.volume.litres - 1)
    low, high = (decimals(share * 100, 0) for share in sorted(promised))
    return f"{fact('syrup.club_yield_thin').cite.split(',')[0]}' recipes promise {low} to {high} % more."


def _keeper_note() -> str:
    gallon = syrup_for_volume(read_volume("1 gal"), TWO_TO_ONE)
    ruled = gallon.sugar / (1 - fact("syrup.stores_water").number)
    found = fact("syrup.stores_per_gallon")
    adds = (
        f"A gallon of 2:1 then adds {decimals(ruled.pounds, 1)} lb of stores. One beekeeper finds about {found.value}"
    )
    if _is_metric():
        litre = gallon.volume.litres
        each = [f"{decimals(mass.grams / 1000 / litre, 2)} kg" for mass in (ruled, found.mass)]
        quoted = _quoted(f"{found.value} a gallon")
        adds = f"A liter of 2:1 then adds {each[0]} of stores. One beekeeper finds about {each[1]}: {quoted}"
    return (
        f"Assumed: bees dry syrup to the moisture of honey and eat none of it. {adds} ({found.cite}); "
        f"if so, {decimals((ruled / found.mass - 1) * 100, 0)} % more sugar is needed."
    )


def _percent(share: Fraction) -> str:
    return f"{decimals(share * 100, 1)} %"


def _is_metric() -> bool:
    return unit_of_lengths() == "mm"


def _quoted(text: str) -> str:
    return wording_of(unit_of_lengths()).quoted(text)


def _celsius(degrees: Fraction) -> str:
    text = f"{decimals(degrees, 0)} °C"
    return text if _is_metric() else f"{text} ({decimals(degrees * 9 / 5 + 32, 0)} °F)"


def _mass(mass: Mass) -> str:
    return mass.text("kg") if _is_metric() else f"{mass.text('lb')} ({mass.text('kg')})"


def _small(volume: Volume) -> str:
    text = f"{decimals(volume.litres, 2)} L"
    return text if _is_metric() else f"{decimals(volume.us_cups, 1)} US cups, {text}"


def _large(volume: Volume) -> str:
    text = f"{decimals(volume.litres, 2)} L"
    return text if _is_metric() else f"{decimals(volume.us_cups / 16, 2)} US gal ({text})"


STORES_FORMAT = "woodshop-stores-sum/1"


def stores_section(stores: Stores) -> Section:
    """The full calculation of winter stores, in the unit of its file. In the data, a range is (minimum, maximum)."""
    with lengths_in("mm" if stores.unit == "kg" else "in"):
        return _stores_section(stores)


def _stores_section(stores: Stores) -> Section:
    sugar = stores.sugar
    lb, gal = ("kg", "l") if _is_metric() else ("lb", "gal")
    published = Table(
        (
            Column("used", key="used", shown=False),
            Column(""),
            Column("stores", Align.RIGHT, key="stores"),
            Column("place", key="place"),
            Column("", key="what", shown=False),
            Column("source", key="cite"),
        ),
        tuple(
            (
                row in stores.used,
                "*" if row in stores.used else "",
                _quoted(row.value),
                place_of(row),
                _quoted(row.what),
                row.cite,
            )
            for row in stores.rows
        ),
    )
    water, syrup = zip(*(_syrup_to_feed(each, stores) for each in (sugar.least, sugar.most)), strict=True)
    cautioned, leave_to = (
        [f"{each.text} [{each.cite}]" for each in cautions("syrup")],
        [defer("syrup"), defer("wintering")],
    )
    data: Data = {
        "format": STORES_FORMAT,
        "place": stores.place or None,
        "published": published.records,
        "hives": [
            {
                "name": each.name,
                "count": each.count,
                f"wanted_{lb}": _pair(each.wanted),
                f"there_{lb}": _pair(each.there),
                "how": each.how,
                f"short_{lb}": _pair(each.short),
                f"sugar_{lb}": _pair(each.sugar),
            }
            for each in stores.hives
        ],
        "strength": str(stores.strength),
        f"sugar_{lb}": _pair(sugar),
        f"water_{gal}": water,
        f"syrup_{gal}": syrup,
        "bag": stores.bag.text(stores.unit),
        "bags": stores.bags,
        "last_days": [
            {"day": None if each.day is None else in_month(each.day), "why": each.why} for each in stores.last_days
        ],
        "defaults": [{"name": each.name, "value": each.value, "source": each.source} for each in stores.defaults],
        "cautions": cautioned,
        "defer": leave_to,
    }
    blocks: list[Block] = [Heading("Stores a colony needs, as published (* used here)", 2), published]
    if not stores.used:
        blocks.append(Paragraph("Your own targets are used instead."))
    blocks += [Heading("Your hives", 2), *(Paragraph(_hive_text(each)) for each in stores.hives)]
    if not sugar.most.grams:
        blocks.append(Paragraph("Nothing to feed."))
    else:
        least, most = stores.bags
        volume = "L" if _is_metric() else "US gal"
        total = f"{_span(sugar)} of sugar, {_numbers(water, volume)} of water"
        bag = stores.bag.text(stores.unit)
        blocks += [
            Paragraph(f"Total: {total}: {_numbers(syrup, volume)} of syrup {stores.strength} by weight."),
            Paragraph(f"Buy {least if least == most else f'{least} to {most}'} bags of {bag}."),
            *map(Paragraph, _days(stores)),
            Paragraph('Assumed: bees eat none of the syrup. "woodshop syrup" shows what one beekeeper found.'),
            *map(Caution, cautioned),
        ]
    taken = "; ".join(f"{each.name} {_quoted(each.value)} [{_quoted(each.source)}]" for each in stores.defaults)
    return Section("", (*blocks, Paragraph(f"Defaults: {taken}."), *map(Paragraph, leave_to)), data)


def _hive_text(each: Fed) -> str:
    count = "" if each.count == 1 else f", {each.count} alike, each"
    return (
        f"{each.name}{count}: {_span(each.wanted)} wanted, {_span(each.there)} there ({each.how}), "
        f"{_span(each.short)} short: {_span(each.sugar)} of sugar."
    )


def _days(stores: Stores) -> Iterator[str]:
    if not stores.last_days:
        yield (
            f'Last day for syrup: not known. Set outside = ["{"-6 C" if _is_metric() else "21 F"}", ...], the mean of '
            "each month from January, or last_day, the day your club uses."
        )
    for each in stores.last_days:
        day = "none: the whole year is on one side of the limit" if each.day is None else in_month(each.day)
        yield _quoted(f"Last day for syrup: {day}. {each.why}.")
    if len(stores.last_days) > 1:
        yield (
            "Based on the mean of day and night, interpolated between mid-months. Bees must also dry the syrup, so "
            "finish earlier. After that, feed dry sugar, as on a fondant board."
        )


def _syrup_to_feed(sugar: Mass, stores: Stores) -> tuple[str, str]:
    """The US gallons, or liters, of water and of syrup for this much sugar."""
    if not sugar.grams:
        return "0", "0"
    made: Syrup = syrup_from_sugar(sugar, stores.strength)
    if _is_metric():
        return decimals(made.water_volume.litres, 1), decimals(made.volume.litres, 1)
    return decimals(made.water_volume.us_cups / 16, 2), decimals(made.us_gallons, 2)


def _pair(spread: MassRange) -> tuple[str, str]:
    if _is_metric():
        return decimals(spread.least.grams / 1000, 1), decimals(spread.most.grams / 1000, 1)
    return decimals(spread.least.pounds, 2), decimals(spread.most.pounds, 2)


def _numbers(pair: Sequence[str], unit: str) -> str:
    return f"{pair[0]} {unit}" if pair[0] == pair[1] else f"{pair[0]} to {pair[1]} {unit}"


def _span(spread: MassRange) -> str:
    if _is_metric():
        return _numbers(_pair(spread), "kg")
    kilograms = [decimals(mass.grams / Fraction(1000), 1) for mass in (spread.least, spread.most)]
    return f"{_numbers(_pair(spread), 'lb')} ({_numbers(kilograms, 'kg')})"


def in_month(day: tuple[int, int]) -> str:
    """A day, given as month and day, as text.

    >>> in_month((10, 12))
    '12 October'
    """
    return f"{day[1]} {MONTHS[day[0] - 1]}"
