"""A content stream's bytes to its operations: the operands, then the operator.

Streams of numbers, names, strings and arrays, which is nearly all there are, are cut up here in a small part of
the time that pypdf takes over them; whatever else one holds (inline images, comments, damage) is left to pypdf.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from pypdf.generic import ContentStream, DictionaryObject, NameObject, NumberObject, StreamObject

from cagework.typeset.reader.budget import PAGE_BYTES, PAGE_OPERATIONS, TooMuchError

Operation = tuple[Sequence[Any], str]
"""(operands, operator). A number may still be its digits, as `float` takes them, but in an array; strings are
bytes; names keep their slash.
"""

_NAMES = """b B b* B* BDC BMC BT BX c cm CS cs d d0 d1 Do DP EMC ET EX f F f* G g gs h i j J K k l m M MP n q Q re
RG rg ri s S SC sc SCN scn sh T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y ' \"
"""
_OPERATORS: Mapping[bytes, str] = MappingProxyType({name.encode(): name for name in _NAMES.split()})
"""The operators of ISO 32000-1, annex A, but those of inline images."""

KNOWN = frozenset(_OPERATORS.values()) | {"INLINE IMAGE"}
"""All operators there are."""

_SPACE = rb"[\0\t\n\f\r ]"
_END = rb"(?=[\0\t\n\f\r \[\]/(<]|\Z)"
_NUMBER = rb"[-+]?(?:[0-9]++\.?[0-9]*+|\.[0-9]++)" + _END
_NAME = rb"/[^#%()<>\[\]{}/\0\t\n\f\r ]*+" + _END
_LITERAL = rb"\((?:[^()\\\r]++|\\[\s\S])*+\)"               # a string without inner brackets
_DIGITS = rb"<[0-9A-Fa-f\0\t\n\f\r ]*+>"                    # one in hexadecimal
_PIECE = rb"<<" + _SPACE + rb"*+/MCID" + _SPACE + rb"++[0-9]{1,9}" + _SPACE + rb"*+>>"   # of marked content
_ITEM = rb"(?:" + rb"|".join((_NUMBER, _LITERAL, _NAME, _DIGITS)) + rb")" + _SPACE + rb"*+"
_ARRAY = rb"\[" + _SPACE + rb"*+(?:" + _ITEM + rb")*+\]"

_OPERATION = re.compile(
    _SPACE + rb"*+((?:(?:" + rb"|".join((_NUMBER, _NAME, _LITERAL, _ARRAY, _DIGITS, _PIECE)) + rb")"
    + _SPACE + rb"*+)*+)((?:[A-Za-z]++[01]?\*?|['\"])" + _END + rb"|\Z)|([\s\S])")
"""The operands, which may be none; the operator, empty at the end of the stream; or else a byte out of place."""

_OPERAND = re.compile(
    rb"(" + _NUMBER + rb")|(" + _NAME + rb")|\(((?:[^()\\\r]++|\\[\s\S])*+)\)|<([0-9A-Fa-f\0\t\n\f\r ]*+)>"
    rb"|([\[\]])|<<[^>]*?([0-9]++)" + _SPACE + rb"*+>>")

_STRING = re.compile(rb"\(((?:[^()\\\r]++|\\[\s\S])*+)\)([^(\]]*+)")
_CLOSING = b"] \0\t\n\f\r"
_FIGURES = b"+-.0123456789 \t\n\f\r"
_NUMERIC = frozenset(b"b B b* B* BMC BT BX c cm d0 d1 EMC ET EX f F f* G g h i j J K k l m M n q Q re RG rg s S "
                          b"T* Tc Td TD TL Tm Tr Ts Tw Tz v w W W* y".split())

_ESCAPE = re.compile(rb"\\(?:([0-7]{1,3})|(\r\n|[\s\S]))")
_ESCAPED = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\n": b"", b"\r": b"", b"\r\n": b""}


_LARGE = 1_000_000
"""Bytes from which a stream is cut up bit by bit, not to hold all of it three times."""

_LARGE_UNUSUAL = 3_000_000
"""Bytes up to which pypdf is asked: it takes some seconds over so many."""


def operations(stream: Any, pdf: Any, most: int = PAGE_OPERATIONS) -> Sequence[Operation]:
    """All operations of a content stream, or an array of them, in order; what pypdf raises where it is broken.
    TooMuchError where there are more than `most`.
    """
    content = ContentStream(stream, pdf)
    data = content.get_data()
    if not data and isinstance(stream, StreamObject) and stream._data:
        zlib.decompressobj().decompress(stream._data, 1)    # pypdf makes nothing of what cannot be unpacked
    if len(data) > PAGE_BYTES:
        raise TooMuchError(f"{len(data) // 1_000_000} MB of drawing are more than a page can hold")
    found = _plain(data, most)
    if found is None:
        if len(data) > _LARGE_UNUSUAL:
            raise TooMuchError("a drawing so large must not hold comments, damage or pictures among its operators")
        found = [(_in_bytes(operands), operator.decode("latin-1")) for operands, operator in content.operations]
    return found


def _in_bytes(operands: Any) -> Any:
    """Operands with strings as they stand in the file: pypdf turns some into text."""
    if isinstance(operands, list):
        return [_in_bytes(operand) for operand in operands]
    return operands.original_bytes if hasattr(operands, "original_bytes") else operands


def _plain(data: bytes, most: int = PAGE_OPERATIONS) -> list[Operation] | None:
    """The operations of a stream that holds nothing unusual; None where it does."""
    found: list[Operation] = []
    pieces: Iterable[Any] = _OPERATION.findall(data) if len(data) < _LARGE else (
        match.groups() for match in _OPERATION.finditer(data))
    for operands, operator, astray in pieces:
        if len(found) > most:
            raise TooMuchError("more drawing than a page can hold")
        name = _OPERATORS.get(operator)
        if name is None:
            if operator or astray:
                return None
        elif not operands:
            found.append(((), name))
        elif operator == b"TJ" and operands[:1] == b"[" and b"<" not in operands and b"\0" not in operands:
            found.append(([_array(operands)], name))
        elif operator in _NUMERIC and not operands.strip(_FIGURES):
            found.append((operands.split(), name))
        else:
            found.append((_items(operands), name))
    return found


def _array(code: bytes) -> list[bytes | float]:
    """An array of strings in brackets, and numbers."""
    found: list[bytes | float] = [*map(float, code[1:code.find(b"(")].strip(_CLOSING).split())]
    for literal, moves in _STRING.findall(code):
        found.append(_ESCAPE.sub(_meant, literal) if b"\\" in literal else literal)
        if moves:
            found += map(float, moves.split())
    return found


def _items(operands: bytes) -> list[Any]:
    """Operands of any kind, one by one."""
    found: list[Any] = []
    outside = found
    for number, name, literal, digits, bracket, piece in _OPERAND.findall(operands):
        if number:
            found.append(number if found is outside else float(number))
        elif name:
            found.append(name.decode("latin-1"))
        elif bracket == b"[":
            found = []
        elif bracket:
            outside.append(found)
            found = outside
        elif piece:
            found.append(DictionaryObject({NameObject("/MCID"): NumberObject(int(piece))}))
        elif digits:
            found.append(_from_digits(digits))
        else:
            found.append(_ESCAPE.sub(_meant, literal) if b"\\" in literal else literal)
    return found


def _meant(escape: re.Match[bytes]) -> bytes:
    """What an escape in a string stands for (ISO 32000-1, 7.3.4.2)."""
    if escape[1]:
        return bytes((int(escape[1], 8) & 0xFF,))
    return _ESCAPED.get(escape[2], escape[2])


def _from_digits(digits: bytes) -> bytes:
    plain = digits.translate(None, b"\0\t\n\f\r ").decode("ascii")
    return bytes.fromhex(plain + "0" * (len(plain) % 2))
