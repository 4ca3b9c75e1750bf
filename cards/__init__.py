"""Cards for mending torn trawl net: from a spec of a hole to a plan, a picture and pages.

The road, each stage taking the value of the one before: `spec`, `grid`, `trim`, `sew`, `reckon`,
`job`, `picture`, `sheet`.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cards.errors import CardError, SpecError
    from cards.job import Plan, as_data, plan
    from cards.picture import Picture
    from cards.picture.svg import svg_text
    from cards.picture.web import picture_of
    from cards.sheet import compose
    from cards.spec import Spec, load, load_text

__version__ = "0.1.0"

# Where each public name lives; it is imported when first asked for, so that a command that does not
# need a stage does not wait for it.
_HOMES = {
    "CardError": "cards.errors",
    "SpecError": "cards.errors",
    "Picture": "cards.picture",
    "Plan": "cards.job",
    "Spec": "cards.spec",
    "as_data": "cards.job",
    "compose": "cards.sheet",
    "load": "cards.spec",
    "load_text": "cards.spec",
    "picture_of": "cards.picture.web",
    "plan": "cards.job",
    "svg_text": "cards.picture.svg",
}

__all__ = [
    "CardError",
    "Picture",
    "Plan",
    "Spec",
    "SpecError",
    "as_data",
    "compose",
    "load",
    "load_text",
    "picture_of",
    "plan",
    "svg_text",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
