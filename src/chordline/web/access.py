"""Who may do what: every route once, with the least role that may use it.

A route that does not stand here is refused when the site is made. ``open`` is for everybody who can
reach the server, before anybody has logged in.
"""

import inspect
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from fastapi.routing import iter_route_contexts
from starlette.routing import BaseRoute, compile_path

from chordline.application.accounts.records import Role, What

Least = Literal["open", "guest", "coach", "lead"]
#: From the one who may least to the one who may most.
RANKS: tuple[Least, ...] = get_args(Least)

_OPEN = """
GET /favicon.ico
GET /static/{version}/{path:path}
GET /login
POST /login
GET /pair
POST /pair
GET /certificate
GET /certificate/club.crt
"""

_GUEST = """
GET /
GET /account
GET /exercises
GET /exercises/{exercise}
GET /groups/{group_id}
GET /groups/{group_id}/plan
GET /groups/{group_id}/timer
GET /groups/{group_id}/tonight
GET /gymnasts/{gymnast_id}
GET /gymnasts/{gymnast_id}/ladder
GET /gymnasts/{gymnast_id}/progress
GET /gymnasts/{gymnast_id}/screen
GET /help
GET /ladder
GET /photos/{photo_id}/picture
GET /progress
GET /screens/{screen_id}
GET /settings/numbers
GET /squad
GET /training
GET /api/exercises
GET /api/exercises/{exercise}
GET /api/groups
GET /api/groups/{group_id}/planning
GET /api/gymnasts
GET /api/gymnasts/{gymnast_id}
GET /api/gymnasts/{gymnast_id}/findings
GET /api/gymnasts/{gymnast_id}/forecast
GET /api/gymnasts/{gymnast_id}/ladder
GET /api/gymnasts/{gymnast_id}/screens
GET /api/ladder
GET /api/progress
GET /api/screens/{screen_id}
POST /account/devices/end
POST /account/password
POST /logout
"""

