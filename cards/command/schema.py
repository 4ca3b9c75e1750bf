"""``threebar schema``: the JSON Schema of a spec file."""

from __future__ import annotations

import argparse
import sys

from cards.command import MADE
from cards.spec.schema import schema_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """This word has no arguments."""


def run(asked_for: argparse.Namespace) -> int:
    """Print the schema."""
    sys.stdout.write(schema_text())
    return MADE
