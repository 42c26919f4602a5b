"""What every kind of sheet has: who sends it, which series a row belongs to, and where the row came from."""

from __future__ import annotations

from schemas.column import Column, Derived, Kept, Limits, Pattern

CODE = Pattern(r"^[^\W_](?:[^\W_]|-){1,31}$", "a code of 2-32 letters, digits or hyphens")

MEMBER = Column(
    name="member",
    required="yes",
    kind="code",
    meaning="The member's code: 2-32 letters, digits or hyphens.",
    kept=Kept("member", "text", False, "", "The member's code as first spelled.", pattern=CODE),
    example="fen-07",
    spellings={
        "en": ("member code", "grower", "grower code"),
        "de": ("Mitglied", "Mitgliedscode", "Mitgliedskürzel", "Mitglieds-Nr."),
        "fr": ("membre", "code membre", "code du membre", "adhérent"),
        "nl": ("lid", "lidcode", "ledencode"),
        "es": ("miembro", "socio", "código de miembro", "código de socio"),
    },
    form="once",
    asked="Your code",
)
SERIES = Column(
    name="series",
    required="yes",
    kind="label",
    meaning="The member's own label for tests made together, in one kind of pot, setup, component and grade.",
    kept=Kept(
        "series", "text", False, "", "The member's label of the series as first spelled.", length=(1, 64)
    ),
    example="spring bench",
    spellings={
        "en": ("series label", "test series"),
        "de": ("Serie", "Reihe", "Versuchsreihe", "Testreihe", "Messreihe"),
        "fr": ("série", "série d'essais"),
        "nl": ("reeks", "serie", "testreeks", "meetreeks", "proefreeks"),
        "es": ("serie", "serie de ensayos", "serie de pruebas"),
    },
    form="once",
    asked="A label of your own for this series",
)

SERIES_KEYS: tuple[Derived, ...] = (
    Derived(
        Kept("member_key", "text", False, "", "Member, letter case and spaces evened out.", published=False),
        made_in="intake",
        after="series",
        key_of="member",
    ),
    Derived(
        Kept("series_key", "text", False, "", "Series, letter case and spaces evened out.", published=False),
        made_in="intake",
        after="series",
        key_of="series",
    ),
)
"""The member and series as they are compared."""

ORIGIN: tuple[Derived, ...] = (
    Derived(
        Kept(
            "submission",
            "text",
            False,
            "",
            "SHA-256 of the sheet's bytes.",
            pattern=Pattern(r"^[0-9a-f]{64}$", "the hash of the sheet"),
        ),
        made_in="check",
    ),
    Derived(
        Kept(
            "sheet_row",
            "whole",
            False,
            "",
            "Row of the sheet, counted from the top of the file.",
            limits=Limits(1),
        ),
        made_in="check",
    ),
)
"""The file that a row came in, and its line there."""
