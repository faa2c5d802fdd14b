"""What every form, panel and card of the workbook is made from."""

import base64
from collections.abc import Callable, Iterable

import ipywidgets as widgets
from ipywidgets import Layout

from ..knife.plain import in_html

# JupyterLab takes a letter or an arrow key in a drop-down for a command: it would add, leave or delete a cell.
# Lumino, which reads its keys, lets those of an element with this attribute be.
_KEYS = """document.addEventListener('focusin', event => {
    if (event.target.matches('.widget-dropdown select'))
        event.target.setAttribute('data-lm-suppress-shortcuts', 'true');
});"""

# Handles of sliders and boxes without a label have no name, and of a row of buttons only colour says which one is
# down: both for who cannot see. The words that open more are no button: no key reaches or opens them. And a long strip
# of folded code, or the widest box of a card, would make the whole page wider than its window.
_NAMES = """if (!window.detentNames) {
    const narrow = document.createElement('style');
    narrow.textContent = '.jp-Placeholder-content, .jp-PlaceholderText { min-width: 0; overflow: hidden }'
        + '.jp-Cell-outputArea { min-width: 0 }';
    document.head.append(narrow);
    const named = (element, name) => element.hasAttribute('aria-label') || element.setAttribute('aria-label', name);
    const titled = element => element.querySelector('label').title;
    const name = () => {
        for (const slider of document.querySelectorAll('.widget-slider'))
            for (const handle of slider.querySelectorAll('.noUi-handle')) named(handle, titled(slider));
        for (const box of document.querySelectorAll('.jupyter-widgets :is(select, input)[title]'))
            if (!box.labels?.[0]?.textContent) named(box, box.title); // an empty label would be its name
        for (const row of document.querySelectorAll('.widget-toggle-buttons')) {
            row.setAttribute('role', 'group');
            named(row, titled(row));
            for (const each of row.querySelectorAll('button'))
                each.setAttribute('aria-pressed', each.classList.contains('mod-active'));
        }
        for (const head of document.querySelectorAll('.jupyter-widget-Collapse-header')) {
            if (head.tabIndex < 0) {
                head.tabIndex = 0;
                head.setAttribute('role', 'button');
                head.setAttribute('data-lm-suppress-shortcuts', 'true');
                head.addEventListener('keydown', event => {
                    if (event.key !== 'Enter' && event.key !== ' ') return;
                    event.preventDefault();
                    head.click();
                });
            }
            head.setAttribute('aria-expanded', head.parentElement.classList.contains('jupyter-widget-Collapse-open'));
        }
    };
    window.detentNames = new MutationObserver(name);
    const seen = {childList: true, subtree: true, attributes: true, attributeFilter: ['class']};
    window.detentNames.observe(document.body, seen);
    name();
}"""
ANSWER = "font-size:14px;line-height:1.45;max-width:770px"  # how the line above a picture looks

# A person may have set larger letters: a button and a label then take more lines, and nothing is cut off. In the width
# of a phone no box is wider than its card, and a label gives way before the box does. The grey of the words that open
# more is too faint on its ground.
_LOOK = """<style>
.detent-card :is(.widget-button, .widget-toggle-button) {
    height: auto; min-height: var(--jp-widgets-inline-height); line-height: 1.3; white-space: normal;
}
.detent-card :is(.widget-inline-hbox > .widget-label, .widget-label.widget-inline-hbox) {
    height: auto; white-space: normal; line-height: 1.2;
}
.detent-card .jupyter-widget-Collapse-header { color: var(--jp-ui-font-color1); }
.detent-card .jupyter-widgets:is(.widget-inline-hbox, .widget-checkbox, .widget-html, .widget-button) {
    max-width: calc(100% - 4px);
}
.detent-card td, .detent-card th { padding-right: 1em; }
.detent-card .detent-numbered.widget-inline-hbox.jupyter-widgets { max-width: calc(100% - 34px); }
@media (max-width: 600px) {
    .detent-card .jupyter-widgets:is(.widget-inline-hbox, .widget-button):not(.detent-numbered) {
        max-width: calc(100% - 4px) !important; /* also where a box says how wide it may be, without its margins */
    }
    .detent-card .widget-html { overflow-x: auto; }
    .detent-card :is(.widget-text, .widget-checkbox) { height: auto; }
    .detent-card :is(.widget-inline-hbox .widget-label, .widget-label-basic) {
        flex-shrink: 1; min-width: min-content; height: auto; white-space: normal; line-height: 1.2;
    }
    .detent-card .detent-numbered input { min-width: 96px; }
    .detent-card .widget-checkbox :is(label, input) { flex: none; }
}
</style>"""


