"""The home screen: the designs of the folder."""

from nicegui import ui

from woodshop.page.frame import address, screens
from woodshop.page.opened.folder import Folder


def serve_home(folder: Folder) -> None:
    """Serves the home screen at /."""

    @ui.page("/")
    def home() -> None:
        ui.page_title("woodshop")
        ui.label("Your designs").props("role=heading aria-level=1")
        for name in folder.designs():
            ui.link(name, address(name, screens()[0].route))
