"""Which targets a bay will be judged by, before anything is flown."""

from __future__ import annotations

from flightsim.bay.parts import Bay
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.targets import asked


def asked_words(scenario: Scenario, bay: Bay) -> str:
    """`12 asked; not asked, for nobody said that they are here: children, onlookers`."""
    why = asked(scenario, bay)
    count = sum(words == "" for words in why.values())
    unasked = list(dict.fromkeys(words for words in why.values() if words))
    rest = f"; not asked: {', '.join(unasked)}" if unasked else ""
    return f"{count} asked{rest}"
