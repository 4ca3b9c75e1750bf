"""Where the files that come with the package stand: templates and demo specs."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def shelf(name: str) -> Path:
    """Return the folder `name` (``templates`` or ``specs``): in the wheel or in the checkout."""
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name
