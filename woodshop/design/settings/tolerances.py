"""The [tolerance] and [moisture] tables of a design file: how sizes vary, and the moisture of the wood.

Both tables are optional. `settled_tolerances` takes every missing value from the facts and lists it.
"""

import re
from dataclasses import KW_ONLY, dataclass, field

from woodshop.design.schema import AnyLength, Default, SettingTable, Words, design_key
from woodshop.engineering.wood import species, species_names, wood_moisture
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hive.variation.sizes import Work
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, exact, inch, unit_of_lengths
from woodshop.units.wording import LengthUnit

KEYS: dict[str, Work] = {
    "saw": Work.SAW,
    "tape": Work.TAPE,
    "rabbet": Work.RABBET,
    "board": Work.BOARD,
    "sheet": Work.SHEET,
    "gap": Work.GAP,
    "box": Work.BOX,
    "box_height": Work.HEIGHT,
    "frame": Work.FRAME,
}
_MOST = inch("1/2")
_AIR = re.compile(r"(?:(-?[0-9]+(?:\.[0-9]+)?) *(°? *[CF]),? +)?([0-9]+(?:\.[0-9]+)?) *%")
MOST_MOISTURE = 30.0


class ToleranceTable(SettingTable):
    """The [tolerance] table. Each value is the tolerance of a size, plus or minus."""

    saw: AnyLength | None = design_key("Tolerance of a ripped width or thickness, plus or minus.", row="tolerance.saw")
    tape: AnyLength | None = design_key(
        "Tolerance of a length crosscut to a tape or a stop, plus or minus.", row="tolerance.tape"
    )
    rabbet: AnyLength | None = design_key(
        "Tolerance of the height of a rabbet or groove, plus or minus.", row="tolerance.rabbet"
    )
    board: AnyLength | None = design_key(
        "Tolerance of the width and thickness of bought boards, plus or minus.", row="tolerance.board"
    )
    sheet: AnyLength | None = design_key(
        "Tolerance of the thickness of a fluted sheet, plus or minus.", row="tolerance.sheet"
    )
    gap: AnyLength | None = design_key(
        "Accuracy of a gap measured under the straightedge, plus or minus.", row="tolerance.gap"
    )
    box: AnyLength | None = design_key("Tolerance of boxes and covers of one kind, plus or minus.", row="tolerance.box")
    box_height: AnyLength | None = design_key(
        "Tolerance of the height of boxes, plus or minus.", row="tolerance.box_height"
    )
    frame: AnyLength | None = design_key("Tolerance of the sizes of frames, plus or minus.", row="tolerance.frame")


class MoistureTable(SettingTable):
    """The [moisture] table. Each condition is a meter reading in the wood, or the air around it."""

    species: Words | None = design_key(
        "Wood of the hardware. Choose the closest in the table. See: woodshop sources wood.tangential.",
        row="moisture.species",
    )
    boxes_species: Words | None = design_key(
        "Wood of your boxes and frames.", otherwise="same as the hardware", example='"western_redcedar"'
    )
    shop: Words | None = design_key(
        "Moisture of the wood when it is cut: a meter reading, or the air it is kept in, temperature before humidity.",
        row="moisture.shop",
    )
    measured: Words | None = design_key(
        "Moisture of your boxes on the day you measured them.",
        otherwise="midway between winter and summer",
        example='"50 F, 70 %"',
    )
    winter: Words | None = design_key("Moisture of all the wood outdoors in winter.", row="moisture.winter")
    summer: Words | None = design_key("Moisture of all the wood outdoors in summer.", row="moisture.summer")


