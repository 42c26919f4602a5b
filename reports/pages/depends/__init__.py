"""The pool by grade, settling, holder, pot, water and climate."""
