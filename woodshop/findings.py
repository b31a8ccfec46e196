"""Findings of the checks, which are collected and never raised."""

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """The severity of a finding.

    A problem with the user's own hardware is a note. A problem caused or worsened by hardware made here is a warning
    (think before cutting) or an error (do not cut).
    """

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"


_WEIGHT = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of a check, as text for people.

    `place` is where it was found, `value` is what was found, `limits` is what is allowed, and `change` is what to do.
    `source` is the source of the limits. `code` names the rule, such as `strip-lifts-rim`.

    `remedy` is the same change in machine-readable form, if changing lines of the design is enough. It maps the path of
    each line to its new value as written in the file; "" removes the line. A path is "board.KEY", "hives.KEY" (or
    "hives.NAME.KEY" if groups have names), "make.ITEM.KEY", or "make.ITEM" for another item to make.
    """

    code: str
    severity: Severity
    place: str
    value: str
    limits: str
    source: str
    change: str
    remedy: tuple[tuple[str, str], ...] = ()

    def __str__(self) -> str:
        return f"{self.severity.upper()} {self.code}: {self.place}: {self.value}; wanted {self.limits}. {self.change}"

    def to_json(self) -> dict[str, Any]:
        """The finding as strings, with keys in a fixed order; `remedy` is an object from path to value."""
        values: dict[str, Any] = {each.name: str(getattr(self, each.name)) for each in fields(self)}
        return values | {"remedy": dict(self.remedy)}


@dataclass(frozen=True, slots=True)
class Report:
    """Findings ordered by severity, then by code and place, so that the same findings give the same report."""

    findings: tuple[Finding, ...] = ()

    @property
    def has_errors(self) -> bool:
        """Whether any finding is an error, which means "do not cut"."""
        return any(finding.severity is Severity.ERROR for finding in self.findings)

    def count(self, severity: Severity) -> int:
        """The number of findings with this severity."""
        return sum(finding.severity is severity for finding in self.findings)


def gather(*groups: tuple[Finding, ...] | list[Finding]) -> Report:
    """One report from several groups of findings, in a fixed order and without duplicates."""
    found = dict.fromkeys(finding for group in groups for finding in group)
    return Report(tuple(sorted(found, key=lambda f: (_WEIGHT[f.severity], f.code, f.place, f.value))))
