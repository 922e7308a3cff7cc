"""Finds the programs under test: each is built with cargo at most once a session."""

import json
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


def build(*arguments):
    """Builds with cargo and gives the path of the one executable that comes out."""
    done = subprocess.run(
        ["cargo", "build", "--quiet", "--message-format=json", *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    messages = (json.loads(line) for line in done.stdout.splitlines() if line.startswith("{"))
    (path,) = {m["executable"] for m in messages if m.get("executable")}
    return path


@pytest.fixture(scope="session")
def example():
    """`example(package, name)` is the path of a built example."""
    built = {}

    def get(package, name):
        if (package, name) not in built:
            built[package, name] = build("-p", package, "--example", name)
        return built[package, name]

    return get


@pytest.fixture(scope="session")
def answering(example):
    """`answering(package, name)` is a function that has an example program answer many tasks in one run, a line of JSON each."""

    def of(package, name):
        program = example(package, name)

        def run(tasks):
            text = "".join(json.dumps(task) + "\n" for task in tasks)
            done = subprocess.run([program], input=text, stdout=subprocess.PIPE, text=True, check=True)
            answers = [json.loads(line) for line in done.stdout.splitlines()]
            assert len(answers) == len(tasks)
            return answers

        return run

    return of


@pytest.fixture(scope="session")
def exported(example, tmp_path_factory):
    """The folder with the exports of the invented drawing, and the truth about it."""
    folder = tmp_path_factory.mktemp("exported")
    subprocess.run([example("facedown-exchange", "write_all"), str(folder)], check=True, stdout=subprocess.DEVNULL)
    return folder, json.loads((folder / "truth.json").read_text(encoding="utf-8"))
