"""The physics: numpy in, numpy out; knows no file, no unit string, no widget and no picture."""
