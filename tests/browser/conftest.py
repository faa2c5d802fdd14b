"""A JupyterLab and a Chromium for the tests that use a notebook as a person does.

A browser test asks for `open_notebook` and gets a Page on that notebook. Without a chromium on the PATH these tests are
skipped; with DETENT_BROWSER=required in the environment they fail instead.
"""

import os
import re

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


@pytest.fixture(scope="module")
def open_notebook(lab, browser):
    """A function (name, width, height) that opens a notebook and gives its Page; pages are closed, and their kernels
    ended, after the module.
    """
    pages = []

    def opened(name, width=1280, height=860):
        pages.append(labs.Page(browser.new_page(viewport={"width": width, "height": height}), lab, name))
        return pages[-1]

    yield opened
    for page in pages:
        page.end()


@pytest.fixture(scope="module")
def ran(open_notebook):
    """A function (name, width, height) that gives the Page on a notebook, run once a module, its first panel in view
    and as it was at first.
    """
    pages, starts = {}, {}

    def opened(name, width=1000, height=900):
        if name not in pages:
            pages[name] = page = open_notebook(name, width, height)
            assert page.run_all()
            assert page.complaints() == []
        page = pages[name]
        page.page.set_viewport_size({"width": width, "height": height})
        if page.panel().count():
            page.panel().scroll_into_view_if_needed()
            expect(page.picture()).to_be_visible()
            expect(page.status()).not_to_be_empty()
            if name in starts:
                for button in page.panel().get_by_role("button", name=re.compile("^(mm, N|Reset)$")).all():
                    button.click()
                expect(page.status()).to_have_text(starts[name])
            else:  # later it may still be on its way back to how it was
                starts[name] = page.status().text_content()
        return page

    return opened
