"""The two engines that give a second and a third opinion, and what draws puzzles for them, as fixtures."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest


def _beside(name: str) -> ModuleType:
    """Load a file of this folder, which is no package."""
    full = f"cagework_outside_{name}"
    if full not in sys.modules:
        spec = importlib.util.spec_from_file_location(full, Path(__file__).with_name(f"{name}.py"))
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[full] = module
        spec.loader.exec_module(module)
    return sys.modules[full]


@pytest.fixture(scope="session")
def cpsat() -> ModuleType:
    """OR-Tools CP-SAT."""
    return _beside("oracle")


@pytest.fixture(scope="session")
def crossed() -> ModuleType:
    """OR-Tools CP-SAT on crossing sums, which it reads off their map."""
    return _beside("crossed")


@pytest.fixture(scope="session")
def orders() -> ModuleType:
    """What is composed to order, and what is wrong with it."""
    return _beside("composed")


@pytest.fixture(scope="session")
def ruled() -> ModuleType:
    """What draws puzzles with several rules."""
    return _beside("ruled")


@pytest.fixture(scope="session")
def sat() -> ModuleType:
    """python-sat."""
    return _beside("sat")


@pytest.fixture(scope="session")
def step_oracle() -> ModuleType:
    """CP-SAT's opinion on a step, from what it cites alone."""
    return _beside("step_oracle")
