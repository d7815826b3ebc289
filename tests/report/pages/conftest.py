"""Chromium, driven by playwright, for the tests of the mark `browser`: one browser a worker."""

import shutil
from functools import cache

import pytest
from browser_looks import Looks, look_at
from kinds_of_page import page_of

# Software drawing, so that WebGL is there on a machine without a graphics card.
SWITCHES = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


@pytest.fixture(scope="session")
def chromium():
    """The browser; each look is a context of its own."""
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
    looks = Looks(chromium)
    yield looks.open
    looks.close()
    assert looks.wrong() == []


@pytest.fixture(scope="session")
def page_at(tmp_path_factory):
    """Where the page of a kind is, made when it is asked for."""
    return lambda kind: page_of(tmp_path_factory, kind)


@pytest.fixture(scope="session")
def seen(chromium, page_at):
    """What one look at the page of a kind found: looked at once, by whichever rule asks first."""
    asked: set[str] = set()
    return cache(lambda kind: look_at(chromium, page_at(kind), asked))
