"""GDSII files written by gdstk, flattened by our reader, compared polygon by polygon."""

import json
import math
import subprocess

import gdstk
import pytest
from shapely.geometry import Polygon


@pytest.fixture(scope="module")
def flatten(example):
    program = example("facedown-maskdata", "flatten")

    def run(library, path, cell, max_points=199):
        library.write_gds(str(path), max_points=max_points)
        done = subprocess.run([program, str(path), cell], stdout=subprocess.PIPE, text=True, check=True)
        return json.loads(done.stdout)

    return run


def compare(found, cell, nanometres=1e3, tolerance=1.5):
    """Both flattened cells cover the same, polygon by polygon, up to `tolerance` nanometres along every border."""
    flat = cell.copy("flat copy").flatten()
    wanted = [p for p in flat.get_polygons()]
    assert len(found["polygons"]) == len(wanted)

    ours = [(p["layer"], p["datatype"], Polygon(p["points"]).buffer(0)) for p in found["polygons"]]
    theirs = [(p.layer, p.datatype, Polygon(p.points * nanometres).buffer(0)) for p in wanted]
    left = list(theirs)
    for layer, datatype, polygon in ours:
        same = [t for t in left if t[:2] == (layer, datatype)]
        best = min(same, key=lambda t: t[2].symmetric_difference(polygon).area)
        assert best[2].symmetric_difference(polygon).area <= tolerance * polygon.length
        left.remove(best)
    assert left == []


def test_turned_mirrored_and_magnified_placements(flatten, tmp_path):
    library = gdstk.Library(unit=1e-6, precision=1e-9)
    leaf = library.new_cell("LEAF")
    leaf.add(gdstk.Polygon([(0, 0), (10, 0), (10, 4), (3, 4), (3, 9), (0, 9)], layer=5, datatype=2))
    leaf.add(gdstk.Label("pin[0]", (1, 2), layer=5, texttype=7))
    middle = library.new_cell("MIDDLE")
    middle.add(gdstk.Reference(leaf, (20, 5), rotation=math.radians(90), x_reflection=True))
    middle.add(gdstk.Reference(leaf, (-20, 5), rotation=math.radians(33.3), magnification=1.7))
    top = library.new_cell("TOP")
    for angle in range(0, 360, 45):
        top.add(gdstk.Reference(middle, (angle, -angle), rotation=math.radians(angle), x_reflection=angle % 2 == 1))
    top.add(gdstk.Reference(middle, (500, 0), rotation=math.radians(270), magnification=2, x_reflection=True))
    found = flatten(library, tmp_path / "placed.gds", "TOP")
    compare(found, top)
    flat = top.copy("texts").flatten()
    wanted = sorted([round(x * 1e3), round(y * 1e3)] for x, y in (l.origin for l in flat.labels))
    ours = sorted(t["at"] for t in found["texts"])
    assert len(ours) == len(wanted) == 18
    assert all(abs(a - b) <= 1 for p, q in zip(ours, wanted) for a, b in zip(p, q))
    assert {(t["string"], t["layer"], t["texttype"]) for t in found["texts"]} == {("pin[0]", 5, 7)}


def test_arrays_turned_and_nested(flatten, tmp_path):
    library = gdstk.Library(unit=1e-6, precision=1e-9)
    leaf = library.new_cell("LEAF")
    leaf.add(gdstk.rectangle((0, 0), (6, 3), layer=1))
    row = library.new_cell("ROW")
    row.add(gdstk.Reference(leaf, (1, 1), columns=4, rows=3, spacing=(10, 7)))
    top = library.new_cell("TOP")
    top.add(gdstk.Reference(row, (100, 0), columns=2, rows=2, spacing=(60, 40), rotation=math.radians(90)))
    top.add(gdstk.Reference(row, (-50, 20), columns=3, rows=1, spacing=(50, 10), x_reflection=True))
    found = flatten(library, tmp_path / "arrays.gds", "TOP")
    assert len(found["polygons"]) == 12 * 7
    compare(found, top, tolerance=1e-6)


@pytest.mark.parametrize("ends", ["flush", "round", "extended", (3.0, 5.0)])
def test_paths_of_every_end_style(flatten, tmp_path, ends):
    library = gdstk.Library(unit=1e-6, precision=1e-9)
    top = library.new_cell("TOP")
    points = [(0, 0), (100, 0), (150, 50), (150, 200), (90, 230)]
    top.add(gdstk.FlexPath(points, 8, ends=ends, simple_path=True, layer=3, tolerance=1e-4))
    again = tmp_path / "paths.gds"
    found = flatten(library, again, "TOP")
    # What the file says, not what was put in: gdstk reads its own file back and widens the path.
    (top,) = gdstk.read_gds(str(again), tolerance=1e-3).top_level()
    # A round end of 64 chords is short of the circle by 0.03 % of the radius, 1.2 nm here.
    compare(found, top, tolerance=2.5)


def test_other_units_are_brought_to_nanometres(flatten, tmp_path):
    library = gdstk.Library(unit=1e-6, precision=5e-9)
    top = library.new_cell("TOP")
    top.add(gdstk.rectangle((1, 2), (5, 9), layer=1))
    found = flatten(library, tmp_path / "five.gds", "TOP")
    assert sorted(found["polygons"][0]["points"]) == [[1000, 2000], [1000, 9000], [5000, 2000], [5000, 9000]]


@pytest.mark.filterwarnings("ignore:Saved file uses unofficially supported extensions")
def test_polygons_longer_than_one_record(flatten, tmp_path):
    library = gdstk.Library(unit=1e-6, precision=1e-9)
    top = library.new_cell("TOP")
    turns = [i * math.tau / 20000 for i in range(20000)]
    top.add(gdstk.Polygon([(5000 * math.cos(t), 5000 * math.sin(t)) for t in turns], layer=2))
    found = flatten(library, tmp_path / "long.gds", "TOP", max_points=0)
    assert len(found["polygons"]) == 1
    assert len(found["polygons"][0]["points"]) == 20000
    compare(found, top)
