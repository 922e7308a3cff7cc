"""The DXF export, read back and audited with ezdxf."""

import math

import ezdxf
import pytest
from exchange_truth import VIEWS, mirrored, polygon_of


@pytest.fixture(params=VIEWS)
def view(request):
    return request.param


@pytest.fixture
def drawing(exported, view):
    folder, _ = exported
    return ezdxf.readfile(folder / view / "layout.dxf")


def notes(entity):
    return [tag.value for tag in entity.get_xdata("FACEDOWN") if tag.code == 1000]


def test_audit_finds_nothing_and_units_are_millimetres(drawing):
    auditor = drawing.audit()
    assert auditor.errors == []
    assert auditor.fixes == []
    assert drawing.dxfversion == "AC1024"
    assert drawing.header["$INSUNITS"] == 4


def test_every_shape_comes_back_with_place_area_net_and_layer(exported, drawing, view):
    _, truth = exported
    for layer in truth["layers"]:
        entities = drawing.modelspace().query(f'LWPOLYLINE CIRCLE[layer=="{layer["dxf"]}"]')
        bodies = [e for e in entities if "hole" not in notes(e)]
        assert len(bodies) == len(layer["shapes"])
        assert len(entities) - len(bodies) == sum(len(s["holes"]) for s in layer["shapes"])
        for shape, entity in zip(layer["shapes"], bodies):
            want = polygon_of({"outer": shape["outer"], "holes": []}, truth, view)
            nets = [n.removeprefix("net=") for n in notes(entity) if n.startswith("net=")]
            assert nets == ([] if shape["net"] is None else [shape["net"]])
            if entity.dxftype() == "CIRCLE":
                corners = len(shape["outer"])
                centre = entity.dxf.center
                assert (centre.x * 1e6, centre.y * 1e6) == pytest.approx((want.centroid.x, want.centroid.y), abs=1.5)
                inscribed = corners / 2 * (entity.dxf.radius * 1e6) ** 2 * math.sin(2 * math.pi / corners)
                assert inscribed == pytest.approx(want.area, rel=1e-4)
            else:
                assert entity.closed
                have = polygon_of({"outer": [(x * 1e6, y * 1e6) for x, y, *_ in entity.get_points()], "holes": []})
                assert all(bulge == 0 for *_, bulge in entity.get_points())
                assert have.symmetric_difference(want).area <= 1e-6 * want.area


def test_circles_are_circles(exported, drawing):
    assert len(drawing.modelspace().query('CIRCLE[layer=="BUMP"]')) == 4
    assert len(drawing.modelspace().query('CIRCLE[layer=="UBM"]')) == 4


def test_labels_stand_at_their_bumps_and_the_view_is_said(exported, drawing, view):
    _, truth = exported
    texts = {t.dxf.text: t.dxf.insert for t in drawing.modelspace().query('TEXT[layer=="BUMP"]')}
    for label in truth["labels"]:
        at = texts[label["text"]]
        assert [round(at.x * 1e6), round(at.y * 1e6)] == mirrored(label["at"], truth, view)
    (note,) = drawing.modelspace().query('TEXT[layer=="NOTES"]')
    assert note.dxf.text == f"invented demo: die {view.replace('_', ' ')}"
