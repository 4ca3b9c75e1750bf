"""Pictures: plain shapes in millimetres, built once, and the writers that know only shapes."""

from cards.picture.shapes import Area, Curve, Disc, Line, Picture, Shape, Text

__all__ = ["Area", "Curve", "Disc", "Line", "Picture", "Shape", "Text"]
