"""What the page shows of a planned batch: text and HTML in both units of length, made in a background process."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from woodshop.design.design_file import files_named
from woodshop.design.schema import load
from woodshop.files.one_file import read_file
from woodshop.page.opened.safe_names import inside
from woodshop.trade.what_ifs import SettingToChange, SettingToTry
from woodshop.units.wording import LengthUnit

_LARGEST = 1 << 30  # bytes: a book grows for years
UNITS: tuple[LengthUnit, ...] = ("in", "mm")
NOT_PLANNED = "Nothing was written. Fix the errors first."


@dataclass(frozen=True, slots=True)
class ScreenPart:
    """One part of a screen: its name, and its HTML in each unit of length.

    `folded` are parts that follow it and are sent to the browser only when they are unfolded; `last` follows those.
    """

    title: str
    html: Mapping[LengthUnit, str]
    folded: tuple["ScreenPart", ...] = ()
    last: "ScreenPart | None" = None


@dataclass(frozen=True, slots=True)
class ShownBatch:
    """A planned batch as the page shows it. If errors stopped the planning, `is_planned` is false.

    `inputs` is the digest of the files that it was planned from, and `folder` has its results. `summary` says what the
    command says at its end. `cut` are the parts of the screen for cutting and buying; `days` is the schedule, or how
    long the work takes and, in `no_days`, why there is no schedule. `to_try` are the settings to compare that
    are offered first, `to_change` all of them. `late` says who is late in the schedule, or is "". `begins` is the day
    of its first work. `verdict` is the line with the number of its findings, those of variation included.
    """

    inputs: str
    folder: Path
    is_planned: bool
    summary: ScreenPart
    cut: tuple[ScreenPart, ...] = ()
    days: ScreenPart | None = None
    no_days: str = ""
    to_try: tuple[SettingToTry, ...] = ()
    to_change: tuple[SettingToChange, ...] = ()
    late: str = ""
    begins: date | None = None
    verdict: str = ""


def results_beside(design: Path) -> Path:
    """The folder for the results of all designs in the folder of this one, there or not.

    Raises InputError if it is a link that leads out of the folder.
    """
    return inside(design.parent, "out/-", "folder for results").parent


def inputs_digest(design: Path) -> str:
    """A digest of the design file and of every file that it names. Raises InputError if one cannot be read."""
    found = hashlib.sha256(read_file(design, "a design file"))
    for _, name in files_named(load(design, "design")):
        found.update(b"\0" + name.encode("utf-8", "replace") + b"\0")
        found.update(read_file(design.parent / name, "a file that the design names", _LARGEST))
    return found.hexdigest()
