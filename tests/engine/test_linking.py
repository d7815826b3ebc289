"""What only compiled functions call is linked into them, and optimised with them alone."""

from __future__ import annotations

import numba
import numpy as np
import pytest
from numba.core import codegen

from flightsim.engine.cache import Kept
from flightsim.engine.compiled import KNOWN, compiled, entry_in, how_called, inlined

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="asks how functions are compiled")
NOT_KEPT = Kept(None)


@compiled
def halved(x):
    return 0.5 * x


@inlined
def halved_and_more(x):
    return halved(x) + 1.0


@compiled
def both(x):
    return halved(x) + halved_and_more(x)


def summed(numbers):
    total = 0.0
    for k in range(len(numbers)):
        total += both(numbers[k]) + halved(numbers[k])
    return total


NUMBERS = np.array([1.0, -2.5, 8.0])
SUM = float((1.5 * NUMBERS + 1.0).sum())


def test_a_function_that_python_cannot_call_is_optimised_only_with_its_entry(monkeypatch):
    optimised = []
    optimise = codegen.CPUCodeLibrary._optimize_final_module
    monkeypatch.setattr(
        codegen.CPUCodeLibrary, "_optimize_final_module",
        lambda library: (optimised.append(library.name), optimise(library)),
    )  # fmt: skip
    assert entry_in(NOT_KEPT)(summed)(NUMBERS) == SUM
    assert "summed" in optimised
    assert not {"halved", "halved_and_more", "both"} & set(optimised)


def test_a_function_of_somebody_elses_may_call_one_of_ours():
    assert numba.njit(summed)(NUMBERS) == SUM
    assert numba.njit(lambda x: both(x))(3.0) == 4.0


def test_an_entry_that_another_entry_shares_functions_with_is_whole():
    first, second = entry_in(NOT_KEPT)(summed), entry_in(NOT_KEPT)(lambda x: both(x) - halved(x))
    assert first(NUMBERS) == SUM
    assert second(4.0) == 3.0
    assert first(NUMBERS) == SUM


def test_what_goes_wrong_in_a_called_function_is_raised_to_who_called_the_entry():
    @compiled
    def refused(x):
        if x < 0.0:
            raise ValueError("below nought")
        return x

    entry = entry_in(NOT_KEPT)(lambda x: refused(x) + 1.0)
    assert entry(1.0) == 2.0
    with pytest.raises(ValueError, match="below nought"):
        entry(-1.0)


def test_with_a_numba_that_nobody_has_tried_the_plain_way_of_compiling_is_taken():
    assert "pipeline_class" in how_called(KNOWN)
    assert "pipeline_class" in how_called((0, 59))
    plain = how_called((KNOWN[0], KNOWN[1] + 1))
    assert "pipeline_class" not in plain
    twice = numba.njit(**plain)(lambda x: 2.0 * x)
    assert entry_in(NOT_KEPT)(lambda x: twice(x) + halved(x))(3.0) == 7.5
