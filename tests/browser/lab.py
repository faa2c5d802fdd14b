"""JupyterLab and Chromium driven from Python: what the browser tests and the benchmarks share."""

import contextlib
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import expect, sync_playwright

from detentlib.lesson.choose import DEMO_ONLY

ROOT = Path(__file__).resolve().parents[2]
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
AS_A_PERSON = re.findall(r"--\S+=\S+", re.search(".*jupyter lab.*", (ROOT / "README.md").read_text("utf-8"))[0])
OF_A_PERSON = ("chosen-knife.txt", "own-readings.json")
HANGS = 600  # s; a busy machine is slow, not wrong: only what hangs takes that long
LEAVES = 60  # s; for a server to end by itself
STOPS = 6  # of Tab for each control of the outputs, at most
RUN_ALL = """async seconds => {
    const run = async () => {
        await window.jupyterapp.started; // the part that draws widgets may come last
        const panel = window.jupyterapp.shell.currentWidget;
        await panel.context.ready;
        await panel.sessionContext.ready;
        return window.jupyterapp.commands.execute('notebook:run-all-cells');
    };
    const late = (resolve, reject) => setTimeout(() => reject(new Error(`not run after ${seconds} s`)), 1000 * seconds);
    return Promise.race([run(), new Promise(late)]);
}"""
CELLS = """() => {
    const book = window.jupyterapp.shell.currentWidget.content;
    return [book.activeCellIndex, ...book.widgets.map(cell => cell.model.type + cell.model.id)];
}"""
POP_UPS = """() => [...document.querySelectorAll('.Toastify__toast, .jp-Dialog')].map(each => each.textContent)"""
PRINTED = """() => window.jupyterapp.shell.currentWidget.content.widgets.filter(cell => cell.model.type === 'code')
    .flatMap(cell => cell.model.outputs.toJSON()).map(output => [output.text || []].flat().join('')).join('\\n')"""
KERNEL_STATUS = "window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.status"
SHOWN = "panel => panel.querySelector('[role=status]').outerHTML + panel.querySelector('img').outerHTML"
PATIENCE = 1000 * HANGS  # ms
CUT_OFF = """() => [...document.querySelectorAll('.jp-OutputArea .widget-label, .jp-OutputArea button')]
    .filter(each => each.offsetParent && each.scrollWidth > each.clientWidth + 1).map(each => each.textContent)"""
TOO_WIDE = """() => [...document.querySelectorAll(
        '.jp-OutputArea-output, .jp-OutputArea .widget-vbox, .jp-WindowedPanel-outer')]
    .filter(each => each.scrollWidth > each.clientWidth + 1 && getComputedStyle(each).overflowX !== 'hidden')
    .map(each => each.textContent.slice(0, 80))"""
UNDRAWN = """() => [...document.querySelectorAll('.jupyter-widgets-error-widget')].map(each => {
    each.click(); // it says then what went wrong
    return each.textContent;
})"""
CONTROLS = """.jp-OutputArea :is(button, input, select, textarea, summary, a[href], .noUi-handle,
    .jupyter-widget-Collapse-header):not(.jp-InternalAnchorLink)"""
TO_REACH = """controls => {
    const look = each => [each, each.parentElement, each.firstElementChild].filter(Boolean).map(one => {
        const {outline, boxShadow, borderColor, backgroundColor} = getComputedStyle(one);
        return [outline, boxShadow, borderColor, backgroundColor];
    }).join();
    const all = [...document.querySelectorAll(controls)].filter(each => each.offsetParent && !each.disabled);
    window.toReach = new Map(all.map(each => [each, 'is not reached']));
    let ringed;
    document.addEventListener('focusin', event => { ringed = look(event.target); });
    document.addEventListener('focusout', event => setTimeout((each, seen) => {
        if (window.toReach.has(each)) window.toReach.set(each, seen === look(each) ? 'shows no focus' : '');
    }, 0, event.target, ringed));
    all[0].focus();
    return all.length;
}"""
NOT_REACHED = """() => [...window.toReach].filter(([each, said]) => said).map(([each, said]) =>
    `${each.getAttribute('aria-label') || each.title || each.textContent || each.outerHTML} ${said}`)"""
SPILLS = """panel => {
    const line = panel.querySelector('[role=status]').getBoundingClientRect(),
          picture = panel.querySelector('img').getBoundingClientRect();
    return line.bottom > picture.top && line.top < picture.bottom
        && line.right > picture.left && line.left < picture.right;
}"""


