"""Figures that pages show beside `results.json`: ranges, weights, minutes, repeats, levels, years. Arrays and frames in, values out."""
