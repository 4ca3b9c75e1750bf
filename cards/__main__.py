"""``python -m cards`` is the command ``threebar``."""

import sys

from cards.command import main

sys.exit(main())
