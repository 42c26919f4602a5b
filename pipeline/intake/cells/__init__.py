"""One cell's text to a value: numbers, amounts, times, dates, shares, words, and what a heading's bracket says of them."""
