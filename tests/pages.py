"""A page of HTML read back: its elements, closed in order, its texts and what it points to."""

from html.parser import HTMLParser

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
        return [given[name] for _, given in self.elements for name in ("href", "src", "srcset", "action", "data") if name in given]

    def all(self, tag):
        """The attributes of every element of this name."""
        return [given for name, given in self.elements if name == tag]
