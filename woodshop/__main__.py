"""`python -m woodshop` is the command `woodshop`."""

from woodshop.cli import main

main()
