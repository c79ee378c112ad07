"""A content stream's bytes to its operations: the operands, then the operator.

Streams of numbers, names, strings and arrays, which is nearly all there are, are cut up here in a small part of
the time that pypdf takes over them; whatever else one holds (inline images, comments, damage) is left to pypdf.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
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
OPERATORS: Mapping[bytes, str] = MappingProxyType({name.encode(): name for name in _NAMES.split()})
"""The operators of ISO 32000-1, annex A, but those of inline images."""

KNOWN = frozenset(OPERATORS.values()) | {"INLINE IMAGE"}
"""All operators there are."""

SPACE = rb"[\0\t\n\f\r ]"
END = rb"(?=[\0\t\n\f\r \[\]/(<]|\Z)"
NUMBER = rb"[-+]?(?:[0-9]++\.?[0-9]*+|\.[0-9]++)" + END
_NAME = rb"/[^#%()<>\[\]{}/\0\t\n\f\r ]*+" + END
_LITERAL = rb"\((?:[^()\\\r]++|\\[\s\S])*+\)"               # a string without inner brackets
_DIGITS = rb"<[0-9A-Fa-f\0\t\n\f\r ]*+>"                    # one in hexadecimal
_PIECE = rb"<<" + SPACE + rb"*+/MCID" + SPACE + rb"++[0-9]{1,9}" + SPACE + rb"*+>>"   # of marked content
_ITEM = rb"(?:" + rb"|".join((NUMBER, _LITERAL, _NAME, _DIGITS)) + rb")" + SPACE + rb"*+"
ARRAY = rb"\[" + SPACE + rb"*+(?:" + _ITEM + rb")*+\]"

OPERATION = (
    rb"((?:(?:" + rb"|".join((NUMBER, _NAME, _LITERAL, ARRAY, _DIGITS, _PIECE)) + rb")" + SPACE
    + rb"*+)*+)((?:[A-Za-z]++[01]?\*?|['\"])" + END + rb"|\Z)|([\s\S])")
"""The operands, which may be none; the operator, empty at the end of the stream; or else a byte out of place."""

_OPERATION = re.compile(SPACE + rb"*+(?:" + OPERATION + rb")")

_OPERAND = re.compile(
    rb"(" + NUMBER + rb")|(" + _NAME + rb")|\(((?:[^()\\\r]++|\\[\s\S])*+)\)|<([0-9A-Fa-f\0\t\n\f\r ]*+)>"
    rb"|([\[\]])|<<[^>]*?([0-9]++)" + SPACE + rb"*+>>")

_STRING = re.compile(rb"\(((?:[^()\\\r]++|\\[\s\S])*+)\)([^(\]]*+)")
_BRACKETS = bytes.maketrans(b"\x01\x02", b"()")
_CLOSING = b"] \0\t\n\f\r"
_FIGURES = b"+-.0123456789 \t\n\f\r"
_NUMERIC = frozenset(b"b B b* B* BMC BT BX c cm d0 d1 EMC ET EX f F f* G g h i j J K k l m M n q Q re RG rg s S "
                          b"T* Tc Td TD TL Tm Tr Ts Tw Tz v w W W* y".split())

_SHORT = 16
"""Bytes up to which an array is remembered: single figures and totals come again and again."""

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
    content, data = unpacked(stream, pdf)
    found = _plain(data, most)
    return unusual(content, data) if found is None else found


def unpacked(stream: Any, pdf: Any) -> tuple[ContentStream, bytes]:
    """A content stream, or an array of them, and its bytes. TooMuchError where these are more than a page can
    hold; what pypdf raises where they cannot be unpacked.
    """
    content = ContentStream(stream, pdf)
    data = content.get_data()
    if not data and isinstance(stream, StreamObject) and stream._data:
        zlib.decompressobj().decompress(stream._data, 1)    # pypdf makes nothing of what cannot be unpacked
    if len(data) > PAGE_BYTES:
        raise TooMuchError(f"{len(data) // 1_000_000} MB of drawing are more than a page can hold")
    return content, data


def unusual(content: ContentStream, data: bytes) -> list[Operation]:
    """The operations of a stream that holds more than can be cut up here, by pypdf."""
    if len(data) > _LARGE_UNUSUAL:
        raise TooMuchError("a drawing so large must not hold comments, damage or pictures among its operators")
    return [(_in_bytes(operands), operator.decode("latin-1")) for operands, operator in content.operations]


def _in_bytes(operands: Any) -> Any:
    """Operands with strings as they stand in the file: pypdf turns some into text."""
    if isinstance(operands, list):
        return [_in_bytes(operand) for operand in operands]
    return operands.original_bytes if hasattr(operands, "original_bytes") else operands


def _plain(data: bytes, most: int = PAGE_OPERATIONS) -> list[Operation] | None:
    """The operations of a stream that holds nothing unusual; None where it does."""
    found: list[Operation] = []
    for operands, operator, astray in pieces(_OPERATION, data):
        if len(found) > most:
            raise TooMuchError("more drawing than a page can hold")
        if operator in OPERATORS:
            found.append(operation(operands, operator))
        elif operator or astray:
            return None
    return found


def pieces(pattern: re.Pattern[bytes], data: bytes) -> Iterable[Any]:
    """The groups of each match in a stream, not all at a time where it is large."""
    return pattern.findall(data) if len(data) < _LARGE else (match.groups(b"") for match in pattern.finditer(data))


def operation(operands: bytes, operator: bytes) -> Operation:
    """One operation, its operands cut up."""
    name = OPERATORS[operator]
    if not operands:
        return (), name
    if operator in _NUMERIC and not operands.strip(_FIGURES):
        return operands.split(), name
    if operator == b"TJ" and operands[:1] == b"[" and b"<" not in operands and b"\0" not in operands:
        return [_array(operands)], name
    return _items(operands), name


def array(code: bytes) -> Sequence[bytes | float]:
    """One array of strings and numbers."""
    if b"<" in code or b"\0" in code:
        (found,) = _items(code)
        return found    # type: ignore[no-any-return]
    return _short_array(code) if len(code) < _SHORT else _array(code)


def _array(code: bytes) -> list[bytes | float]:
    """An array of strings in brackets, and numbers."""
    plain, brackets = code, b"\\" in code
    if brackets:
        plain = code.replace(rb"\(", b"\x01").replace(rb"\)", b"\x02").replace(rb"\040", b" ")
    words: list[Any] = plain[1:].rstrip(_CLOSING).replace(b"(", b")").split(b")")
    if words[-1] or (brackets and (b"\\" in plain or rb"\\" in code or b"\x01" in code or b"\x02" in code)):
        return _any_array(code)
    try:
        words[2:-1:2] = map(float, words[2:-1:2])
        first = [float(words[0])] if words[0] else []
    except ValueError:      # between two strings stand none or several
        return _any_array(code)
    if brackets:
        words[1::2] = [literal.translate(_BRACKETS) for literal in words[1::2]]
    return first + words[1:-1]


def _any_array(code: bytes) -> list[bytes | float]:
    """The same for one that has other escapes than those of brackets and blanks, or several moves in a row."""
    found: list[bytes | float] = [*map(float, code[1:code.find(b"(")].strip(_CLOSING).split())]
    for literal, moves in _STRING.findall(code):
        found.append(unescaped(literal))
        if moves:
            found += map(float, moves.split())
    return found


_short_array = lru_cache(4096)(_array)


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
            found.append(unescaped(literal))
    return found


def unescaped(literal: bytes) -> bytes:
    """A string without its escapes."""
    return _ESCAPE.sub(_meant, literal) if b"\\" in literal else literal


def _meant(escape: re.Match[bytes]) -> bytes:
    """What an escape in a string stands for (ISO 32000-1, 7.3.4.2)."""
    if escape[1]:
        return bytes((int(escape[1], 8) & 0xFF,))
    return _ESCAPED.get(escape[2], escape[2])


def _from_digits(digits: bytes) -> bytes:
    plain = digits.translate(None, b"\0\t\n\f\r ").decode("ascii")
    return bytes.fromhex(plain + "0" * (len(plain) % 2))
