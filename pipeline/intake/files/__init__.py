"""A file's bytes to a table: text or workbook, the heading line, and what its headings name."""
