"""The commands: parse, call one function, print. `main` is the group; each module adds its commands to it."""

from woodshop.cli import book, checking, delivering, designing, page, planning, scheduling, trading
from woodshop.cli.frame import main

__all__ = ["book", "checking", "delivering", "designing", "main", "page", "planning", "scheduling", "trading"]
