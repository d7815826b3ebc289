"""The page and the notebook on Python: their code runs as it stands."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE, NOTEBOOK = ROOT / "docs" / "library.md", ROOT / "docs" / "library.ipynb"


def page_blocks():
    return re.findall(r"^```python\n(.*?)^```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)


def cells(kind):
    data = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    return ["".join(cell["source"]) for cell in data["cells"] if cell["cell_type"] == kind]


@pytest.mark.usefixtures("no_pictures")  # they are drawn, and not painted
@pytest.mark.parametrize("code", [page_blocks, lambda: cells("code")], ids=["page", "notebook"])
def test_the_code_of_the_page_and_of_the_notebook_runs_as_it_stands(code, monkeypatch, capsys):
    blocks = code()
    assert len(blocks) >= 3
    monkeypatch.chdir(ROOT)
    space: dict[str, object] = {"__name__": "__main__"}
    for block in blocks:
        exec(compile(block, str(PAGE), "exec"), space)
    assert "at most" in capsys.readouterr().out


def test_the_notebook_holds_no_output_and_ends_with_the_caution():
    data = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    assert data["nbformat"] == 4
    assert all(not cell["outputs"] for cell in data["cells"] if cell["cell_type"] == "code")
    assert "licensed" in cells("markdown")[-1]
