"""Imports every maker of this package: a new item is one file, and one name here."""

from woodshop.hardware import fondant_rim, mesh_floor, packing_blocks, quilt_box, spacer_strips

__all__ = ["fondant_rim", "mesh_floor", "packing_blocks", "quilt_box", "spacer_strips"]
