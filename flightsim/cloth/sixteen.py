"""Sixteen single numbers side by side, one for each hit that is worked at once.

Compiled they are one vector of the machine, or a few where its vectors are shorter; uncompiled an array of numpy.
Arithmetic is written as with numbers, and none of it rounds otherwise than sixteen numbers one after the other would.
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

LANES = 16
Sixteen: TypeAlias = NDArray[np.floating[Any]]  # uncompiled, `(16,)`
Numbers: TypeAlias = NDArray[np.floating[Any]]
F = TypeVar("F", bound=Callable[..., object])
_config: Any = numba.config
_extending: Any = numba.extending  # how a compiler is taught a type and functions of one's own
_llvm: Any = cgutils
_signature: Any = cast(Any, types_of).signature
_templates: Any = cast(Any, types_of).templates
_conversion: Any = cast(Any, typeconv).Conversion
_types: Any = types
_VECTOR = ir.VectorType(ir.FloatType(), LANES)
_COUNTER = ir.IntType(32)
_UNALIGNED = 4  # bytes


class SixteenType(_types.Type):  # type: ignore[misc]
    """What the compiler calls sixteen numbers side by side; a single number can stand for all of them."""

    def __init__(self) -> None:
        super().__init__(name="Sixteen")

    def can_convert_from(self, _: Any, other: Any) -> Any:
        """Whether the other type can be read as this one."""
        return _conversion.safe if other == _types.float32 else None


_sixteen: Any = SixteenType()


class _Model(_extending.models.PrimitiveModel):  # type: ignore[misc]
    """How they are held: in one vector."""

    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, _VECTOR)


_extending.register_model(SixteenType)(_Model)


def _spread(_context: Any, builder: Any, _given: Any, _wanted: Any, number: Any) -> Any:
    """Sixteen of the same number."""
    one = builder.insert_element(ir.Constant(_VECTOR, ir.Undefined), number, _COUNTER(0))
    return builder.shuffle_vector(one, one, ir.Constant(ir.VectorType(_COUNTER, LANES), [0] * LANES))


class _Operation(_templates.AbstractTemplate):  # type: ignore[misc]
    """What the compiler asks of an operation: its type, none where no sixteen numbers are in it."""

    def generic(self, args: Any, _: Any) -> Any:
        """Its type."""
        known = all(isinstance(each, SixteenType) or each == _types.float32 for each in args)
        ours = known and any(isinstance(each, SixteenType) for each in args)
        return _signature(_sixteen, _sixteen, _sixteen) if ours else None


def _teach(which: Callable[..., object], instruction: str) -> None:
    """Teach the compiler an operation."""

    def lower(_: Any, builder: Any, __: Any, given: Any) -> Any:
        return getattr(builder, instruction)(*given)

    _templates.infer_global(which)(type(f"_{instruction}", (_Operation,), {}))
    _extending.lower_builtin(which, SixteenType, SixteenType)(lower)


_extending.lower_cast(_types.Float, SixteenType)(_spread)
_teach(operator.add, "fadd")
_teach(operator.sub, "fsub")
_teach(operator.mul, "fmul")
_teach(operator.truediv, "fdiv")


def _either(in_python: F, typed: Callable[..., Any]) -> F:
    """The function as Python runs it, or as it is written into the compiled code."""
    return in_python if _config.DISABLE_JIT else cast(F, _extending.intrinsic(typed))


def _place(context: Any, builder: Any, kind: Any, numbers: Any, begins: Any) -> Any:
    """Where a place of a row of numbers is in memory."""
    array = context.make_array(kind)(context, builder, numbers)
    return _llvm.get_item_pointer(context, builder, kind, array, [begins], wraparound=False)


def _typed_all_of(_: Any, number: Any) -> Any:
    return _sixteen(_sixteen), lambda context, builder, sig, given: given[0]


def _by_llvm(name: str) -> Callable[..., Any]:
    """One of LLVM's own functions of sixteen numbers."""

    def make(_: Any, builder: Any, __: Any, given: Any) -> Any:
        kind = ir.FunctionType(_VECTOR, [_VECTOR])
        return builder.call(_llvm.get_or_insert_function(builder.module, kind, f"llvm.{name}.v{LANES}f32"), given)

    return make


