"""The VTK export of fields, read back with meshio: every coordinate and every value bit by bit."""

import json
import subprocess

import meshio
import numpy
import pytest


@pytest.fixture(scope="module")
def written(example, tmp_path_factory):
    folder = tmp_path_factory.mktemp("field")
    subprocess.run([example("facedown-exchange", "write_field"), str(folder)], check=True, stdout=subprocess.DEVNULL)
    truth = json.loads((folder / "field.json").read_text(encoding="utf-8"))
    return meshio.read(folder / "field.vtk"), {name: numpy.array(values) for name, values in truth.items()}


def test_points_are_those_of_the_grid_lines(written):
    mesh, truth = written
    z, y, x = numpy.meshgrid(truth["z"], truth["y"], truth["x"], indexing="ij")
    assert numpy.array_equal(mesh.points, numpy.column_stack([x.ravel(), y.ravel(), z.ravel()]))


def test_cells_are_boxes_with_their_own_values(written):
    mesh, truth = written
    (cells,) = mesh.cells
    assert cells.type == "hexahedron" and len(cells.data) == 60
    corners = mesh.points[cells.data]
    middle = [0.5 * (truth[a][1:] + truth[a][:-1]) for a in "xyz"]
    z, y, x = numpy.meshgrid(*middle[::-1], indexing="ij")
    boxes = 0.5 * (corners.min(axis=1) + corners.max(axis=1))
    # The middle of a box is rounded; its order is what counts here.
    numpy.testing.assert_allclose(boxes, numpy.column_stack([x.ravel(), y.ravel(), z.ravel()]), rtol=1e-14, atol=1e-18)
    assert numpy.array_equal(mesh.cell_data["temperature_K"][0].ravel(), truth["temperature_K"])
    assert numpy.array_equal(mesh.cell_data["flux_W_m2"][0], truth["flux_W_m2"].reshape(-1, 3))
    rise, part = mesh.cell_data["rise_K"][0].ravel(), mesh.cell_data["part"][0].ravel()
    assert rise.dtype.itemsize == 4 and numpy.array_equal(rise, truth["rise_K"].astype(numpy.float32))
    assert part.dtype.itemsize == 1 and numpy.array_equal(part, truth["part"])


def test_point_values_stand_at_their_points(written):
    mesh, truth = written
    assert numpy.array_equal(mesh.point_data["potential_V"].ravel(), truth["potential_V"])
