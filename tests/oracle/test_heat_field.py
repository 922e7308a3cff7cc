"""The solved field of a demonstration, as `run` writes it, read back with meshio and held against the design and the figures."""

import json
import subprocess

import meshio
import numpy
import pytest

from conftest import build

# Parts by number, as docs/results.md lists them.
EMPTY, BOARD, BALLS, SUBSTRATE, BUMPS, DIE = 0, 1, 2, 3, 6, 7


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tidewatch")
    facedown = build("-p", "facedown")
    subprocess.run([facedown, "new", folder / "design", "--example", "tidewatch"], check=True, stdout=subprocess.DEVNULL)
    run = [facedown, "run", folder / "design/design.toml", "--out", folder / "out", "--only", "heat", "--no-cache"]
    subprocess.run(run, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    results = json.loads((folder / "out/results.json").read_text(encoding="utf-8"))
    return meshio.read(folder / "out/heat-service.vtk"), results, folder / "out"


@pytest.fixture(scope="module")
def boxes(written):
    """Lower and upper corner of every cell, m, its part and its temperature."""
    mesh = written[0]
    (cells,) = mesh.cells
    assert cells.type == "hexahedron"
    corners = mesh.points[cells.data]
    part = mesh.cell_data["part"][0].ravel()
    return corners.min(axis=1), corners.max(axis=1), part, mesh.cell_data["temperature_degC"][0].ravel().astype(float)


def test_the_file_is_listed_with_its_length(written):
    _, results, folder = written
    (entry,) = [f for f in results["files"] if f["name"] == "heat-service.vtk"]
    assert entry["bytes"] == (folder / "heat-service.vtk").stat().st_size


def test_parts_have_the_sizes_of_the_design(boxes):
    low, high, part, _ = boxes
    for number, size in [(DIE, [7.2e-3, 6.4e-3, 0.3e-3]), (SUBSTRATE, [15e-3, 15e-3, None]), (BALLS, [15e-3, 15e-3, None])]:
        of = part == number
        extent = high[of].max(axis=0) - low[of].min(axis=0)
        for found, wanted in zip(extent, size):
            assert wanted is None or found == pytest.approx(wanted, rel=1e-9)
        # No cell is missing inside: the volume is that of the box.
        assert (high[of] - low[of]).prod(axis=1).sum() == pytest.approx(extent.prod(), rel=1e-9)
    # From below: board, balls, substrate, bumps, die.
    middles = [0.5 * (low + high)[part == number][:, 2].mean() for number in (BOARD, BALLS, SUBSTRATE, BUMPS, DIE)]
    assert middles == sorted(middles)


def test_the_field_is_hottest_in_the_die_and_has_the_figures_of_the_run(written, boxes):
    _, results, _ = written
    low, high, part, celsius = boxes
    figure = results["studies"]["heat"]["figures"]["junction_max"]
    hottest = celsius.argmax()
    assert part[hottest] == DIE
    # The figure is carried on from the grids by its error; a cell's middle lies a few hundredths of a kelvin off its face.
    assert abs(celsius[hottest] - figure["value"]) < figure["error"] + 0.1
    # Ambient where nothing is, warmer everywhere else.
    assert numpy.all(celsius[part == EMPTY] == pytest.approx(55.0, abs=1e-4))
    assert celsius[part != EMPTY].min() > 55.0
