"""What is kept of a puzzle: it comes back exactly or not at all, and a kept answer is never trusted unread."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.model import Answer, Cage, Cell, Given, House, HouseKind, Pair, Puzzle, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import Path as WorkedPath
from cagework.solver.reasoning.reason import PathOutcome, Stage
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.recheck import obeys
from cagework.solver.search.exact import Outcome, Verdict
from cagework.solver.step import Cites, Claim, Digits, Step
from cagework.typeset.commands.door import main
from cagework.typeset.examples import worked_example
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.cache import Cache, code_version
from cagework.typeset.solving.check import check_puzzles
from cagework.typeset.solving.crew import Crew, found
from cagework.typeset.solving.diagnose import diagnose
from cagework.typeset.solving.record import (
    Result,
    decode,
    encode,
    puzzle_key,
    seal_of,
    sealed,
    unsealed,
)
from cagework.typeset.solving.written import RecordError

FORK = "id: fork\ntitle: Fork\nsize: 4\ncages: []\ngivens: {r1c1: 1}\n"
DARK = """\
id: dark
title: Dark
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {a: 8, b: 5, c: 6, d: 8, e: 4, f: 9}
"""


def run(*arguments: str | Path, **more: Any) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, "-m", "cagework.typeset", *map(str, arguments)],
                            stdout=subprocess.PIPE, text=True, **more)


def ran(*arguments: str | Path, **more: Any) -> tuple[int, str]:
    with run(*arguments, **more) as command:
        out, _ = command.communicate()
    return command.returncode, out


def entries(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


@pytest.fixture(scope="module")
def puzzles(sample: Path) -> list[Puzzle]:
    return [reading.entry.puzzle for reading in load_book(sample).puzzles if reading.entry][::2]


def test_findings_of_the_sample_come_back_equal_and_still_proved(puzzles: list[Puzzle]) -> None:
    for puzzle in puzzles:
        finding = found(puzzle, None)
        again = decode(encode(finding, puzzle), puzzle)
        assert again == finding and again.path is not None
        assert Prover(puzzle).first_unproved(stage.step for stage in again.path.stages) is None


def test_a_step_of_every_technique_comes_back() -> None:
    """Of every one, that is, for which the primer has an example."""
    seen = set()
    for technique in TECHNIQUES:
        example = worked_example(technique)
        if example is not None:
            path = example.worked.path
            seen.add(path.stages[example.stage].step.technique)
            finding = Result(Verdict(Outcome.SOUND, example.answer, None, 0), 0.0, path)
            assert decode(encode(finding, path.puzzle), path.puzzle) == finding
    assert len(seen) > len(TECHNIQUES) / 2


def test_everything_a_step_may_name_comes_back() -> None:
    """Values no sample path may hold: groups that are none of the puzzle's, pairs, parts within parts."""
    pair = Pair.of(Cell(1, 1), Cell(2, 3), range(1, 5), lambda x, y: x == y)
    plain = Puzzle(4, standard_houses(4), (Cage((Cell(1, 1), Cell(1, 2)), 3),), (), (pair,))
    strange = House("elsewhere", HouseKind.EXTRA, (Cell(4, 4), Cell(3, 3)))
    cage = Cage((Cell(2, 2),), None)
    cites = Cites(((Cell(1, 1), 3),), (plain.houses[0], strange), (cage, plain.cages[0]), (pair,),
                  (plain.houses[1],), (cage,), (strange,), (cage, plain.cages[0]))
    end = Step("b", 2, "w", (), (), Cites(), {"n": 3})
    step = Step("a", 1, "k", ((Cell(4, 4), 2),), ((Cell(1, 2), 5),), cites, {
        "cell": Cell(2, 1), "digits": Digits(6), "house": strange, "cage": cage, "own": plain.cages[0],
        "list": (Cell(1, 1), (Digits(1), 4)), "none": (),
        "argument": (Claim(Cell(1, 1), 2, True), Claim(Cell(1, 2), 2, False)),
    }, (end, replace(end, parts=(end,))))
    path = WorkedPath(plain, (Stage(step, 2, True, 0, False),), PathOutcome.STUCK, None, 7)
    answers = [Answer(4, tuple(map(int, digits))) for digits in ("1234341221434321", "1234341241232341")]
    for answer, second in ((answers[0], None), (None, None)):
        outcome = Outcome.SOUND if answer else Outcome.NO_ANSWER
        finding = Result(Verdict(outcome, answer, second, 9), 1.5, path)
        assert decode(encode(finding, plain), plain) == finding


