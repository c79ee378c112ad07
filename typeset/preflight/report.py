"""The way in: a PDF's bytes and a profile to a report of what a press would refuse."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import chain
from typing import Any

from cagework.typeset.host.parallel import Share, in_turn, page_runs
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule, PressRule
from cagework.typeset.preflight.rules import RULES
from cagework.typeset.reader.document import EncryptedPdf, PdfDocument, PdfPage, in_short, read_document


@dataclass(frozen=True, slots=True)
class Report:
    """All findings, by rule number and page; how many pages were read; the names of the rules that looked."""

    findings: tuple[Finding, ...]
    pages: int
    rules_run: tuple[str, ...]

    @property
    def passes(self) -> bool:
        """Whether nothing was found that a press would refuse; warnings are let through."""
        return not any(finding.is_error for finding in self.findings)


def preflight(data: bytes, profile: Profile) -> Report:
    """Hold a PDF to every rule of the profile's purpose. UnreadablePdf where the bytes cannot be read as one."""
    try:
        return inspect(read_document(data), profile)
    except EncryptedPdf as error:
        return locked(error)


def locked(error: EncryptedPdf) -> Report:
    """All that can be said of a file whose encryption hides the rest."""
    rule = RULES["encryption"]
    return Report((rule.found(None, str(error)),), 0, (rule.name,))


@dataclass(frozen=True, slots=True)
class Inspection:
    """The rules of a profile held to a document that was read: some look at all of it, some at its pages."""

    document: PdfDocument
    profile: Profile

    @property
    def rules(self) -> list[PressRule]:
        """Those that look, by number."""
        return [rule for rule in RULES.values() if self.profile.purpose in rule.purposes]

    @property
    def page_rules(self) -> list[PageRule]:
        """Those of them that look at pages."""
        return [rule for rule in self.rules if isinstance(rule, PageRule)]

    def whole(self) -> Iterator[Finding]:
        """What is found in the document as a whole."""
        for rule in self.rules:
            check = rule.whole if isinstance(rule, PageRule) else rule.check
            yield from _checked(rule, None, partial(check, self.document, self.profile))

    def page(self, sheet: PdfPage) -> list[Finding]:
        """What is found on one page."""
        findings: list[Finding] = []
        for rule in self.page_rules:
            findings += _checked(rule, sheet.number, partial(rule.look, sheet, self.document, self.profile))
        return findings

    def pages(self, places: Iterable[int]) -> list[Finding]:
        """What is found on some pages, by their places from 0; what they paint is let go of again."""
        findings: list[Finding] = []
        for place in places:
            sheet = self.document.sheets[place]
            findings += self.page(sheet)
            sheet.forget()
        return findings

    def report(self, findings: Iterable[Finding]) -> Report:
        """All that was found of the pages and of the whole, by rule number and page."""
        found = sorted((*self.whole(), *findings), key=lambda finding: finding.number)  # and page
        return Report(tuple(found), len(self.document.sheets), tuple(rule.name for rule in self.rules))


def inspect(document: PdfDocument, profile: Profile, share: Share = in_turn) -> Report:
    """The same for a document already read, some pages at a time, perhaps by other processes."""
    inspection = Inspection(document, profile)
    runs = page_runs(len(document.sheets)) if inspection.page_rules else ()
    jobs = [partial(inspection.pages, run) for run in runs]
    return inspection.report(chain.from_iterable(share(jobs)))


def _checked(rule: PressRule, page: int | None, check: Callable[[], Iterable[Finding]]) -> list[Finding]:
    """What a rule finds; a page or a file too broken for it to look at is what it finds there."""
    findings: list[Finding] = []
    try:
        findings.extend(check())
    except Exception as error:  # keys of a kind no rule can foresee, met where pypdf reads on demand
        said = in_short(error)
        findings.append(rule.found(page, f"this cannot be looked at, for the file is broken here: {said}"))
    return findings


def as_json(report: Report) -> dict[str, Any]:
    """A report as programs read it."""
    return {
        "passes": report.passes,
        "pages": report.pages,
        "rules": list(report.rules_run),
        "findings": [
            {"rule": finding.rule, "number": finding.number, "severity": finding.severity.value,
             "page": finding.page, "message": finding.message, "measured": dict(finding.measured)}
            for finding in report.findings
        ],
    }


def table(report: Report) -> tuple[tuple[str, str, str, str, str, str], ...]:
    """A row a rule for the terminal: number, rule, severity, pages (empty for the file as a whole), how many
    findings, and the worst of them: the first on the page that has most of its kind.
    """
    return tuple(
        (str(number), rule, severity, runs(dict.fromkeys(found.page for found in held if found.page is not None)),
         str(len(held)), max(held, key=_gravity).message)
        for (number, rule, severity), held in _by_rule(report).items()
    )


def _by_rule(report: Report) -> Mapping[tuple[int, str, str], list[Finding]]:
    held: dict[tuple[int, str, str], list[Finding]] = {}
    for finding in report.findings:
        held.setdefault((finding.number, finding.rule, finding.severity.value), []).append(finding)
    return held


def _gravity(finding: Finding) -> float:
    """How many things a finding counts, the first of equals being the worst."""
    count = finding.measured.get("count", 0)
    return float(count) if isinstance(count, (int, float)) else 0.0


def details(report: Report) -> tuple[tuple[str, str, str, str, str], ...]:
    """Rows for the terminal: number, rule, severity, pages (empty for the file as a whole), message. What is said
    of several pages in the same words is one row.
    """
    pages: dict[tuple[int, str, str, str], list[int]] = {}
    for finding in report.findings:
        said = (finding.number, finding.rule, finding.severity.value, finding.message)
        pages.setdefault(said, []).extend([] if finding.page is None else [finding.page])
    return tuple(
        (str(number), rule, severity, runs(held), message)
        for (number, rule, severity, message), held in pages.items()
    )


def runs(numbers: Iterable[int]) -> str:
    """Page numbers with runs drawn together: `3, 5-9`."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1] = [found[-1][0], number]
        else:
            found.append([number])
    return ", ".join("-".join(map(str, run)) for run in found)
