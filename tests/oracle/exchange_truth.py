"""What the invented drawing of the exchange example is, in nanometres, for all tests that read its exports."""

import re

from shapely.geometry import Point, Polygon

VIEWS = ["face_up", "face_down"]


def mirrored(point, truth, view):
    """A face-up point as seen in a view."""
    x, y = point
    return [truth["width"] - x, y] if view == "face_down" else [x, y]


def polygon_of(shape, truth=None, view="face_up"):
    """A shapely polygon (or point) from rings in nanometres."""
    if "point" in shape:
        return Point(shape["point"])
    see = (lambda p: mirrored(p, truth, view)) if truth else (lambda p: p)
    return Polygon([see(p) for p in shape["outer"]], [[see(p) for p in hole] for hole in shape["holes"]])


def shapes_of(layer):
    return layer["shapes"]


def unescaped(text):
    return re.sub(r"\\u\{([0-9a-f]+)\}", lambda m: chr(int(m[1], 16)), text)
