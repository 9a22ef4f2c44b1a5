"""Reading what a page posts, no further than its limits."""

import asyncio
from contextlib import suppress
from typing import Final
from urllib.parse import parse_qs

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

MOST_FORM: Final = 60_000
"""Bytes of a body; of more nothing is kept."""
REST_SECONDS: Final = 1.0
"""How long the rest of one that is too long may come: closed sooner, its sender sees no answer."""
MOST_FIELDS: Final = 100
FORM_TYPE: Final = "application/x-www-form-urlencoded"


async def form_of(request: Request) -> dict[str, str]:
    """Return the fields of a posted form; what is none is refused by an exception.

    What is given several times, as of boxes to tick, is joined by commas.
    """
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != FORM_TYPE:
        raise _refused(415, f"Expected {FORM_TYPE}.")
    body = b""
    try:
        with suppress(TimeoutError):
            async with asyncio.timeout(None) as limit:
                async for chunk in request.stream():
                    if len(body) <= MOST_FORM < len(body) + len(chunk):
                        limit.reschedule(asyncio.get_running_loop().time() + REST_SECONDS)
                    body = (body + chunk)[: MOST_FORM + 1]
        if len(body) > MOST_FORM:
            raise _refused(413, f"Expected at most {MOST_FORM} bytes.")
        fields = parse_qs(
            body.decode(), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict"
        )
        return {key: ", ".join(values) for key, values in fields.items()}
    except ClientDisconnect:
        raise _refused(408, "The request did not come whole.") from None
    except ValueError:
        most = f"at most {MOST_FIELDS} fields"
        raise _refused(400, f"Expected a form of {most} in UTF-8.") from None


def _refused(status: int, line: str) -> HTTPException:
    """Return what answers with a line, after which the connection is closed."""
    return HTTPException(status, line + "\n", {"Connection": "close"})
