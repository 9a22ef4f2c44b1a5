"""Reading what a page posts, no further than its limits."""

from typing import Final
from urllib.parse import parse_qs

from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from companion.out.board.guard import refuse

MOST_FORM: Final = 60_000
"""Bytes of a body; more is refused before it is read."""
MOST_FIELDS: Final = 100
FORM_TYPE: Final = "application/x-www-form-urlencoded"


async def form_of(request: Request) -> dict[str, str] | Response:
    """Return the fields of a posted form, or the refusal of what is none.

    What is given several times, as of boxes to tick, is joined by commas.
    """
    body = await _body(request, FORM_TYPE, MOST_FORM)
    if isinstance(body, Response):
        return body
    try:
        fields = parse_qs(
            body.decode(), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict"
        )
        return {key: ", ".join(values) for key, values in fields.items()}
    except ValueError:
        return refuse(400, f"Expected a form of at most {MOST_FIELDS} fields in UTF-8.")


async def _body(request: Request, kind: str, most: int) -> bytes | Response:
    """Return the body, or the refusal of one that is of another kind or too large."""
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != kind:
        return refuse(415, f"Expected {kind}.")
    body = b""
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > most:
                return refuse(413, f"Expected at most {most} bytes.")
    except ClientDisconnect:
        return refuse(408, "The request did not come whole.")
    return body
