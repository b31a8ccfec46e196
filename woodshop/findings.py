"""What the checks say: findings, collected and never raised."""

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """How much a finding matters.

    A fault of what the user already owns is a note; what our own items cause or worsen
    is a warning (think before cutting) or an error (do not cut).
    """

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"


_WEIGHT = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of a check, in the words that a person reads.

    `place` says where, `value` what was found, `limits` what is wanted, `change` what to do;
    `source` tells where the limits come from. `code` names the rule, like `strip-lifts-rim`.

    `remedy` is the same change for machines, where lines of the design can make it: for each line its path and its new
    value as it stands in the file, "" to leave the line out. A path is "board.KEY", "hives.KEY" (or
    "hives.NAME.KEY" where groups have names), "make.ITEM.KEY", or "make.ITEM" for one more thing to make.
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
        """The finding as plain strings, keys in a fixed order; `remedy` as an object from path to value."""
        values: dict[str, Any] = {each.name: str(getattr(self, each.name)) for each in fields(self)}
        return values | {"remedy": dict(self.remedy)}


@dataclass(frozen=True, slots=True)
class Report:
    """Findings in order of weight, then of code and place; the same findings give the same report."""

    findings: tuple[Finding, ...] = ()

    @property
    def has_errors(self) -> bool:
        """Whether anything found means: do not cut."""
        return any(finding.severity is Severity.ERROR for finding in self.findings)

    def count(self, severity: Severity) -> int:
        """How many findings have this severity."""
        return sum(finding.severity is severity for finding in self.findings)


def gather(*groups: tuple[Finding, ...] | list[Finding]) -> Report:
    """One report from several groups of findings, the same in the same order each time; equal ones are kept once."""
    found = dict.fromkeys(finding for group in groups for finding in group)
    return Report(tuple(sorted(found, key=lambda f: (_WEIGHT[f.severity], f.code, f.place, f.value))))
