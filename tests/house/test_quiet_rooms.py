"""Quiet by default: only the rooms named here may touch disk, network, clock, environment or chance."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

DISK = {
    "open",
    "read_text",
    "write_text",
    "read_bytes",
    "write_bytes",
    "mkdir",
    "unlink",
    "rename",
    "replace_file",
    "rmtree",
    "copyfile",
    "iterdir",
    "glob",
    "rglob",
    "exists",
    "is_file",
    "is_dir",
    "touch",
}
CLOCK = {"now", "utcnow", "today", "time", "perf_counter", "monotonic", "sleep"}
CHANCE = {"default_rng", "random", "seed", "uuid4", "token_urlsafe", "token_hex"}
TALK = {"print", "input"}
NETWORK = {"urlopen", "create_connection"}
ENVIRONMENT = {"environ", "getenv", "getuser"}

# file -> what it may touch, and why; a new file that needs the disk gets a line of its own
LOUD: dict[str, tuple[set[str], str]] = {
    "contrib_samples/draws.py": (CHANCE, "draws the invented pool from a fixed seed"),
    "contrib_samples/odd_files.py": (DISK, "writes samples that are no plain CSV"),
    "contrib_samples/receipts.py": (DISK, "writes the receipt beside each sample"),
    "contrib_samples/simulator.py": (DISK, "writes the demo's sheets"),
    "pipeline/cli.py": (DISK | TALK | ENVIRONMENT, "prints, and meets closed pipes and Ctrl-C"),
    "pipeline/commands/check.py": (CLOCK, "checks as of today"),
    "pipeline/commands/held.py": (CLOCK, "says the day to answer a letter by"),
    "pipeline/commands/line/by_whom.py": (ENVIRONMENT, "knows the login name"),
    "pipeline/commands/month.py": (DISK | CLOCK | ENVIRONMENT, "sets Prefect's home before it is imported"),
    "pipeline/commands/plan.py": (DISK, "writes a plan and its sheet into a folder"),
    "pipeline/commands/sheet.py": (DISK, "writes the blank sheet at a terminal"),
    "pipeline/desk/accounts/book.py": (DISK, "keeps the desk's accounts file"),
    "pipeline/desk/erasing.py": (DISK, "looks whether the pool has a desk to erase from"),
    "pipeline/desk/pages/assets.py": (DISK, "reads the packaged style and script"),
    "pipeline/desk/pool/month_runs.py": (DISK, "starts the month's command and reads its output"),
    "pipeline/desk/pool/reports.py": (DISK, "finds the report pages to show"),
    "pipeline/desk/serve.py": (DISK | CLOCK, "opens the desk: its folder, the clock, the network"),
    "pipeline/desk/sheets/receipts.py": (DISK, "keeps receipts, and checked sheets until they are sent"),
    "pipeline/flows.py": (DISK | ENVIRONMENT, "makes the folder of the flow's log; its server's environment"),
    "pipeline/jobs/decisions/requests.py": (DISK, "leaves requests in the inbox and takes them out"),
    "pipeline/jobs/demo.py": (DISK, "lays the samples into the inbox"),
    "pipeline/jobs/keeping/clock.py": (DISK | CLOCK, "takes reports of months away that had not begun"),
    "pipeline/jobs/keeping/erasing.py": (
        DISK | CLOCK,
        "takes a member out of reports and receipts, stamps it",
    ),
    "pipeline/jobs/keeping/flow_records.py": (DISK, "finds the flow's records, to take a member out of them"),
    "pipeline/jobs/keeping/files_kept.py": (DISK, "reads reports, receipts and mails again"),
    "pipeline/jobs/keeping/steps.py": (DISK, "compares reports with what is computed anew"),
    "pipeline/jobs/month/files/folder.py": (DISK, "puts a month's folder in place whole"),
    "pipeline/jobs/month/files/index_and_mails.py": (DISK, "writes the index over months and the mails"),
    "pipeline/jobs/month/files/report_files.py": (DISK, "puts pages and the index over months in place"),
    "pipeline/jobs/month/server.py": (DISK | CLOCK, "starts the flow's server and waits until it answers"),
    "pipeline/jobs/month/files/older.py": (DISK, "finds the pages of older editions"),
    "pipeline/jobs/pool_view.py": (DISK, "sees which readers' copy is the newest"),
    "pipeline/jobs/receiving/accepted_rows.py": ({"is_dir"}, "whether there is an inbox yet"),
    "pipeline/jobs/receiving/checking.py": (CLOCK, "gives the present moment to the jobs"),
    "pipeline/jobs/receiving/inbox.py": (DISK | CLOCK, "takes sheets out of the inbox"),
    "pipeline/jobs/receiving/lost_receipts.py": (DISK, "finds receipts that are missing, reads the archive"),
    "pipeline/jobs/receiving/receipts.py": (DISK, "puts private receipts in place"),
    "pipeline/jobs/receiving/own_headings.py": (DISK, "reads a list of own headings"),
    "pipeline/jobs/receiving/sheets.py": (DISK, "reads sheets"),
    "pipeline/jobs/receiving/steps.py": (DISK | CLOCK, "writes settings and receipts into the pool"),
    "pipeline/jobs/samples.py": (DISK, "reads the packaged samples"),
    "pipeline/atomic_write.py": (DISK, "writes a file whole or not at all"),
    "pipeline/load/truth/archive.py": (DISK, "keeps every received file under its hash"),
    "pipeline/load/keeping/backing_up.py": (DISK, "writes and reads backups"),
    "pipeline/load/changes/editions.py": (DISK, "looks whether there is a journal"),
    "pipeline/load/truth/journal.py": (DISK, "reads and appends the journal"),
    "pipeline/load/keeping/opening.py": (DISK, "makes a pool and opens it for one writer"),
    "pipeline/load/keeping/rebuilding.py": (DISK, "makes the store again"),
    "pipeline/load/database/kept_rows.py": (DISK, "finds and reads the rows as they were read"),
    "pipeline/load/database/version_0_1_0.py": (DISK, "reads what version 0.1.0 kept of an erased sheet"),
    "pipeline/load/database/upgrade.py": (DISK, "reads archived sheets whose rows stand nowhere else"),
    "pipeline/load/database/store.py": (DISK, "holds the store and its readers' copies"),
    "pipeline/load/keeping/verifying.py": (DISK, "reads everything again and compares"),
    "pipeline/settings.py": (DISK, "reads settings.toml"),
}


def calls(path: Path) -> set[str]:
    """Bare names of everything a file calls, and of attributes of os that read the environment."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            target = node.func
            if isinstance(target, ast.Name):
                found.add(target.id)
            elif isinstance(target, ast.Attribute):
                owner = target.value
                # frame methods share these names: pl.col(...).time() or frame.glob are no clock and no disk
                if target.attr in CLOCK | {"random", "seed"} and not (
                    isinstance(owner, ast.Name)
                    and owner.id in {"time", "datetime", "date", "random", "rng", "os"}
                ):
                    continue
                found.add(target.attr)
        elif isinstance(node, ast.Attribute) and node.attr == "environ":
            found.add("environ")
    return found


def source_files() -> list[Path]:
    packages = ("schemas", "reports", "pipeline", "contrib_samples")
    return sorted(path for package in packages for path in (ROOT / package).rglob("*.py"))


@pytest.mark.parametrize("path", source_files(), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_only_named_rooms_are_loud(path: Path) -> None:
    name = path.relative_to(ROOT).as_posix()
    allowed, _because = LOUD.get(name, (set(), ""))
    heard = calls(path) & (DISK | CLOCK | CHANCE | TALK | NETWORK | ENVIRONMENT)
    assert heard <= allowed, (
        f"{name} calls {sorted(heard - allowed)}; pass it in, or name the room with a reason"
    )


@pytest.mark.parametrize("name", sorted(LOUD))
def test_every_loud_room_is_a_file_that_needs_it(name: str) -> None:
    path, (allowed, _because) = ROOT / name, LOUD[name]
    assert path.is_file(), f"{name} is gone; take its line out"
    assert calls(path) & allowed, f"{name} is quiet by now; take its line out"
