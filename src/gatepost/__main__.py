"""python -m gatepost, and the console script: an interrupt while the rest is loaded is told like any other."""

from __future__ import annotations

import os
import sys

from . import __interrupted__


def entry() -> None:
    """Load the verbs and run the one that is called."""
    try:
        from .cli import entry as run
    except KeyboardInterrupt:
        print(__interrupted__, file=sys.stderr, flush=True)
        os._exit(2)
    run()


if __name__ == "__main__":
    entry()
