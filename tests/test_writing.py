"""What a writer may not do: destroy a file that nobody asked it to replace, leave half a one, or lose what others
write at the same time.
"""

import os
import subprocess
import sys
import threading
from types import SimpleNamespace

import pytest

import detentlib as dl
from detentlib.__main__ import main
from detentlib.argue.judging import judge
from detentlib.files import writing
from detentlib.files.writing import ThereAlready, checked_place, turn_at, write_file
from detentlib.lesson.practice.marks import Mark, MarksError, keep_marks
from detentlib.pages.post import post_page
from detentlib.pages.report import report

from .bench_readings import pulls_of
from .knives import FOLDER, A, B, C


def _fit_saved(path, **asked):
    dl.fit_knife(
        A, [dl.readings_from_text("opening [N], letting back [N]\n12.04, 7.39\n12.04, 7.39")], free=("friction.rim",)
    ).save(path, **asked)


# every writer of the library, with an ending that fits
WRITERS = {
    "write_knife": (lambda path, **asked: dl.write_knife(A, path, **asked), ".toml"),
    "fit": (_fit_saved, ".toml"),
    "live_sheet": (lambda path, **asked: dl.live_sheet(A, path, **asked), ".html"),
    "track_map": (lambda path, **asked: dl.track_map(A, path, **asked), ".svg"),
    "track_map saved": (lambda path, **asked: dl.track_map(A).save(path, **asked), ".svg"),
    "protractor": (lambda path, **asked: dl.protractor(path, **asked), ".pdf"),
    "bench_sheet": (lambda path, **asked: dl.bench_sheet(A, path, **asked), ".html"),
    "handout": (lambda path, **asked: dl.handout(A, path, **asked), ".html"),
    "template pdf": (lambda path, **asked: dl.template(A, path, **asked), ".pdf"),
    "template svg": (lambda path, **asked: dl.template(A, path, **asked), ".svg"),
    "report": (lambda path, **asked: report(A).save(path, **asked), ".html"),
    "answer_sheet": (lambda path, **asked: dl.answer_sheet(1, "seat").save(path, **asked), ".html"),
}
EACH = pytest.mark.parametrize(("write", "ending"), WRITERS.values(), ids=WRITERS)


@EACH
def test_no_writer_takes_the_place_of_a_file_unasked(write, ending, tmp_path):
    path = tmp_path / f"mine{ending}"
    path.write_text("mine")
    with pytest.raises(
        ThereAlready,
        match=r"is there already. It was left alone. Choose another name, or write replace=True behind this one.",
    ):
        write(path)
    assert path.read_text() == "mine"
    write(path, replace=True)
    assert path.stat().st_size > 200
    assert [each.name for each in tmp_path.iterdir()] == [path.name]


@EACH
def test_no_writer_takes_another_ending(write, ending, tmp_path):
    path = tmp_path / f"my-knife{'.toml' if ending != '.toml' else '.html'}"
    path.write_text("mine")
    with pytest.raises(dl.KnifeError, match=r"does not end in .*Give it a name that ends in"):
        write(path, replace=True)
    assert path.read_text() == "mine"


@pytest.mark.parametrize("name", ["my", "my.html"])
def test_a_page_to_post_leaves_a_card_of_that_name_and_writes_nothing_else(name, tmp_path):
    verdict, card = judge("nothing", C), tmp_path / "my-knife.toml"
    dl.write_knife(A, card)
    before = card.read_bytes()
    for replace in (False, True):
        with pytest.raises(ThereAlready, match=r"my-knife.toml: is there already"):
            post_page(verdict, tmp_path / name, replace=replace)
        assert [each.name for each in tmp_path.iterdir()] == ["my-knife.toml"]
        assert card.read_bytes() == before


def test_the_cell_that_posts_runs_again(tmp_path):
    first = post_page(judge("nothing", C), tmp_path / "again")
    held = {path: path.read_bytes() for path in first}
    assert post_page(judge("nothing", C), tmp_path / "again") == first
    assert {path: path.read_bytes() for path in first} == held
    with pytest.raises(ThereAlready):
        post_page(judge("nothing", B), tmp_path / "again")
    assert {path: path.read_bytes() for path in first} == held


# --- only plain files, and only where one may


