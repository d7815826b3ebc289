"""docs/sources.md holds every source once, and every key that code or a page names stands there."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "sources.md").read_text(encoding="utf-8")
ROWS = [line.strip("| ").split(" | ") for line in PAGE.splitlines() if re.match(r"\| [a-z0-9-]+ \| ", line)]
ROWS = [row for row in ROWS if row[0] not in ("key", "---")]
KEYS = [row[0] for row in ROWS]
KNOWN_BY = ("read", "summary", "second-hand", "memory", "computed", "judgement", "practice")
TEXTS = {
    path.relative_to(ROOT): path.read_text(encoding="utf-8")
    for folder, ends in (("flightsim", "py yaml"), ("plugins", "py"), ("docs", "md"), ("tests", "py"))
    for end in ends.split()
    for path in sorted((ROOT / folder).rglob(f"*.{end}"))
}
CITED = re.compile(r"(?<![\w\])])\[([a-z][a-z0-9]*(?:-[a-z0-9]+)+)\](?!\()")  # no link, no index; keys with a hyphen
NO_KEY = re.compile("a-z|build-system$")  # signs of patterns, and a section of a settings file


def test_no_key_stands_twice() -> None:
    assert len(KEYS) > 90
    assert [key for key, count in Counter(KEYS).items() if count > 1] == []


def test_every_source_says_how_it_is_known_and_what_it_is_for() -> None:
    for row in ROWS:
        assert len(row) == 4, row[0]
        assert any(word in row[2] for word in KNOWN_BY), row[0]
        assert len(row[3]) > 3, row[0]


def test_every_key_that_is_named_is_there() -> None:
    named = {(str(path), key) for path, text in TEXTS.items() for key in CITED.findall(text) if not NO_KEY.match(key)}
    assert len(named) > 15
    assert {(path, key) for path, key in named if key not in KEYS} == set()


def test_nothing_leans_on_a_reference_without_a_name() -> None:
    vague = re.compile(r"\(reference\)|project(?:'s)? reference\b", re.IGNORECASE)
    this_file = Path(__file__).relative_to(ROOT)
    assert [str(path) for path, text in TEXTS.items() if path != this_file and vague.search(text)] == []


def test_years_of_papers_in_code_stand_on_the_page() -> None:
    """Authors and year, wherever a file of the package names a paper: `Duma et al. 2005`, `Clenshaw & Norton 1963`."""
    others = r"(?: (?:et al\.|(?:&|and|,) [A-Z][a-zé]+))*"
    paper = re.compile(rf"\b([A-Z][a-zé]+){others} (1[89]\d\d|20\d\d)\b,")
    for path, text in TEXTS.items():
        if path.parts[0] not in ("flightsim", "plugins"):
            continue
        for author, year in paper.findall(text):
            assert re.search(rf"{author}\b[^|]*{year}", PAGE), f"{path}: {author} {year}"
