"""A plugin that fails once all has flown is named in the place of its words; the run is kept, the exit code is 3."""

import json
import sys

import pytest
from size_bays import hall

from flightsim.cli import main
from flightsim.plugin.loading import FILES
from flightsim.report.pages import run_folder

PLUGIN = """
from flightsim.plugin.hookspecs import ReportSection, hookimpl
HOOK_API = 2

@hookimpl
def flightsim_{hook}(context):
    raise ValueError("the dog ate <it>")
"""


@pytest.mark.parametrize("hook", ["report_sections", "figures"])
def test_a_plugin_that_fails_over_its_words_costs_these_alone_and_ends_with_3(hook, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(FILES, "")  # the command writes there: put back afterwards
    monkeypatch.setattr(run_folder, "write_figures", lambda *_, **__: [])
    (tmp_path / "rack.py").write_text(PLUGIN.format(hook=hook), encoding="utf-8")
    words = ["flightsim", "run", hall(tmp_path), "--shots", "60", "--quick", "--plugin", "rack.py", "--out", "o"]
    monkeypatch.setattr(sys, "argv", words)
    with pytest.raises(SystemExit) as left:
        main()
    assert left.value.code == 3
    shown = capsys.readouterr()
    assert "rack" in shown.err
    assert "the dog ate <it>" in shown.err
    page = (tmp_path / "o" / "report.html").read_text(encoding="utf-8")
    assert "Failed: plugin &#39;rack&#39;" in page
    assert "the dog ate &lt;it&gt;" in page
    summary = json.loads((tmp_path / "o" / "summary.json").read_text(encoding="utf-8"))
    assert any("failed" in finding["title"] for finding in summary["findings"])
    assert len((tmp_path / "o" / "shots.csv").read_text(encoding="utf-8").splitlines()) == 61
