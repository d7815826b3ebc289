"""Eight numbers side by side, one for each time along an arc that is looked at: worked on all at once.

Compiled they are one vector of the machine; uncompiled an array of numpy. Arithmetic is written as with numbers, and
none of it rounds otherwise than eight numbers one after the other would.
"""

from __future__ import annotations

import operator
from collections.abc import Callable
from typing import Any, TypeAlias, TypeVar, cast

import numba
import numba.extending
import numpy as np
from llvmlite import ir
from numba.core import cgutils, typeconv, types
from numba.core import typing as types_of
from numpy.typing import NDArray

LANES = 8
Lanes: TypeAlias = NDArray[np.float64]  # uncompiled, `(8,) float`
F = TypeVar("F", bound=Callable[..., object])
_config: Any = numba.config
_extending: Any = numba.extending  # how a compiler is taught a type and functions of one's own
_llvm: Any = cgutils
_signature: Any = cast(Any, types_of).signature
_templates: Any = cast(Any, types_of).templates
_conversion: Any = cast(Any, typeconv).Conversion
_types: Any = types
_VECTOR = ir.VectorType(ir.DoubleType(), LANES)
_PLACE = ir.IntType(32)
_UNALIGNED = 8  # bytes
_NUMBERS = (_types.Float, _types.Integer)


class LanesType(_types.Type):  # type: ignore[misc]
    """What the compiler calls eight numbers side by side; a single number can stand for all of them."""

    def __init__(self) -> None:
        super().__init__(name="Lanes")

    def can_convert_from(self, _: Any, other: Any) -> Any:
        """Whether the other type can be read as this one."""
        return _conversion.safe if isinstance(other, _NUMBERS) else None


_lanes: Any = LanesType()


class _Model(_extending.models.PrimitiveModel):  # type: ignore[misc]
    """How they are held: in one vector."""

    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, _VECTOR)


_extending.register_model(LanesType)(_Model)


def _spread(context: Any, builder: Any, given: Any, _: Any, value: Any) -> Any:
    """Eight of the same number."""
    number = context.cast(builder, value, given, _types.float64)
    one = builder.insert_element(ir.Constant(_VECTOR, ir.Undefined), number, _PLACE(0))
    return builder.shuffle_vector(one, one, ir.Constant(ir.VectorType(_PLACE, LANES), [0] * LANES))


def _reckoned(args: tuple[Any, ...]) -> Any:
    """The type of an operation between eight numbers and eight, or one; None for what has no eight in it."""
    known = all(isinstance(a, (LanesType, *_NUMBERS)) for a in args)
    ours = known and any(isinstance(a, LanesType) for a in args)
    return _signature(_lanes, _lanes, _lanes) if ours else None


class _Operation(_templates.AbstractTemplate):  # type: ignore[misc]
    """What the compiler asks of an operation."""

    def generic(self, args: Any, _: Any) -> Any:
        """Its type."""
        return _reckoned(args)


def _teach(which: Callable[..., object], instruction: str) -> None:
    """Teach the compiler an operation."""

    def lower(_: Any, builder: Any, __: Any, given: Any) -> Any:
        return getattr(builder, instruction)(*given)

    _templates.infer_global(which)(type(f"_{instruction}", (_Operation,), {}))
    _extending.lower_builtin(which, LanesType, LanesType)(lower)


for _kind in _NUMBERS:
    _extending.lower_cast(_kind, LanesType)(_spread)
_teach(operator.add, "fadd")
_teach(operator.sub, "fsub")
_teach(operator.mul, "fmul")
_teach(operator.truediv, "fdiv")


def _either(in_python: F, typed: Callable[..., Any]) -> F:
    """The function as Python runs it, or as it is written into the compiled code."""
    return in_python if _config.DISABLE_JIT else cast(F, _extending.intrinsic(typed))


def _compared(comparison: str) -> Callable[..., Any]:
    """Of each two numbers the first where it compares so with the second, else the second."""

    def make(_: Any, builder: Any, __: Any, given: Any) -> Any:
        a, b = given
        return builder.select(builder.fcmp_ordered(comparison, a, b), a, b)

    return make


