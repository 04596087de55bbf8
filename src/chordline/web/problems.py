"""What goes wrong, as a page for people and as JSON for scripts (RFC 9457)."""

import logging
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from chordline.application.club.records import StaleGymnastError, StaleMarksError
from chordline.application.findings_words import upper_first
from chordline.errors import (
    BackupError,
    ChordlineError,
    NoEntryError,
    NotThereError,
    PhotoStoreError,
    PhotoStoreUnusableError,
    RecordsBusyError,
    RecordsError,
    RefusedInputError,
    TakenError,
    TooManyTriesError,
    VaultError,
    VaultLockedError,
    WrongUseError,
)
from chordline.web.rendering import render

_log = logging.getLogger(__name__)

#: What each kind of error means to a browser; the first that fits.
_STATUS: tuple[tuple[type[ChordlineError], int], ...] = (
    (NotThereError, 404),
    (StaleMarksError, 409),
    (StaleGymnastError, 409),
    (TakenError, 409),
    (RefusedInputError, 422),
    (WrongUseError, 400),
    (VaultLockedError, 423),
    (PhotoStoreUnusableError, 503),
    (PhotoStoreError, 404),
    (BackupError, 422),
    (VaultError, 503),
    (TooManyTriesError, 429),
    (NoEntryError, 403),
    (RecordsBusyError, 503),
    (RecordsError, 503),
)
_TITLES = {
    400: "That cannot be asked",
    401: "Log in first",
    403: "Not allowed",
    404: "Not here",
    405: "That cannot be asked",
    409: "Somebody was quicker",
    413: "Too large",
    422: "Not taken",
    423: "Locked",
    429: "A moment, please",
    500: "Something failed in chordline",
    503: "Busy",
}
PROBLEM_JSON = "application/problem+json"


def status_of(error: ChordlineError) -> int:
    """Return the HTTP status of an error."""
    return next((status for kind, status in _STATUS if isinstance(error, kind)), 500)


def wants_json(request: Request) -> bool:
    """Return whether a script asks, not a person."""
    return request.url.path.startswith("/api/")


def tell_problem(request: Request, status: int, detail: str, **more: Any) -> Response:
    """Return a page or a JSON object that says what went wrong and what to do."""
    title = _TITLES.get(status, "Not taken")
    if wants_json(request):
        body = {"title": title, "status": status, "detail": detail, **more}
        return JSONResponse(body, status_code=status, media_type=PROBLEM_JSON)
    return render(request, "problem.html", here="", status=status, title=title, detail=detail)


def _sentence(text: str) -> str:
    return upper_first(text) + ("" if text.endswith((".", "!", "?")) else ".")


def add_problems(site: FastAPI) -> None:
    """Let every error end in a sentence."""

    @site.exception_handler(ChordlineError)
    def _ours(request: Request, error: ChordlineError) -> Response:
        status = status_of(error)
        if status >= 500:
            _log.error("%s %s: %s", request.method, request.url.path, error)
        return tell_problem(request, status, _sentence(str(error)))

    @site.exception_handler(RequestValidationError)
    def _wrong_form(request: Request, error: RequestValidationError) -> Response:
        faults = [
            {"at": ".".join(map(str, fault["loc"][1:])), "why": str(fault["msg"])}
            for fault in error.errors()
        ]
        told = "; ".join(f"{one['at']}: {one['why']}" for one in faults)
        return tell_problem(request, 422, _sentence(told), faults=faults)

    @site.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        detail = "There is no such page; go back to Today." if error.status_code == 404 else ""
        return tell_problem(request, error.status_code, detail or _sentence(str(error.detail)))

    @site.exception_handler(Exception)
    def _bug(request: Request, error: Exception) -> Response:
        _log.exception("%s %s", request.method, request.url.path, exc_info=error)
        return tell_problem(
            request,
            500,
            "This is a fault of chordline, not yours; nothing that was confirmed is lost. "
            "Go back and try again, and report it if it stays.",
        )