@dataclass(frozen=True, slots=True)
class Damp:
    """The moisture of wood: the given text, the moisture content in percent, and the reason why that may be wrong."""

    given: str
    percent: float
    beyond: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The moisture as text.

        >>> damp("70 F, 40 %", "shop").words, damp("12 %", "shop").words
        ('7.7 % (air of 70 F, 40 %)', '12 %')
        """
        return self.given if "," not in self.given else f"{self.percent:.1f} % (air of {self.given})"


@dataclass(frozen=True, slots=True)
class Moisture:
    """The species, and the moisture of hardware when cut, of boxes when measured, and of all wood by season."""

    species: str
    boxes_species: str
    shop: Damp
    _: KW_ONLY
    measured: Damp
    winter: Damp
    summer: Damp


@dataclass(frozen=True, slots=True)
class Tolerances:
    """The tolerance of each kind of work and of a gap that was not measured, and the moisture of the wood."""

    reach: tuple[tuple[Work, Length], ...]
    gap_not_measured: Length
    moisture: Moisture


@dataclass(frozen=True, slots=True)
class ToleranceTables:
    """Both tables, as read."""

    tolerance: ToleranceTable = field(default_factory=ToleranceTable)
    moisture: MoistureTable = field(default_factory=MoistureTable)


def damp(text: str, where: str) -> Damp:
    """The condition of wood given as text. Raises InputError for other text or an impossible condition.

    >>> damp("14.2 %", "winter").percent
    14.2
    """
    found = _AIR.fullmatch(text.strip())
    if found is None:
        fahrenheit = "" if unit_of_lengths() == "mm" else '"70 F, 40 %" or '
        wanted = f'a meter reading such as "12 %", or the air, such as {fahrenheit}"21 C, 40 %"'
        raise InputError(
            Problem(where, repr(text), wanted, "Write percent, with the temperature of the air before it.")
        )
    degrees, scale, percent = found.groups()
    share = float(exact(percent))
    if degrees is None:
        if not 1 <= share <= MOST_MOISTURE:
            wanted = f"a moisture content of 1 to {MOST_MOISTURE:g} %"
            raise InputError(
                Problem(where, repr(text), wanted, "Read the meter again. For air, give its temperature too.")
            )
        return Damp(f"{percent} %", share)
    unit = "celsius" if scale.endswith("C") else "fahrenheit"
    cold, hot = (-40, 60) if unit == "celsius" else (-40, 140)
    if not (cold <= float(degrees) <= hot and 1 <= share <= 100):
        wanted = f"{cold} to {hot} {scale[-1]}, and 1 to 100 %"
        raise InputError(Problem(where, repr(text), wanted, "Give the usual air of that season."))
    found_so = wood_moisture(float(degrees), min(share, 99.0) / 100, unit)
    return Damp(f"{degrees} {scale[-1]}, {percent} %", found_so.value, found_so.beyond)


def tolerance_faults(tables: ToleranceTables, where: str, unit: LengthUnit) -> list[Problem]:
    """Problems in the tables of the file `where`; lengths are printed in `unit`."""
    wanted = f"0 to {_MOST.text(unit)}, the most it may vary, plus or minus"
    found = [
        Problem(f"{where}, tolerance, {key}", value.text(unit), wanted, "Correct this value.")
        for key in KEYS
        if (value := getattr(tables.tolerance, key)) is not None and not ZERO <= value <= _MOST
    ]
    for key in ("species", "boxes_species"):
        given = getattr(tables.moisture, key)
        if given is not None and plain(given) not in species_names():
            otherwise = "Choose the closest of these."
            do = did_you_mean(plain(given), species_names(), otherwise, most=2, cutoff=0.4)
            wanted = f"one of {', '.join(species_names())}"
            found.append(Problem(f"{where}, moisture, {key}", repr(given), wanted, do))
    for key in ("shop", "measured", "winter", "summer"):
        if (given := getattr(tables.moisture, key)) is not None:
            try:
                damp(given, f"{where}, moisture, {key}")
            except InputError as bad:
                found += bad.problems
    return found


def plain(name: str) -> str:
    """The name of a species as in the facts.

    >>> plain("Western redcedar")
    'western_redcedar'
    """
    return re.sub(r"[\s-]+", "_", name.strip().lower())


def settled_tolerances(tables: ToleranceTables, unit: LengthUnit, defaults: list[Default]) -> Tolerances:
    """The settled tolerances; defaults are listed. Call `tolerance_faults` on the tables first."""
    reach = []
    for key, work in KEYS.items():
        given = getattr(tables.tolerance, key)
        row = fact(f"tolerance.{key}")
        if given is None:
            defaults.append(Default("tolerance", key, f"plus or minus {row.value}", row.cite))
        reach.append((work, row.length if given is None else given))
    moisture = _moisture(tables.moisture, unit, defaults)
    return Tolerances(tuple(reach), fact("tolerance.gap_not_measured").length, moisture)


def _moisture(table: MoistureTable, unit: LengthUnit, defaults: list[Default]) -> Moisture:
    row = fact("moisture.species")
    wood = row.value if table.species is None else plain(table.species)
    if table.species is None:
        defaults.append(Default("moisture", "species", species(wood).name, row.cite))
    boxes = wood if table.boxes_species is None else plain(table.boxes_species)
    if table.boxes_species is None:
        defaults.append(Default("moisture", "boxes_species", species(boxes).name, "same as the hardware"))
    found: dict[str, Damp] = {}
    for key in ("shop", "winter", "summer"):
        given, row = getattr(table, key), fact(f"moisture.{key}")
        found[key] = damp(row.value_in(unit) if given is None else given, key)
        if given is None:
            defaults.append(Default("moisture", key, found[key].words, row.cite))
    middle = (found["winter"].percent + found["summer"].percent) / 2
    measured = Damp(f"{middle:.1f} %", middle) if table.measured is None else damp(table.measured, "measured")
    if table.measured is None:
        defaults.append(Default("moisture", "measured", measured.words, "midway between summer and winter"))
    return Moisture(wood, boxes, found["shop"], measured=measured, winter=found["winter"], summer=found["summer"])
