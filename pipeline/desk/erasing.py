"""Erasing a member from the desk: account, receipts, sheets that wait, requests in the inbox."""

from __future__ import annotations

from pathlib import Path

from pipeline.desk.accounts.book import AccountsFile
from pipeline.desk.accounts.tokens import random_token
from pipeline.desk.sheets.receipts import KeptSheets
from pipeline.desk.web.desk import FOLDER
from pipeline.jobs.decisions.requests import drop_requests


def forget(pool: Path, member: str) -> bool:
    """Takes everything that the desk keeps of a member away; False where the pool has no desk."""
    folder = pool / FOLDER
    drop_requests(pool, member)
    if not folder.is_dir():
        return False
    AccountsFile(folder, random_token).forget(member)
    KeptSheets(folder, random_token).forget(member)
    return True
