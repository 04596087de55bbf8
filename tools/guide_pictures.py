"""Takes the guide's pictures of every page, of the demo club, at desktop and tablet size.

    python tools/guide_pictures.py [DEMO]

DEMO is a folder that `chordline demo` made; without it one is made in a temporary folder.
"""

import io
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import sync_playwright

from bench_pages import served

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "e2e")]
from fake_camera import club_scene, launched_with_camera, write_y4m  # noqa: E402

CLUB = ROOT / "src" / "chordline" / "demo" / "club"
GUIDE = ROOT / "docs" / "guide"
CHROMIUM = "/usr/bin/chromium"
ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
SIZES = {"desk": (1280, 800), "tablet": (820, 1180)}
CARD = 13


def main() -> None:
    with tempfile.TemporaryDirectory() as made:
        demo = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(made)
        if len(sys.argv) == 1:
            subprocess.run([sys.executable, "-m", "chordline", "demo", str(demo)], check=True)
        with served(demo / "club") as port, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
            for size, (width, height) in SIZES.items():
                context = browser.new_context(viewport={"width": width, "height": height})
                take_all(context.new_page(), f"http://127.0.0.1:{port}", size)
                context.close()
            browser.close()
            take_live(playwright, f"http://127.0.0.1:{port}", Path(made) / "film.y4m")


def take_all(page: Any, address: str, size: str) -> None:
    ask = page.request
    girls = ask.get(f"{address}/api/gymnasts").json()["gymnasts"]
    girl = next(one for one in girls if one["card"] == CARD)["id"]
    screen = ask.get(f"{address}/api/gymnasts/{girl}/screens").json()["screens"][0]["id"]
    photos = ask.get(f"{address}/api/screens/{screen}").json()["photos"]
    photo = next(one for one in photos if one["test"] == "prone-overhead")["id"]
    pages = {
        "today": "/",
        "roster": "/roster",
        "screening": "/screening",
        "look": "/look",
        "photo": f"/photos/{photo}",
        "squad": "/squad",
        "gymnast": f"/gymnasts/{girl}",
        "pair": f"/gymnasts/{girl}#test-4",
        "hands": f"/gymnasts/{girl}#hands",
        "screen": f"/screens/{screen}",
        "settings": "/settings",
        "help": "/help",
    }
    for name, path in pages.items():
        # A page of its own each time: a jump within a page would be caught half-way.
        page.goto("about:blank")
        page.goto(address + path)
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(400)
        keep(page.screenshot(), GUIDE / f"{name}-{size}.png")
        print(f"{name}-{size}.png")


def take_live(playwright: Any, address: str, film: Path) -> None:
    """Take the live line, with a camera that sees a girl of the demo club."""
    write_y4m(film, [(club_scene(CLUB / f"{CARD}_prone-overhead.jpg"), 2.0)])
    with launched_with_camera(playwright, film) as browser:
        for size, (width, height) in SIZES.items():
            context = browser.new_context(
                viewport={"width": width, "height": height}, permissions=["camera"]
            )
            page = context.new_page()
            page.goto(f"{address}/live?test=prone-overhead")
            page.locator("[data-tap]").click()
            page.locator(".reading").first.wait_for(timeout=60_000)
            page.get_by_text("pictures a second").wait_for(timeout=60_000)
            keep(page.screenshot(), GUIDE / f"live-{size}.png")
            print(f"live-{size}.png")
            context.close()


def keep(png: bytes, path: Path) -> None:
    """Save a picture in 256 colours: legible, and small enough for a repository."""
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    picture.quantize(256, method=Image.Quantize.FASTOCTREE).save(path, optimize=True)


if __name__ == "__main__":
    main()
