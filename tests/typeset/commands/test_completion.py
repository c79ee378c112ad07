"""`completion`: what it prints is asked by a shell, which offers what the command line takes."""

from __future__ import annotations

import argparse
import shutil
import subprocess
from pathlib import Path

import pytest

from cagework.typeset.commands.completion import SCRIPTS
from cagework.typeset.commands.door import COMMANDS, main, parser
from cagework.typeset.commands.exits import Exit


@pytest.fixture(name="scripts", scope="module")
def _scripts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("scripts")
    with pytest.MonkeyPatch.context() as patch:
        for shell in SCRIPTS:
            with (folder / shell).open("w", encoding="utf-8") as out:
                patch.setattr("sys.stdout", out)
                assert main(["completion", shell]) == Exit.FINE
    return folder


ASK = """\
source "$1"
while read -ra COMP_WORDS; do
    [[ ${COMP_WORDS[-1]} == ^ ]] && COMP_WORDS[-1]=
    COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
    _cagework
    echo "${COMPREPLY[*]}"
done
"""


def offered(scripts: Path, *lines: str) -> list[list[str]]:
    """What bash offers at the end of each line; `^` stands for a word that has just been begun."""
    asked = "".join(f"{one}\n" for one in lines)
    done = subprocess.run(["bash", "-c", ASK, "bash", scripts / "bash"], input=asked, text=True, check=True,
                          capture_output=True)
    assert done.stderr == ""
    return [line.split() for line in done.stdout.splitlines()]


def test_bash_offers_what_the_command_line_takes(scripts: Path) -> None:
    (below,) = (action for action in parser(COMMANDS)._actions if isinstance(action, argparse._SubParsersAction))
    options = {name: {option for action in command._actions for option in action.option_strings}
               for name, command in below.choices.items()}
    first, *found = offered(scripts, "cagework ^", *(f"cagework {name} -" for name in options))
    assert set(first) == {*COMMANDS, "-h", "--help", "--version"}
    assert [set(one) for one in found] == list(options.values())
    values = [(f"cagework {name} x {option} ^", list(map(str, action.choices)))
              for name, command in below.choices.items() for action in command._actions if action.choices
              for option in action.option_strings]
    assert len(values) > 5 and offered(scripts, *(line for line, _ in values)) == [words for _, words in values]


def test_bash_goes_by_what_is_begun_and_leaves_files_to_itself(scripts: Path) -> None:
    assert offered(scripts, "cagework bu", "cagework build book.yaml --pr", "cagework completion z",
                   "cagework build ^", "cagework build --out ^", "cagework check --seconds ^") == [
        ["build"], ["--press"], ["zsh"], [], [], []]


@pytest.mark.parametrize("shell", SCRIPTS)
def test_every_option_is_in_every_script_and_the_shell_can_read_it(shell: str, scripts: Path) -> None:
    """By the shell itself, where it is installed."""
    text = (scripts / shell).read_text(encoding="utf-8")
    (below,) = (action for action in parser(COMMANDS)._actions if isinstance(action, argparse._SubParsersAction))
    for name, command in below.choices.items():
        assert name in text
        for action in command._actions:
            for option in action.option_strings:
                assert (f"-l {option[2:]} " if shell == "fish" and option[:2] == "--" else option[1:]) in text
    if found := shutil.which(shell):
        done = subprocess.run([found, "-n", scripts / shell], capture_output=True, text=True, check=False)
        assert (done.returncode, done.stderr) == (0, "")
