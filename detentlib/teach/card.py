"""What every form, panel and card of the workbook is made from."""

import ipywidgets as widgets
from ipywidgets import Layout

# JupyterLab takes a letter or an arrow key in a drop-down for a command: it would add, leave or delete a cell.
# Lumino, which reads its keys, lets those of an element with this attribute be.
_KEYS = """document.addEventListener('focusin', event => {
    if (event.target.matches('.widget-dropdown select')) event.target.setAttribute('data-lm-suppress-shortcuts', 'true');
});"""


class Card(widgets.VBox):
    """Widgets one below the other. A drop-down keeps the keys typed in it; a viewer without a kernel reads the repr."""

    def __init__(self, children, **options):
        """As a VBox."""
        keys = {"output_type": "display_data", "data": {"application/javascript": _KEYS}, "metadata": {}}
        super().__init__([*children, widgets.Output(outputs=(keys,), layout=Layout(display="none"))], **options)

    def _repr_mimebundle_(self, **kwargs):
        """The live widgets, and beside them the repr."""
        return {**super()._repr_mimebundle_(**kwargs), "text/plain": repr(self)}
