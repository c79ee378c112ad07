"""The file says what it is to be printed on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pypdf.errors import PyPdfError

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.icc import profile_flaw, profile_words
from cagework.typeset.reader.keys import each, look
from cagework.typeset.trade.printing_condition import CONDITIONS, profile_inks
from cagework.typeset.trade.registered_conditions import condition_of, is_known, plain


class OutputIntent(PressRule):
    """A registered condition by name, or an embedded profile; PDF/X-4 always embeds one."""

    number = 9
    statement = ("One PDF/X output intent, with a condition that is registered or a sound profile made for the "
                 "condition it names.")
    source = ("PDF Reference 1.7, table 10.51; pdfbox-preflight issue 1; scope of NEN-ISO 15930-7; Esko on "
        "PDF/X-4; "
              "color.org, registry2")

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """No intent, two, or one that says too little or the wrong paper."""
        listed = each(look(document.root, "/OutputIntents"))
        intents = [intent for intent in listed if look(intent, "/S") == "/GTS_PDFX"]
        if len(intents) != 1:
            yield self.found(None, f"the file has {len(intents) or 'no'} PDF/X output intents; it needs one",
                             count=len(intents))
            return
        intent = intents[0]
        embedded = look(intent, "/DestOutputProfile")
        condition = str(look(intent, "/OutputConditionIdentifier", "")).strip()
        if not condition:
            yield self.found(None, "the output intent names no output condition")
        if not str(look(intent, "/Info", "")).strip():
            yield self.found(None, "the output intent has no Info")
        if embedded is None and document.standard is Standard.X4:
            yield self.found(None, "a PDF/X-4 output intent must embed its profile")
        elif embedded is None and not str(look(intent, "/RegistryName", "")).strip():
            yield self.found(None, "the output intent has neither a registry name nor a profile")
        if condition and embedded is None and not is_known(condition):
            yield self.found(None,
                f"'{condition[:60]}' is no registered output condition; one of one's own needs its "
                                   f"profile embedded", condition=condition)
        for stock, known in CONDITIONS.items():
            if condition == known.name and stock is not profile.stock:
                yield self.found(None, f"the file is made for {stock} paper ({condition}), "
                                       f"not for {profile.stock}", condition=condition)
        if embedded is not None:
            yield from self._profile(embedded, condition)

    def _profile(self, embedded: Any, condition: str) -> Iterator[Finding]:
        try:
            data = embedded.get_data()
            inks = profile_inks(data)
        except (AttributeError, PyPdfError, ValueError) as error:
            yield self.found(None, f"the output intent's profile: {error}")
            return
        if flaw := profile_flaw(data):
            yield self.found(None, f"the output intent's profile: {flaw}")
            return
        made_for = condition_of(profile_words(data))
        if made_for and is_known(condition) and plain(condition) != made_for:
            yield self.found(None, f"the output intent says {condition}, but its profile was made for "
                                   f"{made_for.upper()}", condition=condition, profile=made_for)
        if look(embedded, "/N") != inks:
            yield self.found(None, f"the output intent's profile has {inks} inks, but N says "
                                   f"{look(embedded, '/N')}", inks=inks)
