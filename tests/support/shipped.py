"""The scenario files that are shipped: bays as found, and as `flightsim improve` changed them."""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).parents[2] / "scenarios"
SHIPPED = sorted(FOLDER.glob("*.yaml"))
AS_FOUND = [path for path in SHIPPED if not path.stem.endswith("_improved")]
