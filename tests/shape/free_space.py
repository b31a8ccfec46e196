"""The free space of a plane, as the patches of a scene draw it."""

import numpy

from woodshop.shape.part import Rectangle
from woodshop.shape.plane import Patch, in_slab, on_grid, patches, sides, slab
from woodshop.shape.scene import Scene, lines_between, painted
from woodshop.units.lengths import Length


def free_space(seen: Scene, axis: int, at: Length, window: Rectangle) -> tuple[Patch, ...]:
    """The free space of a plane inside a window, as connected pieces with holes, in a fixed order."""
    on = on_grid(seen, at, window)
    thin = slab(on.grid, axis, at, window)
    blocks = in_slab(on, axis, thin)
    lines = lines_between(blocks, *thin)
    along_u, along_v = ([int(n) for n in lines[side]] for side in sides(axis))
    free = numpy.logical_not(numpy.moveaxis(painted(blocks, lines), axis, 0)[0])
    return patches(free, along_u, along_v, on.grid)
