"""What stands around every page: the visitor, forms, templates, limits, headers, refusals."""
