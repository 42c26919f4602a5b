"""Rules that relate the columns of one row, a row to the pool's settings, or a row to today."""

from __future__ import annotations

from schemas.rules.rule import Rule

_BELIEVE = "If the numbers are right, tell your coordinator: a true run should not be lost."

FITTING: tuple[Rule, ...] = (
    Rule(
        "tested_in_future",
        "Tested later than today",
        "A test can't have been made after the day on which the sheet is checked (UTC).",
        "held",
        "row",
        "tested_on “{value}” was read as {read}, which is later than today.",
        "Type the day on which the test was made, year-month-day, such as 2026-03-14.",
    ),
    Rule(
        "collected_over_poured",
        "More collected than poured",
        "What is collected is a part of what was poured on, so it can't be more.",
        "held",
        "row",
        "collected “{value}” was read as {collected} ml, but poured “{poured_cell}” as {poured} ml. No more "
        "can be collected than was poured.",
        "Were the two columns swapped? Look at both numbers and their units: poured is all the water poured on, collected the part of it "
        "at which you stop the clock, best half of it.",
    ),
    Rule(
        "component_blank",
        "Component not given",
        "The component may be left blank at 0 % only.",
        "held",
        "row",
        "component is blank, but the share of component is {share} %. At any share above 0 % the sheet must "
        "say what the component was.",
        "Write perlite, pumice, silica_sand, vermiculite, fine_bark or other. If the pot held straight base, "
        "write 0 as the share.",
    ),
    Rule(
        "grade_blank",
        "Grade not given",
        "The grade word may be left blank at 0 % only.",
        "held",
        "row",
        "component_grade is blank, but the share of component is {share} %. At any share above 0 % the sheet "
        "must say which grade it was.",
        "Write fine, medium or coarse, as the bag says. Where you know the grain size: under 2 mm is fine, "
        "2-4 mm medium, above that coarse.",
    ),
    Rule(
        "came_out_over_collected",
        "Ran dry, yet more came out than was to be collected",
        "A run that ran dry stopped dripping before the collected volume was out.",
        "held",
        "row",
        "ended says ran_dry, but came_out “{value}” ({came_out} ml) is more than collected “{collected_cell}” "
        "({collected} ml). If that much came out, the mark was reached.",
        "If the water reached the mark, write reached and the time at which it did. If the pot did run dry, "
        "look at came_out and its unit again.",
    ),
    Rule(
        "came_out_not_used",
        "Volume that came out, in a run that did not run dry",
        "came_out is read only where a run ran dry.",
        "advice",
        "row",
        "came_out “{value}” is given, but ended says {ended}. came_out is kept and not used: it tells how much "
        "came where a pot ran dry.",
        "If dripping ended before the collected volume was out, write ran_dry under ended. Otherwise nothing "
        "needs to be done.",
    ),
    Rule(
        "grain_sizes_swapped",
        "Smallest grains larger than the largest",
        "The smallest grain size can't be above the largest.",
        "held",
        "row",
        "component_min_size “{value}” ({low} mm) is larger than component_max_size “{high_cell}” ({high} mm).",
        "Swap the two sizes, or look at their units; leave both blank if you do not know them.",
    ),
    Rule(
        "setup_not_described",
        "Other setup, not described",
        "For setup_type other the notes should say how the pot was held.",
        "advice",
        "row",
        "setup_type is other, and the notes are blank.",
        "Say in notes how the pot was held over the vessel, so that others can be told apart from it.",
    ),
    Rule(
        "start_moisture_blank",
        "Start moisture not given",
        "How wet a mix is just before the pour changes how it drains more than most things.",
        "advice",
        "row",
        "start_moisture is blank; the start is counted as moist, or as dry where pre_wetted is no.",
        "Next time write dry, moist or soaked: the same mix drains differently from a dry and from a moist "
        "start. If you remember it, fill it in and send the sheet again.",
    ),
    Rule(
        "ran_dry",
        "Ran dry before the mark",
        "Dripping ended before the collected volume was out: the mix kept the water. That is no drain time.",
        "advice",
        "row",
        "ended says ran_dry: dripping ended before {collected} ml were out. Such a row is accepted and "
        "counted, and no drain rate is made from it.",
        "Wet the mix well, let it drain, and repeat the pour with the same volume: a dry mix soaks up the "
        "first one. Say in came_out how much came.",
    ),
    Rule(
        "part_marked",
        "Unusual part of the pour collected",
        "The headline compares times for about half of the pour; other parts drain at another pace.",
        "advice",
        "row",
        "collected “{value}” is {part} % of what was poured. The headline takes runs between 40 and 60 %; "
        "a row outside is accepted and marked, and stands in no headline.",
        "Next time stop the clock when half of the poured water is out. If it did stop there and the number is "
        "a slip, mend it and send the row again.",
    ),
)

