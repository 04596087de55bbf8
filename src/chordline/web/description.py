"""The interface's own description (OpenAPI), with how it refuses."""

from typing import Any, Final

from fastapi import FastAPI

from chordline.web.problems import PROBLEM_JSON

_PROBLEM: Final = {
    "title": "Problem",
    "type": "object",
    "description": "What went wrong and what to do (RFC 9457).",
    "required": ["title", "status", "detail"],
    "properties": {
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "faults": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {"at": {"type": "string"}, "why": {"type": "string"}},
            },
        },
    },
}
_REFUSAL: Final = {PROBLEM_JSON: {"schema": {"$ref": "#/components/schemas/Problem"}}}


def describe_refusals(site: FastAPI) -> None:
    """Let the description say of every operation that it refuses with a problem in JSON."""
    plain = site.openapi

    def described() -> dict[str, Any]:
        if site.openapi_schema is not None:
            return site.openapi_schema
        found = plain()
        found.setdefault("components", {}).setdefault("schemas", {})["Problem"] = _PROBLEM
        for operations in found["paths"].values():
            for operation in operations.values():
                if not isinstance(operation, dict) or "responses" not in operation:
                    continue
                answers: dict[str, Any] = operation["responses"]
                for status, answer in answers.items():
                    if status.startswith("4"):
                        answer["content"] = _REFUSAL
                answers["4XX"] = {
                    "description": "Refused; the reason is told.",
                    "content": _REFUSAL,
                }
                answers["503"] = {
                    "description": "Busy; try again in a moment.", "content": _REFUSAL
                }  # fmt: skip
        return found

    site.openapi = described  # type: ignore[method-assign]
