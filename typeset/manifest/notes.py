"""Where readers put down what they find wrong in one part of a document."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from cagework.typeset.faults import Fault, Severity
from cagework.typeset.manifest.document import Writing, YamlDocument
from cagework.typeset.manifest.nodes import KeyPath, Spot, Violation
from cagework.typeset.manifest.notation import Slip


@dataclass(slots=True)
class Notes:
    """The faults of one part of `document`, which stands at the key path `base`; the paths given to
    the methods go on from there.
    """

    document: YamlDocument
    base: KeyPath = ()
    faults: list[Fault] = field(default_factory=list)

    @property
    def failed(self) -> bool:
        """Whether there is an error among them."""
        return any(fault.is_error for fault in self.faults)

    def spot(self, *path: str | int, key: bool = False) -> Spot:
        """Where the value at a path stands, or its key."""
        return self.document.spot((*self.base, *path), key=key)

    def spot_in(self, path: KeyPath, offset: int, length: int = 1) -> Spot:
        """Where characters of the text at a path stand."""
        return self.document.spot_in((*self.base, *path), offset, length)

    def writings(self, keys: Iterable[str], *path: str | int) -> Mapping[str, Writing]:
        """Where the texts under some keys of a mapping stand, for whoever finds fault with them later."""
        return {key: self.document.writing((*self.base, *path, key)) for key in keys}

    def line(self, spot: Spot) -> int:
        """The line of a spot, from 1."""
        return self.document.place(spot).line

    def add(self, spot: Spot, message: str, hint: str = "", severity: Severity = Severity.ERROR) -> None:
        """Put down a fault at a spot."""
        self.faults.append(self.document.fault(spot, message, hint, severity))

    def add_findings(self, found: Iterable[Violation]) -> None:
        """Put down faults known by key path."""
        for one in found:
            self.add(self.spot(*one.path, key=one.at_key), one.message, one.hint)

    def add_slips(self, path: KeyPath, slips: Iterable[Slip]) -> None:
        """Put down faults known by character offset in the text at a path."""
        for slip in slips:
            self.add(self.spot_in(path, slip.offset, slip.length), slip.message, slip.hint)
