"""Rules whose rows are accepted and wait: counted in no figure until they are kept, mended or set aside."""

from __future__ import annotations

from schemas.rules.rule import Rule

RUN_WAITS, SERIES_WAITS = "run_waits", "series_waits"

RULES: tuple[Rule, ...] = (
    Rule(
        RUN_WAITS,
        "Waits: far from its series by an exact slip",
        "A run 8 times or more from what its own series gives, which 10, 60, 100, 1000 or 3600 times would make ordinary, "
        "is accepted and waits: it is counted in no figure until it is kept, mended or set aside.",
        "advice",
        "series",
        "{column} “{value}” is about {times} times {way} the rest of series “{series}” gives, about {usual}. "
        "It would be like the others if it were {slip}. The run waits: it is counted in no figure until you answer.",
        "If it is a slip, mend it and send the sheet again. If it is true, say so under “My tests” at the desk or "
        "to your coordinator, and it counts.",
    ),
    Rule(
        SERIES_WAITS,
        "Waits: equal to another series",
        "The later of two series of 3 or more runs that are equal in every measured value is accepted and waits.",
        "advice",
        "series",
        "Every measured value of series “{series}” is that of {earlier}. Its runs wait: they are counted in no figure "
        "until you answer.",
        "If it is the same test under another name, nothing needs to be done: it counts once. If these are two tests, say so "
        "under “My tests” at the desk or to your coordinator, and both count.",
    ),
)

WAITING_RULES: tuple[str, ...] = tuple(one.id for one in RULES)
