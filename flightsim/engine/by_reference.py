"""Tuples of arrays handed on by reference: by where they stand in memory.

Compiled, an array is seven to nine numbers, and a function that is not written into its caller takes them all by value:
a bay and a ball are some 150. An entry puts its tuple into memory of its own once, and hands on where: a function that
looks at `bay.solids` reads what it needs from there. Uncompiled the tuple itself is handed on.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba
import numba.extending
from numba.core import cgutils, imputils, types
from numba.core import typing as types_of

T = TypeVar("T", bound=tuple[Any, ...])
_config: Any = numba.config
_extending: Any = numba.extending
_llvm: Any = cgutils
_signature: Any = cast(Any, types_of).signature
_templates: Any = cast(Any, types_of).templates
_types: Any = types


class ReferenceType(_types.Type):  # type: ignore[misc]
    """What the compiler calls the place of a tuple; dtype: the tuple's own type."""

    def __init__(self, dtype: Any) -> None:
        self.dtype = dtype
        super().__init__(name=f"Reference({dtype})")


@_extending.register_model(ReferenceType)
class _Model(_extending.models.PrimitiveModel):  # type: ignore[misc]
    """How it is held: as a pointer."""

    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, manager.lookup(kind.dtype).get_value_type().as_pointer())


def _field(held: Any, name: str) -> tuple[int, Any]:
    """Which of a tuple's fields has this name, and its type."""
    number = held.fields.index(name)
    return number, held.types[number]


@_templates.infer_getattr
class _Attributes(_templates.AttributeTemplate):  # type: ignore[misc]
    """What the compiler asks of a field."""

    key = ReferenceType

    def generic_resolve(self, kind: Any, name: str) -> Any:
        """Its type: that of an array, or again a place where the field is a tuple."""
        if name not in kind.dtype.fields:
            return None
        _, field = _field(kind.dtype, name)
        return ReferenceType(field) if isinstance(field, _types.BaseNamedTuple) else field


def _read(_: Any, builder: Any, kind: Any, value: Any, name: str) -> Any:
    """A field, read from where the tuple stands."""
    number, field = _field(kind.dtype, name)
    place = _llvm.gep_inbounds(builder, value, 0, number)
    return place if isinstance(field, _types.BaseNamedTuple) else builder.load(place)


cast(Any, imputils).lower_getattr_generic(ReferenceType)(_read)


def _typed(_: Any, held: Any) -> Any:
    """The place of a tuple, in memory of the function that asks for it."""

    def make(context: Any, builder: Any, sig: Any, given: Any) -> Any:
        place = _llvm.alloca_once(builder, context.get_value_type(held))
        builder.store(given[0], place)
        return place

    return ReferenceType(held)(held), make


def _itself(held: T) -> T:
    return held


by_reference: Callable[[T], T] = _itself if _config.DISABLE_JIT else cast(Any, _extending.intrinsic(_typed))
