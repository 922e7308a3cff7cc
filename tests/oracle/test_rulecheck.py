"""The rule checker's measures on random drawings against shapely: distances, unions, areas, connectivity."""

import itertools
import json
import subprocess
from collections import defaultdict

import pytest
from shapely import box, unary_union
from shapely.geometry import Polygon


@pytest.fixture(scope="module")
def checked(example):
    path = example("facedown-rulecheck", "random_drawings")
    done = subprocess.run([path, "60"], stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)


def nets_of(drawing):
    """Polygons in nm by net."""
    nets = defaultdict(list)
    for shape in drawing["layers"][0]["shapes"]:
        nets[shape["net"]].append(Polygon([(p["x"], p["y"]) for p in shape["polygon"]["outer"]]))
    return nets


def test_there_are_drawings_with_and_without_shorts(checked):
    shorts = ["short" in c["report"]["counts"] for c in checked]
    assert any(shorts) and not all(shorts)


def test_smallest_space_and_the_nets_below_the_limit(checked):
    for case in checked:
        merged = {name: unary_union(shapes) for name, shapes in nets_of(case["drawing"]).items()}
        distances = {pair: merged[pair[0]].distance(merged[pair[1]]) for pair in itertools.combinations(sorted(merged), 2)}
        found = case["report"]["layers"][0]["min_spacing"]
        assert found["value"] == pytest.approx(min(distances.values()), abs=2e-3)
        below = {pair for pair, d in distances.items() if d < 10_000}
        told = {tuple(v["nets"]) for v in case["report"]["violations"] if v["rule"] in ("space", "short")}
        assert told == below


def test_a_told_distance_is_the_distance_there(checked):
    for case in checked:
        nets = {name: unary_union(shapes) for name, shapes in nets_of(case["drawing"]).items()}
        # Beside a short, a space may be told between edges that lie inside the overlap.
        shorted = [v["nets"] for v in case["report"]["violations"] if v["rule"] == "short"]
        for violation in case["report"]["violations"]:
            if violation["rule"] == "space" and violation["nets"] not in shorted:
                at = (violation["at"]["x"], violation["at"]["y"])
                near = box(at[0] - 6_000, at[1] - 6_000, at[0] + 6_000, at[1] + 6_000)
                a, b = (nets[n].intersection(near) for n in violation["nets"])
                assert a.distance(b) == pytest.approx(violation["found_nm"], abs=2e-3)


def test_merged_area(checked):
    for case in checked:
        merged = [unary_union(shapes) for shapes in nets_of(case["drawing"]).values()]
        # Crossings of edges are put on a grid of 1/16 nm.
        grid = sum(m.length for m in merged) / 16
        assert case["report"]["layers"][0]["area_nm2"] == pytest.approx(sum(m.area for m in merged), abs=grid)


def test_pieces_of_each_net(checked):
    for case in checked:
        for name, shapes in nets_of(case["drawing"]).items():
            merged = unary_union(shapes)
            pieces = len(merged.geoms) if merged.geom_type == "MultiPolygon" else 1
            assert case["report"]["nets"][name]["pieces"] == pieces


def test_share_of_metal_in_windows(checked):
    compared = 0
    for case in checked:
        if "short" in case["report"]["counts"]:
            continue
        metal = unary_union([s for shapes in nets_of(case["drawing"]).values() for s in shapes])
        starts = range(0, 250_001, 125_000)
        shares = [
            metal.intersection(box(x, y, x + 250_000, y + 250_000)).area / 250_000**2 for x in starts for y in starts
        ]
        layer = case["report"]["layers"][0]
        assert layer["density_low"]["value"] == pytest.approx(min(shares), abs=1e-7)
        assert layer["density_high"]["value"] == pytest.approx(max(shares), abs=1e-7)
        compared += 1
    assert compared > 3
