"""What leaves the workbook, read back: a page of HTML, and a drawing of SVG to scale."""

import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser

import numpy as np

POINTS_PER_MM = 72 / 25.4
NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
VOID = {"meta", "img", "br", "input", "link"}


class Page(HTMLParser):
    """A page whose elements are nested as they should be; refuses any other."""

    def __init__(self, source):
        super().__init__()
        self.elements, self.texts, self._open = [], [], []
        self.feed(source)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag, attributes):
        self.handle_startendtag(tag, attributes)
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.elements.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        assert self._open.pop() == tag

    def handle_data(self, data):
        if not {"script", "style"} & set(self._open):
            self.texts.append(data)

    @property
    def words(self):
        """All that is to be read, as one text."""
        return "".join(self.texts)

    @property
    def sentences(self):
        """Every text by itself, without the space around it."""
        return {each.strip() for each in self.texts}

    @property
    def tags(self):
        """Names of the elements, in order."""
        return [tag for tag, _ in self.elements]

    @property
    def addresses(self):
        """What the page points to."""
        return [
            given[name]
            for _, given in self.elements
            for name in ("href", "src", "srcset", "action", "data")
            if name in given
        ]

    def all(self, tag):
        """The attributes of every element of this name."""
        return [given for name, given in self.elements if name == tag]


class Drawing:
    """A drawing whose named pieces are points [n, 2] in mm, y upwards.

    scale: mm on paper per mm of what is drawn. about: the name of the circle that they are measured from, else the
    lower left corner.
    """

    def __init__(self, text, scale=1.0, about=None):
        self.text, self.root, self.scale = text, ET.fromstring(text), scale
        self.width, self.height = (
            float(self.root.get(side).removesuffix("pt")) / POINTS_PER_MM for side in ("width", "height")
        )
        self.groups = {each.get("id"): each for each in self.root.iter() if each.get("id")}
        self._origin = np.array([0.0, self.height])
        if about:
            (x, y), _ = self.circle(about)
            self._origin += np.array([x, -y]) * scale

    def _placed(self, points):
        return (np.array(points) / POINTS_PER_MM - self._origin) * (1, -1) / self.scale

    def pieces(self, name):
        """End points of every piece of every path."""
        made = []
        for path in (each.get("d") for each in self.groups[name].iter() if each.tag.endswith("path") and each.get("d")):
            for kind, numbers in re.findall(rf"([MLCQz])((?:\s*{NUMBER})*)", path):
                values = [float(number) for number in re.findall(NUMBER, numbers)]
                if kind == "M":
                    made.append([])
                if values:
                    made[-1].append(values[-2:])
        return [self._placed(piece) for piece in made]

    def corners(self, name):
        """The first piece."""
        return self.pieces(name)[0]

    def circle(self, name):
        """Middle and radius."""
        low, high = self.corners(name).min(axis=0), self.corners(name).max(axis=0)
        return (low + high) / 2, (high - low)[0] / 2

    def used_at(self, name):
        """Where a marker stands."""
        (use,) = (each for each in self.groups[name].iter() if each.tag.endswith("use"))
        return self._placed([float(use.get("x")), float(use.get("y"))])

    def named(self, start):
        """{rest of the name: corners} of all whose name begins so."""
        return {name.removeprefix(start): self.corners(name) for name in self.groups if name.startswith(start)}
