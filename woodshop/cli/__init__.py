"""The commands: parse, call one function, print. `main` is the group; each module adds its commands to it."""

from woodshop.cli import checking, comparing, designing, ordering, planning, quoting, rounds, season
from woodshop.cli.frame import main

__all__ = ["checking", "comparing", "designing", "main", "ordering", "planning", "quoting", "rounds", "season"]
