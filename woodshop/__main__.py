"""Runs the `woodshop` command as `python -m woodshop`."""

from woodshop.cli import main

main()
