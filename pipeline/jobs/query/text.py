"""The answer of `query` as a table to read and as rows for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pipeline.jobs.query.steps import QueryResult
from reports.words import capital, count, percent, plain, two_figures, verdict, who
from schemas.trade.small_numbers import FEWER, too_few_to_show

INVENTED = "Invented data: not growing advice."
NOTHING_BESIDE_BASE = "No run of this part compares a mix with its own straight base yet."
FRESH = "Freshly filled pots:"
HEADINGS = (
    "share",
    "times as fast",
    "average (19 in 20)",
    "a new grower (19 in 20)",
    "growers",
    "series",
    "verdict",
)
BETWEEN_HEADINGS = ("level", "beside", "share", "times", "19 in 20", "growers")
CSV_COLUMNS = (
    "by",
    "level",
    "component",
    "share",
    "ratio",
    "ci_low",
    "ci_high",
    "new_series_low",
    "new_series_high",
    "p_faster",
    "p_clears",
    "p_faster_pot",
    "p_clears_pot",
    "members",
    "series",
    "verdict",
)
PLAIN_COLUMNS = (
    "ratio",
    "p_faster",
    "p_clears",
    "p_faster_pot",
    "p_clears_pot",
    "members",
    "series",
    "verdict",
)


def as_table(answered: QueryResult) -> str:
    """The answer for reading: whose tests, the sentence of each component, its shares; then each group."""
    value = answered.value
    against = value.get("against", 0.0)
    lines = [INVENTED] if value["invented"] else []
    lines.append(
        f"{where_text(value['where'])}: {counted_text(answered, answered.counts)}, as of {value['as_of']}."
    )
    lines += _components(value["components"], answered.settings.target_ratio, against)
    lines += _unmeasured(value)
    for group, counts in zip(value["groups"], answered.group_counts, strict=True):
        lines += ["", f"{group['by']}: {plain(group['level'])}: {counted_text(answered, counts)}."]
        lines += _components(group["components"], answered.settings.target_ratio, against)
    lines += _between(value.get("between_levels", {}))
    if value["groups"]:
        lines += [
            "",
            "Groups are looked at side by side for ideas only; a difference between them proves nothing.",
        ]
    lines += ["", "To paste into a mail:", *(f"  {sentence}" for sentence in sentences(answered).values())]
    return "\n".join(lines) + "\n"


def sentences(answered: QueryResult) -> dict[str, str]:
    """Per component one passage to paste into a mail that can't lose its filter, counts and date; where the part is
    too small it says what is missing. It keeps the rule of small numbers: whoever it is for may pass it on."""
    answered = answered.to_pass_on or answered
    value = answered.value
    mark = f"{INVENTED} " if value["invented"] else ""
    part = f"{mark}{where_text(value['where'])}, {counted_text(answered, answered.counts)}, as of {value['as_of'][:10]}:"
    if answered.for_everyone and too_few_to_show(answered.counts["members"]):
        return {"": f"{part} nothing is said of so few."}
    if not value["components"]:
        return {"": f"{part} {NOTHING_BESIDE_BASE}"}
    against = value.get("against")
    return {
        name: f"{part} {table['recommendation']['text'] if against is None else _beside(name, table, against)}"
        for name, table in tables(value["components"])
    }


def _beside(name: str, table: Mapping[str, Any], against: float) -> str:
    """The ratios beside another share than straight base, in one sentence."""
    ratios = [
        f"{percent(row['share'])} {two_figures(row['ratio'])} ({_range(row['ci'])}; {count(row['members'], 'grower')})"
        for row in table["shares"]
        if row["ratio"] is not None and row["members"] is not None
    ]
    if not ratios:
        return f"{plain(name)}: too few growers to set anything beside {percent(against)}."
    return f"{plain(name)}, freshly filled pots, times as fast as with {percent(against)} on average: {', '.join(ratios)}."


def as_csv(answered: QueryResult) -> str:
    """One row per share, of the whole part first (`by` blank) and of each group after it."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CSV_COLUMNS)
    value = answered.value
    for by, level, components in (
        ("", "", value["components"]),
        *((group["by"], group["level"], group["components"]) for group in value["groups"]),
    ):
        for component, table in tables(components):
            for row in table["shares"]:
                writer.writerow([by, level, component, *_cells(row)])
    return out.getvalue()


