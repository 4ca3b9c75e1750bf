"""``threebar`` and ``python -m cards``: the command as a process of its own."""

import gc
import sys

# A card makes some hundred thousand objects, nearly all of which stay: looking for rubbish among
# them again and again, and once more at the end, takes an eighth of its time.
OBJECTS = 300_000


def run() -> int:
    """Run the command; the exit code."""
    gc.set_threshold(OBJECTS)
    from cards.command import main

    code = main()
    gc.freeze()
    return code


if __name__ == "__main__":
    sys.exit(run())
