"""Runs that want one path are kept apart, and no lock outlives them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

MINE = """
import sys, time
from pathlib import Path
from cagework.typeset.host.locks import TakenError, alone_at
place = Path(sys.argv[1])
for _ in range(30):
    with alone_at(place, place.with_name("beside"), patience=120.0):
        there = place.with_name("someone")
        there.touch(exist_ok=False)     # or there are two
        time.sleep(0.001)
        there.unlink()
"""


def test_several_at_once_take_turns_and_leave_no_lock(tmp_path: Path) -> None:
    folder, place = tmp_path / "passing", tmp_path / "out"
    folder.mkdir()
    runs = [subprocess.Popen([sys.executable, "-c", MINE, str(place)], stderr=subprocess.PIPE, text=True,
                             env={**os.environ, "TMPDIR": str(folder)}) for _ in range(4)]
    for run in runs:
        _, told = run.communicate(timeout=300)
        assert (run.returncode, told) == (0, "")
    assert len(list(folder.iterdir())) == 1, "the gate, for all paths"