def _typed_root(_: Any, a: Any) -> Any:
    return _sixteen(_sixteen), _by_llvm("sqrt")


def _typed_size(_: Any, a: Any) -> Any:
    return _sixteen(_sixteen), _by_llvm("fabs")


def _typed_chosen(_: Any, a: Any, b: Any, above: Any, else_: Any) -> Any:
    def make(_: Any, builder: Any, __: Any, given: Any) -> Any:
        a, b, above, else_ = given
        return builder.select(builder.fcmp_ordered(">", a, b), above, else_)

    return _sixteen(_sixteen, _sixteen, _sixteen, _sixteen), make


def _typed_sixteen(_: Any, numbers: Any, begins: Any) -> Any:
    def make(context: Any, builder: Any, sig: Any, given: Any) -> Any:
        first = _place(context, builder, sig.args[0], *given)
        return builder.load(builder.bitcast(first, _VECTOR.as_pointer()), align=_UNALIGNED)

    return _sixteen(numbers, _types.intp), make


def _typed_put_sixteen(_: Any, numbers: Any, begins: Any, a: Any) -> Any:
    def make(context: Any, builder: Any, sig: Any, given: Any) -> Any:
        first = _place(context, builder, sig.args[0], *given[:2])
        builder.store(given[2], builder.bitcast(first, _VECTOR.as_pointer()), align=_UNALIGNED)
        return context.get_dummy_value()

    return _types.void(numbers, _types.intp, _sixteen), make


def _typed_one(_: Any, numbers: Any, begins: Any) -> Any:
    def make(context: Any, builder: Any, sig: Any, given: Any) -> Any:
        return builder.load(_place(context, builder, sig.args[0], *given), align=_UNALIGNED)

    return _types.float32(numbers, _types.intp), make


def _all_of(number: float) -> Sixteen:
    return np.full(LANES, number, dtype=np.float32)


def _root(a: Sixteen) -> Sixteen:
    return np.sqrt(a)


def _size(a: Sixteen) -> Sixteen:
    return np.abs(a)


def _chosen(a: Sixteen, b: Sixteen, above: Sixteen, else_: Sixteen) -> Sixteen:
    return np.where(np.greater(a, b), above, else_)


def _sixteen_at(numbers: Numbers, begins: int) -> Sixteen:
    return np.array(numbers[begins : begins + LANES])


def _put_sixteen(numbers: Numbers, begins: int, a: Sixteen) -> None:
    numbers[begins : begins + LANES] = a


def _one_at(numbers: Numbers, begins: int) -> float:
    return cast(float, numbers[begins])


all_of = _either(_all_of, _typed_all_of)  # sixteen of the same number
root = _either(_root, _typed_root)  # square root of each
size = _either(_size, _typed_size)  # each without its sign
chosen = _either(_chosen, _typed_chosen)  # of each four a, b, c, d: c where a > b, else d
sixteen_at = _either(_sixteen_at, _typed_sixteen)  # the sixteen numbers that begin at a place of a row
put_sixteen = _either(_put_sixteen, _typed_put_sixteen)  # write sixteen numbers from a place of a row on
one_at = _either(_one_at, _typed_one)  # the number at a place, never counted from the end


def rows_of_sixteen(*shape: int) -> Numbers:
    """Noughts `(*shape, 16)` that begin where a line of the processor's cache does."""
    size = int(np.prod(shape, dtype=np.intp)) * LANES
    room = np.zeros(size + LANES, dtype=np.float32)
    begins = -room.ctypes.data % (4 * LANES) // 4
    return room[begins : begins + size].reshape(*shape, LANES)
