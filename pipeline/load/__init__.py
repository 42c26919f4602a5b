"""The pool on disk: archive and journal are the truth, the DuckDB store is made from them."""