class Card(widgets.VBox):
    """Widgets one below the other. A drop-down keeps the keys typed in it; a viewer without a kernel reads the repr."""

    def __init__(self, children: Iterable[widgets.Widget], **options: object):
        """As a VBox."""
        hidden = Layout(display="none")
        keys = {"output_type": "display_data", "data": {"application/javascript": _KEYS + _NAMES}, "metadata": {}}
        super().__init__(
            [*children, widgets.Output(outputs=(keys,), layout=hidden), widgets.HTML(_LOOK, layout=hidden)], **options
        )
        self.add_class("detent-card")

    def _repr_mimebundle_(self, **kwargs):
        return {**super()._repr_mimebundle_(**kwargs), "text/plain": repr(self)}


def button(label: str, tip: str, act: Callable[[], object], **look: str) -> widgets.Button:
    """A button that acts when it is clicked; look: as of a Layout."""
    made = widgets.Button(description=label, tooltip=tip, layout=Layout(**look))
    made.on_click(lambda _: act())
    return made


def typed(label: str, tip: str, empty: str = "", value: str = "", label_width: str = "", **look: str) -> widgets.Text:
    """A box that is heard when a person leaves it; empty: what it shows until then; look: as of a Layout."""
    return widgets.Text(value, continuous_update=False, placeholder=empty, **_named(label, tip, label_width, look))


def menu(
    label: str, options: Iterable, tip: str, value: object = None, label_width: str = "", **look: str
) -> widgets.Dropdown:
    """A drop-down that starts at a value, by default at its first option; look: as of a Layout."""
    start = {} if value is None else {"value": value}
    return widgets.Dropdown(options=options, **start, **_named(label, tip, label_width, look))


def _named(label, tip, label_width, look):
    style = {"style": {"description_width": label_width}} if label_width else {}
    return {"description": label, "tooltip": tip, "layout": Layout(**look), **style}


def beside(left: list, right: list, width: str) -> widgets.HBox:
    """A column of so wide with what a person sets, and beside it, or below where there is no room, what comes of it."""
    columns = [
        widgets.VBox(left, layout=Layout(flex=f"0 0 {width}", padding="4px 8px 0 0", overflow="hidden")),
        widgets.VBox(right, layout=Layout(flex="1 1 480px", min_width="0")),
    ]
    return widgets.HBox(columns, layout=Layout(width="100%", flex_flow="row wrap"))


def spoken(text: str, style: str = "") -> str:
    """HTML that a screen reader reads out when it comes; nothing for no text.

    >>> spoken("5 < 6")
    '<div role="status" aria-live="polite">5 &lt; 6</div>'
    """
    return status(in_html(text), style) if text else ""


def status(html: str, style: str = "", loud: bool = True) -> str:
    """The same of HTML; loud: read out, else kept for who asks."""
    look = f' style="{style}"' if style else ""
    return f'<div role="status" aria-live="{"polite" if loud else "off"}"{look}>{html}</div>'


def alert(text: str) -> str:
    """The same for what is wrong, with a red line in front: red words would be too dim on a dark page."""
    return spoken(text, "border-left:4px solid #d32f2f;padding:4px 0 0 6px;line-height:1.35")


def picture(png: bytes, alt: str, size: tuple[int, int], look: str = "") -> str:
    """HTML of a picture, with what it shows in words; size: (width, height) in px. look: more style."""
    width, height = size
    data = base64.b64encode(png).decode()
    return (
        f'<img alt="{in_html(alt)}" width="{width}" height="{height}" decoding="sync" '
        f'style="max-width:100%;height:auto;{look}" src="data:image/png;base64,{data}">'
    )
