"""Screening, queue and photo: no accessibility fault, nothing sideways or too small, few bytes."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from editor_pages import ROOT, missing_browser
from photo_gym import Gym, open_club

sys.path.insert(0, str(ROOT / "tools"))
import fetch_axe

pytestmark = pytest.mark.browser

SIZES = {"desktop": (1280, 800), "across": (1180, 820), "upright": (820, 1180), "phone": (390, 844)}
#: What a page may send before its photos [bytes].
MOST_SENT = 150_000


@pytest.fixture
def gym(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, browser: Any) -> Iterator[Gym]:
    with open_club(tmp_path, monkeypatch) as opened:
        gym = Gym(browser, *opened)
        yield gym
        gym.context.close()
        assert gym.faults == []


def states(gym: Gym) -> dict[str, str]:
    (doubtful,) = gym.doubtful(1)
    unowned = gym.send("image.jpg", 60)
    gym.wait_measured()
    gym.context.request.post(f"{gym.address}/api/progress/pause")
    waiting = gym.send("11_prone-out.jpg", 61)
    return {
        "screening": "/screening",
        "look": "/look",
        "editor": f"/photos/{doubtful}?queue=1",
        "unowned": f"/photos/{unowned}?queue=1",
        "waiting": f"/photos/{waiting}",
    }


@pytest.mark.slow
def test_axe_finds_nothing_in_either_theme(gym: Gym, tmp_path: Path) -> None:
    if not fetch_axe.PATH.is_file():
        missing_browser("axe is not there; python tools/fetch_axe.py gets it")
    gym.go("/look")
    found = {"empty queue": violations(gym)}
    for name, path in states(gym).items():
        gym.go(path)
        if name == "screening":
            gym.page.get_by_role("button", name="Next test").click()
            (note := tmp_path / "note.jpg").write_text("no picture")
            gym.page.locator('[data-pick="files"]').set_input_files(note)
            gym.page.locator("[data-words]").get_by_text("1 refused").wait_for()
        for closed in gym.page.locator("details:not([open]) > summary").all():
            if closed.is_visible():
                closed.click()
        found[name] = violations(gym)
    assert {name: one for name, one in found.items() if one} == {}


def violations(gym: Gym) -> list[str]:
    gym.page.evaluate(Path(fetch_axe.PATH).read_text(encoding="utf-8"))
    found = []
    for scheme in ("light", "dark"):
        gym.page.emulate_media(color_scheme=scheme)
        told = gym.page.evaluate(
            """axe.run(document, {
                runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"],
            })"""
        )
        found += [
            json.dumps([scheme, one["id"], *(node["html"][:160] for node in one["nodes"])])
            for one in told["violations"]
        ]
    return found


@pytest.mark.slow
def test_nothing_scrolls_sideways_and_everything_is_large_enough(gym: Gym) -> None:
    paths = states(gym)
    for name, path in paths.items():
        gym.go(path)
        for size, (width, height) in SIZES.items():
            gym.page.set_viewport_size({"width": width, "height": height})
            gym.page.wait_for_timeout(150)
            told = gym.page.evaluate(
                """() => [document.documentElement.scrollWidth - innerWidth,
                    ...[...document.querySelectorAll("main :is(a, button, select, summary, " +
                        "label.button, input:not([type=hidden], .unseen))")]
                        .filter((one) => !one.closest(".cl-editor, p.said") && one.offsetParent)
                        .filter((one) => one.getBoundingClientRect().height < 43.5)
                        .map((one) => one.outerHTML.slice(0, 100))]"""
            )
            assert told == [0], f"{name} on {size}"


def test_every_page_is_small(gym: Gym) -> None:
    session = gym.context.new_cdp_session(gym.page)
    session.send("Network.enable")
    session.send("Network.setCacheDisabled", {"cacheDisabled": True})
    kinds: dict[str, str] = {}
    sent: dict[str, float] = {}
    session.on(
        "Network.responseReceived",
        lambda told: kinds.update({told["requestId"]: told["response"]["mimeType"]}),
    )
    session.on(
        "Network.loadingFinished",
        lambda told: sent.update({told["requestId"]: told["encodedDataLength"]}),
    )
    paths, totals = states(gym), {}
    for name in ("screening", "look", "editor"):
        sent.clear()
        gym.go(paths[name])
        gym.page.wait_for_load_state("networkidle")
        totals[name] = sum(size for key, size in sent.items() if kinds.get(key) != "image/jpeg")
    print({name: f"{total / 1000:.1f} kB sent without photos" for name, total in totals.items()})
    assert {name: one for name, one in totals.items() if not 5_000 < one < MOST_SENT} == {}
