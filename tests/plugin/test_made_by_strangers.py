"""What strangers' plugins say is cut, bought and stands is checked at the border, and blamed by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from goals import bracketed, goal

from flightsim.errors import PluginError
from flightsim.making.pieces import Bar, Board, Cloth, Fitting, FloorPiece, Length, Pieces
from flightsim.making.structure import Hold, Structure
from flightsim.plugin.hookspecs import BaySetup, hookimpl
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import SMALL_BAY, scenario_of, with_plugins

PIECE = goal().bars[2]


def asked(what: str, answer: object) -> list[Any]:
    def hook(context: BaySetup) -> object:
        assert context.scenario.name == "A small bay"
        return answer() if callable(answer) else answer

    hook.__name__ = f"flightsim_{what}"
    plugins: Plugins = with_plugins({"visitor": SimpleNamespace(HOOK_API=2, **{hook.__name__: hookimpl(hook)})})
    found: list[Any] = getattr(plugins, what)(scenario_of(SMALL_BAY, plugins))
    return found


def test_a_strangers_structure_and_pieces_come_beside_those_of_the_bay() -> None:
    (found,) = asked("structures", [bracketed(goal())])
    assert found == bracketed(goal())
    pieces = Pieces((PIECE,), fittings=(Fitting("hook", "hook", 4, "net"),))
    assert pieces in asked("pieces", pieces)
    assert asked("structures", None) == []


@pytest.mark.parametrize(("answer", "words"), [
    ("a goal", "flightsim_structures"),
    ([goal(), "post"], "flightsim_structures"),
    ([replace(goal(), bars=(*goal().bars, PIECE))], "two bars share a name: top bar"),
    ([replace(goal(), bars=(*goal().bars, Bar("", "dot", "rib", PIECE.section, 0.0, PIECE.start, PIECE.start)))],
     "bars without length: dot"),
    ([replace(goal(), holds=(Hold("foot", "leg", "start", "floor", True),))], "no bar is called leg"),
    ([replace(goal(), holds=())], "nothing holds it"),
    ([replace(goal(), grade="butter")], "steel 'butter' is none of S235"),
])  # fmt: skip
def test_a_structure_that_cannot_be_is_its_plugins_fault(answer: object, words: str) -> None:
    with pytest.raises(PluginError, match=r"plugin 'visitor'") as raised:
        asked("structures", answer)
    assert words in str(raised.value)


@pytest.mark.parametrize(("answer", "words"), [
    ([PIECE], "it must return Pieces"),
    (Pieces((replace(PIECE, length=0.0),)), "bar 'top bar'"),
    (Pieces((replace(PIECE, length=float("nan")),)), "bar 'top bar'"),
    (Pieces(boards=(Board("", "shelf", "ply", 0.012, -1.0, 1.0, "x"),)), "board 'shelf'"),
    (Pieces(lengths=(Length("", "cord", "cord", 3.0, "x", 0),)), "length 'cord'"),
    (Pieces(fittings=(Fitting("hook", "hook", 0, "x"),)), "fitting 'hook'"),
    (Pieces(cloths=(Cloth("flag", "cloth", "cloth", 0.0, 1.0, "x"),)), "cloth 'flag'"),
    (Pieces(floor=(FloorPiece("rug", "rug", 0.0, 0.0, 1.0, 1.0, 0.0),)), "floor 'rug'"),
    (Pieces(floor=("rug",)), "floor"),  # type: ignore[arg-type]
    (Pieces(bars=("bar",)), "bars"),  # type: ignore[arg-type]
])  # fmt: skip
def test_pieces_that_cannot_be_are_their_plugins_fault(answer: object, words: str) -> None:
    with pytest.raises(PluginError, match=r"plugin 'visitor'.*flightsim_pieces") as raised:
        asked("pieces", answer)
    assert words in str(raised.value)


def test_remedies_that_fail_are_their_plugins_fault() -> None:
    def remedies() -> Iterator[tuple[str, Structure]]:
        raise KeyError("leg")
        yield "legs", goal()

    (found,) = asked("structures", [replace(goal(), remedies=remedies)])
    with pytest.raises(PluginError, match=r"plugin 'visitor'.*remedies failed: KeyError: 'leg'"):
        list(found.remedies())
