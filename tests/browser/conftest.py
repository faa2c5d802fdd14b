"""A JupyterLab and a Chromium for the tests that use a notebook as a person does.

A browser test asks for `open_notebook` and gets a Page on that notebook. Without a chromium on the PATH these tests are
skipped; with DETENT_BROWSER=required in the environment they fail instead.
"""

import os

import pytest
from playwright.sync_api import expect

from tests.browser import lab as labs

expect.set_options(timeout=labs.PATIENCE)


def _no_browser():
    """The one place that decides what a missing browser means."""
    said = f"none of {', '.join(labs.BROWSERS)} is on the PATH"
    if os.environ.get("DETENT_BROWSER") == "required":
        pytest.fail(said)
    pytest.skip(said)


@pytest.fixture(scope="session")
def browser():
    """A headless Chromium."""
    with labs.chromium(labs.find_browser() or _no_browser()) as chromium:
        yield chromium


@pytest.fixture(scope="session")
def lab(browser, tmp_path_factory):
    """Address of a JupyterLab over a copy of the notebooks and figures."""
    with labs.jupyterlab(tmp_path_factory.mktemp("lab")) as address:
        yield address


@pytest.fixture
def open_notebook(lab, browser):
    """A function (name, width, height) that opens a notebook and gives its Page; pages are closed after the test."""
    contexts = []

    def opened(name, width=1280, height=860):
        contexts.append(browser.new_context(viewport={"width": width, "height": height}))
        return labs.Page(contexts[-1].new_page(), lab, name)

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def ran(open_notebook):
    """A function (name) that opens a notebook in a window of 1,000 px, runs it, and gives its Page with the first panel in view."""

    def opened(name):
        page = open_notebook(name, 1000, 900)
        assert page.run_all()
        assert page.complaints() == []
        if page.panel().count():
            page.panel().scroll_into_view_if_needed()
            expect(page.picture()).to_be_visible(timeout=labs.PATIENCE)
        return page

    return opened
