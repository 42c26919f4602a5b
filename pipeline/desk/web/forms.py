"""Forms as they come in: limited in size, sent from one of our pages, plain text."""

from __future__ import annotations

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from pipeline.desk.web.refusals import RefusedError
from pipeline.desk.web.visitor import has_csrf_token

CSRF_FIELD = "csrf_token"
MOST_FIELDS = 600
MOST_FIELD_BYTES = 64 * 1024
CONTENT_TYPES = ("application/x-www-form-urlencoded", "multipart/form-data")


async def read_form(request: Request) -> FormData:
    """The form of a request, once it carries this browser's CSRF token. Refuses everything else."""
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind not in CONTENT_TYPES:
        raise _unreadable()
    try:
        form = await request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=MOST_FIELD_BYTES)
    except RefusedError:
        raise
    except Exception as error:  # whatever a broken body does to the reader of forms
        raise _unreadable() from error
    if not has_csrf_token(request, field(form, CSRF_FIELD)):
        await form.close()
        raise RefusedError(
            403,
            "This form has gone stale",
            "It was not sent from a page of this desk as your browser has it open now. Go back, load the page again and send it once more. Nothing was changed.",
            f"form without its CSRF token: {request.method} {request.url.path}",
        )
    return form


def field(form: FormData, name: str, longest: int = 1000) -> str:
    """A text field, spaces around it taken off, line ends evened out; blank where it is missing."""
    value = form.get(name)
    if not isinstance(value, str):
        return ""
    return "".join(c for c in value if c.isprintable() or c == "\n").strip()[:longest]


def upload(form: FormData, name: str) -> UploadFile | None:
    """The file chosen in a field; None where none was."""
    value = form.get(name)
    return value if isinstance(value, UploadFile) and (value.filename or value.size) else None


def _unreadable() -> RefusedError:
    return RefusedError(
        400,
        "This could not be read",
        "The form did not arrive whole. Go back and send it again.",
        "a form that could not be read",
    )
