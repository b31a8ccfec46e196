"""Imports every maker of this package: a new item is one file, and one name here."""

from woodshop.hardware import (
    bee_space_gauge,
    bottom_closure,
    cake_rim,
    feeder_quilt,
    fondant_rim,
    mesh_floor,
    mouse_guard,
    packing_blocks,
    quilt_box,
    spacer_strips,
    vent_spacers,
)

__all__ = [
    "bee_space_gauge",
    "bottom_closure",
    "cake_rim",
    "feeder_quilt",
    "fondant_rim",
    "mesh_floor",
    "mouse_guard",
    "packing_blocks",
    "quilt_box",
    "spacer_strips",
    "vent_spacers",
]
