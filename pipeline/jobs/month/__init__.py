"""A month's report: its figures, its pages, its editions."""
