"""The forger, which the bench uses too."""

from __future__ import annotations

import importlib
import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def forge() -> ModuleType:
    """Forged steps."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(HERE)
        return importlib.import_module("forge")


@pytest.fixture(scope="session")
def cases(root: Path) -> dict[str, dict[str, Any]]:
    """The position made for each technique, in the words of `position`."""
    path = root / "tests" / "solver" / "reasoning" / "test_techniques.py"
    spec = importlib.util.spec_from_file_location("positions_of_techniques", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return {name: case.at for name, case in module.CASES.items()}
