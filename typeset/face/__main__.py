"""`python -m cagework`: the command. A worker process imports this again, so it loads what starts it alone."""

from __future__ import annotations

import sys

from cagework.typeset.__main__ import main

if __name__ == "__main__":
    sys.exit(main())
