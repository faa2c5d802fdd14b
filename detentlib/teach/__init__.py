"""Teaching: the coach, the widgets of the notebooks, and the words and numbers that they print."""
