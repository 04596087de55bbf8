"""What a page offers somebody she may use: no button, link or form that answers with a refusal."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from account_stories import ROLES, Browser, Club, club_with_accounts
from club_pages import CLOSED, ClubSite
from offered_controls import Offer, asked_by, read_page
from planned_club import plan_for

import chordline.web
from chordline.application.club.video_records import NewVideo, VideoFacts, VideoSaid
from chordline.core.body.measurement import Trust
from chordline.web.access import ACCESS, RANKS, AccessPlan
from chordline.web.access_offers import Offers
from chordline.web.desk import Desk
from chordline.web.planning import PlanningState
from club_stories import new_photo

_WEB = Path(chordline.web.__file__).parent
NAMES = {role: name for name, role in ROLES.items()}
#: Not pages: interfaces for scripts, pictures, files, sheets for the printer.
_NO_PAGE = re.compile(
    r"^/(api|static|favicon)|/picture$|\.(pdf|ics|zip|crt|\{kind\})$|/sheet\.html$"
)


@dataclass
class Walk:
    """What somebody was shown on every page that she may open."""

    opened: set[str]
    offers: list[Offer]
    pictures: set[tuple[str, str]]
    scripts: set[str]


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Club, dict[str, list[str]]]]:
    """A club with screens, photos, a video, a plan, sessions, notes and a study."""
    with club_with_accounts(tmp_path_factory.mktemp("club")) as club:
        yield club, _fill(club)


def _fill(club: Club) -> dict[str, list[str]]:
    app, today = club.app, date.today()
    site = ClubSite(app, club.client)
    training = plan_for(site)
    ada, bea, cleo = (training.ids[name] for name in ("Ada", "Bea", "Cleo"))
    with app.records.transaction() as tx:
        girls = {her: tx.gymnasts.get(her) for her in (ada, bea, cleo)}
        shown = replace(girls[ada].consent, show_to_squad=True)
        girls[ada] = tx.gymnasts.update(replace(girls[ada], consent=shown))
    archived = site.add("Dora Falk", 4)
    doubtful = Trust(accepted=False, reasons=("the phone stood high",))
    screens = [
        site.screen(girls[ada], CLOSED, kept=True, day=today - timedelta(days=90)),
        site.screen(girls[ada], CLOSED, kept=True, day=today),
        site.screen(girls[bea], CLOSED, kept=True, day=today),
        site.screen(girls[cleo], {"prone-sides": {"hip": 0.0}}, trust=doubtful, day=today),
    ]
    with app.records.transaction() as tx:
        mine = app.club().id
        photos = [tx.screens.view(at).photos[0].photo.id for at in screens]
        for state in ("needs_look", "waiting"):
            new = new_photo(f"{state}.jpg", screen_id=screens[3] if state == "waiting" else None)
            photos.append(tx.photos.file(mine, new).photo.id)
        videos = [tx.videos.file(mine, _video(at)).video.id for at in (None, screens[1])]
        tx.screens.add_hold(
            screens[1], test="hold-back", seconds=8.0, reached_cap=False, author="video",
            rel_sd=0.03, video_id=videos[1],
        )  # fmt: skip
        empty = tx.clubs.add_group(mine, "Nobody yet").id
    app.keep_notes().add(
        ada, what="wrist_pain", text="", noted_on=today, author="Cleo", today=today
    )
    coach, group = club.as_("Cleo"), training.group
    note = app.keep_notes().add(
        bea, what="remark", text="tired", noted_on=today, author="Cleo", today=today
    )
    assert note is not None
    _kept(coach.post(f"/notes/{note.id}/close"))
    site.add("Edda Gren")
    _kept(coach.post(f"/gymnasts/{archived.id}/archive"))
    _kept(coach.post(f"/screens/{screens[1]}/holds", test="hold-back", seconds="20"))
    _kept(coach.post(f"/gymnasts/{ada}/ladder/has", rung="tripod"))
    for day in (today, today + timedelta(days=2)):
        _kept(coach.post(f"/groups/{group}/tonight", on=day.isoformat()))
    with app.records.reading() as tx:
        second = tx.training.session_held(group, today + timedelta(days=2))
    _kept(coach.post(f"/groups/{group}/sessions/{second.id}/end", version=str(second.version)))
    study = re.search(r"/studies/(\d+)", _kept(coach.post("/studies", photos="10", twice="1")))
    assert study is not None
    for name in ("Cleo", "Lea"):
        _kept(club.as_(name).post(f"/studies/{study[1]}/join", name=name))
    return {
        "gymnast_id": [str(one) for one in (ada, bea, cleo, archived.id)],
        "group_id": [str(group), str(empty)],
        "photo_id": [str(one) for one in photos],
        "screen_id": [str(one) for one in screens],
        "study_id": [study[1]],
        "video_id": [str(one) for one in videos],
        "exercise": [next(iter(app.training.exercises))],
    }


def _kept(answer: Any) -> str:
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def _video(screen_id: int | None) -> NewVideo:
    digit = "a" if screen_id is None else "b"
    said = VideoSaid(screen_id=screen_id, test=None if screen_id is None else "hold-back")
    facts = VideoFacts(12.5, 1920, 1080, 960, 29.97)
    return NewVideo("hold.mp4", digit * 64, 1000, f"plain-{digit * 64}", facts, said)


def _addresses(route: str, parts: dict[str, list[str]]) -> list[str]:
    named = re.findall(r"\{(\w+)\}", route)
    if any(name not in parts for name in named):
        return []
    addresses = [route]
    for name in named:
        addresses = [one.replace(f"{{{name}}}", at) for one in addresses for at in parts[name]]
    return addresses


def _walk(browser: Browser, role: str, plan: AccessPlan, parts: dict[str, list[str]]) -> Walk:
    """Open every page that the role may open, as the table says and as its links lead on."""
    walk = Walk(set(), [], set(), set())
    pages = [
        route.removeprefix("GET ")
        for route, least in ACCESS.items()
        if route.startswith("GET ") and RANKS.index(least) <= RANKS.index(role)
    ]
    waiting = [
        one for page in pages if not _NO_PAGE.search(page) for one in _addresses(page, parts)
    ]
    another_day = date.today() + timedelta(days=9)
    waiting += [f"/groups/{one}/tonight?on={another_day}" for one in parts["group_id"]]
    waiting += ["/no-such-page", "/gymnasts/99999", "/settings", "/accounts"]
    seen, shapes = set(waiting), set()
    while waiting:
        address = waiting.pop(0)
        answer = browser.get(address)
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        assert answer.status_code < 500, f"{role}: {address}"
        found = plan.find("GET", urlsplit(address).path)
        if found is not None and answer.status_code == 200:
            walk.opened.add(f"GET {found[0].path}")
        read = read_page(address, answer.text)
        walk.offers += read.offers
        walk.scripts |= {urlsplit(one).path for one in read.scripts}
        walk.pictures |= {(address, one) for one in read.pictures}
        for link in (urlsplit(one) for one in read.links):
            found = plan.find("GET", link.path)
            whole = f"{link.path}?{link.query}" if link.query else link.path
            if found is None or _NO_PAGE.search(found[0].path) or whole in seen:
                continue
            # One page of each shape: addresses that differ in values only show the same controls.
            shape = (found[0].path, tuple(re.findall(r"(\w+)=", link.query)))
            allowed = RANKS.index(found[0].least) <= RANKS.index(role)
            if allowed and (shape not in shapes or "on=" in link.query):
                shapes.add(shape)
                seen.add(whole)
                waiting.append(whole)
    return walk


@pytest.fixture(scope="module")
def plan(filled: tuple[Club, dict[str, list[str]]]) -> AccessPlan:
    found: AccessPlan = filled[0].client.app.state.access
    return found


@pytest.fixture(scope="module")
def walks(filled: tuple[Club, dict[str, list[str]]], plan: AccessPlan) -> dict[str, Walk]:
    club, parts = filled
    for name in NAMES.values():
        club.as_(name)  # another device of hers
    return {role: _walk(club.as_(name), role, plan, parts) for role, name in NAMES.items()}


def _refused(offers: list[Offer], role: str, plan: AccessPlan) -> list[str]:
    faults = []
    for one in offers:
        path = urlsplit(one.address).path
        found = [plan.find(method, path) for method in one.methods]
        leasts = [entry[0].least for entry in found if entry is not None]
        if not leasts:
            faults.append(f"{one.page}: {one.control} leads nowhere")
        elif all(RANKS.index(least) > RANKS.index(role) for least in leasts):
            faults.append(f"{one.page}: {one.control} is not for a {role}")
    return sorted(set(faults))


@pytest.mark.parametrize("role", sorted(NAMES))
def test_no_page_offers_what_the_reader_may_not_use(
    role: str, walks: dict[str, Walk], plan: AccessPlan
) -> None:
    walk = walks[role]
    faults = _refused(walk.offers, role, plan)
    assert not faults, "\n".join(faults)
    # A walk that saw little would find little.
    pages = {
        route
        for route, least in ACCESS.items()
        if route.startswith("GET ")
        and RANKS.index(least) <= RANKS.index(role)
        and not _NO_PAGE.search(route.removeprefix("GET "))
    }
    assert pages - walk.opened <= _LEAD_ON, sorted(pages - walk.opened)


#: Pages that lead straight on to another one for whoever is logged in, or need a code.
_LEAD_ON = frozenset(("GET /login", "GET /pair", "GET /gymnasts/{gymnast_id}/screen"))


@pytest.mark.parametrize("role", sorted(NAMES))
def test_whoever_may_use_a_form_finds_it_on_a_page(
    role: str, walks: dict[str, Walk], plan: AccessPlan
) -> None:
    shown = {
        f"POST {found[0].path}"
        for one in walks[role].offers
        if (found := plan.find("POST", urlsplit(one.address).path)) is not None
        and "POST" in one.methods
    }
    wanted = {
        route
        for route, least in ACCESS.items()
        if route.startswith("POST /") and not route.startswith("POST /api/")
        if least != "open" and RANKS.index(least) <= RANKS.index(role)
    }
    assert sorted(wanted - shown) == sorted(_IN_NO_STATE_HERE & wanted)


#: Forms of states that this club is not in: nothing is being made or measured, no backup has a
#: place, no passphrase is set, no study found an error, nothing is shared.
_IN_NO_STATE_HERE = frozenset(
    (
        "POST /account/pair",
        "POST /accounts/{account_id}/enable",
        "POST /groups/{group_id}/plan/stop",
        "POST /roster/import",
        "POST /settings/backups",
        "POST /settings/backups/check",
        "POST /settings/backups/schedule",
        "POST /settings/backups/stop",
        "POST /settings/coach",
        "POST /settings/vault/lock",
        "POST /settings/vault/remove",
        "POST /studies/defaults",
        "POST /studies/errors",
        "POST /unlock",
        "POST /videos/{video_id}/cancel",
        "POST /videos/{video_id}/drop-file",
    )
)


def test_a_guest_is_sent_to_no_picture_that_is_kept_from_her(
    filled: tuple[Club, dict[str, list[str]]], walks: dict[str, Walk], plan: AccessPlan
) -> None:
    club, _ = filled
    asked = 0
    for page, address in sorted(walks["guest"].pictures):
        found = plan.find("GET", urlsplit(address).path)
        assert found is not None, f"{page}: {address}"
        if not found[0].picture:
            continue
        with club.app.records.reading() as tx:
            may_show = tx.trail.may_show("photo", int(found[1]["photo_id"]))
        assert may_show, f"{page}: {address}"
        asked += 1
    assert asked
    assert len(walks["coach"].pictures) > asked


@pytest.mark.parametrize("role", sorted(NAMES))
def test_a_page_brings_no_script_that_asks_what_its_reader_may_not(
    role: str, walks: dict[str, Walk], plan: AccessPlan
) -> None:
    loaded = {path.split("/", 3)[3] for path in walks[role].scripts}
    paths = {entry.path for entry in plan.entries}
    offers = [one for name in sorted(loaded) for one in asked_by(_WEB / "static" / name, paths)]
    faults = _refused(offers, role, plan)
    assert not faults, "\n".join(faults)
    assert bool(offers) == (role != "guest")


def test_what_is_shown_in_passing_states_is_allowed_too(
    filled: tuple[Club, dict[str, list[str]]], plan: AccessPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    club, parts = filled
    group = int(parts["group_id"][0])
    states = club.client.app.state.desk.planning._states
    monkeypatch.setattr(Desk, "locked", property(lambda _: True))
    for role, name in NAMES.items():
        browser = club.as_(name)
        for state in ("runs", "refused", "stopped"):
            monkeypatch.setitem(states, group, PlanningState(state, 0.4, ("Too few mats.",)))
            address = f"/groups/{group}/plan"
            page = browser.get(address).text
            assert 'id="making"' in page
            assert "The pictures are locked" in page
            assert not _refused(read_page(address, page).offers, role, plan)
            stops = f'action="/groups/{group}/plan/stop"' in page
            assert stops == (state == "runs" and role != "guest")


def test_a_club_that_begins_offers_a_guest_nothing_either(tmp_path: Path) -> None:
    with club_with_accounts(tmp_path) as club:
        plan = club.client.app.state.access
        with club.app.records.transaction() as tx:
            group = tx.clubs.add_group(club.app.club().id, "Nobody yet").id
        guest = club.as_("Gus")
        faults = []
        for address in ("/", "/squad", "/training", "/ladder", "/progress", f"/groups/{group}"):
            page = guest.get(address).text
            faults += _refused(read_page(address, page).offers, "guest", plan)
        assert not faults, "\n".join(faults)


def test_a_template_that_names_a_route_of_yesterday_breaks(plan: AccessPlan) -> None:
    for role in (None, "lead"):
        offers = Offers(plan, role)
        assert offers.may("POST /studies")
        assert offers.may_open("/photos/7?queue=1")
        with pytest.raises(LookupError, match="POST /study"):
            offers.may("POST /study")
        with pytest.raises(LookupError, match="/photograph/7"):
            offers.may_open("/photograph/7")
    assert not Offers(plan, "guest").may("POST /studies")
    assert not Offers(plan, "open").may_open("/squad")


def test_every_route_that_a_template_asks_about_is_in_the_table() -> None:
    asked = set()
    for template in (_WEB / "templates").glob("*.html"):
        text = template.read_text(encoding="utf-8")
        asked |= set(re.findall(r"(?:may|place)\('(\w+ /[^']*)'", text))
        # Who may do what is said once: no page knows a role by its name.
        assert not re.search(r"account\.role *[!=]= *'", text), template.name
    assert len(asked) > 30
    assert asked <= set(ACCESS), sorted(asked - set(ACCESS))
