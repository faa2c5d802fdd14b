"""No verdict hangs on seconds: a slow machine is slow, not wrong. Times are measured in tests/bench."""

import ast
import configparser
import re

import hypothesis
import pytest

from tests.browser import lab

CLOCKS = {
    "time",
    "perf_counter",
    "monotonic",
    "process_time",
    "thread_time",
    "time_ns",
    "perf_counter_ns",
    "monotonic_ns",
    "process_time_ns",
}
PAGE_CLOCKS = re.compile(r"performance\s*\.\s*now|Date\s*\.\s*now|new\s+Date\b|timeStamp")
HANGS = 600.0  # s, from which on a timeout ends what hangs and not what is slow


def clock_readings(tree):
    """Lines on which a piece of Python reads a clock, by itself or in the JavaScript of a page."""
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Attribute)
            and isinstance(node.value, ast.Name)
            and node.value.id in ("time", "timeit")
            and node.attr in CLOCKS
        ):
            yield node.lineno
        if isinstance(node, ast.ImportFrom) and node.module in ("time", "timeit", "datetime"):
            yield node.lineno
        if isinstance(node, ast.Import) and any(alias.name in ("timeit", "datetime") for alias in node.names):
            yield node.lineno
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and PAGE_CLOCKS.search(node.value):
            yield node.lineno


def short_limits(tree):
    """Lines on which a test sets a deadline, or a timeout of its own beside the one that ends what hangs."""
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.keyword)
            and node.arg == "deadline"
            and not (isinstance(node.value, ast.Constant) and node.value.value is None)
        ):
            yield node.lineno
        if (
            isinstance(node, ast.keyword)
            and node.arg == "timeout"
            and isinstance(node.value, ast.Constant)
            and isinstance(node.value.value, int | float)
        ):
            yield node.lineno


@pytest.fixture(scope="module")
def trees(root):
    """{path: syntax tree} of every test but the benchmarks."""
    files = [path for path in (root / "tests").rglob("*.py") if path.relative_to(root).parts[1] != "bench"]
    assert len(files) > 60
    return {
        path.relative_to(root): ast.parse(path.read_text(encoding="utf-8"))
        for path in files
        if path.name != "test_clocks.py"
    }


@pytest.mark.parametrize("look", [clock_readings, short_limits])
def test_no_test_reads_a_clock_or_sets_a_limit_in_seconds(trees, look):
    assert [f"{path}:{line}" for path, tree in trees.items() for line in look(tree)] == []


@pytest.mark.parametrize(
    "code",
    [
        "start = time.perf_counter()",
        "from time import monotonic",
        'page.evaluate("performance.now() - start")',
        "import timeit",
    ],
)
def test_a_clock_is_seen(code):
    assert list(clock_readings(ast.parse(code))) == [1]


@pytest.mark.parametrize("code", ["@settings(deadline=200)\ndef f(): ...", "run(command, timeout=5)"])
def test_a_limit_is_seen(code):
    assert list(short_limits(ast.parse(code))) == [1]


def test_what_ends_a_hang_is_long(root):
    assert lab.HANGS >= HANGS
    assert lab.PATIENCE >= 1000 * HANGS
    assert hypothesis.settings().deadline is None
    options = configparser.ConfigParser()
    options.read(root / ".pytest.ini")
    said = re.search(r"--nbval-cell-timeout=(\S+)", options["pytest"]["addopts"])
    assert said is None or float(said.group(1)) >= HANGS
