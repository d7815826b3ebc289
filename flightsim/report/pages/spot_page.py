"""The page of places where something can hang."""

from __future__ import annotations

from pathlib import Path

from flightsim.report.pages.frame import Section, made_by, page, picture
from flightsim.report.words.spot_words import BOUNDS, HEAT, NO_PLACE, fell_words, place_words, title_words
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.spot.places_to_hang import Box3, Spots


def spot_page(opened: OpenBay, box: Box3, spots: Spots, seed: int, drawn: Path) -> str:
    """The page as text; drawn: the picture on disk."""
    places = [f"{k}. {place_words(opened, place)}" for k, place in enumerate(spots.places, start=1)] or [NO_PLACE]
    shown = picture(
        drawn, "Plan and side view", alt=f"The best of {len(places)}: {places[0]}" if spots.places else NO_PLACE
    )
    sections = [
        Section("The places", [title_words(opened, box), *places], (), [shown]),
        Section("What was passed over", [fell_words(spots)]),
        Section("How to read this", [BOUNDS, HEAT]),
    ]
    facts = (*made_by(opened.scenario), f"seed {seed}")
    return page(opened.scenario.name, sections, kind="Where something can hang", facts=facts)
