"""Changes to a bare hall as if a search had found them: bays are opened, nothing is flown."""

from __future__ import annotations

from pathlib import Path

from improve_bays import bare_hall

from flightsim.study.improve.defeats import Defeat
from flightsim.study.improve.improve import Improved, Step
from flightsim.study.improve.offers import Offer
from flightsim.study.improve.space import Tier
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.target_result import TargetResult

DEEPER = "canopy.depth=1.6 m"


def target(name: str, words: str, limit: float, rate: float, upper: float, met: bool) -> TargetResult:
    """A rate, judged."""
    return TargetResult(name, "rate", limit, rate, upper, met, met, name, "", words)


def improved(folder: Path, name: str = "Bare hall", steps: bool = True, stopped: bool = False) -> Improved:
    """Two targets: one is met by a deeper canopy, the other becomes worse by it and is not met."""
    path = bare_hall(folder)
    text = path.read_text(encoding="utf-8").replace("name: Bare hall", f"name: {name!r}")
    path.write_text(text, encoding="utf-8")
    before = (
        target("hit_unprotected", "something hit hard", 1 / 17, 0.2, 0.21, False),
        target("got_out", "left the room", 1e-3, 0.01, 0.012, False),
    )
    after = (
        target("hit_unprotected", "something hit hard", 1 / 17, 0.02, 0.03, True),
        target("got_out", "left the room", 1e-3, 0.02, 0.024, False),
    )
    step = Step("Make the canopy 0.60 m deeper", (DEEPER,), Tier.RESIZE, {"hit_unprotected": 0.2, "got_out": 0.01},
                {"hit_unprotected": 0.02, "got_out": 0.02})  # fmt: skip
    return Improved(
        open_bay(path), open_bay(path, (DEEPER,) if steps else ()), (step,) if steps else (), before,
        () if stopped else after, None, (Defeat("got_out", "iron clean", "door", 0.6, 0.02),),
        (Offer("Keep the door shut while balls are hit", ("door=true",), {"got_out": 0.02}, {"got_out": 0.0}),),
        1, 20, KeyboardInterrupt if stopped else None, (100.0, 150.0),
    )  # fmt: skip
