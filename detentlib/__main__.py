"""Commands for the terminal: `python -m detentlib --help`. A knife file in; numbers, a page or a paper model out."""

import argparse
import os
import sys
from pathlib import Path

from .files.knife_file import read_knife
from .files.writing import ThereAlready
from .knife.parts import KnifeError
from .measure.readings import ReadingError, read_readings

FINE, WRONG = 0, 1  # 2 is what argparse gives for a command that it does not understand
_START = "python -m detentlib"
_ABOUT = """\
What a ball detent feels like, from a knife file. A knife file is a text file that ends in .toml; the folder
notebooks/knives has some to copy and change.
"""
_EXAMPLES = """\
for example:
  python -m detentlib check my-knife.toml
  python -m detentlib report my-knife.toml
  python -m detentlib handout my-knife.toml my-knife.html
  python -m detentlib handout my-knife.toml to-fill-in.html --blank
  python -m detentlib template my-knife.toml my-knife.pdf --scale 30
  python -m detentlib sheet my-knife.toml my-sheet.html

A file that is there already is left alone, unless you add --replace.
It ends with 0 when all is well, with 1 when the knife or its file is not right or a file cannot be written
(what is wrong is said), and with 2 when the command was not understood.
"""


def main(arguments=None):
    """Do what the words of a command line ask; gives 0, 1 or 2 (see --help)."""
    try:
        asked = _words().parse_args(arguments)
    except SystemExit as end:
        return end.code
    try:
        return asked.do(asked)
    except KnifeError as error:
        print(error, file=sys.stderr)
        return WRONG


class _Parser(argparse.ArgumentParser):
    """Says where help is when it does not understand."""

    def error(self, message):
        self.exit(2, f"Not understood: {message}.\nSee {self.prog} --help\n")


def _words():
    """The commands with their words, and what --help says."""
    look = {"formatter_class": argparse.RawDescriptionHelpFormatter}
    parser = _Parser(prog=_START, description=_ABOUT, epilog=_EXAMPLES, **look)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", dest="command", required=True)

    def command(name, do, said, example):
        made = commands.add_parser(name, help=said, description=f"{said[0].upper()}{said[1:]}.", epilog=f"for example:\n  {_START} {example}", **look)
        made.set_defaults(do=do)
        made.add_argument("knife", metavar="KNIFE", help="the knife file, such as my-knife.toml")
        return made

    def page(name, do, said, example, ending):
        made = command(name, do, said, example)
        made.add_argument("page", metavar="FILE", help=f"the file to write, ending in {ending}")
        made.add_argument("--replace", action="store_true", help="write it even if a file of that name is there already")
        return made

    checked = command("check", _check, "say whether a knife file, or a file of readings (.csv), is fine, or all that is wrong with it", "check my-knife.toml")
    checked.add_argument("more", metavar="MORE", nargs="*", help="more files to check")
    command("report", _report, "print the numbers to read first, each with its ±, and what to look at", "report my-knife.toml")
    page("sheet", _sheet, "write a page with live numbers, which works in a browser without anything else", "sheet my-knife.toml my-sheet.html", ".html")
    blank = page("handout", _handout, "write a page to print, with the arithmetic left in", "handout my-knife.toml my-knife.html", ".html")
    blank.add_argument("--blank", action="store_true", help="leave room to write in place of the results")
    model = page("template", _template, "write a paper model to print, cut out and slide", "template my-knife.toml my-knife.pdf --scale 30", ".pdf or .svg")
    model.add_argument("--scale", type=float, default=20.0, metavar="N", help="mm on paper for each mm of the knife (20 if left out)")
    return parser


def _check(asked):
    """Every file is looked at, whatever the others have wrong."""
    code = FINE
    for path in (asked.knife, *asked.more):
        try:
            print(_fine(path))
        except (KnifeError, ReadingError) as error:
            code = WRONG
            print(error, file=sys.stderr)
    return code


def _fine(path):
    if Path(path).suffix.lower() == ".csv":
        found = read_readings(path)
        return f"{path}: fine. {found.kind}, {len(found)} rows."
    knife = read_knife(path)
    assumed = f", {len(knife.assumed)} of its numbers assumed" if knife.assumed else ""
    return f"{path}: fine. {knife.title}, {len(knife.balls)} ball{'s' if len(knife.balls) > 1 else ''}{assumed}."


def _report(asked):
    from .say.working import headline  # each is loaded when it is asked for: the others need no drawing

    print(headline(read_knife(asked.knife)))
    return FINE


def _sheet(asked):
    from .pages.livesheet import live_sheet

    return _written(asked, lambda knife: live_sheet(knife, asked.page, replace=asked.replace))


def _handout(asked):
    from .pages.handout import handout

    return _written(asked, lambda knife: handout(knife, asked.page, answers=not asked.blank, replace=asked.replace))


def _template(asked):
    from .pages.template import template

    return _written(asked, lambda knife: template(knife, asked.page, scale=asked.scale, replace=asked.replace))


def _written(asked, write):
    """Write a page of the knife; a file in the way is refused in the words of the command line."""
    knife = read_knife(asked.knife)
    try:
        write(knife)
    except ThereAlready as error:
        raise KnifeError([problem._replace(cure="Choose another name, or add --replace.") for problem in error.problems]) from None
    print(f"Written: {asked.page}")
    return FINE


if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="replace")  # a terminal without ± shows ? there
    try:
        code = main()
        sys.stdout.flush()
    except BrokenPipeError:  # whoever reads has read enough, as in `| head`
        code = FINE
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nothing is left for the end of Python to write
    sys.exit(code)
