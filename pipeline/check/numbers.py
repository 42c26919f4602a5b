"""Numbers as a person would write them in a message."""

from __future__ import annotations

import polars as pl

from schemas.trade.amounts import amount_in_words

SMALL = 1e-3
DECIMALS = 12


def figures(quantity: str | pl.Expr, significant: int = 4) -> pl.Expr:
    """The quantity as text with that many significant figures, no trailing `.0` and no powers of ten:
    236.6, 300, 0.000012."""
    number = (pl.col(quantity) if isinstance(quantity, str) else quantity).round_sig_figs(significant)
    digits = (number * 10**DECIMALS).round().cast(pl.Int64, strict=False).cast(pl.String).str.zfill(DECIMALS)
    small = (number > 10**-DECIMALS) & (number < SMALL)
    return (
        pl.when(small)
        .then("0." + digits.str.strip_chars_end("0"))
        .otherwise(number.cast(pl.String).str.strip_suffix(".0"))
    )


def in_units(column: str, unit: str, significant: int = 6) -> pl.Expr:
    """The amounts of a column in a person's units (`3 h 25 min`, `1.8 l`), with that many significant figures."""

    def words(amounts: pl.Series) -> pl.Series:
        return pl.Series(
            [
                None if amount is None else amount_in_words(float(f"{amount:.{significant}g}"), unit)
                for amount in amounts
            ],
            dtype=pl.String,
        )

    return pl.col(column).map_batches(words, return_dtype=pl.String, is_elementwise=True)


def figures_of(number: float, significant: int = 4) -> str:
    """The same for one number that is not so small."""
    return str(float(f"{number:.{significant}g}")).removesuffix(".0")
