"""What fields are called on the page, and their help without the words of those who write the file themselves."""

import re
from functools import cache
from zoneinfo import available_timezones

from woodshop.design.keys import design_keys
from woodshop.engineering.wood import species, species_names
from woodshop.reference.limits import bands
from woodshop.units.lengths import decimals, read_length
from woodshop.units.wording import LengthUnit, wording_of

_ZONES = {
    "America/New_York": "Eastern (New York)",
    "America/Chicago": "Central (Chicago)",
    "America/Denver": "Mountain (Denver)",
    "America/Phoenix": "Mountain, no summer time (Phoenix)",
    "America/Los_Angeles": "Pacific (Los Angeles)",
    "America/Anchorage": "Alaska (Anchorage)",
    "Pacific/Honolulu": "Hawaii (Honolulu)",
}
_REGIONS = re.compile("(Africa|America|Asia|Atlantic|Australia|Europe|Indian|Pacific)/")
_HIVE_LABELS = {
    "name": "Name of these hives",
    "apiary": "Where they stand",
    "pattern": "Pattern of the boxes",
    "frames": "Frames in a box",
    "count": "How many hives",
    "width": "Width of a box, outside",
    "gap": "Gap over the top bars",
    "length": "Length of a box, outside",
    "height": "Height of the box under the board",
    "wall": "Thickness of the walls",
    "boxes": "All boxes of a hive",
    "due": "Day promised",
    "order": "Order number",
    "form": "How far finished",
    "cover": "Kind of cover",
    "measured": "Measured-box file",
    "box": "Box in that file",
}
_LABELS = {("hives", key): label for key, label in _HIVE_LABELS.items()} | {
    ("", "on_by"): "Day the boards must go on",
    ("", "hives"): "Your hives",
    ("", "make"): "What to make",
    ("", "shed"): "Your shed",
    ("", "board"): "Fondant board",
    ("", "worth"): "What saved work and offcuts are worth to you",
    ("", "check"): "Bee space",
    ("", "trial"): "Your trial of damp sugar",
    ("", "climate"): "Cold weather",
    ("", "tolerance"): "How exact sizes are",
    ("", "moisture"): "Moisture of the wood",
    ("", "buying"): "How you buy",
    ("tools", "resaw_with"): "Saw for thinner boards",
    ("tools", "resaw_height"): "Widest board to resaw",
    ("tools", "planer_shortest"): "Shortest board for the planer",
    ("tools", "planer_width"): "Widest board for the planer",
    ("check", "bee_space"): "Published bee space to check with",
    ("trial", "mass"): "Weight of the damp sugar",
    ("trial", "box"): "Inside of the box",
    ("trial", "water"): "Water in the mix",
    ("trial", "mass_within"): "Your scale is exact to",
    ("trial", "length_within"): "Your tape is exact to",
    ("climate", "outside"): "Outside temperature",
    ("climate", "hive_air"): "Temperature over the bees",
    ("climate", "humidity"): "Humidity over the bees",
    ("climate", "honey"): "Honey eaten in a month",
    ("climate", "foam"): "Foam under the cover",
    ("climate", "foam_kind"): "Kind of foam",
    ("tolerance", "saw"): "Ripped widths",
    ("tolerance", "tape"): "Crosscut lengths",
    ("tolerance", "rabbet"): "Rabbets and grooves",
    ("tolerance", "board"): "Boards as bought",
    ("tolerance", "sheet"): "Fluted sheets as bought",
    ("tolerance", "gap"): "Gaps as measured",
    ("tolerance", "box"): "Boxes and covers",
    ("tolerance", "box_height"): "Heights of boxes",
    ("tolerance", "frame"): "Frames",
    ("moisture", "species"): "Wood of the hardware",
    ("moisture", "boxes_species"): "Wood of boxes and frames",
    ("moisture", "shop"): "Moisture when the wood is cut",
    ("moisture", "measured"): "Moisture when boxes were measured",
    ("moisture", "winter"): "Moisture in winter",
    ("moisture", "summer"): "Moisture in summer",
    ("buying", "on"): "Day you buy",
    ("buying", "one_lumberyard"): "All from one lumberyard",
    ("buying", "ready_made"): "What may be bought ready-made",
    ("worth", "layout"): "One layout less",
    ("worth", "setting"): "One setting less",
    ("worth", "offcut"): "An offcut worth keeping",
    ("worth", "least_length"): "Its least length",
    ("worth", "least_width"): "Its least width",
    ("labels", "hives"): "A label for each hive",
    ("labels", "units"): "A label for each item made",
    ("labels", "pieces"): "A label for each piece cut",
    ("labels", "frame"): "An outline around labels",
    ("labels", "width"): "Width of a label",
    ("labels", "height"): "Height of a label",
    ("labels", "columns"): "Labels across the sheet",
    ("labels", "rows"): "Labels down the sheet",
    ("labels", "left"): "From the left edge",
    ("labels", "top"): "From the top edge",
    ("labels", "column_gap"): "Space between, across",
    ("labels", "row_gap"): "Space between, down",
    ("saw", "order"): "Order of the cuts",
    ("tools", "crosscut_with"): "Saws you have for crosscuts",
    ("", "title"): "Title of the batch",
    ("", "other_columns"): "Columns to ignore in it",
    ("", "quoted_on"): "Date of the quotes",
    ("", "wood"): "Thickness of the wood",
    ("", "surplus"): "If a board holds one piece more",
    ("", "both_units"): "Sizes in both units",
    ("", "unit"): "Unit of lengths",
    ("", "shop"): "File of your shop",
    ("", "book"): "The shop's book",
    ("", "orders"): "Spreadsheet of orders",
    ("make", "spare"): "Spares",
    ("make", "wood"): "Thickness of the wood",
    ("make", "hives"): "For which hives",
    ("shed", "hives"): "For which hives",
    ("shed", "have"): "How many you have",
    ("shed", "repair"): "Of these, to repair",
    ("set", "name"): "Name of the set",
    ("set", "item"): "What is in it",
    ("order", "order"): "Order number",
    ("order", "count"): "For how many hives",
    ("order", "form"): "How far finished",
    ("order", "due"): "Day promised",
    ("crew.person", "hours"): "Hours of work in a week",
    ("crew.person", "off"): "Days off",
    ("crew.person", "extra"): "Hours on single days",
    ("crew.person", "skills"): "What this person does",
    ("crew", "start"): "First day of work",
    ("crew", "zone"): "Time zone",
    ("crew", "saws"): "People who can saw at once",
    ("crew", "drills"): "People who can drill at once",
    ("crew", "band_saws"): "People who can resaw at once",
    ("crew", "planers"): "People who can plane at once",
    ("crew", "clamps"): "Frames in clamps at once",
    ("crew", "tables"): "Tables for drying",
    ("crew", "car_boards"): "Boards on one trip",
    ("crew", "car_load"): "Load on one trip",
    ("crew", "at_home"): "Apiaries beside the shop",
    ("crew", "due_time"): "Time of day on due days",
}
_LABELS |= {("box", key): label for key, label in _HIVE_LABELS.items()} | {("box", "name"): "Name in orders"}