def _link_to_a_terminal(path):
    """A device that nobody else uses: were the refusal ever lost, a link to /dev/null would let the test, run as root,
    put a knife file in its place, for the whole machine.
    """
    _, terminal = os.openpty()  # open until the tests end
    path.symlink_to(os.ttyname(terminal))


REFUSED = {
    "folder": (lambda path: path.mkdir(), "it is a folder"),
    "pipe": (os.mkfifo, "it is a device or a pipe"),
    "device": (_link_to_a_terminal, "it is a device or a pipe"),
    "link to nowhere": (lambda path: path.symlink_to(path.with_name("gone.toml")), "it is a link to nowhere"),
    "link to itself": (lambda path: path.symlink_to(path), "it is a link to nowhere"),
    "write-protected": (lambda path: (path.write_text("mine"), path.chmod(0o444)), "it is write-protected"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_no_plain_file_or_is_protected_is_left(what, tmp_path):
    path = tmp_path / "card.toml"
    make, said = REFUSED[what]
    make(path)
    before = path.lstat()
    with pytest.raises(dl.KnifeError, match=rf"cannot be written \({said}.*What was there before is untouched"):
        dl.write_knife(A, path, replace=True)
    after = path.lstat()
    assert (after.st_mode, after.st_ino, after.st_size, after.st_mtime_ns) == (
        before.st_mode,
        before.st_ino,
        before.st_size,
        before.st_mtime_ns,
    )
    assert [each.name for each in tmp_path.iterdir()] == ["card.toml"]


def test_a_protected_folder_is_respected(tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir()
    (folder / "card.toml").write_text("mine")
    folder.chmod(0o555)
    for name in ("card.toml", "new.toml"):
        with pytest.raises(dl.KnifeError, match=r"cannot be written \(the folder .*kept is write-protected\)"):
            dl.write_knife(A, folder / name, replace=True)
    with pytest.raises(MarksError, match="is write-protected"):
        keep_marks(folder / "ilby.csv").note("seat", 1, 1, Mark(True, 1))
    assert [each.name for each in folder.iterdir()] == ["card.toml"]
    folder.chmod(0o755)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(dl.KnifeError, match=r"there is no folder .*nowhere\).*Make it first"):
        dl.handout(A, tmp_path / "nowhere" / "a.html")


@pytest.mark.parametrize("path", [7, None, b"a.toml"])
def test_what_is_no_name_is_refused_in_words(path):
    with pytest.raises(dl.KnifeError, match=r"is no name of a file|does not end in"):
        write_file(path, "text", ".toml")


def test_a_new_file_has_the_rights_of_any_new_file(tmp_path):
    (tmp_path / "plain").write_text("")
    write_file(tmp_path / "new.toml", "text", ".toml")
    assert (tmp_path / "new.toml").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_a_disk_without_links_holds_what_is_there_too(tmp_path, monkeypatch):
    def fails(source, target):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", fails)
    write_file(tmp_path / "new.csv", "first", ".csv")
    real = writing.checked_place
    monkeypatch.setattr(
        writing, "checked_place", lambda path, *endings, replace: real(path, *endings, replace=True)
    )  # it came in between
    with pytest.raises(ThereAlready):
        write_file(tmp_path / "new.csv", "second", ".csv")
    assert (tmp_path / "new.csv").read_text() == "first"
    assert len(list(tmp_path.iterdir())) == 1


def test_what_a_stopped_program_left_stops_nobody(tmp_path):
    path = tmp_path / "ilby.csv"
    for left in (f".{path.name}.{os.getpid()}.new", f".{path.name}.lock"):
        (tmp_path / left).write_text("left")
    write_file(tmp_path / "card.toml", "text", ".toml")
    keep_marks(path).note("seat", 1, 1, Mark(True, 1))
    assert len(keep_marks(path).rows) == 1


def test_the_place_is_checked_without_writing(tmp_path):
    assert checked_place(tmp_path / "a.svg", ".svg") == tmp_path / "a.svg"
    assert list(tmp_path.iterdir()) == []


# --- several at once


def _at_once(work, many):
    """What each of many threads brought, all begun together: None or its error."""
    gate, found = threading.Barrier(many), [None] * many

    def run(i):
        gate.wait()
        try:
            work(i)
        except dl.KnifeError as error:
            found[i] = error

    threads = [threading.Thread(target=run, args=(i,)) for i in range(many)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def test_of_many_who_write_a_new_file_one_does(tmp_path):
    path = tmp_path / "one.csv"
    found = _at_once(lambda i: write_file(path, f"{i}" * 1000, ".csv"), 8)
    (first,) = [i for i, error in enumerate(found) if error is None]
    assert all(isinstance(error, ThereAlready) for i, error in enumerate(found) if i != first)
    assert path.read_text() == f"{first}" * 1000


def test_many_who_may_replace_all_write_whole_files(tmp_path):
    path = tmp_path / "one.csv"

    def work(i):
        for _ in range(20):
            write_file(path, f"{i}" * 5000, ".csv", replace=True)
            assert len(set(path.read_text())) == 1

    assert _at_once(work, 4) == [None] * 4
    assert len(list(tmp_path.iterdir())) == 1


_MANY = """
import sys, threading
from detentlib.lesson.practice.marks import Mark, keep_marks
path, who = sys.argv[1], int(sys.argv[2])
def work(thread):
    marks = keep_marks(path)
    for seed in range(15):
        marks.note("seat", seed, 100 * who + thread, Mark(True, 1))
threads = [threading.Thread(target=work, args=(thread,)) for thread in range(4)]
[each.start() for each in threads]
[each.join() for each in threads]
"""


def test_marks_of_two_programs_with_four_threads_each_are_all_kept(tmp_path, root):
    path = tmp_path / "ilby.csv"
    running = [
        subprocess.Popen(
            [sys.executable, "-c", _MANY, path, str(who)],
            cwd=root,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for who in (1, 2)
    ]
    told = [each.communicate()[1] for each in running]
    assert told == ["", ""]
    assert keep_marks(path).rows.keys() == {
        ("seat", seed, 100 * who + thread) for seed in range(15) for who in (1, 2) for thread in range(4)
    }
    assert [each.name for each in tmp_path.iterdir()] == ["ilby.csv"]


def test_turns_are_taken_where_the_system_locks_in_another_way(tmp_path, monkeypatch):
    fcntl, asked = writing.fcntl, []

    def locking(number, how, count):
        asked.append((how, count))
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)  # gives up at once, as the other does after a while

    monkeypatch.setattr(writing, "fcntl", None)
    monkeypatch.setattr(writing, "msvcrt", SimpleNamespace(LK_LOCK=1, locking=locking), raising=False)
    count = tmp_path / "count.csv"
    count.write_text("0")

    def work(i):
        for _ in range(10):
            with turn_at(count):
                write_file(count, str(int(count.read_text()) + 1), ".csv", replace=True)

    assert _at_once(work, 3) == [None] * 3
    assert count.read_text() == "30"
    assert set(asked) == {(1, 1)}


def test_marks_go_into_a_plain_csv_only(tmp_path):
    card = tmp_path / "my-knife.toml"
    dl.write_knife(A, card)
    before = card.read_bytes()
    for replace in (False, True):
        with pytest.raises(MarksError, match=r"does not end in \.csv"):
            keep_marks(card, replace=replace)
    os.mkfifo(tmp_path / "pipe.csv")
    with pytest.raises(MarksError, match="a device or a pipe"):
        keep_marks(tmp_path / "pipe.csv")
    assert card.read_bytes() == before


# --- what the notebooks and the command line do


def test_the_command_says_how_it_would_replace_and_takes_no_other_ending(tmp_path, capsys):
    knife = tmp_path / "my-knife.toml"
    knife.write_bytes((FOLDER / "pellowfen-a.toml").read_bytes())
    before = knife.read_bytes()
    for words in (
        ("sheet",),
        ("handout",),
        ("template",),
        ("sheet", "--replace"),
        ("handout", "--replace"),
        ("template", "--replace"),
    ):
        assert main([words[0], str(knife), str(knife), *words[1:]]) == 1
        assert "does not end in" in capsys.readouterr().err
    assert knife.read_bytes() == before


def test_the_report_of_a_reading_may_be_written_again_when_asked(tmp_path):
    page = report(A, readings=[pulls_of(A, 1)])
    page.save(tmp_path / "r.html", replace=True)
    page.save(tmp_path / "r.html", replace=True)
    assert (tmp_path / "r.html").read_text() == page.html()
