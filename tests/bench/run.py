"""Benchmarks: measured and printed as a Markdown table, never a reason to fail.

python -m tests.bench.run                 everything below but the set-up
python -m tests.bench.run --setup         with a fresh environment installed from requirements.txt as well
"""

import argparse
import io
import statistics
import subprocess
import sys
import tempfile
import time
import tracemalloc
from pathlib import Path

import nbformat
import numpy as np

import detentlib as dl
from detentlib.measure.readings import readings_from_text
from detentlib.say.headline import headline
from tests.browser import lab
from tests.notebooks import settle

ONE_BALL, KNIFE = (dl.read_knife(lab.ROOT / "notebooks" / "knives" / f"pellowfen-{letter}.toml") for letter in "ab")
MANY, RATE, GIVE, HALVINGS = 100_000, 10.3, 0.0035, 37  # 0.2 rad halved 37 times is 1.5e-12
ANGLES = np.linspace(0.0, 178.0, 2000)
SAMPLED = (
    "bar.riding_force",
    "bar.relief_thickness",
    "friction.rim",
    "balls[0].protrusion",
    "balls[0].recess.diameter",
    "balls[1].protrusion",
)
IN_NEW_PYTHON = """
import time
start = time.perf_counter()
import detentlib as dl
loaded = time.perf_counter()
dl.formulas["F2"](phi=0.8, mu=0.12, cos_chi=1.0)
print(loaded - start, time.perf_counter() - start)
"""
WATCH = """() => {
    const panel = document.querySelector('.detent-panel'), before = panel.querySelector('img').src;
    let start;
    panel.addEventListener('keydown', () => { start = performance.now(); }, {capture: true, once: true});
    window.painted = new Promise(done => new MutationObserver(async (changes, observer) => {
        const picture = panel.querySelector('img');
        if (!picture || picture.src === before) return;
        observer.disconnect();
        await picture.decode();
        const painted = new MessageChannel(); // its message comes once the frame that shows the picture has been drawn
        painted.port1.onmessage = () => done(performance.now() - start);
        requestAnimationFrame(() => painted.port2.postMessage(0));
    }).observe(panel, {childList: true, subtree: true, attributes: true}));
}"""


def seconds(work, repeats, clock=time.perf_counter):
    """Least time of a piece of work [s], after one run that warms it up: other work on the machine only adds."""
    work()
    taken = []
    for _ in range(repeats):
        start = clock()
        work()
        taken.append(clock() - start)
    return min(taken)


def times_as_long(work, other, repeats):
    """How many times the processor time of another piece of work one takes, both measured in turn."""
    return seconds(work, repeats, time.process_time) / seconds(other, 10 * repeats, time.process_time)


def start_of_python():
    """(import, import and first formula) in a new Python, the least of 7 [s]."""
    runs = [
        subprocess.run([sys.executable, "-c", IN_NEW_PYTHON], capture_output=True, check=True, text=True, cwd=lab.ROOT)
        for _ in range(8)
    ]
    return (min(column) for column in zip(*(map(float, run.stdout.split()) for run in runs[1:]), strict=True))


def sampled_knives(seed=1):
    """Many knives in one, six of its numbers drawn from their ±."""
    rng = np.random.default_rng(seed)
    return KNIFE.with_arrays({path: rng.normal(KNIFE.get(path), KNIFE.doubts[path] / 2, (MANY, 1)) for path in SAMPLED})


def sample():
    """(time [s], greatest memory [MB]) of the feel of many knives; memory in a run of its own, since watching it
    slows the run.
    """
    knives = sampled_knives()
    taken = seconds(lambda: dl.feel_many(knives), 2)
    tracemalloc.start()
    dl.feel_many(knives)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return taken, most / 1e6


