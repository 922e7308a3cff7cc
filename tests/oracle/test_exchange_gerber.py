"""The Gerber export, read back with gerbonara and judged with shapely."""

import math
import re

import pytest
from exchange_truth import VIEWS, polygon_of
from gerbonara.rs274x import GerberFile
from gerbonara.graphic_objects import Flash, Region
from gerbonara.utils import MM
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union


@pytest.fixture(params=VIEWS)
def view(request):
    return request.param


def read(exported, view, layer):
    folder, truth = exported
    path = folder / view / f"invented-demo-{view}-{layer}.gbr"
    return GerberFile.open(path), path.read_text(encoding="ascii"), truth


def dark_area(obj):
    """The area of one object in nanometres, as shapely sees it."""
    if isinstance(obj, Region):
        return Polygon([(x * 1e6, y * 1e6) for x, y in obj.outline])
    aperture = obj.aperture
    x, y = obj.x * 1e6, obj.y * 1e6
    if hasattr(aperture, "diameter"):
        return Point(x, y).buffer(aperture.diameter * 5e5, quad_segs=256)
    w, h = aperture.w * 5e5, aperture.h * 5e5
    return box(x - w, y - h, x + w, y + h)


def image(objects):
    """What is dark once all objects are drawn one over the other."""
    dark = Polygon()
    for obj in objects:
        area = dark_area(obj)
        dark = dark.union(area) if obj.polarity_dark else dark.difference(area)
    return dark


def layers(exported):
    return exported[1]["layers"]


def test_the_image_of_every_layer_is_the_drawing(exported, view):
    for layer in layers(exported):
        gerber, _, truth = read(exported, view, layer["gerber"])
        want = unary_union([polygon_of(s, truth, view) for s in layer["shapes"]])
        have = image(gerber.objects)
        # Flashed circles reach beyond their polygons by the segments over the chords, and by nothing else.
        circles = [o for o in gerber.objects if isinstance(o, Flash) and hasattr(o.aperture, "diameter")]
        over_chords = sum((math.pi - 16 * math.sin(math.pi / 16)) * (o.aperture.diameter * 5e5) ** 2 for o in circles)
        assert want.difference(have).area <= 1e-6 * want.area
        assert have.difference(want).area <= over_chords + 1e-6 * want.area
        assert have.bounds == pytest.approx(want.bounds, abs=3)


def test_pads_are_flashed_and_traces_are_regions(exported, view):
    gerber, _, _ = read(exported, view, "rdl-1")
    assert sum(isinstance(o, Region) for o in gerber.objects) == 4
    assert sum(isinstance(o, Flash) for o in gerber.objects) == 8
    bumps, _, _ = read(exported, view, "bump")
    assert [round(o.aperture.diameter * 1e6) for o in bumps.objects] == [200_000] * 4


def test_nets_and_functions_stand_in_attributes(exported, view):
    for layer, function in [("rdl-1", "Copper,L2,Bot"), ("rdl-2", "Copper,L1,Top"), ("outline", "Profile,NP")]:
        gerber, text, truth = read(exported, view, layer)
        assert f"%TF.FileFunction,{function}*%" in text
        assert gerber.file_attrs["View"][0] == f"die {view.replace('_', ' ')}"
        names = re.findall(r"%TO\.N,(.*)\*%", text)
        plain = {re.sub(r"\\u([0-9A-F]{4})", lambda m: chr(int(m[1], 16)), n) for n in names}
        shapes = [s for l in truth["layers"] if l["gerber"] == layer for s in l["shapes"]]
        assert plain == {s["net"] for s in shapes if s["net"] is not None}
        assert f"G04 die {view.replace('_', ' ')}" in text


def test_files_are_in_millimetres_with_one_count_a_nanometre(exported, view):
    _, text, truth = read(exported, view, "outline")
    assert "%FSLAX46Y46*%" in text and "%MOMM*%" in text
    gerber, _, _ = read(exported, view, "outline")
    (low, high) = gerber.bounding_box(unit=MM)
    assert (*low, *high) == pytest.approx((0, 0, truth["width"] / 1e6, truth["height"] / 1e6), abs=1e-9)