def test_a_key_changes_with_anything_a_puzzle_states() -> None:
    base = Puzzle(4, standard_houses(4), (Cage((Cell(1, 1), Cell(1, 2)), 3),), (Given(Cell(4, 4), 2),))
    others = [
        replace(base, cages=(Cage((Cell(1, 1), Cell(1, 2)), 4),)),
        replace(base, cages=(Cage((Cell(1, 1), Cell(2, 1)), 3),)),
        replace(base, cages=(Cage((Cell(1, 1), Cell(1, 2)), None),)),
        replace(base, givens=()), replace(base, givens=(Given(Cell(4, 4), 3),)),
        replace(base, houses=base.houses[:-1]),
        replace(base, houses=(*base.houses[:-1], replace(base.houses[-1], name="corner"))),
        replace(base, pairs=(Pair.of(Cell(1, 1), Cell(1, 2), range(1, 5), lambda x, y: x < y),)),
        replace(base, pairs=(Pair.of(Cell(1, 1), Cell(1, 2), range(1, 5), lambda x, y: x > y),)),
    ]
    assert len({puzzle_key(one) for one in (base, *others)}) == 1 + len(others)
    assert puzzle_key(replace(base)) == puzzle_key(base)


def test_a_kept_answer_is_checked_against_the_puzzle_before_it_is_used(puzzles: list[Puzzle]) -> None:
    """A whole, well-sealed record whose answer has two digits swapped, and one that claims too little."""
    finding = found(puzzles[0], None)
    outcome, nodes, answer, second, ms, path = unsealed(encode(finding, puzzles[0]), seal_of(puzzles[0]))
    wrong = [answer[1], answer[0], *answer[2:]]
    for value in ([outcome, nodes, wrong, second, ms, None], ["sound", nodes, None, None, ms, None],
                  ["no-answer", nodes, answer, None, ms, None], ["two-answers", nodes, answer, answer, ms, None],
                  ["splendid", nodes, answer, None, ms, None], [outcome, nodes, answer[:-1], None, ms, None],
                  [outcome], 7, None):
        with pytest.raises(RecordError):
            decode(sealed(value, seal_of(puzzles[0])), puzzles[0])
    assert decode(sealed([outcome, nodes, answer, second, ms, path], seal_of(puzzles[0])), puzzles[0]) == finding


def test_a_damaged_entry_is_as_good_as_none(puzzles: list[Puzzle], tmp_path: Path) -> None:
    some = puzzles[:3]
    with Crew(Cache(tmp_path)) as crew:
        first = dict(crew.find(some, None))
    for number, path in enumerate(entries(tmp_path)):
        data = path.read_bytes()
        path.write_bytes((data[:-3], data[:50] + bytes([data[50] ^ 1]) + data[51:], b"")[number])
    with Crew(Cache(tmp_path)) as crew:
        again = dict(crew.find(some, None))
    assert {n: (one.verdict, one.path) for n, one in again.items()} == {
        n: (one.verdict, one.path) for n, one in first.items()}
    with Crew(Cache(tmp_path)) as crew:
        assert dict(crew.find(some, None)) == again, "what was worked out anew took the damaged entries' places"