def key_label(name: str, table: str = "") -> str:
    """The label of a key of a table: "frame_depth" is "Frame depth", unless the page has better words for it."""
    return _LABELS.get((table, name)) or name.replace("_", " ").capitalize()


def page_words(text: str) -> str:
    """The text of a key with its neighbors as the page calls them, and without commands and marks of the file.

    >>> page_words("Strips narrower than this: see wood_in_hand. See: woodshop sources wood. Several in a list.")
    'Strips narrower than this: see "Wood in hand". Several with commas between.'
    """
    text = re.sub(r" See: woodshop [^.]*(?:\.\w[^.]*)*\.", "", text)
    text = text.replace("in a list", "with commas between")
    text = text.replace(": dates without quotes, ranges in quotes", ": days, or ranges of days")
    text = text.replace(", year first, without quotes", "").replace("the hours in extra", "hours on single days")
    text = text.replace("schedule.ics", "the calendar file").replace("see hives.form", "see your hives")
    text = re.sub(r"\[+(\w+)\]+", lambda found: f'"{key_label(found[1])}"', text)
    return re.sub(r"\b[a-z]+(?:_[a-z]+)+\b", lambda found: _quoted_label(found[0]), text)


def _quoted_label(name: str) -> str:
    table = next((each.table for each in design_keys() if each.name == name), None)
    return name if table is None else f'"{key_label(name, table)}"'


_LENGTH = re.compile(r"\d[\d /.-]*(?:in|ft|mm)\b")


def in_unit(text: str, unit: LengthUnit, *, of_inches: bool = False) -> str:
    """The text with each length in it written in `unit`.

    `of_inches` is for the texts of an inch design: none of its sizes then reads as whole millimeters if it is not.

    >>> in_unit("1/8 in to 5/8 in", "mm"), in_unit("16 lb", "mm")
    ('3.2 mm to 15.9 mm', '16 lb')
    >>> in_unit("3/4 in, 19 mm", "mm", of_inches=True), in_unit("3/4 in", "mm")
    ('19.05 mm, 19 mm', '19 mm')
    """

    def turned(found: re.Match[str]) -> str:
        try:
            length = read_length(found[0])
        except ValueError:
            return found[0]
        shown = length.text(unit)
        return f"{decimals(length.mm, 2)} mm" if of_inches and unit == "mm" and "." not in shown else shown

    return _LENGTH.sub(turned, text)


def said(text: str, own: LengthUnit, unit: LengthUnit) -> str:
    """A `text` of the page in a design with the unit `own`, where lengths are shown in `unit`.

    In a metric design there are no inches, pounds, cups or °F.

    >>> said("4 lb, or 1/2 to 1 in", "mm", "mm")
    '1.8 kg, or 12.7 to 25.4 mm'
    >>> said("1/16 in, or 1 mm in a metric design", "in", "in")
    '1/16 in'
    """
    if own == "mm":
        text = wording_of(own).said(text.replace(" (not nominal)", ""))
    else:
        text = re.sub(r", or [^,.]+ in a metric design", "", text)
    return in_unit(text, unit, of_inches=own == "in")


def named_values(table: str, name: str, own: LengthUnit = "in") -> dict[str, str]:
    """The values that the key `name` must be one of, each in words, if they are rows of a table of facts, else none.

    `own` is the unit of the design.
    """
    if (table, name) == ("check", "bee_space"):
        shown = {each.name: wording_of(own).quoted(each.row.value) for each in bands()}
        return {name: text if own == "mm" and "inch" in name else f"{name}: {text}" for name, text in shown.items()}
    if table == "moisture" and name in ("species", "boxes_species"):
        return {each: species(each).name for each in species_names()}
    if (table, name) == ("crew", "zone"):
        return _zones()
    return {}


@cache
def _zones() -> dict[str, str]:
    """The time zones of the computer: those of the United States first, in words."""
    found = sorted(filter(_REGIONS.match, available_timezones()))
    return _ZONES | {each: each.replace("_", " ") for each in found if each not in _ZONES}
