"""One drawing model and its pens: PDF for the bench, DXF for CNC machines, SVG for the screen.

The drawing libraries run with their defaults; they do not read a user's configuration files.
"""

import configparser
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from types import ModuleType
from typing import Any

# the PDF library looks on the path for a module with this name, and in the home folder for a file only if there is none
sys.modules.setdefault("reportlab_settings", ModuleType("reportlab_settings"))


@contextmanager
def unconfigured() -> Iterator[None]:
    """Imports the DXF library within this block, so that it does not read `ezdxf.ini` in the working or home folder."""

    def read_none(self: configparser.ConfigParser, filenames: Any, encoding: str | None = None) -> Iterable[str]:
        return []

    before = configparser.ConfigParser.read
    configparser.ConfigParser.read = read_none  # type: ignore[assignment,method-assign]
    try:
        yield
    finally:
        configparser.ConfigParser.read = before  # type: ignore[method-assign]
