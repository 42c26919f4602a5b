"""Receipts: what a member is told about a sheet, as text for a person and as values for a program.

The text is grouped so that fifty equal problems read as one, and still lists every row. Members' text is
made harmless for a terminal; the values carry each cell exactly as typed.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any, cast

import polars as pl

from pipeline.check.readings import readings_by_file, readings_in_sentences
from pipeline.check.steps import Checked
from pipeline.check.wording import shown
from schemas.kinds.registry import kind_named
from schemas.receipt import ColumnRead, LoadKeys, ReceiptProblem, ReceiptsValue, SeriesResult
from schemas.rows_named import listing, row_ranges
from schemas.rules import rule
from schemas.rules.questions import ASKED_FIRST
from schemas.rules.series import COUNTED_ONCE
from schemas.rules.waits import WAITING_RULES
from schemas.trade.cautions import ON_RECEIPTS

PROBLEM_KEYS = ("row", "column", "value", "rule", "level", "message", "fix")
WIDTH = 96
SAID_IN_FULL = 3
MANY_ROWS = 3
MOST_OF_READINGS = 600
OwnResultLines = Mapping[int, Sequence[tuple[int, str]]]
"""By file_id, the lines of the own result: depth, 0 the heading, and text."""
SECTIONS = (
    (
        "held",
        "Held back. These rows wait until they are mended; the others do not wait for them. Mend them in your "
        "sheet and send it again, whole or only these rows: nothing is counted twice.",
    ),
    (
        "waits",
        "Waiting for your answer. These rows are in the pool and counted in no figure until they are kept, mended or set "
        "aside.",
    ),
    ("left_out", "Counted once. These rows repeat another row and are left out."),
    ("advice", "Good to know. Nothing below holds a row back."),
)

HELD_ALONE = (
    "Held back. This row waits until it is mended; the others do not wait for it. Mend it in your sheet and send it "
    "again, whole or only this row: nothing is counted twice."
)


def as_json_value(
    checked: Checked,
    extra: Mapping[int, LoadKeys] | None = None,
    pool: Mapping[int, Sequence[str]] | None = None,
    results: Mapping[int, list[SeriesResult]] | None = None,
) -> ReceiptsValue:
    """`{"files": [{"file", "rows", "accepted", "held", "problems", "readings"}]}` in the order of the files, with the keys
    of `extra` (by file_id) added to a file, and one advice for each line of `pool` (by file_id), what it already
    has; `results` (by file_id) is what the sheet itself says. `file` and `value` are as typed: escape them where they are shown."""
    problems: dict[int, list[ReceiptProblem]] = {}
    for problem in checked.problems.select("file_id", *PROBLEM_KEYS).iter_rows(named=True):
        problems.setdefault(problem.pop("file_id"), []).append(cast(ReceiptProblem, problem))
    for file_id, lines in (pool or {}).items():
        problems.setdefault(file_id, []).extend(map(_beside_the_pool, lines))
    readings, waits = readings_by_file(checked.readings), waits_by_file(checked.problems)
    return {
        "files": [
            {
                "file": file["file"],
                "rows": file["rows"],
                "accepted": file["accepted"],
                "held": file["held"],
                "waits": waits.get(file["file_id"], 0),
                "problems": problems.get(file["file_id"], []),
                "readings": readings.get(file["file_id"], []),
                "results": (results or {}).get(file["file_id"], []),
                **(extra or {}).get(file["file_id"], LoadKeys()),
            }
            for file in checked.files.iter_rows(named=True)
        ]
    }


def _beside_the_pool(line: str) -> ReceiptProblem:
    return whole_file_problem("beside_the_pool", {"said": line})


def whole_file_problem(rule_id: str, details: Mapping[str, str]) -> ReceiptProblem:
    """A problem that is about the whole file, in the catalogue's words."""
    known = rule(rule_id)
    message, fix = known.worded(None, None, details)
    return {
        "row": None,
        "column": None,
        "value": None,
        "rule": known.id,
        "level": known.level,
        "message": message,
        "fix": fix,
    }


def as_text(
    checked: Checked,
    notes: Mapping[int, Sequence[str]] | None = None,
    refused: Mapping[int, str] | None = None,
    own_results: OwnResultLines | None = None,
) -> str:
    """The receipt of all files as text, ending in a line break. `notes` (by file_id) are lines to print under
    a file's counts, such as what of it is already in the pool; `refused` says why a file was not received;
    `own_results` what the sheet itself says."""
    parts = [part for _, part in _parts(checked, notes or {}, refused or {}, own_results or {})]
    if len(parts) > 1:
        parts.insert(0, "\n".join([*_overview(checked.files), "", ""]))
    return "".join([*parts, _cautions()])


