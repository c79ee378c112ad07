"""A PDF's functions: numbers to numbers (ISO 32000-1, 7.10), as tints and gradients use them."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import chain, pairwise
from typing import Any

from pypdf.generic import StreamObject

from cagework.typeset.reader.keys import each, look, numbers

Function = Callable[[Sequence[float]], tuple[float, ...]]

_DEPTH = 8
_STEPS = 10_000
"""Functions within functions, and what one calculator may do: more is a file that runs in circles."""


def read_function(thing: Any, depth: int = 0) -> Function:
    """A function, or an array of them that take the same numbers. ValueError where it is none."""
    if depth > _DEPTH:
        raise ValueError("functions within functions without end")
    if listed := each(thing):
        parts = [read_function(part, depth + 1) for part in listed]
        return lambda inputs: tuple(chain.from_iterable(part(inputs) for part in parts))
    match look(thing, "/FunctionType"):
        case 0:
            made: Function = _sampled(thing)
        case 2:
            made = _exponential(thing)
        case 3:
            made = _stitched(thing, depth)
        case 4:
            made = _calculator(thing)
        case _:
            raise ValueError("a function of no known type")
    return partial(_held, made, _pairs(numbers(look(thing, "/Domain"))), _pairs(numbers(look(thing, "/Range"))))


def _held(
    function: Function, domain: Sequence[tuple[float, float]], reach: Sequence[tuple[float, float]],
    inputs: Sequence[float],
) -> tuple[float, ...]:
    """A function held to its domain and range."""
    made = function([min(max(x, low), high) for x, (low, high) in zip(inputs, domain, strict=False)])
    if not reach:
        return made
    return tuple([min(max(y, low), high) for y, (low, high) in zip(made, reach, strict=False)])


def _pairs(edges: Sequence[float]) -> list[tuple[float, float]]:
    return list(zip(edges[::2], edges[1::2], strict=False))


def _between(x: float, old: tuple[float, float], new: tuple[float, float]) -> float:
    width = old[1] - old[0]
    return new[0] + ((x - old[0]) * (new[1] - new[0]) / width if width else 0.0)


def _sampled(thing: Any) -> Function:
    """Type 0, by the nearest sample: what is asked is how much ink there is, not how smoothly it runs."""
    sizes = [int(size) for size in numbers(look(thing, "/Size"))]
    bits, data = int(look(thing, "/BitsPerSample")), thing.get_data()
    domain = _pairs(numbers(look(thing, "/Domain")))
    outputs = len(numbers(look(thing, "/Range"))) // 2
    encode = _pairs(numbers(look(thing, "/Encode"))) or [(0.0, size - 1.0) for size in sizes]
    decode = _pairs(numbers(look(thing, "/Decode"))) or _pairs(numbers(look(thing, "/Range")))

    def find(inputs: Sequence[float]) -> tuple[float, ...]:
        at, stride = 0, 1
        for x, span, code, size in zip(inputs, domain, encode, sizes, strict=False):
            at += stride * min(max(round(_between(x, span, code)), 0), size - 1)
            stride *= size
        full = (0.0, float((1 << bits) - 1))
        return tuple(_between(_bits(data, (at * outputs + n) * bits, bits), full, decode[n])
                     for n in range(outputs))

    return find


def _bits(data: bytes, start: int, count: int) -> int:
    """Some bits as a number; what lies past the end counts as 0."""
    first, last = start // 8, (start + count + 7) // 8
    held = int.from_bytes(data[first:last].ljust(last - first, b"\0"))
    return held >> (last * 8 - start - count) & ((1 << count) - 1)


def _exponential(thing: Any) -> Function:
    low, high = numbers(look(thing, "/C0")) or (0.0,), numbers(look(thing, "/C1")) or (1.0,)
    power = float(look(thing, "/N", 1))
    return lambda inputs: tuple([a + inputs[0] ** power * (b - a) for a, b in zip(low, high, strict=False)])


def _stitched(thing: Any, depth: int) -> Function:
    parts = [read_function(part, depth + 1) for part in each(look(thing, "/Functions"))]
    start, end = numbers(look(thing, "/Domain"))[:2]
    edges = [start, *numbers(look(thing, "/Bounds")), end]
    encode = _pairs(numbers(look(thing, "/Encode")))

    def choose(inputs: Sequence[float]) -> tuple[float, ...]:
        x = inputs[0]
        index = next((n for n, edge in enumerate(edges[1:-1]) if x < edge), len(parts) - 1)
        return parts[index]([_between(x, (edges[index], edges[index + 1]), encode[index])])

    return choose


def corners(thing: Any) -> Iterator[float]:
    """Where a function of one number may turn: the ends of its domain, and where parts meet."""
    for part in each(thing) or [thing]:
        edges = numbers(look(part, "/Domain"))[:2] or (0.0, 1.0)
        edges = (edges[0], *numbers(look(part, "/Bounds")), edges[-1])
        yield from edges
        for low, high in pairwise(edges):       # just before the next part begins, and between
            yield from (low + (high - low) * step / 16 for step in range(1, 16))
            yield high - (high - low) * 1e-6


_WORD = re.compile(rb"[{}]|[^\s{}]+")


def _calculator(thing: Any) -> Function:
    """Type 4: a small part of PostScript (ISO 32000-1, 7.10.5)."""
    words = iter(_WORD.findall(thing.get_data() if isinstance(thing, StreamObject) else b""))
    next(words, None)
    program = _block(words, 0)

    def work(inputs: Sequence[float]) -> tuple[float, ...]:
        stack = list(inputs)
        _run(program, stack, [_STEPS])
        return tuple(map(float, stack))

    return work


def _block(words: Iterator[bytes], depth: int) -> list[Any]:
    if depth > 64:
        raise ValueError("a calculator nested without end")
    found: list[Any] = []
    for word in words:
        if word == b"}":
            break
        if word == b"{":
            found.append(_block(words, depth + 1))
        else:
            try:
                found.append(float(word))
            except ValueError:
                found.append(word.decode("latin-1"))
    return found


def _run(program: Iterable[Any], stack: list[float], left: list[int]) -> None:
    blocks: list[list[Any]] = []
    for word in program:
        left[0] -= 1
        if left[0] < 0:
            raise ValueError("a calculator that does too much")
        if isinstance(word, list):
            blocks.append(word)
        elif isinstance(word, float):
            stack.append(word)
        elif word == "if":
            if stack.pop():
                _run(blocks[-1], stack, left)
            blocks.clear()
        elif word == "ifelse":
            _run(blocks[-2] if stack.pop() else blocks[-1], stack, left)
            blocks.clear()
        elif word in _MOVES:
            _MOVES[word](stack)
        elif word in _TWO:
            right = stack.pop()
            stack.append(_plain(_TWO[word](stack.pop(), right)))
        else:
            stack.append(_plain(_ONE[word](stack.pop())))


def _plain(value: float) -> float:
    """A truth as it is, since `not` asks which it is; any number as a real one, which cannot grow without end."""
    return value if isinstance(value, bool) else float(value)


def _copy(stack: list[float]) -> None:
    if count := int(stack.pop()):
        stack += stack[-count:]


def _index(stack: list[float]) -> None:
    stack.append(stack[-1 - int(stack.pop())])


def _roll(stack: list[float]) -> None:
    by, count = int(stack.pop()), int(stack.pop())
    if count:
        top = stack[-count:]
        by %= count
        stack[-count:] = top[-by:] + top[:-by] if by else top


def _bitwise(work: Callable[[int, int], int]) -> Callable[[float, float], float]:
    """Of truths a truth, of whole numbers bit by bit."""
    return lambda a, b: work(a, b) if isinstance(a, bool) and isinstance(b, bool) else work(int(a), int(b))


def _rounded(number: float) -> float:
    whole = math.floor(number)
    return whole + (number - whole >= 0.5)


def _shifted(number: float, by: float) -> float:
    """A whole number has 32 bits (ISO 32000-1, annex C): shifted further, nothing of it is left."""
    if abs(by) > 31:
        return 0
    return int(number) << int(by) if by >= 0 else int(number) >> int(-by)


def _exchange(stack: list[float]) -> None:
    stack[-2:] = stack[:-3:-1]


_MOVES: dict[str, Callable[[list[float]], Any]] = {
    "pop": lambda stack: stack.pop(), "dup": lambda stack: stack.append(stack[-1]), "exch": _exchange,
    "copy": _copy, "index": _index, "roll": _roll,
    "true": lambda stack: stack.append(True), "false": lambda stack: stack.append(False),
}
_TWO: dict[str, Callable[[float, float], float]] = {
    "add": lambda a, b: a + b, "sub": lambda a, b: a - b, "mul": lambda a, b: a * b, "div": lambda a, b: a / b,
    "idiv": lambda a, b: int(a / b), "mod": math.fmod, "exp": lambda a, b: a ** b,
    "atan": lambda a, b: math.degrees(math.atan2(a, b)) % 360, "eq": lambda a, b: a == b,
    "ne": lambda a, b: a != b, "gt": lambda a, b: a > b, "ge": lambda a, b: a >= b, "lt": lambda a, b: a < b,
    "le": lambda a, b: a <= b, "and": _bitwise(operator.and_), "or": _bitwise(operator.or_),
    "xor": _bitwise(operator.xor), "bitshift": _shifted,
}
_ONE: dict[str, Callable[[float], float]] = {
    "abs": abs, "neg": lambda a: -a, "ceiling": math.ceil, "floor": math.floor, "round": _rounded,
    "truncate": math.trunc, "sqrt": math.sqrt, "sin": lambda a: math.sin(math.radians(a)),
    "cos": lambda a: math.cos(math.radians(a)), "ln": math.log, "log": math.log10, "cvi": math.trunc,
    "cvr": lambda a: a, "not": lambda a: not a if isinstance(a, bool) else ~int(a),
}