def _cells(row: Mapping[str, Any]) -> list[Any]:
    named = dict(row)
    for name in ("ci", "new_series"):
        named[f"{name}_low"], named[f"{name}_high"] = row[name] or (None, None)
    if row["members"] is None:
        named["members"] = FEWER
    return ["" if named[column] is None else named[column] for column in CSV_COLUMNS[3:]]


def _components(components: Mapping[str, Any], target_ratio: float, against: float = 0.0) -> Iterator[str]:
    if not components:
        yield NOTHING_BESIDE_BASE
    for name, table in tables(components):
        yield ""
        yield f"{plain(name)}: {table['recommendation']['text']}"
        rows = [_row(row, target_ratio) for row in table["shares"] if row["members"] or not against]
        if rows:
            width = len(HEADINGS) - bool(against)  # a verdict is given beside straight base only
            yield FRESH
            yield from _aligned([row[:width] for row in (HEADINGS, *rows)])


def tables(components: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Each component in sphagnum peat, unless it was tested in other bases only; then in each other base."""
    for name, table in components.items():
        bases = table.get("bases") or {}
        if table["shares"] or not bases:
            yield name, table
        for base, in_base in bases.items():
            yield f"{name} in {plain(base)}", in_base


def _unmeasured(value: Mapping[str, Any]) -> Iterator[str]:
    """Says so where nobody measured the share to compare with."""
    for name, table in value["components"].items() if "against" in value else ():
        if not any(row["members"] for row in table["shares"]):
            measured = ", ".join(percent(row["share"]) for row in table["shares"] if row["share"])
            yield ""
            yield f"{plain(name)}: nothing can be set beside {percent(value['against'])}; tested: {measured}."


def _between(components: Mapping[str, Any]) -> Iterator[str]:
    """Ratio of ratios between the levels, where enough growers measured both."""
    for name, lines in components.items():
        known = [line for line in lines if line["ratio_of_ratios"] is not None]
        if known:
            yield ""
            yield f"{plain(name)}: how many times the ratio of one level is that of another"
            yield from _aligned([BETWEEN_HEADINGS, *map(_between_row, known)])


def _between_row(line: Mapping[str, Any]) -> tuple[str, ...]:
    return (
        plain(line["level"]),
        plain(line["against"]),
        percent(line["share"]),
        two_figures(line["ratio_of_ratios"]),
        _range(line["ci"]),
        f"{line['members']} and {line['members_against']}",
    )


def _row(row: Mapping[str, Any], target_ratio: float) -> tuple[str, ...]:
    return (
        percent(row["share"]),
        "–" if row["ratio"] is None else two_figures(row["ratio"]),
        _range(row["ci"]),
        _range(row["new_series"]),
        FEWER if row["members"] is None else str(row["members"]),
        "" if row["series"] is None else str(row["series"]),
        verdict(row["verdict"], target_ratio),
    )


def _range(ends: Sequence[float] | None) -> str:
    return "–" if ends is None or None in ends else f"{two_figures(ends[0])} to {two_figures(ends[1])}"


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]


def where_text(where: Mapping[str, Any]) -> str:
    """Which part of the pool was asked about: `Climate Csb; grade fine`, or `The whole pool`."""
    if not where:
        return "The whole pool"
    conditions = []
    for name, wanted in where.items():
        if name == "pot_volume_ml":
            low, high = wanted
            ends = (
                f"from {low:g} ml" if low is not None else "",
                f"to {high:g} ml" if high is not None else "",
            )
            conditions.append("pots " + " ".join(end for end in ends if end))
        elif name in ("since", "until"):
            conditions.append(f"tested {'from' if name == 'since' else 'up to'} {wanted}")
        else:
            conditions.append(f"{name} {', '.join(plain(value) for value in wanted)}")
    return capital("; ".join(conditions))


def counted_text(answered: QueryResult, counts: Mapping[str, int]) -> str:
    """How many growers, series and runs stand behind an answer or one of its groups; of too few, only that they are
    too few where everyone may read it."""
    if answered.for_everyone and too_few_to_show(counts["members"]):
        return FEWER
    return who(counts["members"], counts["series"], counts["runs"]) if counts["runs"] else count(0, "run")
