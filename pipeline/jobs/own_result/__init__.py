"""A member's own result from the moment a sheet is checked: nothing pooled, before the month."""
