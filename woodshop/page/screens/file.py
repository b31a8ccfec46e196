"""The design file as it is: for people who move between the page and the command line."""

from nicegui import ui

from woodshop.page.frame import screen
from woodshop.page.opened.opened import OpenDesign
from woodshop.units.wording import LengthUnit


@screen("file", "The file", 90)
def file(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the name and the text of the file."""
    ui.label(f"The page keeps this design in {opened.path.name}. The commands of woodshop read the same file.")
    with ui.element("pre").props('tabindex=0 aria-label="Text of the design file"').classes("file-text"):
        ui.label(opened.text)
