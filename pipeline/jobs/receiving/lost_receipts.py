"""Private receipts that are not there (a command was ended between the journal and the receipt): made again from the
archive, by the settings and the day of the first check."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import check_for_loading
from pipeline.jobs.receiving.receipts import each_text_receipt, receipt_place, write_receipt
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.load.truth import archive
from pipeline.load.truth.journal import Line
from pipeline.load.truth.receipts import Receipt, receipts_in
from pipeline.settings import settings_from


def make_lost_receipts(pool: Path, lines: Sequence[Line]) -> int:
    """Makes every missing receipt of a sheet whose bytes are in the archive; answers how many. For a holder of the
    pool's lock. What other growers found beside it is left out: it was theirs of that day."""
    settings = {
        line.payload["fingerprint"]: line.payload["values"] for line in lines if line.event == "settings"
    }
    lost = [
        receipt
        for receipt in receipts_in(lines).values()
        if not receipt.erased and not receipt_place(pool, receipt).exists()
    ]
    made = 0
    for receipt in lost:
        path = archive.place(pool, receipt.submission, receipt.ending)
        if path.exists():
            write_receipt(
                receipt_place(pool, receipt), _text(receipt, path.read_bytes(), settings[receipt.settings])
            )
            made += 1
    return made


def _text(receipt: Receipt, content: bytes, values: dict[str, object]) -> str:
    settings = settings_from(values, "the journal")
    sheet = Sheet(receipt.file or "sheet", content, columns=receipt.columns)
    checked = check_for_loading([sheet], settings, date.fromisoformat(receipt.checked_on)).checked
    results = own_results(checked, settings, None)
    return next(text for _, text in each_text_receipt(checked, results, {0: receipt.notes}))
