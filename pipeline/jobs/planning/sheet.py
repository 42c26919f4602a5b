"""The run sheet of a plan: one line a pour in the order of the plan, all but what the bench will tell filled in."""

from __future__ import annotations

from pipeline.jobs.planning.steps import TestPlan
from reports.blank_sheet import blank_sheet_csv, blank_sheet_xlsx
from schemas.kinds.run import RUN
from schemas.trade.amounts import amount_in_words

THIRD_OF_THE_MIX = 1 / 3
"""How much to pour, of the volume of mix in the pot (the protocol's own rule, common practice)."""
POUR_STEP_ML = 50


def poured_ml(pot_volume_l: float) -> int:
    """About a third of the mix volume, in steps of 50 ml, at least 50."""
    return max(POUR_STEP_ML, round(pot_volume_l * 1000 * THIRD_OF_THE_MIX / POUR_STEP_ML) * POUR_STEP_ML)


def sheet_rows(planned: TestPlan) -> list[dict[str, str]]:
    """The lines of the sheet, by column. Day, time and water temperature stay blank: the bench fills them."""
    poured = poured_ml(planned.plan.wish.pot_volume_l)
    same = {
        "member": planned.member or "",
        "series": planned.label,
        "climate_zone": planned.habits.climate_zone or "",
        "setup_type": planned.habits.setup_type or "",
        "pot_volume": amount_in_words(planned.plan.wish.pot_volume_l * 1000, "ml"),
        "base": planned.habits.base or "",
        "component": planned.component,
        "component_grade": planned.habits.component_grade or "",
        "poured": f"{poured} ml",
        "collected": f"{poured // 2} ml",
        "start_moisture": "moist",
    }
    return [
        {
            **same,
            "component_share": f"{pour.share:g} %",
            "pot_no": str(pour.pot_no),
            "pour_no": str(pour.pour_no),
            "run_order": str(pour.run_order),
        }
        for pour in planned.plan.pours
    ]


def sheet_csv(planned: TestPlan) -> bytes:
    """The sheet as CSV."""
    return blank_sheet_csv(RUN, sheet_rows(planned)).encode()


def sheet_xlsx(planned: TestPlan) -> bytes:
    """The sheet as a spreadsheet with lists to choose from."""
    return blank_sheet_xlsx(RUN, sheet_rows(planned))
