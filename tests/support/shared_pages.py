"""Pages that tests of all workers look at: made once a session, by whoever asks first; the others wait."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from kept import alone


def session_folder(factory: pytest.TempPathFactory) -> Path:
    """A folder of this session that all its workers have in common."""
    base = factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "pages"
    folder.mkdir(exist_ok=True)
    return folder


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """The folder of this name; make is handed it where nobody has made it yet, and writes it whole or not at all."""
    folder = session_folder(factory) / name
    with alone(f"page-{name}"):
        if not folder.exists():
            make(folder)
    return folder
