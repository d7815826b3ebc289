"""Commands in this process, for their tests; `flightsim strike` above all."""

import json
import sys
from functools import partial

import pytest

from flightsim import cli
from flightsim.strike.head_file import EXAMPLE


@pytest.fixture
def called(monkeypatch, capsys):
    """Call a command in this process: exit code, what it printed, what it complained."""

    def call(*words):
        monkeypatch.setattr(sys, "argv", ["flightsim", *map(str, words)])
        code = 0
        try:
            cli.main()
        except SystemExit as leave:
            code = leave.code
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return call


@pytest.fixture
def strike(called):
    return partial(called, "strike")


@pytest.fixture
def launch(strike):
    def call(*options):
        code, out, err = strike(*options, "--json")
        assert code in (0, None), err
        return json.loads(out)

    return call


@pytest.fixture
def head(tmp_path):
    """A head file: the read driver head, or a change of it."""

    def write(old="", new=""):
        path = tmp_path / "head.yaml"
        path.write_text(EXAMPLE.replace(old, new) if old else EXAMPLE, encoding="utf-8")
        return path

    return write
