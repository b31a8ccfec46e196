"""One drawing model and three pens: PDF for the bench, DXF for the machine, SVG for the screen."""

from woodshop.drawing.values import unconfigured as unconfigured  # before any of the libraries is imported