def stiff(knife, turned):
    """Moment of the bar [N·mm], and push of the ball that carries for each of its newton-millimetres, by bare numpy:
    sharp rims, one bar.

    turned: relative angle of each ball [rad].
    """
    bar, first = knife.bar, knife.balls[0]
    asked, pushes = [], []
    for ball, theta in zip(knife.balls, turned, strict=True):
        out = ball.track_radius + ball.recess.off_track
        theta = theta + np.arcsin(ball.recess.rest_offset / out)
        away = np.sqrt(ball.track_radius**2 + out**2 - 2 * ball.track_radius * out * np.cos(theta))
        phi = np.arcsin(np.clip((ball.recess.diameter / 2 - away) / ball.radius, 0.0, 0.99))
        asked.append((ball.protrusion - ball.radius * (1 - np.cos(phi)) - bar.parallel_gap) / ball.hinge_distance)
        pushes.append(np.tan(phi + np.arctan(knife.friction.rim)) / ball.hinge_distance)
    psi = np.maximum.reduce(asked)
    moment = bar.riding_force * first.hinge_distance + RATE * first.hinge_distance**2 * (
        psi - (first.protrusion - bar.parallel_gap) / first.hinge_distance
    )
    which = [demand >= psi for demand in asked]
    return moment, np.select(which, pushes), which


def bare(knife, theta):
    """Torque of a knife at blade angles [rad] as bare numpy has it: the bar's sideways turn halved down on to its
    balance (B6).
    """
    tilt = GIVE / knife.balls[0].hinge_distance ** 2
    low, high = np.zeros(np.shape(theta)), np.full(np.shape(theta), 0.2)
    for _ in range(HALVINGS):
        omega = (low + high) / 2
        moment, push, which = stiff(
            knife, [theta - omega * ball.hinge_distance / ball.track_radius for ball in knife.balls]
        )
        over = omega > tilt * moment * push * np.select(which, [ball.hinge_distance for ball in knife.balls])
        low, high = np.where(over, low, omega), np.where(over, omega, high)
    return moment * push * np.select(which, [ball.track_radius for ball in knife.balls])


def over_bare():
    """How many times the time of bare numpy on as many angles each of these takes, all in one run: (what, times)."""
    theta = np.radians(ANGLES)
    some = sampled_knives().take(np.arange(20_000))
    yield (
        "sweep, 2,000 angles, two balls",
        times_as_long(lambda: dl.sweep(KNIFE, ANGLES), lambda: bare(KNIFE, theta), 30),
    )
    yield "the same, closing", times_as_long(lambda: dl.sweep(KNIFE, ANGLES, "closing"), lambda: bare(KNIFE, theta), 30)
    yield (
        "feel of one knife, to bare numpy on 1,025 angles",
        times_as_long(lambda: dl.feel(KNIFE), lambda: bare(KNIFE, theta[:1025]), 20),
    )
    yield (
        "feel of 20,000 knives, to bare numpy on 60 angles each",
        times_as_long(lambda: dl.feel_many(some), lambda: bare(some, theta[:60]), 1),
    )


def key_to_picture(name="01_one_ball", presses=30):
    """Median time from a key on the first slider of a notebook to the new picture on the screen [s]."""
    with (
        tempfile.TemporaryDirectory() as home,
        lab.jupyterlab(Path(home)) as address,
        lab.chromium(lab.find_browser()) as browser,
    ):
        page = lab.Page(browser.new_page(viewport={"width": 1280, "height": 860}), address, name)
        if not page.run_all():
            raise RuntimeError(f"{name} does not run")
        handle = page.panel().locator(".noUi-handle").first
        handle.focus()
        handle.press("Home")
        taken = []
        for _ in range(presses):
            page.page.wait_for_timeout(200)
            page.page.evaluate(WATCH)
            handle.press("ArrowRight")
            taken.append(page.page.evaluate("() => window.painted") / 1000)
    return statistics.median(taken)