def find_browser():
    """The path of a Chromium, or None where there is none."""
    return next(filter(None, map(shutil.which, BROWSERS)), None)


@contextlib.contextmanager
def chromium(program):
    """A headless Chromium, closed at the end."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


@contextlib.contextmanager
def jupyterlab(home, remembers=False):
    """The address of a JupyterLab over a copy of notebooks and figures in the empty folder `home`, so that the real
    ones stay as they are. remembers: its pages remember knife and readings, as they do for a person.
    """
    for folder in ("notebooks", "figures", ".jupyter"):
        shutil.copytree(ROOT / folder, home / "root" / folder, ignore=shutil.ignore_patterns(*OF_A_PERSON))
    settings = _own_settings(home)
    if remembers:
        settings.pop(DEMO_ONLY, None)
    port = _free_port()
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--ip=127.0.0.1", f"--port={port}"]
    command += ["--ServerApp.port_retries=0", "--IdentityProvider.token=", "--ServerApp.password=", *AS_A_PERSON]
    with (home / "log").open("w") as log:
        server = subprocess.Popen(
            [*command, "--expose-app-in-browser"], cwd=home / "root", env=settings, stdout=log, stderr=log
        )
    try:
        address = f"http://127.0.0.1:{port}"
        _wait_for(address, server, home / "log")
        yield address
    finally:
        _end(server)


def _end(server):
    """End a server; one that cannot end a kernel would wait for ever, so it is killed then, and its kernels with it."""
    server.terminate()
    try:
        server.wait(LEAVES)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


def _free_port():
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return door.getsockname()[1]


def _own_settings(home):
    """Environment with nothing of the person's own Jupyter settings."""
    return dict(
        os.environ,
        JUPYTER_CONFIG_DIR=str(home / "config"),
        JUPYTER_DATA_DIR=str(home / "data"),
        IPYTHONDIR=str(home / "ipython"),
        JUPYTERLAB_SETTINGS_DIR=str(home / "lab"),
        JUPYTERLAB_WORKSPACES_DIR=str(home / "workspaces"),
    )


def _wait_for(address, server, log):
    for _ in range(10 * HANGS):
        if server.poll() is not None:
            break
        with contextlib.suppress(OSError):
            urllib.request.urlopen(address + "/api/status").close()
            return
        time.sleep(0.1)
    raise RuntimeError(f"JupyterLab did not start:\n{log.read_text()}")


def where(drawn):
    """Where something stands on the page, as {x, y, width, height}; what is drawn anew is nowhere for a moment."""
    while not (found := drawn.bounding_box()):
        expect(drawn).to_be_visible()
    return found


