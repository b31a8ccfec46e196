"""A hive with one part shifted by hand."""

from dataclasses import replace

from woodshop.hive.stacking.stack import Stack
from woodshop.shape.part import Point


def with_part(stack: Stack, tier: int, part: int, by: Point) -> Stack:
    """The same hive with one part of one tier shifted, and nothing else: what leans on it stays where it was."""
    old = stack.tiers[tier]
    placed = (*old.placed[:part], old.placed[part].moved(by), *old.placed[part + 1 :])
    return replace(stack, tiers=(*stack.tiers[:tier], replace(old, placed=placed), *stack.tiers[tier + 1 :]))
