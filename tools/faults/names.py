"""Names that clients give to files: nothing of them may reach the file system."""

import io
import tempfile
from datetime import date
from pathlib import Path
from urllib.parse import quote

from PIL import Image
from starlette.testclient import TestClient

from faults.attempt import keep, peak_mb
from faults.interface import opened_site
from faults.row import Budget, Row

HOSTILE = (
    "../../../../tmp/chordline-was-here.jpg",
    "..\\..\\chordline-was-here.jpg",
    "/tmp/chordline-was-here.jpg",
    "C:\\chordline-was-here.jpg",
    "\\\\server\\share\\chordline-was-here.jpg",
    "chordline-was-here\x00.jpg",
    "chordline-was-here\n.jpg",
    "chordline-was-here\u202egpj.exe",
    "chordline-was-here" + "a" * 700,
    "CON", "nul.jpg", "..", ".", "~root", "-rf", "%2e%2e%2f", "a;rm -rf b", "$(id)", "{{7*7}}",
    "<script>chordline-was-here</script>.jpg", "chordline\ud800was-here.jpg", "🤸.jpg",
)  # fmt: skip
_ADDRESSES = ("/static/x/{}", "/api/photos/{}", "/gymnasts/{}", "/api/exercises/{}", "/{}")
_SIGN = "chordline-was-here"


def run(budget: Budget) -> Row:
    """Send a picture under each name, and ask for each name at addresses that have files."""
    row = Row("names")
    budget.findings.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name, opened_site(Path(name), photos=1) as site:
        client = TestClient(site, base_url="http://127.0.0.1", raise_server_exceptions=False)
        before = set(Path(name).rglob("*"))
        for number, hostile in enumerate(HOSTILE[: budget.cases(len(HOSTILE))]):
            said = quote(hostile.encode("utf-8", "surrogatepass"), safe="")
            sent = client.post(
                f"/api/photos?name={said}&day={date.today()}", content=_picture(number)
            )
            as_header = client.post(
                "/api/photos", content=_picture(100 + number), headers={"x-photo-name": said}
            )
            asked = [client.get(address.format(said)) for address in _ADDRESSES]
            for answer in (sent, as_header, *asked):
                row.cases += 1
                if answer.status_code >= 500:
                    told = f"{answer.request.method} {answer.request.url}: {answer.status_code}"
                    keep(row, budget, repr(hostile).encode(), told[:300])
            if sent.status_code == 201:
                kept = sent.json()["name"]
                if any(sign in kept for sign in "/\\\x00\n\u202e") or len(kept) > 255:
                    keep(row, budget, repr(hostile).encode(), f"it is called {kept!r} now")
        new = set(Path(name).rglob("*")) - before
        for path in new:
            if _SIGN in str(path):
                keep(row, budget, b"", f"a client's name reached the disk: {path}")
    if Path("/tmp", f"{_SIGN}.jpg").exists():
        keep(row, budget, b"", "a client's path was written to")
    row.peak_mb = peak_mb()
    return row


def _picture(shade: int) -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (80, 80), (shade, shade, shade)).save(buffer, "PNG")
    return buffer.getvalue()
