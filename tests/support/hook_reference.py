"""docs/hooks-reference.md from the hooks themselves: `python tests/support/hook_reference.py` writes it again."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path

from flightsim.plugin import hookspecs
from flightsim.plugin.loading import new_manager

PAGE = Path(__file__).parents[2] / "docs" / "hooks-reference.md"
HEAD = """# Every hook and what goes through it

Written from the code by `tests/support/hook_reference.py`; a test holds it there. What each hook is for, with examples:
[hooks.md](hooks.md). This is version {version} of the hooks.
"""


def reference() -> str:
    """The page."""
    hooks = [name for name in vars(hookspecs) if name in vars(new_manager().hook)]
    lines = [HEAD.format(version=hookspecs.HOOK_API), "## Hooks", ""]
    for name in hooks:
        hook = getattr(hookspecs, name)
        lines += [f"### {name}", "", "```python", f"def {name}{_plain(inspect.signature(hook))}", "```", "",
                  _text(hook), ""]  # fmt: skip
    lines += ["## What they are given and give", ""]
    for each in vars(hookspecs).values():
        if is_dataclass(each) and isinstance(each, type) and each.__module__ == hookspecs.__name__:
            lines += [f"### {each.__name__}", "", _text(each), "", *_table(each), ""]
    return "\n".join(lines).rstrip() + "\n"


def _plain(what: object) -> str:
    return str(what).replace("'", "")


def _text(what: object) -> str:
    return re.sub(r"\s*\n\s*", " ", inspect.getdoc(what) or "")


def _table(each: type) -> Iterator[str]:
    yield "| field | type | default |"
    yield "| --- | --- | --- |"
    for field in fields(each):  # type: ignore[arg-type]
        default = "needed" if field.default is MISSING and field.default_factory is MISSING else "empty"
        if field.default is not MISSING and field.default != ():
            default = f"`{getattr(field.default, '__name__', repr(field.default))}`"
        kind = str(field.type).replace("|", "\\|")
        yield f"| `{field.name}` | `{kind}` | {default} |"


if __name__ == "__main__":
    PAGE.write_text(reference(), encoding="utf-8")