_COACH = """
GET /account/pair
GET /groups/{group_id}/calendar.ics
GET /groups/{group_id}/gym
GET /groups/{group_id}/plan.pdf
GET /groups/{group_id}/stations/{day}.pdf
GET /gymnasts/{gymnast_id}/coach-plan.pdf
GET /gymnasts/{gymnast_id}/edit
GET /gymnasts/{gymnast_id}/family.pdf
GET /gymnasts/{gymnast_id}/progress.pdf
GET /gymnasts/{gymnast_id}/referral/{note_id}.pdf
GET /live
GET /look
GET /photos/{photo_id}
GET /progress/retests.ics
GET /roster
GET /roster/cards.pdf
GET /screening
GET /screens/{screen_id}/sheet.html
GET /screens/{screen_id}/sheet.pdf
GET /settings
GET /settings/health
GET /unlock
GET /squad/sheet.html
GET /squad/sheet.pdf
GET /studies
GET /studies/{study_id}
GET /studies/{study_id}/mark
GET /videos/{video_id}
GET /api/gymnasts/{gymnast_id}/notes
GET /api/look
GET /api/meant
GET /api/openapi.json
GET /api/photos/{photo_id}
GET /api/photos/{photo_id}/marks
GET /api/videos
GET /api/videos/{video_id}
GET /api/videos/{video_id}/file
GET /api/videos/{video_id}/frame
GET /api/videos/{video_id}/traces
GET /api/videos/{video_id}/track
POST /account/pair
POST /groups
POST /groups/{group_id}/gym
POST /groups/{group_id}/levels
POST /groups/{group_id}/members
POST /groups/{group_id}/plan
POST /groups/{group_id}/plan/stop
POST /groups/{group_id}/plan/wishes
POST /groups/{group_id}/plan/wishes/{kind}/{place}/remove
POST /groups/{group_id}/remove
POST /groups/{group_id}/rename
POST /groups/{group_id}/sessions/{session_id}/attendance
POST /groups/{group_id}/sessions/{session_id}/done
POST /groups/{group_id}/sessions/{session_id}/end
POST /groups/{group_id}/tonight
POST /gymnasts/{gymnast_id}/archive
POST /gymnasts/{gymnast_id}/bring-back
POST /gymnasts/{gymnast_id}/edit
POST /gymnasts/{gymnast_id}/ladder/has
POST /gymnasts/{gymnast_id}/ladder/take-back
POST /gymnasts/{gymnast_id}/notes
POST /notes/{note_id}/close
POST /notes/{note_id}/open
POST /photos/{photo_id}
POST /photos/{photo_id}/measure
POST /photos/{photo_id}/out
POST /roster/give-cards
POST /roster/gymnasts
POST /roster/import
POST /roster/preview
POST /screening
POST /screening/measuring
POST /screens/{screen_id}/holds
POST /screens/{screen_id}/holds/{hold_id}/remove
POST /settings/coach
POST /settings/vault/lock
POST /unlock
POST /studies
POST /studies/{study_id}/join
POST /videos/{video_id}/cancel
POST /videos/{video_id}/drop-file
POST /videos/{video_id}/measure
POST /videos/{video_id}/out
DELETE /api/groups/{group_id}/gymnasts/{gymnast_id}
DELETE /api/gymnasts/{gymnast_id}/skills/{rung}
DELETE /api/holds/{hold_id}
DELETE /api/live/{session}
DELETE /api/photos/{photo_id}
DELETE /api/videos/{video_id}
DELETE /api/videos/{video_id}/file
PATCH /api/gymnasts/{gymnast_id}
PATCH /api/photos/{photo_id}
POST /api/groups
POST /api/gymnasts
POST /api/gymnasts/{gymnast_id}/notes
POST /api/live
POST /api/live/{session}
POST /api/notes/{note_id}/close
POST /api/notes/{note_id}/open
POST /api/photos
POST /api/photos/{photo_id}/measure
POST /api/progress/go-on
POST /api/progress/pause
POST /api/screens/{screen_id}/holds
POST /api/videos
POST /api/videos/{video_id}/cancel
POST /api/videos/{video_id}/measure
PUT /api/groups/{group_id}/gymnasts/{gymnast_id}
PUT /api/gymnasts/{gymnast_id}/skills/{rung}
PUT /api/photos/{photo_id}/marks
PUT /api/studies/{study_id}/tasks/{task_id}
"""

_LEAD = """
GET /accounts
GET /gymnasts/{gymnast_id}/erase
GET /gymnasts/{gymnast_id}/export.zip
GET /receipts/{token}.pdf
GET /roster/export.{kind}
GET /settings/backups
GET /api/backing-up
GET /trail
POST /accounts
POST /accounts/{account_id}/disable
POST /accounts/{account_id}/enable
POST /accounts/{account_id}/reset
POST /accounts/{account_id}/role
POST /gymnasts/{gymnast_id}/erase
POST /settings/backups
POST /settings/backups/check
POST /settings/backups/schedule
POST /settings/backups/stop
POST /settings/club
POST /settings/vault/passphrase
POST /settings/vault/recovery
POST /settings/vault/remove
POST /studies/defaults
POST /studies/errors
POST /studies/{study_id}/out
"""


def _table() -> dict[str, Least]:
    table: dict[str, Least] = {}
    for least, routes in zip(RANKS, (_OPEN, _GUEST, _COACH, _LEAD), strict=True):
        for route in routes.split("\n"):
            if route and table.setdefault(route, least) != least:
                raise ValueError(f"'{route}' stands twice")
    return table


#: Method and path of every route → the least role that may use it.
ACCESS: Mapping[str, Least] = _table()

