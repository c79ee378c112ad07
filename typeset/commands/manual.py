"""`cagework manual`: what the manual says, topic by topic."""

from __future__ import annotations

import argparse
import sys

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import print_markdown


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
        from cagework.typeset.faults import or_else, quoted
        print(f"cagework: the manual has no topic {quoted(parsed.topic)}\n"
              f"hint: {or_else(parsed.topic, tuple(known))}", file=sys.stderr)
        return Exit.USAGE
    print_markdown(known[parsed.topic].told)
    return Exit.FINE
