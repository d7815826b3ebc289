"""Pressing a cloth by hand: the dent tells the pretension."""

from dataclasses import replace

import numpy as np
import pytest

from flightsim.cloth import hand_test
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.hand_test import dent, dents, membrane_stiffness, pretension_from_dent

SCREEN = Cloth()


def test_a_tighter_cloth_dents_less():
    dents = [dent(replace(SCREEN, pretension=each), 10.0) for each in (10.0, 30.0, 100.0, 200.0)]
    assert np.all(np.diff(dents) < 0.0)
    assert dents[0] > 3.0 * dents[-1]


def test_kept_dents_are_those_that_are_worked_out(monkeypatch):
    given, tensions = replace(SCREEN, width=1.0, height=0.8), (10.0, 40.0)
    worked_out = tuple(dent(replace(given, pretension=each), 10.0) for each in tensions)
    assert dents(given, tensions, 10.0) == worked_out
    monkeypatch.setattr(hand_test, "dent", None)  # so they are read
    assert dents(given, tensions, 10.0) == worked_out
    with pytest.raises(TypeError):
        dents(given, tensions, 11.0)


def test_a_harder_push_dents_more_but_in_no_proportion():
    dents = [dent(SCREEN, force) for force in (5.0, 10.0, 40.0)]
    assert dents[0] < dents[1] < dents[2] < 8.0 * dents[0]


def test_the_pretension_comes_back_from_its_own_dent():
    tight = replace(SCREEN, pretension=80.0, width=2.0, height=1.6)
    assert pretension_from_dent(replace(tight, pretension=5.0), 10.0, dent(tight, 10.0)) == pytest.approx(
        80.0, rel=0.02
    )


def test_membrane_stiffness_by_hand():
    # 2 pi 100/ln(.5394*2/.02) by hand
    assert membrane_stiffness(100.0, 2.0, 0.02) == pytest.approx(628.3185 / 3.98750, rel=1e-4)


@pytest.mark.parametrize("force", [0.0, -10.0, 600.0, float("nan")])
def test_a_force_that_no_hand_has_is_refused(force):
    with pytest.raises(ValueError, match="a hand that presses"):
        dent(SCREEN, force)


@pytest.mark.parametrize("read", [1.0, 0.0001, -0.1])
def test_a_dent_that_no_pretension_gives_is_refused_with_what_can_be(read):
    with pytest.raises(ValueError, match=r"drum.*loose"):
        pretension_from_dent(replace(SCREEN, width=2.0, height=1.6), 10.0, read)


def test_a_cloth_with_a_free_side_has_no_hand_test():
    with pytest.raises(ValueError, match="all four sides"):
        dent(replace(SCREEN, corded=frozenset({"top"})), 10.0)
