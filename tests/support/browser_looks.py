"""What is asked of every page in a browser: widths and schemes, what whoever reads otherwise needs, keys, privacy."""

import getpass
import re
from pathlib import Path

PLACES = [(width, scheme) for width in (1280, 390) for scheme in ("light", "dark")]


def serious(shown):
    """What axe finds that is serious, on the page as it is, with all that was folded opened."""
    from axe_playwright_python.sync_playwright import Axe

    shown.evaluate("document.querySelectorAll('details').forEach((some) => { some.open = true; })")
    found = Axe().run(shown).response["violations"]
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
