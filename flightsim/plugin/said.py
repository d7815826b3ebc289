"""What plugins say of a finished run: checked, so that a page is never written around something that is no text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isnan

from flightsim.plugin.checks import all_are, kind_of
from flightsim.plugin.hookspecs import Finding, OutputFile, ReportFigure, ReportSection
from flightsim.plugin.loading import Loaded
from flightsim.scenario.reading.targets_section import LENGTH_TARGETS

LEVELS = ("note", "warning")
PLAIN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _.-]{0,99}")
MEDIA_TYPES = ("image/png", "image/svg+xml")


def check_said(plugin: Loaded, hook: str, answer: object) -> None:
    """Raise PluginError for a finding, section or figure with something in it that cannot be shown."""
    if isinstance(answer, Finding):
        _texts(plugin, f"{hook}, finding", title=answer.title, text=answer.text, short=answer.short, way=answer.way)
        _one_of(plugin, f"{hook}, finding '{answer.title}': level", answer.level, LEVELS)
        _answers(plugin, f"{hook}, finding '{answer.title}'", answer)
    if isinstance(answer, ReportSection):
        _texts(plugin, f"{hook}, section", title=answer.title)
        where = f"{hook}, section '{answer.title}'"
        all_are(plugin, f"{where}: paragraphs", answer.paragraphs, str)
        all_are(plugin, f"{where}: table_head", answer.table_head, str)
        for row in all_are(plugin, f"{where}: table_rows", answer.table_rows, object):
            all_are(plugin, f"{where}: a table row", row, str)
    if isinstance(answer, OutputFile):
        _texts(plugin, f"{hook}, file", name=answer.name)
        if not PLAIN_NAME.fullmatch(answer.name):
            words = "it must be a file's name of letters, digits, spaces and _ . - alone"
            raise plugin.blame(f"{hook}, file: found {answer.name[:60]!r}; {words}")
        if not isinstance(answer.data, bytes):
            raise plugin.blame(f"{hook}, file '{answer.name}': data: {kind_of(answer.data)}; it must be bytes")
    if isinstance(answer, ReportFigure):
        _texts(plugin, f"{hook}, figure", name=answer.name, title=answer.title, caption=answer.caption)
        _one_of(plugin, f"{hook}, figure '{answer.name}': media_type", answer.media_type, MEDIA_TYPES)
        if not isinstance(answer.data, bytes):
            raise plugin.blame(f"{hook}, figure '{answer.name}': data: {kind_of(answer.data)}; it must be bytes")


def _answers(plugin: Loaded, where: str, finding: Finding) -> None:
    """Raise PluginError for the answer to a target that is no length, or to a target that there is not."""
    _one_of(plugin, f"{where}: target", finding.target, ("", *LENGTH_TARGETS))
    if not finding.target:
        return
    lengths = {"measured": finding.measured, "known_to": finding.known_to}
    for word, value in lengths.items():
        if isinstance(value, bool) or not isinstance(value, (int, float)) or isnan(value):
            raise plugin.blame(f"{where}: {word}: {kind_of(value)}; it must be a length in metres")
    if finding.known_to < 0.0:
        raise plugin.blame(f"{where}: known_to: {finding.known_to:g}; it must be nought or more")


def _texts(plugin: Loaded, where: str, **texts: object) -> None:
    for word, text in texts.items():
        if not isinstance(text, str):
            raise plugin.blame(f"{where}: {word}: {kind_of(text)}; it must be text")


def _one_of(plugin: Loaded, where: str, word: object, allowed: Sequence[str]) -> None:
    if word not in allowed:
        raise plugin.blame(f"{where}: found {word!r}; it must be {' or '.join(allowed)}")
