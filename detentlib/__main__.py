"""Commands for the terminal: `python -m detentlib --help`. A knife file in; numbers, a verdict, a page or a paper
model out.
"""

import argparse
import os
import sys
from pathlib import Path

from .files.knife_file import read_knife
from .files.writing import ThereAlready
from .knife.parts import KnifeError, Problem
from .measure.readings import ReadingError, read_readings

FINE, WRONG = 0, 1  # 2 is what argparse gives for a command that it does not understand
_START = "python -m detentlib"
_KNIFE = "the knife file, such as my-knife.toml"
_CLAIM, _FIRST = "the claim, by its short name", "doubles"
_ABOUT = """\
What a ball detent feels like, from a knife file. A knife file is a text file that ends in .toml; the folder
notebooks/knives has some to copy and change.
"""
_EXAMPLES = """\
for example:
  python -m detentlib check my-knife.toml
  python -m detentlib report my-knife.toml
  python -m detentlib fault my-knife.toml "it won't flick, and it feels gritty"
  python -m detentlib judge my-knife.toml
  python -m detentlib judge my-knife.toml doubles
  python -m detentlib judge my-knife.toml doubles --assume card=exact blade=plane
  python -m detentlib post my-knife.toml doubles my-argument
  python -m detentlib batch pulls.csv my-knife.toml --window "11 N to 13 N"
  python -m detentlib letter my-knife.toml letter.html
  python -m detentlib letter my-knife.toml after.toml both.html
  python -m detentlib handout my-knife.toml my-knife.html
  python -m detentlib handout my-knife.toml to-fill-in.html --blank
  python -m detentlib template my-knife.toml my-knife.pdf --scale 30
  python -m detentlib sheet my-knife.toml my-sheet.html
  python -m detentlib protractor my-protractor.pdf

A file that is there already is left alone, unless you add --replace.
It ends with 0 when all is well, with 1 when the knife or its file is not right or a file cannot be written
(what is wrong is said), and with 2 when the command was not understood.
"""


def main(arguments: list[str] | None = None) -> int:
    """Do what the words of a command line ask; gives 0, 1 or 2 (see --help)."""
    try:
        asked = _words().parse_args(arguments)
    except SystemExit as end:
        return end.code
    try:
        return asked.do(asked)
    except (KnifeError, ReadingError) as error:
        print(error, file=sys.stderr)
        return WRONG


class _Parser(argparse.ArgumentParser):
    """Says where help is when it does not understand."""

    def error(self, message):
        example = f"{self.epilog}\n" if self.prog != _START else ""
        self.exit(2, f"Not understood: {message}.\n{example}See {self.prog} --help\n")