def each_as_text(
    checked: Checked,
    notes: Mapping[int, Sequence[str]] | None = None,
    own_results: OwnResultLines | None = None,
) -> Iterator[tuple[int, str]]:
    """file_id and the receipt of each file alone, in order: what `as_text` would say had it come alone."""
    for file_id, part in _parts(checked, notes or {}, {}, own_results or {}):
        yield file_id, part + _cautions()


def _parts(
    checked: Checked,
    notes: Mapping[int, Sequence[str]],
    refused: Mapping[int, str],
    own_results: OwnResultLines,
) -> Iterator[tuple[int, str]]:
    files = list(checked.files.iter_rows(named=True))
    names = _file_names([one["file"] for one in files])
    told = _told(checked.problems)
    readings, waits = readings_by_file(checked.readings), waits_by_file(checked.problems)
    for one, name in zip(files, names, strict=True):
        file_id = one["file_id"]
        rules = told.get(file_id, {})
        lines = [
            f"Receipt for {name}",
            *_wrapped(_result(one, rules, refused.get(file_id), waits.get(file_id, 0)), "  ", "  "),
        ]
        lines += _file_lines(one, notes.get(file_id, ()), rules)
        lines += _reading_lines(readings.get(file_id, []))
        if refused.get(file_id) is None:
            lines += _own_result_lines(own_results.get(file_id, ()))
        yield file_id, "\n".join([*lines, ""])


def _reading_lines(columns: Sequence[ColumnRead]) -> list[str]:
    """The section that says how cells were read; no lines where every cell says so itself."""
    sentences = readings_in_sentences(columns)
    if not sentences:
        return []
    lines = ["  How it was read:"]
    for column, sentence in sentences.items():
        lines += _wrapped(f"{column}: {shown(sentence, MOST_OF_READINGS)}", "    ", "      ")
    return [*lines, ""]


def _own_result_lines(own_result: Sequence[tuple[int, str]]) -> list[str]:
    lines: list[str] = []
    for depth, text in own_result:
        margin = "  " * (depth + 1)
        lines += _wrapped(shown(text, MOST_OF_READINGS), margin, margin + "  ")
    return [*lines, ""] if lines else []


def _cautions() -> str:
    lines = ["Take care"]
    for caution in ON_RECEIPTS:
        lines += _wrapped(caution, "  - ", "    ")
    return "\n".join([*lines, ""])


def _overview(files: pl.DataFrame) -> list[str]:
    rows, accepted, held = (sum(files[name].to_list()) for name in ("rows", "accepted", "held"))
    lines = [f"{files.height} sheets: {_count(rows, 'row')}, {accepted} accepted, {held} held."]
    to_mend = files.filter((pl.col("held") > 0) | ~pl.col("readable"))
    names = dict(zip(files["file_id"], _file_names(files["file"].to_list()), strict=True))
    for one in to_mend.iter_rows(named=True):
        outcome = f"{one['held']} of {one['rows']} held" if one["readable"] else "could not be read"
        lines += _wrapped(f"{names[one['file_id']]}: {outcome}", "  ", "    ")
    return lines


@dataclass(frozen=True)
class _Said:
    """The same words on one or more rows (none for the whole file)."""

    rule: str
    rows: Sequence[int]
    column: str | None
    value: str | None
    message: str
    fix: str


_Groups = dict[str, list[list[_Said]]]


def _told(problems: pl.DataFrame) -> dict[int, _Groups]:
    """file_id -> section -> one group per rule and column, in the order in which their first rows come."""
    left_out = pl.when(pl.col("rule") == COUNTED_ONCE).then(pl.lit("left_out"))
    waiting = left_out.when(pl.col("rule").is_in(WAITING_RULES)).then(pl.lit("waits"))
    section = waiting.otherwise(pl.col("level")).alias("section")
    subject = ["file_id", "section", "rule", "column"]
    words = ["value", "message", "fix"]
    said = problems.group_by("file_id", section, "rule", "column", *words, maintain_order=True).agg(
        pl.col("row").drop_nulls()
    )
    groups = said.group_by(subject, maintain_order=True).agg("row", *words)
    told: dict[int, _Groups] = {}
    for one in groups.iter_rows(named=True):
        group = [
            _Said(one["rule"], rows, one["column"], *texts)
            for rows, *texts in zip(one["row"], *(one[word] for word in words), strict=True)
        ]
        told.setdefault(one["file_id"], {}).setdefault(one["section"], []).append(group)
    return told


