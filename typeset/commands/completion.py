"""`cagework completion`: a script that has a shell complete commands, options and their values.

It says what the command line's own parser says, of all commands at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from cagework.typeset.commands.exits import Exit

_HOW = """\
where the script goes:
  bash  cagework completion bash >> ~/.bashrc
  zsh   cagework completion zsh >> ~/.zshrc      (after the line that calls compinit)
  fish  cagework completion fish > ~/.config/fish/completions/cagework.fish
It counts in shells that are opened from then on.
"""


class Option(NamedTuple):
    """An option by its names: what it is for, and what may stand after it: nothing, one of `choices`, a path, or
    something else.
    """

    names: tuple[str, ...]
    help: str
    takes: bool
    choices: tuple[str, ...]
    is_path: bool


class Command(NamedTuple):
    """A command, its options, and the words that may stand for its first argument, if they are known."""

    name: str
    help: str
    options: tuple[Option, ...]
    words: tuple[str, ...]


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("shell", choices=tuple(SCRIPTS), help="the shell that is to read it")
    command.formatter_class = argparse.RawDescriptionHelpFormatter
    command.epilog = _HOW


def run(parsed: argparse.Namespace) -> Exit:
    """Print the script."""
    print("\n".join(SCRIPTS[parsed.shell](*commands_of(parsed.parser()))))
    return Exit.FINE


def commands_of(top: argparse.ArgumentParser) -> tuple[tuple[Option, ...], list[Command]]:
    """The options of the program itself, and its commands."""
    (below,) = (action for action in top._actions if isinstance(action, argparse._SubParsersAction))
    helps = {action.dest: action.help or "" for action in below._choices_actions}
    commands = [Command(name, helps[name], tuple(_options(parser)), _words(parser))
                for name, parser in below.choices.items()]
    return tuple(_options(top)), commands


def _options(parser: argparse.ArgumentParser) -> Iterator[Option]:
    for action in parser._actions:
        if action.option_strings:
            yield Option(tuple(action.option_strings), (action.help or "").replace("%%", "%"), action.nargs != 0,
                         tuple(map(str, action.choices or ())), action.type is Path)


def _words(parser: argparse.ArgumentParser) -> tuple[str, ...]:
    first = next((action for action in parser._actions if not action.option_strings), None)
    return tuple(map(str, first.choices or ())) if first else ()


def _bash(top: tuple[Option, ...], commands: list[Command]) -> Iterator[str]:
    """For bash 3.2 and later. Where nothing is offered, bash offers files, as it does without a script."""
    names = " ".join((*(command.name for command in commands), *_names(top)))
    yield from (
        "_cagework() {",
        "    local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command= at words=",
        "    for ((at = 1; at < COMP_CWORD; at++)); do",
        "        [[ ${COMP_WORDS[at]} == -* ]] || { command=${COMP_WORDS[at]}; break; }",
        "    done",
        "    COMPREPLY=()",
        "    case $command:$before in")
    for command in commands:
        for option in command.options:
            if option.takes:
                offer = f"words='{' '.join(option.choices)}'" if option.choices else "return"
                yield f"        {'|'.join(f'{command.name}:{name}' for name in option.names)}) {offer} ;;"
    yield from ("        *)", "            case $command:$current in", f"                :*) words='{names}' ;;")
    for command in commands:
        yield f"                {command.name}:-*) words='{' '.join(_names(command.options))}' ;;"
        if command.words:
            yield f"                {command.name}:*) words='{' '.join(command.words)}' ;;"
    yield from (
        "            esac ;;",
        "    esac",
        '    COMPREPLY=($(compgen -W "$words" -- "$current"))',
        "}",
        "complete -o bashdefault -o default -F _cagework cagework")


def _zsh(top: tuple[Option, ...], commands: list[Command]) -> Iterator[str]:
    """For zsh, sourced, or as a file of its own among its functions."""
    yield from (
        "#compdef cagework",
        "_cagework() {",
        "    if (( CURRENT == 2 )); then",
        "        local -a commands=(")
    yield from (f"            {_single(f'{command.name}:{command.help}')}" for command in commands)
    yield from (
        "        )",
        "        _describe command commands",
        "        _arguments \\")
    yield from (f"            {spec} \\" for spec in _specs(top))
    yield from (
        "            && return",
        "        return",
        "    fi",
        "    local command=$words[2]",
        "    shift words",
        "    (( CURRENT-- ))",
        "    case $command in")
    for command in commands:
        yield f"        {command.name}) _arguments \\"
        yield from (f"            {spec} \\" for spec in _specs(command.options))
        rest = f"*:word:({' '.join(command.words)})" if command.words else "*:file:_files"
        yield f"            {_single(rest)} ;;"
    yield from (
        "    esac",
        "}",
        "if [[ $funcstack[1] == _cagework ]]; then",
        '    _cagework "$@"',
        "else",
        "    compdef _cagework cagework",
        "fi")


def _specs(options: tuple[Option, ...]) -> Iterator[str]:
    """What `_arguments` is told of each option, by each of its names."""
    for option in options:
        said = option.help.translate({ord(sign): f"\\{sign}" for sign in "[]:\\"})
        after = ""
        if option.takes:
            offered = f"({' '.join(option.choices)})" if option.choices else "_files" if option.is_path else " "
            after = f":value:{offered}"
        yield from (_single(f"*{name}[{said}]{after}") for name in option.names)


def _fish(top: tuple[Option, ...], commands: list[Command]) -> Iterator[str]:
    first = "complete -c cagework -n __fish_use_subcommand"
    yield from (f"{first} -f -a {command.name} -d {_single(command.help, fish=True)}" for command in commands)
    yield from (f"{first} {_of_fish(option)}" for option in top)
    for command in commands:
        when = f"complete -c cagework -n '__fish_seen_subcommand_from {command.name}'"
        yield from (f"{when} {_of_fish(option)}" for option in command.options)
        if command.words:
            yield f"{when} -f -a '{' '.join(command.words)}'"


def _of_fish(option: Option) -> str:
    names = " ".join(f"-l {name[2:]}" if name.startswith("--") else f"-s {name[1:]}" for name in option.names)
    after = ""
    if option.takes:
        after = f" -x -a '{' '.join(option.choices)}'" if option.choices else " -r" if option.is_path else " -x"
    return f"{names}{after} -d {_single(option.help, fish=True)}"


def _names(options: tuple[Option, ...]) -> list[str]:
    return [name for option in options for name in option.names]


def _single(text: str, *, fish: bool = False) -> str:
    """A text in single quotation marks."""
    if fish:
        return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"
    return "'" + text.replace("'", "'\\''") + "'"


SCRIPTS: Mapping[str, Callable[[tuple[Option, ...], list[Command]], Iterator[str]]] = MappingProxyType({
    "bash": _bash, "zsh": _zsh, "fish": _fish})
"""By shell."""
