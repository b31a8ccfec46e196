"""The commands: parse, call one function, print. `main` is the group; each module adds its commands to it."""

from woodshop.cli import book, checking, delivering, designing, planning, scheduling, trading
from woodshop.cli.frame import main

__all__ = ["book", "checking", "delivering", "designing", "main", "planning", "scheduling", "trading"]
