"""One drawing model and three pens: PDF for the bench, DXF for the machine, SVG for the screen."""
