"""A member’s own series in the page’s form: what stands, what a mended form makes of it, what sending would replace."""
