"""The receipts that lie beside the sample sheets: `<sheet>.receipt.txt` for every file in accepted, mended, refused.

`python -m contrib_samples.receipts` writes them again after a change of wording, so that the change shows in
review as prose. The tests compare them with what the tool says.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from contrib_samples.odd_files import HERE, TOO_LARGE_TO_KEEP
from pipeline.check.steps import Checked
from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.receipts import text_receipt
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings

FOLDERS = ("accepted", "mended", "refused")
ENDING = ".receipt.txt"
TODAY = date(2026, 6, 1)
"""The day on which the samples are checked; no receipt tells it."""


def samples() -> dict[str, Path]:
    """Every kept sample sheet, by its name below this folder, in order."""
    found = [path for folder in FOLDERS for path in (HERE / folder).iterdir()]
    return {
        path.relative_to(HERE).as_posix(): path for path in sorted(found) if not path.name.endswith(ENDING)
    }


def receipt_file(sample: str) -> Path:
    """Where the receipt of a sample lies: `refused/blank_cell.receipt.txt` of `refused/blank_cell.csv`."""
    path = HERE / sample
    return path.with_name(path.stem + ENDING)


def checked(name: str, content: bytes) -> Checked:
    """What the tool makes of one sheet, checked alone."""
    return check_batch([Sheet(name, content)], Settings(), TODAY)


def receipt(outcome: Checked) -> str:
    """The text receipt that `drainpool check` gives."""
    return text_receipt(outcome, own_results(outcome, Settings()))


def main() -> None:
    """Writes every receipt again, and takes away those whose sheet is gone."""
    contents = {name: path.read_bytes() for name, path in samples().items()}
    contents |= {name: make() for name, make in TOO_LARGE_TO_KEEP.items()}
    for name, content in contents.items():
        receipt_file(name).write_text(receipt(checked(name, content)), encoding="utf-8")
    expected = {receipt_file(name) for name in contents}
    for folder in FOLDERS:
        for path in (HERE / folder).glob(f"*{ENDING}"):
            if path not in expected:
                path.unlink()


if __name__ == "__main__":
    main()
