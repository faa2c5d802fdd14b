"""What a maker gives and keeps: knife files, the fields that file and form share, how a number was measured,
writing.
"""
