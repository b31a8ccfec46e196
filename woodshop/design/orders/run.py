"""A design read together with its orders."""

from pathlib import Path

from woodshop.design.design_file import Design, read_design
from woodshop.design.orders.orders import with_orders
from woodshop.design.orders.reading import read_orders


def read_run(path: Path) -> Design:
    """A design with its orders as groups of hives. Raises InputError with every fault of the design, else of them."""
    design = read_design(path)
    return design if design.ordering is None else with_orders(design, read_orders(design.ordering))
