"""Chromium, driven by playwright, for the tests of the mark `browser`."""

import shutil

import pytest

# Software drawing, so that WebGL is there on a machine without a graphics card.
SWITCHES = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


@pytest.fixture(scope="session")
def chromium():
    """One browser a worker; each look is a context of its own."""
    from playwright.sync_api import sync_playwright

    path = shutil.which("chromium") or shutil.which("chromium-browser")
    assert path, "no chromium here; Debian: apt-get install chromium"
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=SWITCHES)
        yield browser
        browser.close()


@pytest.fixture
def look(chromium):
    """Opens a page of a width in a colour scheme; afterwards nothing may have gone wrong, nor been asked for."""
    wrong, contexts = [], []

    def open_page(path, width=1280, scheme="light", **more):
        context = chromium.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme, **more)
        contexts.append(context)
        shown = context.new_page()
        shown.on("console", lambda said: wrong.append(said.text) if said.type in ("error", "warning") else None)
        shown.on("pageerror", lambda error: wrong.append(str(error)))
        shown.on("dialog", lambda box: wrong.append(box.message))
        shown.on("request", lambda one: wrong.append(one.url) if not one.url.startswith(("data:", "file:")) else None)
        shown.goto(path.as_uri())
        return shown

    yield open_page
    for context in contexts:
        context.close()
    assert [words for words in wrong if "GPU stall" not in words] == []  # which software drawing says of itself
