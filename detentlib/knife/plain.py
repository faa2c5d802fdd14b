"""Text that stays text: what people wrote, made safe to stand in Markdown, in HTML and in a picture; one function
for each. And the minus sign of numbers, and lines that are too long.
"""

import html
import re
import textwrap

# \t, \n and \r are no surprise in a text; every other control character is shown by its sign, as is half a character
# (a surrogate alone), which no file can hold
_SIGNS = (
    {code: 0x2400 + code for code in range(32) if chr(code) not in "\t\n\r"}
    | {0x7F: 0x2421}
    | dict.fromkeys((*range(0x80, 0xA0), *range(0xD800, 0xE000)), 0xFFFD)
)
_DRAWN = dict.fromkeys(_SIGNS, 0xFFFD) | {ord("\t"): " "}  # the font of the pictures has none of the signs
_LINE_ENDS = re.compile(r"[ \t]*[\n\r\x85\u2028\u2029]+[ \t]*")
# $ and \ stand in a tag of their own: else what typesets formulas looks for them in the finished page
_TOGETHER = re.compile(r"(?<=[\d±]) (?=\S)|(?<=\d\)) (?=\S)|(?<=\S) (?=±)")  # blanks of a number with its unit
_KEPT = "\N{NO-BREAK SPACE}"
_MARKS = {ord(mark): f"&#{ord(mark)};" for mark in "`*_[]<>&|~#"} | {
    ord(mark): f"<span>&#{ord(mark)};</span>" for mark in "$\\"
}


def visible(said: object) -> str:
    r"""The text with its control characters shown as signs; tabs and line ends stay.

    >>> visible("a\0b")
    'a␀b'
    """
    return str(said).translate(_SIGNS)


def one_line(said: object) -> str:
    r"""The text on one line, its control characters as signs.

    >>> one_line("a\nb")
    'a b'
    """
    return visible(_LINE_ENDS.sub(" ", str(said)))


def in_markdown(said: object) -> str:
    """Plain text on one line of Markdown, also in a table or beside formulas.

    >>> in_markdown("a|b"), in_markdown("$5"), in_markdown("12.04 N (2.71 lbf)")
    ('a&#124;b', '<span>&#36;</span>5', '12.04 N (2.71 lbf)')
    """
    return one_line(said).translate(_MARKS)


def in_html(said: object) -> str:
    """Plain text in HTML, also inside an attribute.

    >>> in_html("<&>")
    '&lt;&amp;&gt;'
    """
    return html.escape(visible(said))


def unbroken(said: str) -> str:
    r"""The text with no-break spaces within its numbers and before their units, for a cell that a browser wraps.

    >>> unbroken("12.1 ± 2.0 N (2.71 lbf)")
    '12.1\xa0±\xa02.0\xa0N (2.71\xa0lbf)'
    """
    return _TOGETHER.sub(_KEPT, said)


def wrapped(line: str, width: int, indent: int) -> list[str]:
    """A line wrapped between words, never within a number or before its unit; all but the first are indented.

    >>> wrapped("rate of the bar 10.30 N/mm", 20, 2)
    ['rate of the bar', '  10.30 N/mm']
    """
    lines = textwrap.wrap(unbroken(line), width, subsequent_indent=" " * indent, break_long_words=False)
    return [each.replace(_KEPT, " ") for each in lines]


def true_minus(numbers: str) -> str:
    """The text of numbers with a minus sign for each hyphen.

    >>> true_minus(f"{-0.5:+.2f} N")
    '−0.50 N'
    """
    return numbers.replace("-", "−")


def in_picture(said: object) -> str:
    r"""Plain text on one line of a picture, where a pair of $ would begin a formula.

    >>> in_picture("$x$")
    '\\$x\\$'
    """
    return _LINE_ENDS.sub(" ", str(said)).translate(_DRAWN).replace("$", r"\$")
