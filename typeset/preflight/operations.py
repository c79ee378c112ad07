"""A content stream's bytes to its operations: the operands, then the operator.

Streams of numbers, names, strings and arrays, which is nearly all there are, are cut up here in a tenth of the
time that pypdf takes over them; whatever else one holds (inline images, comments, damage) is left to pypdf.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from pypdf.generic import ContentStream, DictionaryObject, NameObject, NumberObject

Operation = tuple[Sequence[Any], str]
"""(operands, operator). A number may still be its digits, as `float` takes them; names keep their slash."""

_NAMES = """b B b* B* BDC BMC BT BX c cm CS cs d d0 d1 Do DP EMC ET EX f F f* G g gs h i j J K k l m M MP n q Q re
RG rg ri s S SC sc SCN scn sh T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y ' \"
"""
_OPERATORS: Mapping[bytes, str] = MappingProxyType({name.encode(): name for name in _NAMES.split()})
"""The operators of ISO 32000-1, annex A, but those of inline images."""

_STRING = re.compile(rb"\(((?:[^()\\\r]|\\[\s\S])*)\)|<([0-9A-Fa-f\0\t\n\f\r ]*)>|<</MCID ([0-9]{1,9})>>")
"""A string without inner brackets, one in hexadecimal, or the number of a piece of marked content."""

_UNUSUAL = re.compile(
    rb"[%#{}<>()]"                                          # comments, dictionaries, damage
    rb"|(?<![^\0\t\n\f\r \[\]])(?=[-+.0-9])"                 # what begins as a number, but is none
    rb"(?![-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[\0\t\n\f\r \[\]/]|$))")

_ESCAPE = re.compile(rb"\\(?:([0-7]{1,3})|(\r\n|[\s\S]))")
_ESCAPED = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\n": b"", b"\r": b"", b"\r\n": b""}


def operations(stream: Any, pdf: Any) -> Sequence[Operation]:
    """All operations of a content stream, or an array of them, in order; what pypdf raises where it is broken."""
    content = ContentStream(stream, pdf)
    found = _plain(content.get_data())
    if found is None:
        found = [(operands, operator.decode("latin-1")) for operands, operator in content.operations]
    return found


def _plain(data: bytes) -> list[Operation] | None:
    """The operations of a stream that holds nothing unusual; None where it does."""
    found: list[Operation] = []
    operands: list[Any] = []
    around: list[list[Any]] = []
    parts = iter(_STRING.split(data))
    for between in parts:
        if _UNUSUAL.search(between):
            return None
        for word in _spaced(between).split():
            operator = _OPERATORS.get(word)
            if operator is not None and not around:
                found.append((operands, operator))
                operands = []
            elif word[0] == _SLASH:
                operands.append(word.decode("latin-1"))
            elif word[0] <= _NINE:
                operands.append(float(word) if around else word)
            elif word == b"[":
                around.append(operands)
                operands = []
            elif word == b"]" and around:
                around[-1].append(operands)
                operands = around.pop()
            else:
                return None
        literal, digits, number = next(parts, None), next(parts, None), next(parts, None)
        if literal is not None:
            operands.append(_ESCAPE.sub(_meant, literal) if b"\\" in literal else literal)
        elif digits is not None:
            operands.append(_from_digits(digits))
        elif number is not None:
            operands.append(DictionaryObject({NameObject("/MCID"): NumberObject(int(number))}))
    return None if around else found


_SLASH, _NINE = b"/9"


def _spaced(code: bytes) -> bytes:
    """With spaces between all words, which brackets and slashes may do without."""
    return code.replace(b"[", b" [ ").replace(b"]", b" ] ").replace(b"/", b" /").replace(b"\0", b" ")


def _meant(escape: re.Match[bytes]) -> bytes:
    """What an escape in a string stands for (ISO 32000-1, 7.3.4.2)."""
    if escape[1]:
        return bytes((int(escape[1], 8) & 0xFF,))
    return _ESCAPED.get(escape[2], escape[2])


def _from_digits(digits: bytes) -> bytes:
    plain = digits.translate(None, b"\0\t\n\f\r ").decode("ascii")
    return bytes.fromhex(plain + "0" * (len(plain) % 2))
