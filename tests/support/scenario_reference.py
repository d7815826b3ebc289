"""The tables of docs/scenario.md, from the models that check the file. Run it to write them anew:

python tests/support/scenario_reference.py
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from flightsim.bay.facing_words import SHIPPED
from flightsim.plugin.manager import load_plugins
from flightsim.scenario.reading.json_schema import schema
from flightsim.scenario.reading.quantities import KINDS, quantity
from flightsim.study.run.open_bay import all_sections, core_choices

FILE = Path(__file__).parents[2] / "docs" / "scenario.md"
MARK = "<!-- Written from the models by tests/support/scenario_reference.py: change the models, not this. -->\n"
Node = dict[str, Any]

FACINGS = list(SHIPPED)
PATTERNS = {TypeAdapter(quantity(name)).json_schema()["pattern"]: name for name in KINDS}
SPREADS = ("Normal", "TruncatedNormal", "Uniform", "Triangular", "Mixture")


@dataclass(frozen=True)
class Group:
    """A group of keys: where it stands in the file, what it is, and (key, what it holds, what it means)."""

    path: str
    words: str
    rows: tuple[tuple[str, str, str], ...]


class Reference:
    """Every key of a scenario file, group by group."""

    def __init__(self) -> None:
        self.whole = schema(all_sections(load_plugins()), core_choices())
        self.definitions: Node = self.whole["$defs"]

    def groups(self) -> Iterator[Group]:
        """The keys of the file itself, then each section with the groups inside it."""
        yield Group("", "Sections and other keys at the left edge of the file.", self.rows(self.whole))
        for key, node in self.whole["properties"].items():
            yield from self.inside(key, node)

    def inside(self, path: str, node: Node) -> Iterator[Group]:
        """The groups at this path and below it."""
        for name, listed in self.models(node):
            definition = self.definitions[name]
            kind = definition["properties"].get("kind", {}).get("const")
            group_path = f"{path}[]" if listed else f"{path}.NAME" if "additionalProperties" in node else path
            words = " ".join(definition["description"].split())
            words += " One, or a list." if "one, or a list" in str(node) else ""
            yield Group(f"`{group_path}`" + (f", kind `{kind}`" if kind else ""), words, self.rows(definition))
            for key, inner in definition["properties"].items():
                yield from self.inside(f"{group_path}.{key}", inner)

    def spreads(self) -> Iterator[tuple[str, str, str]]:
        """Kind, keys and meaning of each distribution. All quantities have the same ones."""
        for spread in SPREADS:
            definition = self.definitions[f"Speed{spread}"]
            keys = [f"`{key}`" for key in definition["properties"] if key != "kind"]
            yield definition["properties"]["kind"]["const"], ", ".join(keys), definition["description"]

    def models(self, node: Node) -> list[tuple[str, bool]]:
        """The models that a key may hold, and whether in a list only. Distributions have a table of their own."""
        refs = dict.fromkeys(_refs(node))
        found = [(ref, node.get("type") == "array") for ref in refs if not self.is_spread(ref)]
        return [(ref, listed) for ref, listed in found if not ref.startswith("Grid") or ref == "Grid"]

    def is_spread(self, name: str) -> bool:
        """Whether a model is a distribution."""
        return name.endswith(SPREADS) and "kind" in self.definitions[name]["properties"]

    def rows(self, definition: Node) -> tuple[tuple[str, str, str], ...]:
        """Key, what it holds, and what it means."""
        needed = definition.get("required", ())
        return tuple(
            (key, self.value(node) + (", **required**" if key in needed else ""), self.meaning(node))
            for key, node in definition["properties"].items()
        )

    def meaning(self, node: Node) -> str:
        """The description, with the default where it is told in the schema only."""
        words = node.get("description") or ""
        if words.startswith(tuple(f"{name} with its unit" for name in KINDS)):
            words = ""
        if not words and "$ref" in node:
            words = self.definitions[_refs(node)[0]]["description"]
        if "const" in node:
            words = "this kind"
        default = node.get("default")
        if default not in (None, [], "") and "default" not in words:
            shown = str(default).lower() if isinstance(default, bool) else str(default)
            words += f"{'; ' if words else ''}default {shown}"
        return words if words.endswith("...") else words.removesuffix(".")

    def value(self, node: Node) -> str:
        """What may stand there, in a few words."""
        if node.get("pattern") in PATTERNS:
            return PATTERNS[node["pattern"]]
        if "const" in node:
            return f"`{node['const']}`"
        if node.get("format") == "share of balls":
            return "share"
        if node.get("examples") == FACINGS:
            return "a facing"
        if "enum" in node:
            return ", ".join(f"`{word}`" for word in node["enum"])
        if node.get("type") == "array":
            return self.several(node)
        if "anyOf" in node:
            return self.one_of(node["anyOf"])
        if isinstance(node.get("additionalProperties"), dict):
            return f"{self.value(node['additionalProperties'])}s by name"
        plain = {"boolean": "true or false", "string": "text", "number": "number", "integer": "whole number"}
        return plain.get(node.get("type", ""), "group")

    def several(self, node: Node) -> str:
        """A list, by what it holds."""
        if "prefixItems" in node:
            return f"two of {self.value(node['prefixItems'][0])}"
        inner = self.value(node["items"])
        return "list of groups" if inner == "group" else f"list of {inner}s" if inner in KINDS else f"list of {inner}"

    def one_of(self, options: list[Node]) -> str:
        """A value that may be written in several ways."""
        first, refs = self.value(options[0]), _refs({"anyOf": options})
        if any(self.is_spread(ref) for ref in refs):
            return f"{first}, or a distribution of it"
        if any(ref.startswith("Grid") for ref in refs):
            return f"{first}, a list of them, or `{{from, to, steps}}`"
        if first == "group":
            return "group, or a list of them"
        if first == "share":
            return "share, or shares by name"
        if options[1].get("type") == "object":
            return f"{first}, or each with a number"
        return ", or ".join(dict.fromkeys(self.value(option) for option in options))


def _refs(node: Any) -> list[str]:
    """Names of the models that a node points to, at any depth of unions and lists."""
    if isinstance(node, list):
        return [ref for item in node for ref in _refs(item)]
    if not isinstance(node, dict):
        return []
    if "$ref" in node:
        return [node["$ref"].removeprefix("#/$defs/")]
    return [ref for key in ("anyOf", "oneOf", "items", "additionalProperties") for ref in _refs(node.get(key, []))]


def text() -> str:
    """All tables as Markdown."""
    reference, lines = Reference(), []
    for _, same in groupby(reference.groups(), key=lambda group: (group.words, group.rows)):
        groups = list(same)
        inner = "." in groups[0].path or "[]" in groups[0].path
        path = " and ".join(group.path for group in groups) or "The file"
        lines += [f"{'###' if inner else '##'} {path}", "", groups[0].words, ""]
        lines += table(("key", "holds", "meaning"), [(f"`{key}`", *rest) for key, *rest in groups[0].rows])
    lines += ["## Facings", "", f"What a face is made of: {', '.join(FACINGS)}, or a name under `facings`.", ""]
    lines += ["What each does to a ball, and where its numbers come from, is in [facings.md](facings.md).", ""]
    lines += [
        "## Distributions",
        "",
        "Each is a group with its `kind`, such as `{kind: uniform, low: 1 deg, high: 3 deg}`.",
        "",
    ]
    lines += table(("kind", "keys", "meaning"), [(f"`{kind}`", *rest) for kind, *rest in reference.spreads()])
    component = reference.definitions["SpeedComponent"]["properties"]
    lines += ["Each of a mixture's components:", ""]
    lines += table(("key", "holds", "meaning"), [
        ("`weight`", "number, **required**", component["weight"]["description"]),
        ("`of`", "value or distribution, **required**", "one of the kinds above, but no mixture"),
    ])  # fmt: skip
    lines += ["## Units", "", "Every number that has a dimension carries its unit, in one string.", ""]
    lines += table(("what", "units", "examples"), [
        (kind.name, ", ".join(f"`{unit}`" for unit in kind.units), ", ".join(f"`{word}`" for word in kind.examples))
        for kind in KINDS.values()
    ])  # fmt: skip
    return "\n".join(lines).rstrip() + "\n"


def table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> list[str]:
    """Lines of a Markdown table."""
    cells = [head, tuple("---" for _ in head), *rows]
    return [*(f"| {' | '.join(row)} |" for row in cells), ""]


if __name__ == "__main__":
    words, _, _ = FILE.read_text(encoding="utf-8").partition(MARK)
    FILE.write_text(words + MARK + "\n" + text(), encoding="utf-8")
