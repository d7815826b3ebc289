"""Pages in a real browser: what is asked of each, and one look at a page for many rules."""

from __future__ import annotations

import getpass
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from printed_pages import FORMS, Sheet, printed, to_print

PLACES = [(width, scheme) for width in (1280, 390) for scheme in ("light", "dark")]
TALL = 844  # px, of a phone; a laptop shows about as much
CONTRAST = "color-contrast"  # the rule of axe that takes nearly all of its time
TOO_WIDE = (
    "[...document.querySelectorAll('figure img, #bay canvas')].filter((one) => one.checkVisibility() &&"
    " one.getBoundingClientRect().right > innerWidth + 0.5).map((one) => one.alt || one.tagName)"
)
# Cells of more than six lines, as of a column that is a word wide.
TALL_CELLS = (
    "[...document.querySelectorAll('td')].filter((one) => { const how = getComputedStyle(one);"
    " return how.display === 'table-cell' && one.clientHeight > 6.5 * 1.45 * parseFloat(how.fontSize); })"
    ".map((one) => one.innerText.slice(0, 60))"
)
# Of all that is seen and has letters of its own, what its contrast hangs on: its colour, the papers under it, how far
# it and all around it are seen through, whether its letters are large. Things lie over others on the run's page alone.
COLOURS = """(() => {
  const told = new Set();
  for (const one of document.querySelectorAll('body *')) {
    const own = getComputedStyle(one);
    if (!one.checkVisibility() || own.clipPath !== 'none') continue;
    if (![...one.childNodes].some((piece) => piece.nodeType === 3 && piece.data.trim())) continue;
    const size = parseFloat(own.fontSize), papers = [];
    for (let up = one; up; up = up.parentElement) {
      const how = getComputedStyle(up);
      papers.push(how.backgroundColor, how.backgroundImage, how.opacity, how.filter);
    }
    const large = size >= 24 || (size >= 18.6 && own.fontWeight >= 700);
    const under = papers.filter((some) => !['rgba(0, 0, 0, 0)', 'none', '1'].includes(some));
    told.add([own.color, own.textShadow, large, ...under].join(' | '));
  }
  return [...told];
})()"""


class Looks:
    """Pages of one browser, each in a context of its own, and what went wrong in any of them."""

    def __init__(self, browser: Any) -> None:
        self._browser = browser
        self._wrong: list[str] = []
        self._contexts: list[Any] = []

    def open(self, path: Path, width: int = 1280, scheme: str = "light", **more: Any) -> Any:
        """A page of a width in a colour scheme."""
        context = self._browser.new_context(viewport={"width": width, "height": TALL}, color_scheme=scheme, **more)
        self._contexts.append(context)
        shown, note = context.new_page(), self._wrong.append
        shown.on("console", lambda said: note(said.text) if said.type in ("error", "warning") else None)
        shown.on("pageerror", lambda error: note(str(error)))
        shown.on("dialog", lambda box: note(box.message))
        shown.on("request", lambda one: note(one.url) if not one.url.startswith(("data:", "file:")) else None)
        shown.goto(path.as_uri())
        return shown

    def wrong(self) -> list[str]:
        """What went wrong or was asked for since this was asked last."""
        words_seen = [
            words for words in self._wrong if "GPU stall" not in words
        ]  # which software drawing says of itself
        self._wrong.clear()
        return words_seen

    def close(self) -> None:
        for context in self._contexts:
            context.close()


@dataclass(frozen=True)
class Place:
    """A page in one width and scheme. across: px, shut and with every fold open; too_wide: pictures past the edge;
    tall_cells: of more than six lines.
    """

    across: tuple[int, int]
    paper: str
    too_wide: list[str]
    tall_cells: list[str]
    serious: list[tuple[str, str]]


@dataclass(frozen=True)
class Seen:
    """What one look at a page found: by place, by form of paper, and what went wrong. pictures: to print;
    wide_tables: than the paper."""

    title: str
    text: str
    scripts: int
    alts: list[str]
    pictures: int
    wide_tables: list[str]
    printed: dict[str, list[Sheet]]
    places: dict[tuple[int, str], Place]
    wrong: list[str]


def drawn(shown: Any) -> Any:
    """The same page once its bay is drawn, where it has one."""
    if shown.locator("#bay-data").count():
        shown.wait_for_selector("#bay[data-ready=yes]")
    return shown


def look_at(browser: Any, path: Path, asked: set[str]) -> Seen:
    """Look at a page in every place. It is loaded twice, on a laptop in the light and on a phone in the dark.

    asked: colours on paper whose contrasts have been asked, on any page; contrasts are asked where others are seen.
    """
    looks, places = Looks(browser), dict[tuple[int, str], Place]()
    try:
        shown = drawn(looks.open(path))
        said_by_page = (
            shown.title(), shown.inner_text("body"), shown.evaluate("document.scripts.length"),
            shown.evaluate("[...document.querySelectorAll('figure img')].map((one) => one.alt)"),
        )  # fmt: skip
        sheets = {form: printed(shown, form) for form in FORMS}
        meant = to_print(shown)
        for scheme in ("light", "dark"):
            places[1280, scheme] = _place(shown, scheme, asked)
        shown = drawn(looks.open(path, 390, "dark"))
        for scheme in ("dark", "light"):
            places[390, scheme] = _place(shown, scheme, asked)
        return Seen(*said_by_page, *meant, sheets, places, looks.wrong())
    finally:
        looks.close()


def _place(shown: Any, scheme: str, asked: set[str]) -> Place:
    """Of a page as it is in a scheme; asked grows by its colours."""
    shown.emulate_media(color_scheme=scheme)
    across = []
    for folds in ("false", "true"):
        shown.evaluate(f"document.querySelectorAll('details').forEach((some) => {{ some.open = {folds}; }})")
        across.append(shown.evaluate("document.documentElement.scrollWidth"))
    colours = set(shown.evaluate(COLOURS))
    paper = shown.evaluate("getComputedStyle(document.body).backgroundColor")
    found = serious(shown, contrast=not colours <= asked)
    asked |= colours
    return Place((across[0], across[1]), paper, shown.evaluate(TOO_WIDE), shown.evaluate(TALL_CELLS), found)


def serious(shown: Any, contrast: bool = True) -> list[tuple[str, str]]:
    """What axe finds that is serious, on the page as it is. contrast: whether to ask that too."""
    from axe_playwright_python.sync_playwright import Axe

    options = {"resultTypes": ["violations"], "rules": {CONTRAST: {"enabled": contrast}}}
    found = Axe().run(shown, options=options).response["violations"]
    return [(one["id"], one["nodes"][0]["html"][:160]) for one in found if one["impact"] in ("serious", "critical")]


def tab_to(shown, selector, most=60):
    """Press Tab until the thing has the focus."""
    for _ in range(most):
        if shown.evaluate(f"document.activeElement.matches({selector!r})"):
            return
        shown.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached by keyboard")


def tells_where_it_was_made(path):
    """Whether a page names a folder of this machine, or who is at it."""
    text = re.sub(r"base64,[^\"]+", "", path.read_text(encoding="utf-8"))  # pictures may spell anything
    folders = {str(Path.home()), str(Path.cwd()), str(path.parent)} - {"/"}
    user = re.search(rf"\b(home|user|Users)/{re.escape(getpass.getuser())}\b", text)
    return any(re.search(rf"{re.escape(folder)}\b", text) for folder in folders) or user is not None
