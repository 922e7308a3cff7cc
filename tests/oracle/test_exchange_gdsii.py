"""The GDSII export, read back with gdstk and judged with shapely."""

import gdstk
import pytest
from exchange_truth import VIEWS, mirrored, polygon_of, shapes_of, unescaped


@pytest.fixture(params=VIEWS)
def view(request):
    return request.param


@pytest.fixture
def cell(exported, view):
    folder, _ = exported
    library = gdstk.read_gds(str(folder / view / "layout.gds"))
    assert (library.unit, library.precision) == pytest.approx((1e-6, 1e-9), rel=1e-15)
    (cell,) = library.top_level()
    assert cell.name == f"invented_demo_{view.upper()}"
    return cell


def test_one_polygon_for_each_shape_with_its_exact_area(exported, cell, view):
    _, truth = exported
    assert not cell.references and not cell.paths
    for layer in truth["layers"]:
        wanted = [(s["datatype"], polygon_of(s, truth, view)) for s in layer["shapes"]]
        found = [p for p in cell.polygons if p.layer == layer["gdsii"]]
        assert len(found) == len(wanted)
        for (datatype, want), have in zip(wanted, found):
            assert have.datatype == datatype
            assert have.area() * 1e6 == pytest.approx(want.area, rel=1e-9)
            # A cut-open ring touches itself; buffer(0) joins it again.
            joined = polygon_of({"outer": have.points * 1e3, "holes": []}).buffer(0)
            assert joined.symmetric_difference(want).area <= 1e-6 * want.area


def test_every_net_is_one_text_inside_its_polygon(exported, cell, view):
    _, truth = exported
    for layer in truth["layers"]:
        texts = [t for t in cell.labels if (t.layer, t.texttype) == (layer["gdsii"], 1)]
        shapes = [s for s in shapes_of(layer) if s["net"] is not None]
        assert sorted(unescaped(t.text) for t in texts) == sorted(s["net"] for s in shapes)
        for text in texts:
            place = polygon_of({"outer": [], "holes": [], "point": [v * 1e3 for v in text.origin]})
            holders = [s for s in shapes if polygon_of(s, truth, view).buffer(0.5).contains(place)]
            assert unescaped(text.text) in {s["net"] for s in holders}
            assert len({s["net"] for s in holders}) == 1


def test_labels_and_outline_are_where_they_belong(exported, cell, view):
    _, truth = exported
    labels = {t.text: t.origin for t in cell.labels if t.texttype == 0 and t.layer == 242}
    for label in truth["labels"]:
        want = mirrored(label["at"], truth, view)
        assert [round(v * 1e3) for v in labels[label["text"]]] == want
    (outline,) = [p for p in cell.polygons if p.layer == 1]
    assert [[round(v * 1e3) for v in corner] for corner in outline.bounding_box()] == [
        [0, 0],
        [truth["width"], truth["height"]],
    ]
    (note,) = [t for t in cell.labels if t.layer == 255]
    assert f"die {view.replace('_', ' ')}" in note.text


def test_spacing_of_foreign_nets_is_kept(exported, cell, view):
    """The capture pads stand 15 um inside the holes of the plane, less what the chords of both circles take."""
    rdl2 = [p for p in cell.polygons if p.layer == 21]
    plane = [polygon_of({"outer": p.points * 1e3, "holes": []}).buffer(0) for p in rdl2 if p.datatype == 5]
    captures = [polygon_of({"outer": p.points * 1e3, "holes": []}) for p in rdl2 if p.datatype == 3]
    assert len(captures) == 4
    for capture in captures:
        # Both rings have 64 corners on the same rays, so the gap is narrowest between two chords.
        assert plane[0].distance(capture) == pytest.approx(15000 * 0.998795, abs=3)
        assert not plane[0].intersects(capture)
