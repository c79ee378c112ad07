"""The program's start. A worker process imports it again, and it alone, so all else is loaded when it runs."""

from __future__ import annotations

import gc
import sys


def main() -> int:
    """Run the command that the arguments name, and return its exit status."""
    try:
        from cagework.typeset.commands.door import main as run
        status = run(last=True)
    except KeyboardInterrupt:       # while all that was being loaded
        print("stopped; nothing was written", file=sys.stderr)
        return 130
    gc.freeze()     # what is left goes with the process, and is not to be looked through once more
    return status


if __name__ == "__main__":
    sys.exit(main())