def _by_llvm(name: str) -> Callable[..., Any]:
    """One of LLVM's own functions of eight numbers."""

    def make(_: Any, builder: Any, __: Any, given: Any) -> Any:
        kind = ir.FunctionType(_VECTOR, [_VECTOR])
        function = _llvm.get_or_insert_function(builder.module, kind, f"llvm.{name}.v{LANES}f64")
        return builder.call(function, given)

    return make


def _typed_root(_: Any, a: Any) -> Any:
    return _lanes(_lanes), _by_llvm("sqrt")


def _typed_size(_: Any, a: Any) -> Any:
    return _lanes(_lanes), _by_llvm("fabs")


def _typed_all_of(_: Any, number: Any) -> Any:
    return _lanes(_lanes), lambda context, builder, sig, given: given[0]


def _typed_least(_: Any, a: Any, b: Any) -> Any:
    return _lanes(_lanes, _lanes), _compared("<")


def _typed_most(_: Any, a: Any, b: Any) -> Any:
    return _lanes(_lanes, _lanes), _compared(">")


def _typed_chosen(_: Any, a: Any, b: Any, below: Any, else_: Any) -> Any:
    def make(_: Any, builder: Any, __: Any, given: Any) -> Any:
        a, b, below, else_ = given
        return builder.select(builder.fcmp_ordered("<", a, b), below, else_)

    return _lanes(_lanes, _lanes, _lanes, _lanes), make


def _pointer(context: Any, builder: Any, kind: Any, row: Any, first: Any) -> Any:
    """Where in memory the eight numbers begin."""
    array = context.make_array(kind)(context, builder, row)
    begins = _llvm.get_item_pointer(context, builder, kind, array, [first], wraparound=False)
    return builder.bitcast(begins, _VECTOR.as_pointer())


def _typed_eight(_: Any, numbers: Any, first: Any) -> Any:
    def make(context: Any, builder: Any, sig: Any, given: Any) -> Any:
        return builder.load(_pointer(context, builder, sig.args[0], *given), align=_UNALIGNED)

    return _lanes(numbers, _types.intp), make


def _typed_put_eight(_: Any, numbers: Any, first: Any, a: Any) -> Any:
    def make(context: Any, builder: Any, sig: Any, given: Any) -> Any:
        row, first, a = given
        builder.store(a, _pointer(context, builder, sig.args[0], row, first), align=_UNALIGNED)
        return context.get_dummy_value()

    return _types.void(numbers, _types.intp, _lanes), make


def _root(a: Lanes) -> Lanes:
    return np.sqrt(a)


def _all_of(number: float) -> Lanes:
    return np.full(LANES, number)


def _size(a: Lanes) -> Lanes:
    return np.abs(a)


def _least(a: Lanes | float, b: Lanes | float) -> Lanes:
    return np.where(np.less(a, b), a, b)


def _most(a: Lanes | float, b: Lanes | float) -> Lanes:
    return np.where(np.greater(a, b), a, b)


def _chosen(a: Lanes | float, b: Lanes | float, below: Lanes | float, else_: Lanes | float) -> Lanes:
    return np.where(np.less(a, b), below, else_)


def _eight(numbers: np.ndarray, first: int) -> Lanes:
    return np.array(numbers[first : first + LANES])


def _put_eight(numbers: np.ndarray, first: int, a: Lanes) -> None:
    numbers[first : first + LANES] = a


all_of = _either(_all_of, _typed_all_of)  # eight of the same number
root = _either(_root, _typed_root)  # square root of each
size = _either(_size, _typed_size)  # each without its sign
least = _either(_least, _typed_least)  # the lesser of each two; the second where one is NaN
most = _either(_most, _typed_most)  # the greater of each two; the second where one is NaN
chosen = _either(_chosen, _typed_chosen)  # of each four a, b, c, d: c where a < b, else d
eight = _either(_eight, _typed_eight)  # the eight numbers that begin at a place of a row
put_eight = _either(_put_eight, _typed_put_eight)  # write eight numbers from a place of a row on