def notebook_time(path):
    """Time to run a notebook from top to bottom, start of its kernel included [s]."""
    notebook = nbformat.read(path, as_version=4)
    start = time.perf_counter()
    settle.run(notebook, path.parent)
    return time.perf_counter() - start


def setup_time():
    """Time to make an environment and install what the workbook needs [s]."""
    with tempfile.TemporaryDirectory() as place:
        start = time.perf_counter()
        subprocess.run([sys.executable, "-m", "venv", place], check=True)
        python = next(
            path for path in (Path(place, "bin", "python"), Path(place, "Scripts", "python.exe")) if path.exists()
        )
        subprocess.run(
            [python, "-m", "pip", "install", "-qq", "--no-compile", "-r", "requirements.txt"], check=True, cwd=lab.ROOT
        )
        return time.perf_counter() - start


def reading():
    """(time [s], how many times that of bare numpy) to read 100,000 rows of readings."""
    rows = "\n".join(f"{k / 1000:.3f}, {k / 1e6:.6f}" for k in range(MANY))
    taken = seconds(lambda: readings_from_text("angle [deg], lift [mm]\n" + rows), 3)
    return taken, taken / seconds(lambda: np.loadtxt(io.StringIO(rows), delimiter=","), 3)


def measurements(setup):
    """Each line of the table: (what, measured, aim)."""
    imported, first = start_of_python()
    yield "import detentlib", f"{1e3 * imported:.0f} ms", "150 ms"
    yield "import and first formula, derivation included", f"{1e3 * first:.0f} ms", ""
    yield (
        "sweep, 2,000 angles, two balls, rigid bar",
        f"{1e3 * seconds(lambda: dl.sweep(KNIFE, ANGLES), 50):.1f} ms",
        "1 ms",
    )
    yield "the same, elastic bar", f"{1e3 * seconds(lambda: dl.sweep(KNIFE, ANGLES, elastic=True), 50):.1f} ms", "3 ms"
    yield f"read {MANY:,} rows of readings", "{:.1f} s, {:.1f} times bare numpy".format(*reading()), ""
    yield "feel of one knife", f"{1e3 * seconds(lambda: dl.feel(KNIFE), 20):.0f} ms", ""
    yield from ((f"{what}, over bare numpy", f"{ratio:.0f} times", "") for what, ratio in over_bare())
    yield (
        "headline of a knife with two balls, 2,048 draws",
        f"{1e3 * seconds(lambda: headline(KNIFE), 3):.0f} ms",
        "250 ms",
    )
    taken, most = sample()
    yield f"feel of {MANY:,} sampled knives, two balls", f"{taken:.1f} s, {most:.0f} MB", "2 s, 500 MB"
    yield f"tolerance of {MANY:,} knives, one ball", f"{seconds(lambda: dl.tolerance(ONE_BALL, MANY), 1):.1f} s", ""
    yield f"tolerance of {MANY:,} knives, two balls", f"{seconds(lambda: dl.tolerance(KNIFE, MANY), 1):.1f} s", ""
    yield "options for one ball", f"{seconds(lambda: dl.options(ONE_BALL, {'break_force': (9, 11)}), 2):.1f} s", ""
    if lab.find_browser():
        yield "key on a slider to picture on the screen", f"{1e3 * key_to_picture():.0f} ms", "100 ms"
    times = {path.stem: notebook_time(path) for path in sorted(settle.NOTEBOOKS.glob("*.ipynb"))}
    yield from ((f"run {name}", f"{taken:.1f} s", "") for name, taken in times.items())
    yield "run all notebooks, one after the other", f"{sum(times.values()):.1f} s", "60 s on two cores"
    if setup:
        yield "fresh set-up", f"{setup_time():.0f} s", "120 s"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--setup", action="store_true", help="also time a fresh environment")
    print("| what | measured | aim |\n|---|---|---|")
    for line in measurements(parser.parse_args().setup):
        print("|", " | ".join(line), "|", flush=True)
