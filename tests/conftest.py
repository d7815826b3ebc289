"""What all tests share."""

from __future__ import annotations

import sys


def pytest_collection_finish() -> None:
    """Compile the engine before any test runs against its clock, where some test is going to use it."""
    engine = sys.modules.get("flightsim.engine.play")
    if engine is not None:
        engine.make_engine_ready()
