"""Planning a test: what the pool knows and the member has, the plan, its words and its sheet."""