def _words():
    """The commands with their words, and what --help says."""
    look = {"formatter_class": argparse.RawDescriptionHelpFormatter}
    parser = _Parser(prog=_START, description=_ABOUT, epilog=_EXAMPLES, **look)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", dest="command", required=True)

    def command(name, do, said, example, of=("knife", "KNIFE", _KNIFE)):
        epilog = f"for example:\n  {_START} {name} {example}"
        made = commands.add_parser(name, help=said, description=f"{said[0].upper()}{said[1:]}.", epilog=epilog, **look)
        made.set_defaults(do=do)
        argument, shown, meaning = of
        made.add_argument(argument, metavar=shown, help=meaning)
        return made

    said = "say whether a knife file, or a file of readings (.csv), is fine, or all that is wrong with it"
    checked = command("check", _check, said, "my-knife.toml")
    checked.add_argument("more", metavar="MORE", nargs="*", default=[], help="more files to check")
    said = "print the numbers to read first, each with its ±, and what to look at"
    command("report", _report, said, "my-knife.toml")
    said = "say what may be behind a complaint, by this knife's numbers; where it is not clear, ask back"
    fault = command("fault", _fault, said, 'my-knife.toml "too stiff"')
    fault.add_argument("words", metavar="WORDS", nargs="+", help="the complaint, in the owner's own words")
    said = "say whether a claim is true of this knife, and what would flip it"
    judged = command("judge", _judge, said, "my-knife.toml doubles")
    judged.add_argument("claim", metavar="CLAIM", nargs="?", help=f"{_CLAIM}; without it, the claims are listed")
    _assumes(judged)
    said = "write a verdict as a short text to post, a picture, one sheet to print, and the knife's card beside them"
    posted = command("post", _post, said, "my-knife.toml doubles my-argument")
    posted.add_argument("claim", metavar="CLAIM", nargs="?", help=f"{_CLAIM}; {_FIRST}, if left out")
    _writes(posted, "the name of the files to write, without an ending")
    _assumes(posted)
    posted.add_argument("--by", default="", metavar="NAME", help="who claimed it, as the page shall name them")
    said = (
        "say what pulls of many knives tell: mean, spread, odd ones, those outside a window, and what may be behind it"
    )
    pulls = ("pulls", "PULLS", "the pulls (.csv): columns knife and opening [N], and letting back [N] if it was pulled")
    batch = command("batch", _batch, said, 'pulls.csv my-knife.toml --window "11 N to 13 N"', pulls)
    batch.add_argument("knife", metavar="KNIFE", nargs="?", help="the knife that they were meant to be")
    wanted = 'what the opening pull should be, such as "11 N to 13 N", "2.5 to 3 lbf" or "at least 11 N"'
    batch.add_argument("--window", metavar="WINDOW", help=wanted)
    said = "write a page with live numbers, which works in a browser without anything else"
    sheet = command("sheet", _sheet, said, "my-knife.toml my-sheet.html")
    _writes(sheet, "the file to write, ending in .html")
    said = "write a page to print, with the arithmetic left in"
    blank = command("handout", _handout, said, "my-knife.toml my-knife.html")
    _writes(blank, "the file to write, ending in .html")
    blank.add_argument("--blank", action="store_true", help="leave room to write in place of the results")
    said = "write one page for a customer: the balls drawn, the force at the tab, before and after where two are given"
    told = command("letter", _letter, said, "my-knife.toml after.toml letter.html")
    after = "the knife file after the work; KNIFE is then before it"
    told.add_argument("after", metavar="AFTER", nargs="?", help=after)
    _writes(told, "the file to write, ending in .html")
    said = "write a paper model to print, cut out and slide"
    model = command("template", _template, said, "my-knife.toml my-knife.pdf --scale 30")
    _writes(model, "the file to write, ending in .pdf or .svg")
    scale = "mm on paper for each mm of the knife (20 if left out)"
    model.add_argument("--scale", type=_number, default=20.0, metavar="N", help=scale)
    said = "write a protractor with long pointers to print, for a lift trace; it reads to a quarter of a degree"
    paper = ("page", "FILE", "the file to write, ending in .pdf or .svg")
    _replaces(command("protractor", _protractor, said, "my-protractor.pdf", paper))
    return parser


def _number(text):
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text} is no number; write it like 20 or 12.5") from None


def _writes(command, what):
    """The command writes a file."""
    command.add_argument("page", metavar="FILE", help=what)
    _replaces(command)


def _assumes(command):
    said = "other assumptions than the usual ones, such as card=exact blade=plane"
    command.add_argument("--assume", metavar="NAME=OPTION", nargs="+", default=[], help=said)


def _replaces(command):
    command.add_argument("--replace", action="store_true", help="write it even if a file of that name is there already")


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
    assumed = f", {len(knife.assumed)} of its numbers guessed or assumed" if knife.assumed else ""
    return f"{path}: fine. {knife.title}, {len(knife.balls)} ball{'s' if len(knife.balls) > 1 else ''}{assumed}."


def _report(asked):
    from .say.headline import headline  # each is loaded when it is asked for: the others need no drawing

    print(headline(read_knife(asked.knife)))
    return FINE


def _fault(asked: argparse.Namespace) -> int:
    from .argue.faults.finder import find_fault
    from .say.cautions import caution_list

    found = find_fault(" ".join(asked.words), read_knife(asked.knife))
    _tell(*found.lines)
    if found.faults:
        print(f"\nBefore you touch it:\n{caution_list(*found.cautions)}")
    return FINE