def test_an_entry_of_one_puzzle_is_no_answer_to_another(puzzles: list[Puzzle], tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put("solved", puzzle_key(puzzles[1]), encode(found(puzzles[0], None), puzzles[0]))
    with Crew(cache) as crew:
        ((_, finding),) = crew.find([puzzles[1]], None)
    assert finding.verdict == found(puzzles[1], None).verdict


def test_what_ran_out_of_time_is_not_kept(tmp_path: Path) -> None:
    vast = Puzzle(16, standard_houses(16), ())
    with Crew(Cache(tmp_path)) as crew:
        ((_, finding),) = crew.find([vast], 1e-6)
    assert finding.verdict.outcome is Outcome.UNDECIDED
    assert entries(tmp_path) == []


def test_no_folder_is_no_reason_to_stop(puzzles: list[Puzzle], tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with Crew(Cache(tmp_path / "file")) as crew:
        ((_, finding),) = crew.find([puzzles[0]], None)
    assert finding.verdict.outcome is Outcome.SOUND


def test_many_processes_find_what_one_does(puzzles: list[Puzzle]) -> None:
    with Crew(None, 2) as crew:
        many = dict(crew.find(puzzles[:6], None))
    for number, finding in many.items():
        alone = found(puzzles[number], None)
        assert (finding.verdict, finding.path) == (alone.verdict, alone.path)


def test_a_diagnosis_is_kept_whole(tmp_path: Path) -> None:
    (tmp_path / "fork.yaml").write_text(FORK, encoding="utf-8")
    (tmp_path / "dark.yaml").write_text(DARK, encoding="utf-8")
    cache = Cache(tmp_path / "kept")
    for name in ("fork", "dark"):
        (checked,) = check_puzzles(load_book(tmp_path / f"{name}.yaml", puzzles_suffice=True).puzzles, None)
        first = diagnose(checked, cache)
        assert first is not None and first.lines
        again = diagnose(checked, cache)
        assert again is not first and again == replace(first, data=json.loads(json.dumps(first.data)))


@pytest.fixture
def few(tmp_path: Path) -> Path:
    """A file of three puzzles, none of them sound, as solving goes."""
    fork = "- {id: fork, title: Fork, size: 4, cages: [], givens: {r1c1: 1}}\n"
    file = tmp_path / "few.yaml"
    file.write_text(fork + fork.replace("fork", "tine").replace("r1c1: 1", "r1c1: 1, r1c2: 2")
                    + fork.replace("fork", "prong").replace("r1c1: 1", "r1c1: 1, r3c3: 1"), encoding="utf-8")
    return file


def test_only_the_changed_puzzle_is_solved_again(few: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    outs = [json.loads(ran("check", few, "--json", "--cache", kept)[1]) for _ in range(2)]
    assert outs[0] == outs[1], "read from the cache, the report is the same to the millisecond"
    before = set(entries(kept))
    assert len(before) == 3
    few.write_text(few.read_text(encoding="utf-8").replace("r1c2: 2", "r1c2: 3"), encoding="utf-8")
    ran("check", few, "--json", "--cache", kept)
    assert len(set(entries(kept)) - before) == 1


def test_two_commands_at_once_share_a_cache(few: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    both = [run("check", few, "--json", "--cache", kept) for _ in range(2)]
    said = [json.loads(one.communicate()[0])["puzzles"] for one in both]
    for a, b in zip(*said, strict=True):
        assert {**a, "ms": 0} == {**b, "ms": 0}
    assert len(entries(kept)) == 3


def test_no_cache_keeps_nothing(few: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    main(["explain", str(few), "fork", "--no-cache"])
    assert not (tmp_path / "home").exists()
    main(["explain", str(few), "fork"])
    assert len(entries(tmp_path / "home")) == 1


def test_a_changed_technique_changes_the_version(root: Path, tmp_path: Path) -> None:
    (tmp_path / "cagework").mkdir()
    for room in ("solver", "layouts", "typeset"):
        shutil.copytree(root / room, tmp_path / "cagework" / room, ignore=shutil.ignore_patterns("__pycache__"))

    def version() -> str:
        code = ("import cagework; cagework.__path__ = [" + repr(str(tmp_path / "cagework")) + "]\n"
                "from cagework.typeset.solving.cache import code_version; print(code_version())")
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        return done.stdout.strip()

    assert version() == code_version()
    technique = tmp_path / "cagework" / "solver" / "reasoning" / "techniques" / "locked.py"
    technique.write_text(technique.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    assert version() != code_version()


INTERRUPTED = """
import multiprocessing, os, signal, sys, threading, time
from cagework.typeset.commands.door import main

def interrupt():
    while len(multiprocessing.active_children()) < 2:
        time.sleep(0.1)
    time.sleep(2)
    os.kill(os.getpid(), signal.SIGINT)

os.sched_getaffinity = lambda _: {0, 1}
threading.Thread(target=interrupt, daemon=True).start()
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(os.name != "posix", reason="this check did not run: it needs POSIX signals")
def test_an_interrupt_ends_every_process(tmp_path: Path) -> None:
    """Grids of 16 that nothing but two rules narrow: tens of thousands of choices decide none of them."""
    puzzles = "".join(
        f"- {{id: vast-{n}, title: Vast, size: 16, cages: [], rules: [nonconsecutive, knight], "
        f"givens: {{r1c{n}: 1}}}}\n"
        for n in range(1, 17))
    (tmp_path / "vast.yaml").write_text(
        f"book: {{title: Vast, allow_uncaged: true}}\npuzzles:\n{puzzles}", encoding="utf-8")
    running = subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED, "check", tmp_path / "vast.yaml", "--seconds", "600", "--no-cache"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True)
    _out, err = running.communicate(timeout=1200)   # which ends only once no process holds the pipes
    assert (running.returncode, err.strip()) == (130, "stopped; nothing was written")
    for _ in range(6000):
        try:
            os.killpg(running.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.1)
    pytest.fail("a process was left")


TWIN = "id: one\ntitle: One\nsize: 4\ncages: []\ngivens: {r1c1: 1, r1c2: 2, r1c3: 3, r1c4: 4, r2c1: 3, r2c2: 4, "


@pytest.fixture
def twins(tmp_path: Path) -> tuple[Path, Path]:
    """Books of one puzzle: a sound one, and its twin, which has the same answer and others."""
    sound = TWIN + "r2c3: 1, r3c1: 2, r3c3: 4, r4c2: 3}\n"
    paths = []
    for name, text in (("sound", sound), ("unsound", TWIN.rstrip(", ") + "}\n")):
        (tmp_path / f"{name}-one.yaml").write_text(text, encoding="utf-8")
        paths.append(tmp_path / f"{name}.yaml")
        paths[-1].write_text(f"book: {{title: T, allow_uncaged: true, puzzles_from: [{name}-one.yaml]}}\n",
                             encoding="utf-8")
    return paths[0], paths[1]


def puzzle_of(book: Path) -> Puzzle:
    (reading,) = load_book(book).puzzles
    assert reading.entry is not None
    return reading.entry.puzzle


def test_an_entry_copied_to_the_name_of_another_is_as_good_as_none(
    twins: tuple[Path, Path], tmp_path: Path,
) -> None:
    """A finding to its twin's name, where its answer fits, and a diagnosis to another's."""
    kept = tmp_path / "kept"
    sound, unsound = map(puzzle_of, twins)
    assert found(sound, None).verdict.outcome is Outcome.SOUND
    with Crew(Cache(kept)) as crew:
        ((_, finding),) = crew.find([sound], None)
    (entry,) = entries(kept)
    twin = entry.parent.parent / puzzle_key(unsound)[:2] / puzzle_key(unsound)
    twin.parent.mkdir(exist_ok=True)
    shutil.copy(entry, twin)
    with pytest.raises(RecordError, match="not a whole record of that name"):
        decode(twin.read_bytes(), unsound)
    with Crew(Cache(kept)) as crew:
        ((_, again),) = crew.find([unsound], None)
    assert again.verdict.outcome is Outcome.TWO_ANSWERS and finding.verdict.answer is not None
    cache = Cache(kept)
    cache.put_json("why", "ab12", [["said"]])
    path = next(path for path in entries(kept) if path.name == "ab12")
    shutil.copy(path, path.with_name("ab34"))
    assert (cache.get_json("why", "ab12"), cache.get_json("why", "ab34")) == ([["said"]], None)


@pytest.mark.parametrize("command", ["build", "columns", "preflight"])
def test_no_cache_however_spoiled_puts_an_unsound_puzzle_on_paper(
    command: str, twins: tuple[Path, Path], tmp_path: Path, capsys: Any,
) -> None:
    """An entry well sealed to the unsound twin's name, which says that the answer both have is the only one."""
    kept, out = tmp_path / "kept", tmp_path / "out"
    sound, unsound = map(puzzle_of, twins)
    finding = found(sound, None)
    assert finding.verdict.answer is not None and obeys(unsound, finding.verdict.answer)
    Cache(kept).put("solved", puzzle_key(unsound), encode(Result(finding.verdict, 1.0, None), unsound))
    book = twins[1]
    if command == "preflight":
        assert main(["build", str(twins[0]), "--out", str(tmp_path / "sound"), "--no-cache"]) == 0
        arguments = ["preflight", str(tmp_path / "sound" / "book.pdf"), "--against", str(book)]
    elif command == "columns":
        book = tmp_path / "series.yaml"
        book.write_text("series: {id: s, title: S, start: 2027-03-01, count: 1, days: {monday: stroll}}\n"
                        "pool: unsound-one.yaml\nslots: [{slot: single-column, sizes: [4]}]\n", encoding="utf-8")
        (tmp_path / "unsound-one.yaml").write_text(TWIN.rstrip(", ") + "}\ngrade: stroll\n", encoding="utf-8")
        arguments = ["columns", str(book), "--out", str(out)]
    else:
        arguments = ["build", str(book), "--out", str(out)]
    assert main([*arguments, "--cache", str(kept)]) == 1
    assert "'one' is not sound: two answers differ" in capsys.readouterr().err
    assert not out.exists()
