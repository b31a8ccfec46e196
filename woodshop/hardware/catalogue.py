"""Imports every maker of this package, in the order in which a board is built."""

from woodshop.hardware import fondant_rim, mesh_floor, packing_blocks, quilt_box, spacer_strips

__all__ = ["fondant_rim", "mesh_floor", "packing_blocks", "quilt_box", "spacer_strips"]