def _judge(asked):
    from .argue.judging import claims

    if asked.claim is None:
        knife = read_knife(asked.knife)
        print(f"Claims that can be judged on {knife.title}, each with the short name to give behind the knife file:\n")
        print(claims)
        return FINE
    return _judged(asked, lambda verdict: _tell(*verdict.sentences))


def _post(asked):
    from .argue.judging import claims
    from .pages.post import post_page

    if asked.claim is None and asked.page in claims:
        why = f"{asked.page} is the short name of a claim."
        cure = f"Write it behind the claim: {asked.page} my-argument."
        raise KnifeError(Problem("FILE", "", "the name of the files to write is missing", why, cure))
    asked.claim = asked.claim or _FIRST

    def write(verdict):
        written = _replacing(lambda: post_page(verdict, asked.page, asked.replace, asked.by))
        print("Written:", *written, sep="\n  ")

    return _judged(asked, write)


def _judged(asked, then):
    """Judge the claim, and go on with the verdict; a claim that there is not is named with near ones."""
    from .argue.judging import claims, judge

    knife = read_knife(asked.knife)
    if asked.claim not in claims:
        raise KnifeError(claims.unknown(asked.claim))
    then(judge(asked.claim, knife, **_options(asked, claims[asked.claim])))
    return FINE


def _options(asked, claim):
    """{switch: option} of what is to be assumed; KnifeError for what this claim does not have."""
    from .argue.switches import options_of

    chosen = dict(each.partition("=")[::2] for each in asked.assume)
    try:
        options_of(claim.switches, claim.start, chosen)
    except ValueError as error:
        why = "An assumption is given as NAME=OPTION, such as card=exact."
        raise KnifeError(Problem("--assume", "", str(error), why, "")) from None
    return chosen


def _tell(*lines):
    from .say.working import tell

    tell(*lines)


def _batch(asked):
    from .tune.batch import batch_of
    from .tune.table import TERMINAL

    pulls, knife = read_readings(asked.pulls), read_knife(asked.knife) if asked.knife else None
    for table in batch_of(pulls, knife, asked.window).tables():
        print(table._replace(notes=()).text(TERMINAL))
        _tell(*table.notes)
        print()
    return FINE


def _sheet(asked):
    from .pages.livesheet import live_sheet

    return _written(asked, lambda knife: live_sheet(knife, asked.page, replace=asked.replace))


def _handout(asked):
    from .pages.handout import handout

    return _written(asked, lambda knife: handout(knife, asked.page, answers=not asked.blank, replace=asked.replace))


def _letter(asked):
    from .pages.letter import letter

    after = read_knife(asked.after) if asked.after else None

    def write(knife):
        letter(knife, asked.page, after, replace=asked.replace)
        if after is not None and after.title != knife.title:
            names = f"before it is {knife.title}, after it {after.title}"
            _tell(f"Look whether this is one knife: {names}. The page says so over its numbers.")

    return _written(asked, write)


def _template(asked):
    from .pages.template import template

    return _written(asked, lambda knife: template(knife, asked.page, scale=asked.scale, replace=asked.replace))


def _protractor(asked):
    from .pages.protractor import protractor

    _replacing(lambda: protractor(asked.page, asked.replace))
    print(f"Written: {asked.page}")
    return FINE


def _written(asked, write):
    """Write a page of the knife."""
    knife = read_knife(asked.knife)
    _replacing(lambda: write(knife))
    print(f"Written: {asked.page}")
    return FINE


def _replacing(write):
    """Write; a file in the way is refused in the words of the command line. No knife file is ever written over."""
    try:
        return write()
    except ThereAlready as error:
        ours = [problem._replace(cure="Choose another name, or add --replace.") for problem in error.problems]
        pairs = zip(error.problems, ours, strict=True)
        raise KnifeError([each if Path(each.where).suffix == ".toml" else other for each, other in pairs]) from None


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
