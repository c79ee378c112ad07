"""`cagework manual`: what the manual says, topic by topic."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import print_markdown

_MOST, _FEW = 8, 3
"""How many topics a word is said to stand in, and under how many headings of each."""


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("topic", metavar="TOPIC", nargs="?", help="what to read of (without it: what there is)")


def run(parsed: argparse.Namespace) -> Exit:
    """Print the topic, or the list of topics."""
    from cagework.typeset.manual.topics import topics
    known = topics()
    if parsed.topic is None:
        wide = max(map(len, known))
        for topic in known.values():
            print(f"{topic.name:{wide}}  {topic.summary}")
        print("\nRead one with: cagework manual TOPIC", file=sys.stderr)
        return Exit.FINE
    if parsed.topic not in known:
        _tell_where(parsed.topic, tuple(known))
        return Exit.USAGE
    print_markdown(known[parsed.topic].told)
    return Exit.FINE


def _tell_where(word: str, known: Sequence[str]) -> None:
    """Of a word that is no topic: the topic that was meant, or those in which it stands."""
    from cagework.typeset.faults import nearest, or_else, quoted
    from cagework.typeset.manual.topics import places_of
    print(f"cagework: the manual has no topic {quoted(word)}", file=sys.stderr)
    places = places_of(word) if word.strip() and not nearest(word, known) else {}
    if not places:
        print(f"hint: {or_else(word, known)}", file=sys.stderr)
        return
    print("hint: it stands in these, to be read with: cagework manual TOPIC", file=sys.stderr)
    for topic, headings in list(places.items())[:_MOST]:
        more = ", ..." if len(headings) > _FEW else ""
        print(f"  {topic:{max(map(len, known))}}  {', '.join(headings[:_FEW])}{more}", file=sys.stderr)
