"""A looser screen looks better where it is better, and worse where it is worse."""

from __future__ import annotations

import pytest
from cloth_shown import COMMON, SCREENS

from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_a_looser_screen_sends_fewer_balls_back_at_people_and_lets_more_past_its_edges() -> None:
    """Builders say so: a tighter screen sends balls back further. Its edges come in less (docs/cloth.md)."""
    slack, common, tight = (
        run(open_bay(COMMON, SCREENS[name]), 4000).rates.total for name in ("slack", "as it is", "tight")
    )
    assert 2.0 * slack["comes_back"].rate < common["comes_back"].rate < 0.5 * tight["comes_back"].rate
    assert slack["head_hit"].upper < tight["head_hit"].rate
    assert 2.0 * tight["past_edge"].rate < common["past_edge"].rate < 0.5 * slack["past_edge"].rate
