"""What is said to somebody whose file is called otherwise, who left it out, or who gave one for another."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from flightsim.making.costing.price_list import read_prices
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.source import read_source


def refused(read, path: Path) -> str:
    with pytest.raises(ScenarioError) as raised:
        read(path)
    return str(raised.value)


@pytest.mark.parametrize("typed", ["garage.yml", "garage", "Garage.yaml", "garrage.yaml", "garage.yaml.yaml"])
def test_a_file_of_nearly_that_name_is_offered(tmp_path, typed):
    (tmp_path / "garage.yaml").write_text("name: Garage")
    (tmp_path / "notes.txt").write_text("")
    assert refused(read_source, tmp_path / typed).endswith(f"try: {tmp_path / 'garage.yaml'}")


def test_where_nothing_is_called_so_a_new_one_may_be_made(tmp_path):
    (tmp_path / "garage.yaml").write_text("name: Garage")
    assert refused(read_source, tmp_path / "hall").endswith(f"try: flightsim new {tmp_path / 'hall.yaml'}")


def test_a_price_list_that_is_not_there_is_no_scenario_to_be_made(tmp_path):
    said = refused(read_prices, tmp_path / "prices.yaml")
    assert "allowed: a price list, as docs/build.md shows one" in said
    assert "flightsim new" not in said
    (tmp_path / "my_prices.yaml").write_text("currency: EUR")
    assert refused(read_prices, tmp_path / "prices.yaml").endswith(f"try: {tmp_path / 'my_prices.yaml'}")


def test_a_bay_given_as_a_price_list_is_told_as_one(tmp_path):
    (tmp_path / "garage.yaml").write_text("name: Garage\nroom: {length: 6 m}\n")
    assert "this is a bay, and no price list" in refused(read_prices, tmp_path / "garage.yaml")


@pytest.mark.parametrize(
    ("typed", "files", "words"),
    [
        (["run"], ["garage.yaml"], "try: flightsim run garage.yaml"),
        (["check"], [], "try: flightsim new bay.yaml, then flightsim check bay.yaml"),
        (["build", "--prices", "garage.yaml"], ["garage.yaml"], "--prices took garage.yaml: the scenario comes first\n"
                                                                "  try: flightsim build garage.yaml"),
        (["build", "garage.yaml", "--prices"], ["garage.yaml"], "try: --prices and what it is to be"),
    ],
)  # fmt: skip
def test_a_command_without_its_file_says_what_to_type(tmp_path, typed, files, words):
    for file in files:
        (tmp_path / file).write_text("name: Garage")
    root = str(Path(__file__).parents[2])
    path = os.pathsep.join([root, *os.environ.get("PYTHONPATH", "").split(os.pathsep)])
    done = subprocess.run(
        [sys.executable, "-m", "flightsim", *typed], cwd=tmp_path, capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": path}, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert words in done.stderr
