"""The receipts of many files, gathered batch by batch: as text and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.check.receipt import as_json_value, as_text, each_as_text, whole_file_problem
from pipeline.check.steps import Checked
from pipeline.check.waits import beside_a_pool
from pipeline.check.wording import shown
from pipeline.jobs.own_result.wording import receipt_lines
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.load.truth.receipts import Receipt
from schemas.receipt import FileReceipt, LoadKeys, SeriesResult

NOT_OPENED = "not_opened"
RECEIPTS = "receipts"


def text_receipt(
    checked: Checked,
    results: Mapping[int, list[SeriesResult]],
    notes: Mapping[int, Sequence[str]] | None = None,
    refused: Mapping[int, str] | None = None,
) -> str:
    """The receipt of a batch as text, its own results in it."""
    return as_text(checked, notes, refused, own_result_lines(results))


def each_text_receipt(
    checked: Checked, results: Mapping[int, list[SeriesResult]], notes: Mapping[int, Sequence[str]]
) -> Iterator[tuple[int, str]]:
    """file_id and the receipt of each file alone."""
    return each_as_text(checked, notes, own_result_lines(results))


def own_result_lines(results: Mapping[int, list[SeriesResult]]) -> dict[int, list[tuple[int, str]]]:
    """The own results in words, by file_id."""
    return {file_id: receipt_lines(series) for file_id, series in results.items()}


def receipt_place(pool: Path, receipt: Receipt) -> Path:
    """Where the private text receipt of a received file stands."""
    name = f"{receipt.number:06d}-{receipt.submission[:12]}.txt"
    return pool / RECEIPTS / f"{receipt.received:%Y-%m}" / name


def write_receipt(path: Path, text: str) -> None:
    """Puts a private receipt in place."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text.encode("utf-8", "surrogatepass"))


@dataclass
class Receipts:
    """The receipts of the files checked so far, as text and as JSON values. `missing`: files that could not be
    opened, `unreadable`: those that are no run sheet, `held`: rows held."""

    texts: list[str] = field(default_factory=list)
    files: list[FileReceipt] = field(default_factory=list)
    missing: int = 0
    unreadable: int = 0
    held: int = 0

    def add(
        self,
        checked: Checked,
        notes: Mapping[int, Sequence[str]],
        loaded: Mapping[int, LoadKeys],
        in_pool: Mapping[int, Sequence[str]],
        results: Mapping[int, list[SeriesResult]],
        refused: Mapping[int, str] | None = None,
    ) -> None:
        """A checked batch. Each by file_id: lines for its text, what became of it in the pool, what the pool has of
        it, its own results, and why it was refused."""
        self.unreadable += int((~checked.files["readable"]).sum())
        self.held += int(checked.files["held"].sum() or 0)
        if checked.files.height:
            self.texts.append(text_receipt(checked, results, notes, refused))
            self.files += as_json_value(checked, loaded, in_pool, results)["files"]

    def add_missing(self, sheets: Sequence[Sheet]) -> None:
        """The files of a batch that could not be opened at all."""
        for sheet in sheets:
            if sheet.content is None:
                self.missing += 1
                problem = whole_file_problem(NOT_OPENED, {"why": sheet.missing})
                self.texts.append(f"{shown(sheet.name)}: {problem['message']} {problem['fix']}\n")
                self.files.append(
                    {
                        "file": sheet.name,
                        "rows": 0,
                        "accepted": 0,
                        "held": 0,
                        "waits": 0,
                        "problems": [problem],
                        "readings": [],
                        "results": [],
                    }
                )


def with_waits(pool: Path | None, checked: Checked) -> Checked:
    """The check with the rows that wait, or would wait once they are loaded, beside this pool; alone without one."""
    if pool is None:
        return checked
    from pipeline.load.views.preview import would_wait

    return beside_a_pool(checked, would_wait(pool, checked))


def what_the_pool_says(pool: Path | None, checked: Checked) -> dict[int, list[str]]:
    """Lines by file_id: already there, or what loading it would mend. The store is opened only where a pool is named."""
    if pool is None:
        return {}
    from pipeline.load.views.preview import preview

    return {file_id: list(lines) for file_id, lines in preview(pool, checked).items()}
