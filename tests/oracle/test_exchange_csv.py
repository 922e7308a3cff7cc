"""The CSV tables, read back with the csv module of Python."""

import csv

import pytest
from exchange_truth import VIEWS


@pytest.fixture(params=VIEWS)
def view(request):
    return request.param


def rows(exported, view, name):
    folder, truth = exported
    first, *rest = (folder / view / name).read_text(encoding="utf-8").splitlines()
    assert first.startswith(f"# die {view.replace('_', ' ')}")
    return list(csv.DictReader(rest)), truth


def test_bumps_stand_where_their_labels_do(exported, view):
    table, truth = rows(exported, view, "bumps.csv")
    labels = {label["text"]: label["at"] for label in truth["labels"]}
    assert len(table) == len(labels)
    for row in table:
        x, y = labels[row["name"]]
        x = truth["width"] - x if view == "face_down" else x
        assert (round(float(row["x_um"]) * 1e3), round(float(row["y_um"]) * 1e3)) == (x, y)


def test_nets_agree_across_tables(exported, view):
    nets = ["data[0]", "a*b%c,d\\e", "VDD_µ", "clk"]
    for name in ["pads.csv", "bumps.csv", "assignment.csv", "net-lengths.csv"]:
        table, _ = rows(exported, view, name)
        assert [row["net"] for row in table] == nets
