"""A bar that fills while a long search runs."""

import ipywidgets as widgets
from IPython.display import display


class Progress(widgets.HBox):
    """A bar with words beside it; call it with (done, total). Its stored form is the same on every run."""

    def __init__(self, words: str):
        """words: what is going on."""
        self._words = words
        self.bar = widgets.IntProgress(
            description=words,
            max=1,
            tooltip=words,
            style={"description_width": "initial"},
            layout=widgets.Layout(width="420px"),
        )
        self.said = widgets.HTML('<span role="status">not begun</span>')
        super().__init__([self.bar, self.said])

    def __call__(self, done: int, total: int) -> None:
        """So many of so many are done."""
        self.bar.max, self.bar.value = total, done
        self.bar.bar_style = "success" if done >= total else ""
        self.said.value = f'<span role="status">{done:,} of {total:,}</span>'

    def __repr__(self):
        return f"{self._words}: a bar fills here while it runs."

    def _repr_mimebundle_(self, **kwargs):
        return {**super()._repr_mimebundle_(**kwargs), "text/plain": repr(self)}


def progress(words: str = "Searching") -> Progress:
    """Show a bar and return it, for `dl.options(..., progress=progress())`.

    >>> bar = progress("Looking through the stock")
    Looking through the stock: a bar fills here while it runs.
    >>> bar(1024, 4096)
    >>> bar.bar.value / bar.bar.max
    0.25
    """
    bar = Progress(words)
    display(bar)
    return bar
