"""The rule that joins the handbook's two tables of wood: shrinkage and coefficients of change in size."""


def coefficient_from_shrinkage(shrinkage: float, starts: float) -> float:
    """The coefficient that total shrinkage gives: 1 / (100 f / S - f + 10), for a size at 10 % moisture content.

    `shrinkage` S is percent of the green size, `starts` f the moisture content at which shrinking starts, percent.
    It is the straight line of shrinkage from f to nothing, over the size at 10 %; the handbook's coefficients
    come out of it with f = 30, and those of western redcedar and northern white-cedar only with f = 22.
    """
    return 1 / (100 * starts / shrinkage - starts + 10)
