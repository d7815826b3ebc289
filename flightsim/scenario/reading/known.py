"""What a model knows: its keys at a place, and what to write there. For error messages."""

from __future__ import annotations

import types
from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, RootModel, WithJsonSchema
from pydantic.fields import FieldInfo

Step = str | int
Models = list[type[BaseModel]]


def models_in(annotation: Any) -> Models:
    """The models that an annotation can hold, in unions, lists and Annotated, but not those in the models' fields."""
    if isinstance(annotation, type) and issubclass(annotation, RootModel):
        return models_in(annotation.model_fields["root"].annotation)
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return [annotation] if issubclass(annotation, BaseModel) else []
    if get_origin(annotation) is Literal:
        return []
    parts = get_args(annotation)[:1] if get_origin(annotation) is Annotated else get_args(annotation)
    return [model for part in parts for model in models_in(part)]


def fields_of(models: Models) -> dict[str, FieldInfo]:
    """The fields by the key that the file uses, of all these models."""
    return {info.alias or name: info for model in models for name, info in model.model_fields.items()}


def models_at(model: Any, loc: Sequence[Step]) -> Models:
    """The models at a place. Steps that are no key choose among the members of a union, by tag or by name."""
    models = models_in(model)
    for step in loc:
        if isinstance(step, int):
            continue
        inside = [m for m in models if step in fields_of([m])]
        if inside:
            models = [found for m in inside for found in models_in(fields_of([m])[step].annotation)]
        else:
            models = [m for m in models if m.__name__ == step or _tagged(m, step)] or models
    return models


def _tagged(model: type[BaseModel], tag: str) -> bool:
    """Whether a literal field of the model takes this tag, as `kind: Literal["flat"]` does."""
    return any(
        tag in get_args(info.annotation)
        for info in model.model_fields.values()
        if get_origin(info.annotation) is Literal
    )


def example_of(info: FieldInfo) -> str:
    """What to write for a field, or ""."""
    if info.examples:
        return str(info.examples[0])
    for item in (*info.metadata, *_metadata(info.annotation)):
        if isinstance(item, WithJsonSchema) and item.json_schema and item.json_schema.get("examples"):
            return str(item.json_schema["examples"][0])
    if get_origin(info.annotation) is Literal:
        return str(get_args(info.annotation)[0])
    return {bool: "true", str: "some name", int: "1", float: "0.5"}.get(info.annotation, "")  # type: ignore[arg-type]


def _metadata(annotation: Any) -> list[Any]:
    """Metadata of every Annotated inside an annotation."""
    if get_origin(annotation) is Annotated:
        return list(annotation.__metadata__)
    if get_origin(annotation) in {Union, types.UnionType}:
        return [item for part in get_args(annotation) for item in _metadata(part)]
    return []


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that this one most likely means."""
    by_lower = {name.lower(): name for name in known}
    close = get_close_matches(word.lower().replace("-", "_").replace(" ", "_"), by_lower, n=1, cutoff=0.55)
    return by_lower[close[0]] if close else None