#: What a path speaks of, the nearest first, by the name that its id has there.
_SUBJECTS = ("photo", "video", "hold", "note", "screen", "gymnast")
#: What shows a picture itself: of guests it is asked whether the family allows that.
_PICTURES = re.compile(r"/(photos|videos)/\{\w+\}/(picture|film|file|frame|still)")
#: What leaves the program as a file.
_LEAVES = re.compile(r"\.(pdf|ics|csv|xlsx|zip|\{kind\})$|/sheet\.html$|/export")
#: What keeps the machine busy: sheets, plans, files.
_DEAR = re.compile(
    r"\.pdf$|\.\{kind\}$|/export|^POST /(settings/backups|groups/\{group_id\}/plan$)"
)
#: Pages that show many gymnasts at once.
_MANY = frozenset(
    (
        "GET /ladder",
        "GET /look",
        "GET /progress",
        "GET /roster",
        "GET /squad",
        "GET /api/gymnasts",
        "GET /api/ladder",
        "GET /api/look",
        "GET /api/videos",
    )
)
#: Not worth a line: watched, asked again and again, or no change of anybody's records.
_UNTOLD = frozenset(
    (
        "POST /account/pair",
        "POST /api/live",
        "POST /api/live/{session}",
        "DELETE /api/live/{session}",
        "POST /api/progress/go-on",
        "POST /api/progress/pause",
        "POST /login",
        "POST /logout",
        "POST /pair",
        "POST /roster/preview",
        "POST /screening/measuring",
        "POST /settings/coach",
        "POST /unlock",
    )
)


def may(role: Role, least: Least) -> bool:
    """Return whether a role may use what asks for at least `least`."""
    return RANKS.index(role) >= RANKS.index(least)


@dataclass(frozen=True)
class Entry:
    """What is asked of whoever uses a route.

    Attributes
    ----------
    method, path : str
    least : str
        One of `RANKS`.
    words : str
        What the route does.
    kind : str
        What the path speaks of: ``gymnast``, ``photo``, …; empty where of nothing like that.
    what : str or None
        What the trail says of it; None where it says nothing.
    picture : bool
        Whether it shows a picture itself.
    dear : bool
        Whether it keeps the machine busy.
    """

    method: str
    path: str
    least: Least
    words: str
    kind: str
    what: What | None
    picture: bool
    dear: bool


class AccessPlan:
    """The table, laid over the routes of a site.

    Raises
    ------
    ValueError
        Where a route has no entry.
    """

    def __init__(self, routes: Iterable[BaseRoute], access: Mapping[str, Least] = ACCESS) -> None:
        self.entries: list[Entry] = []
        self._by_method: dict[str, list[tuple[re.Pattern[str], Entry]]] = {}
        missing = []
        for method, path, words in _routes(routes):
            least = access.get(f"{method} {path}")
            if least is None:
                missing.append(f"{method} {path}")
                continue
            entry = _entry(method, path, least, words)
            self.entries.append(entry)
            pattern = compile_path(path)[0]
            self._by_method.setdefault(method, []).append((pattern, entry))
        if missing:
            raise ValueError(f"say in web/access.py who may use {', '.join(missing)}")

    def find(self, method: str, path: str) -> tuple[Entry, dict[str, str]] | None:
        """Return the entry of a request, with the parts of its path; None where no route is."""
        for pattern, entry in self._by_method.get("GET" if method == "HEAD" else method, ()):
            fits = pattern.match(path)
            if fits:
                return entry, fits.groupdict()
        return None


def _routes(routes: Iterable[BaseRoute]) -> Iterator[tuple[str, str, str]]:
    for route in iter_route_contexts(list(routes)):
        words = (inspect.getdoc(route.endpoint) or "").partition("\n")[0] if route.endpoint else ""
        # What has no methods (a mount, a socket) has no entry either, and is refused.
        for method in sorted((route.methods or {"ANY"}) - {"HEAD"}):
            yield method, route.path or "", words


def _entry(method: str, path: str, least: Least, words: str) -> Entry:
    route = f"{method} {path}"
    kind = next((one for one in _SUBJECTS if f"{{{one}_id}}" in path), "")
    return Entry(
        method,
        path,
        least,
        words=words,
        kind=kind,
        what=None if route in _UNTOLD else _what(route, method, kind),
        picture=bool(_PICTURES.search(path)),
        dear=bool(_DEAR.search(route)),
    )


def _what(route: str, method: str, kind: str) -> What | None:
    if method != "GET":
        return "erased" if route.endswith("/erase") else "changed"
    if _LEAVES.search(route):
        return "exported"
    return "saw" if kind or route in _MANY else None
