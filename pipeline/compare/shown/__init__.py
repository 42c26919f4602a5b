"""Figures that pages show beside `results.json`: ranges at other levels, weights, minutes, repeats. Arrays and frames in, values out."""