def _file_lines(file: Mapping[str, Any], notes: Iterable[str], told: _Groups) -> list[str]:
    lines: list[str] = []
    for note in notes:
        lines += _wrapped(shown(note, 400), "  ", "  ")
    lines.append("")
    for section, heading in SECTIONS:
        groups = told.get(section, [])
        if section == "held" and file["held"] == 1:
            heading = HELD_ALONE
        if groups and file["readable"]:
            lines += [*_wrapped(heading, "  ", "  "), ""]
        for group in groups:
            lines += [*_group_lines(group, "To mend" if section == "held" else "What to do"), ""]
    return lines


def waits_by_file(problems: pl.DataFrame) -> dict[int, int]:
    """By file_id how many of its accepted rows wait for an answer; files where none does have no entry."""
    rows = problems.filter(pl.col("rule").is_in(WAITING_RULES)).select("file_id", "row").unique()
    return dict(rows.group_by("file_id").len().iter_rows())


def _result(file: Mapping[str, Any], told_of: _Groups, refused: str | None, waits: int) -> str:
    if not file["readable"]:
        return (
            f"This file could not be read as a {kind_named(file['kind']).title}, so nothing of it was taken."
        )
    if refused is not None:
        counted = f"{_count(file['rows'], 'row')}, {file['accepted']} in order, {file['held']} to mend"
        return f"Not received: {refused} Its rows were only looked at: {counted}."
    told = f"{_count(file['rows'], 'row')}: {file['accepted']} accepted, {file['held']} held."
    if waits:
        verb = "waits" if waits == 1 else "wait"
        told += f" {waits} of the accepted {verb} for your answer and {'counts' if waits == 1 else 'count'} in no figure before."
    asked = [
        said.message for group in told_of.get("advice", []) for said in group if said.rule in ASKED_FIRST
    ]
    if asked:
        return " ".join([*asked, told])
    if file["held"] == 0 and not waits:
        if file["rows"] == 1:
            return told + " Your row is accepted; thank you."
        return told + (" Every row is accepted; thank you." if told_of else " Thank you.")
    return told


def _group_lines(group: Sequence[_Said], mend: str) -> list[str]:
    """One rule's findings on one column: the rows, what they say, how to mend it (under the word `mend`)."""
    in_full = group if len(group) <= SAID_IN_FULL else group[: SAID_IN_FULL - 1]
    rest = group[len(in_full) :]
    one_fix = len({said.fix for said in group}) == 1
    lines: list[str] = []
    for said in in_full:
        lines += _wrapped(_place(said), "  * ", "    ")
        lines += _wrapped(said.message, "    ", "    ")
        if not one_fix:
            lines += _wrapped(f"{mend}: {said.fix}", "    ", "    ")
    if rest:
        lines += _wrapped(f"The same of {_rest(rest)}", "  * ", "    ")
    if one_fix or rest:
        lines += _wrapped(f"{mend}: {group[-1].fix}", "    ", "    ")
    return lines


def _place(said: _Said) -> str:
    place = _rows(said.rows) if said.rows else "The whole file"
    if said.column:
        place += f", {shown(said.column, 40)}"
    if said.value is None or not said.column:
        return place
    return f"{place}: “{shown(said.value)}”" if said.value else f"{place}: left blank"


def _rest(group: Sequence[_Said]) -> str:
    rows_of: dict[str | None, list[int]] = {}
    for said in group:
        rows_of.setdefault(said.value, []).extend(said.rows)
    return "; ".join(
        _rows(rows, few=True) + (f" “{shown(value, 40)}”" if value else "") for value, rows in rows_of.items()
    )


def _rows(rows: Sequence[int], few: bool = False) -> str:
    listed = listing(row_ranges(rows))
    if len(rows) == 1:
        return f"row {listed}" if few else f"Row {listed}"
    counted = f" ({len(rows)} rows)" if len(rows) > MANY_ROWS and not few else ""
    return f"{'rows' if few else 'Rows'} {listed}{counted}"


def _file_names(typed: Sequence[str]) -> list[str]:
    """The names without their folders, except where two files would then share one."""
    short = [PurePath(name).name or name for name in typed]
    return [
        shown(name if short.count(bare) == 1 else full, 120)
        for name, bare, full in zip(short, short, typed, strict=True)
    ]


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _wrapped(text: str, first: str, then: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=then,
        break_on_hyphens=False,
        break_long_words=False,
    )
