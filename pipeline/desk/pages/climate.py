"""The page that finds a place's climate class from twelve monthly means. What is typed is kept nowhere."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.web.addresses import ANYONE, DeskForm, DeskPage
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.render import page
from reports.words import MONTHS as MONTH_NAMES
from schemas.trade.koppen import MONTHS, Place, climate_class

NUMBER = re.compile(r"[-−+]?[0-9]{1,5}(?:[.,][0-9]{1,4})?\Z")
MM_PER_INCH = 25.4


async def climate_page(request: Request) -> Response:
    """The form, blank."""
    return _form(request, {})


async def take_means(request: Request) -> Response:
    """The class of the means typed, or what is missing."""
    form = await read_form(request)
    fields = {name: field(form, name, 20) for name in _names()}
    try:
        found = climate_class(
            [_number(fields, f"mean_{at}", fields["mean_unit"] == "F", at) for at in range(1, MONTHS + 1)],
            [
                _number(fields, f"rain_{at}", False, at) * (MM_PER_INCH if fields["rain_unit"] == "in" else 1)
                for at in range(1, MONTHS + 1)
            ],
        )
    except ValueError as error:
        return _form(request, fields, wrong=str(error), status=400)
    return _form(request, fields, found)


def _number(fields: dict[str, str], name: str, fahrenheit: bool, month: int) -> float:
    typed = fields[name]
    what = "mean temperature" if name.startswith("mean") else "rain"
    if not NUMBER.match(typed):
        read = f"“{typed}” is no number" if typed else "it is blank"
        raise ValueError(f"{MONTH_NAMES[month - 1]}, {what}: {read}. Write a number like 12.5.")
    value = float(typed.replace(",", ".").replace("−", "-"))
    return (value - 32) / 1.8 if fahrenheit else value


def _names() -> list[str]:
    return [f"{what}_{at}" for what in ("mean", "rain") for at in range(1, MONTHS + 1)] + [
        "mean_unit",
        "rain_unit",
    ]


def _form(
    request: Request, fields: dict[str, str], found: Place | None = None, wrong: str = "", status: int = 200
) -> Response:
    return page(
        request,
        "climate.html",
        status,
        fields=fields,
        found=found,
        wrong=wrong,
        months=list(enumerate(MONTH_NAMES, 1)),
    )


ADDRESSES = (
    DeskPage("/climate", climate_page, ANYONE),
    DeskForm("/climate", take_means, ANYONE),
)
