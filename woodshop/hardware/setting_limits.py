"""The least and most of every setting that can be given in more than one place, once.

Common practice, no source: each is wider than anything that is built or sold, and shuts out slips of the pen.
"""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SettingLimits:
    """What a setting is, and the least and most it may be, as text with its unit; inches where none is written."""

    what: str
    least: str
    most: str


LIMITS: Mapping[str, SettingLimits] = {
    "sugar": SettingLimits("dry sugar in one board", "1 lb", "40 lb"),
    "density": SettingLimits("dry sugar in a litre of packed damp sugar", "0.4 kg/L", "1.3 kg/L"),
    "gap": SettingLimits("gap over the top bars", "0", "1"),
    "length": SettingLimits("outside length of a box", "8", "36"),
    "width": SettingLimits("outside width of a box", "2", "36"),
    "height": SettingLimits("height of a box", "2", "16"),
    "wall": SettingLimits("thickness of a box's wall", "1/4", "3"),
    "rim_length": SettingLimits("outside length of a rim", "8", "36"),
    "rim_width": SettingLimits("outside width of a rim", "2", "36"),
    "frame_depth": SettingLimits("depth of a frame", "2", "16"),
    "inner_cover": SettingLimits("thickness of the inner cover", "0", "3"),
    "cover_skirt": SettingLimits("depth of the cover's skirt", "0", "6"),
    "cover_clearance": SettingLimits("cover wider than the box, each side", "0", "1"),
}
"""By the key of [[hives]]; items that ask for the same thing take their least and most from here."""


def between(key: str) -> tuple[str, str]:
    """The least and most of a setting, as an item's `Param` takes them."""
    return LIMITS[key].least, LIMITS[key].most
