"""The JSON Schema of a scenario file, so that an editor completes keys and marks mistakes while one types."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from flightsim.scenario.reading.models import Core, Section

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_EXAMPLES = {"name": ["Single garage"], "units": ["metric"], "aero": ["naruo2004"], "plugins": [["my_baffles"]]}


def schema(sections: Sequence[Section], choices: Mapping[str, Sequence[str]] | None = None) -> dict[str, Any]:
    """JSON Schema 2020-12 of a whole scenario file with these sections.

    choices: the words that a core key may hold, by dotted path, as in load_scenario.
    """
    ordered = sorted(sections, key=lambda section: section.order)
    models: list[type[BaseModel]] = [Core, *(section.model for section in ordered)]
    places, everything = models_json_schema(
        [(model, "validation") for model in dict.fromkeys(models)], ref_template="#/$defs/{model}"
    )
    definitions: dict[str, Any] = everything["$defs"]
    core = definitions.pop(places[Core, "validation"]["$ref"].removeprefix("#/$defs/"))
    properties = dict(core["properties"])
    for key, examples in _EXAMPLES.items():
        properties[key] = {**properties[key], "examples": examples}
    for path, words in (choices or {}).items():
        _field(path, properties, definitions)["enum"] = list(words)
    for section in ordered:
        properties[section.key] = _section(section, places[section.model, "validation"], definitions)
    whole: dict[str, Any] = {
        "$schema": DIALECT,
        "title": "A bay for flightsim",
        "description": "An indoor golf hitting bay and the shots hit in it. Every size carries its unit: 4.2 m.",
        "type": "object",
        "properties": properties,
        "required": [*core["required"], *(section.key for section in ordered if section.required)],
        "additionalProperties": False,
        "$defs": definitions,
    }
    plain = _tidy(whole)
    assert isinstance(plain, dict)
    return plain


def _field(path: str, properties: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    """The schema of a core key by its dotted path."""
    *around, last = path.split(".")
    for step in around:
        properties = definitions[properties[step]["$ref"].removeprefix("#/$defs/")]["properties"]
    found = properties[last]
    assert isinstance(found, dict)
    return found


def _section(section: Section, reference: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    """One entry, or several: a group of keys or a list of them. Names are given by the loader where none stands."""
    if not section.several:
        return {**reference, "description": section.title}
    return {
        "description": f"{section.title}: one, or a list",
        "anyOf": [reference, {"type": "array", "items": reference}],
    }


def _tidy(value: Any) -> Any:
    """Without the machine's titles, and without null: a key with nothing after it is an error in a scenario."""
    if isinstance(value, list):
        return [_tidy(item) for item in value]
    if not isinstance(value, dict):
        return value
    plain = {key: _tidy_under(key, inner) for key, inner in value.items()}
    if "properties" in plain or "anyOf" in plain or plain.get("type") not in (None, "object"):
        plain = {key: inner for key, inner in plain.items() if key != "title" or "$schema" in plain}
    if not _useful_default(plain):
        del plain["default"]
    options = plain.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        options = [option for option in options if option != {"type": "null"}]
        rest = {key: inner for key, inner in plain.items() if key not in ("anyOf", "title")}
        plain = {**options[0], **rest} if len(options) == 1 else {"anyOf": options, **rest}
    return plain


def _useful_default(plain: dict[str, Any]) -> bool:
    """Whether a default stands as one would write it: not null, not a bare SI number, not a whole group."""
    if "default" not in plain:
        return True
    default = plain["default"]
    quantities = [option for option in (plain, *plain.get("anyOf", ())) if option.get("type") == "string"]
    return not (default is None or isinstance(default, dict) or (quantities and default != str(default)))


def _tidy_under(key: str, inner: Any) -> Any:
    """Under `properties` and `$defs` stand names, which may be any word, `title` too; below `default`, values."""
    if key in ("properties", "$defs") and isinstance(inner, dict):
        return {name: _tidy(item) for name, item in inner.items()}
    return inner if key in ("default", "const", "enum", "examples") else _tidy(inner)
