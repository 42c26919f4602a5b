"""Rules that relate the rows of one series: what must not change, repeats, the baseline mix."""

from __future__ import annotations

from schemas.rules.rule import Rule

COUNTED_ONCE = "repeat_identical"
"""The one rule at level advice whose rows are not accepted: a repeat is counted once."""

RULES: tuple[Rule, ...] = (
    Rule(
        "changes_in_series",
        "Changes within a series",
        "Within a series the climate zone, setup, base, component and grade stay the same. Where more than "
        "half of the rows agree, those that differ are held; otherwise all.",
        "held",
        "series",
        "{column} is {own}, but {elsewhere}, all in series “{series}”. A series is made in one place, with one "
        "kind of pot, setup, component and grade; {follows}.",
        "If it is a slip, write the same in all rows. If these are different tests, give them a series label "
        "of their own, such as “{label}”, with a baseline mix of their own.",
    ),
    Rule(
        "pot_volume_changes",
        "Another pot within a series",
        "Within a series the pot volume stays the same; more than 25 % off the series' own is held.",
        "held",
        "series",
        "pot_volume “{value}” is {own} ml, but {others} of series “{series}” {say} {other} ml: {percent} % "
        "{way}. Up to 10 % is taken as the same pot, and beyond 25 % the row is held.",
        "If it is a slip, write the right volume. If it was another pot, give its rows a series label of "
        "their own, such as “{label}”, with a baseline mix in that pot.",
    ),
    Rule(
        "pot_volume_varies",
        "Pot volume varies within a series",
        "Between 10 and 25 % off the series' own pot volume is accepted with advice.",
        "advice",
        "series",
        "pot_volume “{value}” is {own} ml, but {others} of series “{series}” {say} {other} ml: {percent} % "
        "{way}.",
        "Use one kind of pot, filled to one line, through a whole series; if this was another pot, a series "
        "label of its own tells it apart.",
    ),
    Rule(
        "unlike_pour",
        "Unlike pour within a series",
        "poured or collected is more than 5 % off the series' own: such pours are not compared.",
        "advice",
        "series",
        "{column} “{value}” is {own} ml, but {others} of series “{series}” {say} {other} ml. Such a row is "
        "accepted, and not compared with the series' other pours: unlike pours drain differently.",
        "Pour and collect the same volumes for all mixes of a series, the baseline mix among them.",
    ),
    Rule(
        "time_unlike_series",
        "Drain time far from its series",
        "A drain time 8 times as long as its series gives, or an eighth of it, is asked about.",
        "advice",
        "series",
        "{column} “{value}” is about {times} times {way} the rest of series “{series}” gives, about {usual}.",
        "Compare it with your notes. If it is a slip, mend it and send the sheet again; if it is true, nothing needs to "
        "be done.",
    ),
    Rule(
        "varies_in_series",
        "Varies within a series",
        "Hole cover, peat type, lots, start moisture (pour by pour), wetting and sieving stay the same in a "
        "series.",
        "advice",
        "series",
        "{column} is {own}, but {elsewhere}, all in series “{series}”.",
        "Keep it the same through a series, so that only the share of component differs between its mixes; "
        "or give the rows that differ a series label of their own.",
    ),
    Rule(
        "zone_from_series",
        "Climate zone taken from the series",
        "Where some rows of a series name the climate zone and others say unknown, those take the class.",
        "advice",
        "series",
        "climate_zone “{value}” was read as {taken}, because other rows of series “{series}” say {taken}.",
        "If that is right, nothing needs to be done; otherwise give these rows a series label of their own.",
    ),
    Rule(
        COUNTED_ONCE,
        "The same run twice",
        "A repeat that is the same in every value, notes and run_order aside, is counted once.",
        "advice",
        "series",
        "This row is the same run as row {first}: the same member, series, {place}, and every "
        "value the same. It is left out, so that it counts once; what becomes of row {first} holds for both.",
        "If it was typed twice, nothing needs to be done. {number_one}",
    ),
    Rule(
        "repeat_differs",
        "Two different runs under one number",
        "Member, series, share, pot and pour name one run; different values under one name are all held.",
        "held",
        "series",
        "Rows {rows} all say series “{series}”, {place}, and differ in {columns}. "
        "They can't all be the same run, so all of them are held.",
        "{number_all} If one row is a slip, take it out and send the other again.",
    ),
    Rule(
        "no_baseline",
        "Series without a baseline mix",
        "A series without straight base (0 %) tells only how its own shares differ from one another.",
        "advice",
        "series",
        "Series “{series}” has no accepted row of the baseline mix, straight base at 0 %{held}, in this sheet. "
        "Its rows are accepted; without one they tell only how its own shares differ from one another.",
        "Test one or more pots of straight base the same way and add them to the same series. If you have "
        "sent them in an earlier sheet, nothing needs to be done.",
    ),
)