PLAUSIBLE: tuple[Rule, ...] = (
    Rule(
        "cone_volume_differs",
        "Inside lengths and pot volume differ",
        "The three inside lengths give a truncated cone; its volume is more than 25 % off the pot volume.",
        "advice",
        "row",
        "pot_volume “{value}” is {given} ml, but the three inside lengths make {cone} ml, {percent} % {way}. "
        "pot_volume is used as given.",
        "Measure both inside widths, the top one at the fill line, and the depth of the mix; or fill the "
        "lined pot with water to the line and measure that. {hint}",
    ),
    Rule(
        "cone_volume_far",
        "Inside lengths and pot volume can't both be right",
        "The three inside lengths give a truncated cone; its volume and the pot volume differ by more than "
        "a factor of 2.",
        "held",
        "row",
        "pot_volume “{value}” is {given} ml, but the three inside lengths make {cone} ml, {times} times "
        "that. Both can't be right.",
        "Look at pot_volume, at the two inside widths (whole width across, not from the middle) and at "
        "fill_depth, with their units. {hint}",
    ),
    Rule(
        "time_too_long",
        "Longer than a week",
        "A drain time above the setting long_time_held_s, a week unless changed, is not believed.",
        "held",
        "row",
        "drain_time “{value}” was read as {time}, which is more than {limit} days.",
        "Look at the unit: 3 min 25 s, written so, is always read as meant. A run whose clock you stopped "
        "while it still dripped is written stopped under ended. " + _BELIEVE,
    ),
    Rule(
        "time_long",
        "Longer than a day",
        "A drain time above the setting long_time_advice_s, a day unless changed, is unusual.",
        "advice",
        "row",
        "drain_time “{value}” was read as {time}, which is more than {limit} hours.",
        "If that is what the clock said, nothing needs to be done. A run that still dripped when you gave up "
        "is written stopped under ended.",
    ),
    Rule(
        "time_short",
        "Too short for a hand clock",
        "A drain time below the setting short_time_advice_s can't be stopped exactly by hand.",
        "advice",
        "row",
        "drain_time “{value}” was read as {time}: too short for a hand clock.",
        "Pour more next time, the same volume for all mixes of the series, so that the time is longer.",
    ),
    Rule(
        "pour_time_long",
        "Pouring took most of the time",
        "Where the drain time is under twice the pouring time, the hand that pours sets the pace.",
        "advice",
        "row",
        "drain_time “{value}” ({time}) is less than twice pour_time “{pour_cell}” ({pour}): too short "
        "to tell the mix from the pouring.",
        "Pour more next time, and pour it within 10 seconds.",
    ),
    Rule(
        "drains_too_fast",
        "Faster than any mix",
        "The front speed, collected / (time x area of the pot), is above front_speed_held_above_cm_s.",
        "held",
        "row",
        "{collected} in {time} (drain_time “{value}”) out of {volume} of mix: the water would move at "
        "{speed} cm/s, and above {limit} cm/s no potting mix is known to drain.",
        "Look at drain_time, collected and pot_volume and their units.{hint} " + _BELIEVE,
    ),
    Rule(
        "drains_fast",
        "Unusually fast",
        "The front speed, collected / (time x area of the pot), is above front_speed_advice_above_cm_s.",
        "advice",
        "row",
        "{collected} in {time} (drain_time “{value}”) out of {volume} of mix: the water moved at "
        "{speed} cm/s, and above {limit} cm/s is unusual.",
        "If it is right, nothing needs to be done. Look for water running down a gap at the wall, and pour "
        "more next time: so fast, pouring and holes set the pace.{hint}",
    ),
    Rule(
        "drains_slow",
        "Unusually slow",
        "The front speed, collected / (time x area of the pot), is below front_speed_advice_below_cm_s.",
        "advice",
        "row",
        "{collected} in {time} (drain_time “{value}”) out of {volume} of mix: the water moved at "
        "{speed} cm/s, and below {limit} cm/s is unusual.",
        "If it is right, nothing needs to be done: a slow pot may be true. Otherwise mend drain_time, "
        "collected or pot_volume and send the row again.{hint}",
    ),
    Rule(
        "drains_too_slow",
        "Slower than any mix",
        "The front speed, collected / (time x area of the pot), is below front_speed_held_below_cm_s.",
        "held",
        "row",
        "{collected} in {time} (drain_time “{value}”) out of {volume} of mix: the water would move at "
        "{speed} cm/s, and below {limit} cm/s not even dense field peat is known to drain.",
        "Look at drain_time, collected and pot_volume and their units.{hint} A run whose clock was stopped "
        "while it still dripped is written stopped under ended. " + _BELIEVE,
    ),
)

KEEPING: tuple[Rule, ...] = (
    Rule(
        "does_not_fit",
        "Does not fit what the pool keeps",
        "The last look at every row before it is accepted: each value as the pool describes its column.",
        "held",
        "row",
        "{column} “{value}” does not fit what the pool keeps there ({expected}), and no other rule has said "
        "so.",
        "Look at this cell. If it is right, tell your coordinator, and name the row: the tool may be wrong.",
    ),
    Rule(
        "rule_not_applied",
        "A rule could not be applied",
        "A rule broke down over a sheet. That is the tool's fault; nothing of the sheet is lost or loaded.",
        "held",
        "file",
        "The rule “{title}” ({id}) could not be applied to this sheet, so none of its rows is accepted yet. "
        "The fault is in the tool, not in your sheet.",
        "Nothing needs to be mended. Tell your coordinator, and send the same sheet again when they say so.",
    ),
)

RULES: tuple[Rule, ...] = (*FITTING, *PLAUSIBLE, *KEEPING)

NOT_FROM_A_SHEET: frozenset[str] = frozenset({"does_not_fit", "rule_not_applied"})
"""Rules that only a fault of the tool can set off: no sample sheet shows them, the unit tests do."""
