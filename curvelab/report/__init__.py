"""Results put into words, sums and the sheet."""
