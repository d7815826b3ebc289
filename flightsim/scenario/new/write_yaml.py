"""Answers as a scenario file: as they were typed, each with what its key says of itself."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

import yaml
from pydantic import BaseModel

from flightsim.scenario.reading.asking import Measure
from flightsim.scenario.reading.models import Section
from flightsim.scenario.reading.source import plain

_PLAIN_TEXT = re.compile(r"[\w.+½¼¾⅛⅜⅝⅞][\w .,'\"°/+½¼¾⅛⅜⅝⅞-]*")
HEAD = """\
# Every size carries its unit: 3.8 m, 350 mm, 12 ft 6 in, 53 1/2 in. Measure from the walls and from the slab.
# Read it back:  flightsim check FILE          Fly it:  flightsim run FILE
"""


def write_yaml(data: Mapping[str, Any], sections: Sequence[Section] = (), models: Mapping[str, Any] = {}) -> str:
    """The text of a scenario file. sections: whose fields say what each key is; models: of keys that are no section."""
    known = {section.key: section.model for section in sections} | dict(models)
    titles = {section.key: section.title for section in sections}
    lines = [HEAD.rstrip()]
    for key, value in data.items():
        grouped = isinstance(value, Mapping) or (isinstance(value, list) and all(isinstance(e, Mapping) for e in value))
        said = titles.get(key, "")
        lines += ["", f"{key}:{f'  # {_small(said)}' if said else ''}"] if grouped else [f"{key}: {_scalar(value)}"]
        lines += _lines(value, known.get(key), 1) if grouped else []
    return "\n".join(lines) + "\n"


def _small(title: str) -> str:
    return f"{title[:1].lower()}{title[1:]}"


def _lines(value: Any, model: Any, depth: int) -> Iterator[str]:
    pad = "  " * depth
    if isinstance(value, list):
        for item in value:
            inner = list(_lines(item, model, depth + 1))
            yield f"{pad}- {inner[0].strip()}"
            yield from inner[1:]
        return
    fields = _fields(model, value)
    for key, item in value.items():
        known = fields.get(key)
        said = f"  # {known.description.partition(';')[0]}" if known is not None and known.description else ""
        if isinstance(item, Mapping) or (isinstance(item, list) and item and isinstance(item[0], Mapping)):
            yield f"{pad}{key}:{said}"
            yield from _lines(item, None if known is None else known.annotation, depth + 1)
        else:
            yield f"{pad}{key}: {_scalar(item)}{said}"


def _fields(annotation: Any, value: Mapping[str, Any]) -> dict[str, Any]:
    """The fields, by key in the file, of the first model in an annotation that has them all."""
    for model in _models(annotation):
        fields = {known.alias or name: known for name, known in model.model_fields.items()}
        if all(key in fields for key in value):
            return fields
    return {}


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _models(inner)


def _scalar(value: Any) -> str:
    if isinstance(value, Measure):
        return yaml_text(value.text)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(_scalar(item) for item in value)}]"
    return yaml_text(value) if isinstance(value, str) else json.dumps(value)


def yaml_text(text: str) -> str:
    """Text as a YAML scalar that reads back as this text: bare where it can be, else quoted as in JSON."""
    bare = _PLAIN_TEXT.fullmatch(text) is not None and text == text.strip() and plain(text) == text
    bare = bare and yaml.safe_load(text) == text  # other readers go by YAML 1.1, where `on` is true
    return text if bare else json.dumps(text, ensure_ascii=False)
