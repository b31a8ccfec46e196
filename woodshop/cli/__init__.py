"""The commands: parse, call one function, print. `main` is the group; each module adds its commands to it."""

from woodshop.cli import checking, designing, planning, trading
from woodshop.cli.frame import main

__all__ = ["checking", "designing", "main", "planning", "trading"]