class Page:
    """One notebook in the browser; `page` is the playwright page, `errors` what the browser complained about."""

    def __init__(self, page, address, name):
        """Open notebooks/NAME.ipynb as it is stored, without running it."""
        self.page = page
        self.page.set_default_timeout(PATIENCE)
        self.errors = []
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.goto(f"{address}/doc/tree/notebooks/{name}.ipynb?reset")
        page.locator(".jp-Notebook .jp-Cell").first.wait_for()

    def run_all(self):
        """Run every cell; False when one of them raised."""
        return self.page.evaluate(RUN_ALL, HANGS)

    def panel(self, place=0):
        """The panel at a place counted from the top (0 is the first): it holds sliders, answer line and picture."""
        return self.page.locator(".detent-panel").nth(place)

    def handle(self, label, place=0):
        """The slider handle that stands under the number box with this label, in the innermost box that holds both."""
        boxes = self.panel(place).locator(".widget-vbox", has=self.page.get_by_label(label, exact=True))
        return boxes.last.locator(".noUi-handle")

    def number_box(self, label, place=0):
        """The number box with this label, for `fill` and Enter."""
        return self.panel(place).get_by_label(label, exact=True)

    def status(self, place=0):
        """The numbers and words above the picture."""
        return self.panel(place).get_by_role("status").first

    def answer(self, place=0):
        """What is said above and below the picture now."""
        return "\n".join(self.panel(place).locator("[role=status], .detent-rest").all_inner_texts())

    def sentence(self, place=0):
        """The sentence under the large numbers."""
        return self.status(place).locator("div").last.inner_text()

    def says(self, words, place=0):
        """Wait until the panel says these words."""
        expect(self.panel(place)).to_contain_text(words, timeout=PATIENCE)

    def picture(self, place=0):
        """The picture of a panel; its alternative text is the attribute `alt`."""
        return self.panel(place).locator("img").first

    def press(self, label, key, place=0):
        """Press a key on a slider (ArrowRight, PageUp, Home, …) and wait until the panel shows something else."""
        with self._changed(place):
            handle = self.handle(label, place)
            handle.focus()
            handle.press(key)

    def drag(self, label, pixels):
        """Drag a slider's handle by mouse, and wait until its box has caught up: a number typed before would be
        written over.
        """
        handle = self.handle(label)
        handle.scroll_into_view_if_needed()
        handle.hover()
        stands = where(handle)
        with self._changed(0):
            self.page.mouse.down()
            self.page.mouse.move(
                stands["x"] + stands["width"] / 2 + pixels, stands["y"] + stands["height"] / 2, steps=5
            )
            self.page.mouse.up()
        number, last = self.number_box(label), None
        while number.input_value() != last or self.page.evaluate(KERNEL_STATUS) != "idle":
            last = number.input_value()
            self.page.wait_for_timeout(500)

    def type_number(self, label, text, place=0):
        """Type a number into a box, press Enter, and wait until the panel shows something else."""
        with self._changed(place):
            box = self.number_box(label, place)
            box.fill(text)
            box.press("Enter")

    @contextlib.contextmanager
    def _changed(self, place):
        """After what is done inside, wait until the panel shows something else and the kernel, which sends words and
        picture apart, has done. What it still draws of the step before is waited for first: it would pass for the
        change.
        """
        self.page.wait_for_function(f"() => {KERNEL_STATUS} === 'idle'")
        panel = self.panel(place).element_handle()
        before = panel.evaluate(SHOWN)
        yield
        self.page.wait_for_function(
            f"([panel, before]) => ({SHOWN})(panel) !== before && {KERNEL_STATUS} === 'idle'", arg=[panel, before]
        )

    def cells(self):
        """Place of the selected cell, then type and name of every cell; a key taken for a notebook command changes
        it.
        """
        return self.page.evaluate(CELLS)

    def guess(self, words):
        """Choose an answer, and see it kept where it is asked for and its working open where it comes again."""
        self.page.get_by_role("button", name=words).first.click()
        kept = re.compile(rf"Kept: \([a-c]\) {words}")
        expect(self.page.get_by_role("status").filter(has_text=kept)).to_be_visible(timeout=PATIENCE)
        judged = re.compile(r"You said \([a-c]\)\. (Right is|That is right)")
        expect(self.page.get_by_text(judged)).to_be_visible(timeout=PATIENCE)
        expect(self.page.get_by_role("button", name="Hide the working")).to_have_count(1)

    def faults(self, place=0):
        """What nobody should see: errors, warnings, questions that JupyterLab asks, widgets that could not be drawn,
        words that are cut off, outputs too wide; an answer line over its picture, a picture without words.
        """
        found = [*self.errors, *self.complaints()]
        found += [fault for look in (POP_UPS, UNDRAWN, CUT_OFF, TOO_WIDE) for fault in self.page.evaluate(look)]
        if self.panel(place).count():
            found += ["the line runs over the picture"] * self.panel(place).evaluate(SPILLS)
            found += ["the picture has no words"] * (not self.picture(place).get_attribute("alt"))
        return found

    def by_tab(self):
        """Go through the outputs by Tab alone; the controls that it does not reach, or that do not show the focus."""
        for _ in range(STOPS * self.page.evaluate(TO_REACH, CONTROLS)):  # cells and links are stops too
            self.page.keyboard.press("Tab")
            if not (left := self.page.evaluate(NOT_REACHED)):
                break
        return left

    def printed(self):
        """All that the cells have printed, also in those out of sight, which the page takes apart."""
        return self.page.evaluate(PRINTED)

    def complaints(self):
        """Errors and warnings that show under the cells."""
        found = self.page.locator(
            '[data-mime-type="application/vnd.jupyter.error"], [data-mime-type="application/vnd.jupyter.stderr"]'
        )
        return found.all_inner_texts()

    def end(self):
        """End the kernel, which would hand its widgets to the next page on the notebook, and close the page."""
        self.page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.shutdown()")
        self.page.close()

    def screenshot(self, path):
        """Write what is in view to a PNG file."""
        self.page.screenshot(path=path)
