"""Finished files tampered with by a program that did not write them: what shows on paper or screen, and what is
only heard, copied or run. Each is caught and named.
"""

from __future__ import annotations

import importlib.util
import io
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pikepdf
import pytest


def beside(name: str) -> ModuleType:
    """Load a file of this folder, which is no package."""
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    return sys.modules[name]


TAMPERS = beside("tampering").TAMPERS
for kind in ("sheet", "painted", "letters", "unseen"):
    beside(f"tampers_{kind}")


@pytest.mark.parametrize("name", TAMPERS)
def test_a_tampered_file_is_told(name: str, little: Any) -> None:
    change, said = TAMPERS[name]
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(little.data)) as pdf:
        change(pdf, little)
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    told = little.told(out.getvalue())
    assert any(said in line for line in told), told


def test_the_tampers_are_as_many_as_they_should_be() -> None:
    assert len(TAMPERS) >= 100


def test_an_encrypted_file_is_told(little: Any) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(little.data)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="o", user="", R=4, aes=False, metadata=False))
    assert "file: it is encrypted" in little.told(out.getvalue())


