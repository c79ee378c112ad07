"""Calculators against an outside interpreter: Ghostscript's PostScript, of which they are a part."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path

import pytest
from pypdf.generic import DecodedStreamObject, NameObject, NumberObject

from cagework.typeset.reader.functions import read_function

WHOLE = ("7", "2", "-7", "-2", "52", "17", "1")
REAL = ("2.5", "-2.5", "6.5", "0.4", "-0.6", "3", "30", "-135")
OPERANDS = {
    **dict.fromkeys(("add", "sub", "mul", "div", "atan", "eq", "ne", "gt", "ge", "lt", "le"), (REAL, REAL)),
    **dict.fromkeys(("idiv", "mod", "and", "or", "xor"), (WHOLE, WHOLE)),
    "exp": (("9", "2.5"), REAL), "bitshift": (("7", "52"), ("0", "3", "-1", "-9", "-40")),
    **dict.fromkeys(("abs", "neg", "ceiling", "floor", "round", "truncate", "sin", "cos", "cvi", "cvr"), (REAL,)),
    **dict.fromkeys(("sqrt", "ln", "log"), (("0.25", "9", "1000"),)), "not": (WHOLE,),
}
"""ISO 32000-1, table 42: each operator on numbers, with what it takes."""
TRUTHS = ("true", "false")
PROGRAMS = [
    *map(" ".join, product(TRUTHS, TRUTHS, ("and", "or", "xor"))),
    "true not", "false not", "2 3 lt not", "4 4 eq not", "2 3 lt 3 2 lt or",
    "1 2 3 pop", "1 2 dup", "1 2 exch", "1 2 3 2 copy", "1 2 0 copy", "7 8 9 0 index", "7 8 9 2 index",
    "1 2 3 4 3 1 roll", "1 2 3 4 3 -1 roll", "1 2 3 4 4 6 roll", "1 2 3 2 0 roll",
    "1 2 lt { 5 } if", "2 1 lt { 5 } if 6", "1 2 lt { 5 } { 6 } ifelse", "2 1 lt { 5 } { 6 } ifelse",
    "3 2 gt { 1 0 gt { 7 } { 8 } ifelse } { 9 } ifelse",
]


def programs() -> Iterator[str]:
    yield from PROGRAMS
    for word, takes in OPERANDS.items():
        for values in product(*takes):
            yield f"{' '.join(values)} {word}"


def calculated(program: str) -> tuple[float, ...]:
    stream = DecodedStreamObject()
    stream.set_data(b"{ " + program.encode() + b" }")
    stream[NameObject("/FunctionType")] = NumberObject(4)
    return read_function(stream)(())


def test_every_operator_makes_what_postscript_makes(
    tool: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path,
) -> None:
    asked, file = list(programs()), tmp_path / "asked.ps"
    file.write_text("\n".join(f"clear {program} count array astore ==" for program in asked), encoding="ascii")
    told = tool("gs", "-q", "-dNODISPLAY", "-dBATCH", "-dNOPAUSE", "-dSAFER", file)
    answers = told.stdout.split("\n")[:-1]
    assert len(answers) == len(asked) > 400, told.stdout[-500:]
    for program, answer in zip(asked, answers, strict=True):
        words = answer.strip("[]").replace("true", "1").replace("false", "0").split()
        assert calculated(program) == pytest.approx(tuple(map(float, words)), rel=1e-5, abs=1e-5), program


def test_a_shift_beyond_all_bits_leaves_nothing_and_takes_no_room() -> None:
    """ISO 32000-1, annex C: a whole number has 32 bits. A file that asks for more must not get a billion."""
    assert calculated("1 1e12 bitshift") == (0.0,)
    assert calculated(f"1 {'9' * 300} bitshift 1 30 bitshift") == (0.0, 2.0 ** 30)
