"""From a spec file to checked, frozen specs."""

from cards.spec.load import load, load_text, spec_files
from cards.spec.model import Mender, Net, Spec, TwineSpec

__all__ = ["Mender", "Net", "Spec", "TwineSpec", "load", "load_text", "spec_files"]
