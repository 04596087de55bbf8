"""Scripts and styles: read once, named by their content, sent small, kept by the browser."""

import gzip
import hashlib
from functools import cached_property
from importlib.resources import files
from importlib.resources.abc import Traversable

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

_SENT = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
_FOR_EVER = "public, max-age=31536000, immutable"


class Statics:
    """Every file below `static/`, under one version: a change of any file changes all addresses.

    Modules import each other by relative paths, so that the version in the address of the first
    is the version of all.
    """

    @cached_property
    def _files(self) -> dict[str, tuple[str, bytes, bytes]]:
        found: dict[str, tuple[str, bytes, bytes]] = {}

        def walk(folder: Traversable, path: str) -> None:
            for entry in sorted(folder.iterdir(), key=lambda one: one.name):
                here = f"{path}{entry.name}"
                if entry.is_dir():
                    walk(entry, f"{here}/")
                elif (suffix := f".{entry.name.rpartition('.')[2]}") in _SENT:
                    content = entry.read_bytes()
                    found[here] = (_SENT[suffix], content, gzip.compress(content, 9, mtime=0))

        walk(files("chordline.web") / "static", "")
        return found

    @cached_property
    def version(self) -> str:
        """Of all files together."""
        digest = hashlib.sha256()
        for path, (_, content, _) in self._files.items():
            digest.update(path.encode() + b"\0" + content + b"\0")
        return digest.hexdigest()[:12]

    def address(self, path: str) -> str:
        """Return where a file is served; raise `KeyError` where there is none."""
        self._files[path]
        return f"/static/{self.version}/{path}"

    def serve_mark(self, request: Request) -> Response:
        """Answer a request for the site's mark."""
        del request
        media_type, plain, _ = self._files["mark.svg"]
        return Response(plain, media_type=media_type, headers={"Cache-Control": "max-age=86400"})

    def serve(self, request: Request) -> Response:
        """Answer a request for ``/static/{version}/{path}``."""
        found = self._files.get(request.path_params["path"])
        if found is None:
            return PlainTextResponse("There is no such file.", status_code=404)
        media_type, plain, small = found
        current = request.path_params["version"] == self.version
        headers = {
            "Cache-Control": _FOR_EVER if current else "no-cache",
            "Vary": "Accept-Encoding",
            "X-Content-Type-Options": "nosniff",
        }
        if "gzip" in request.headers.get("accept-encoding", ""):
            headers["Content-Encoding"] = "gzip"
            return Response(small, media_type=media_type, headers=headers)
        return Response(plain, media_type=media_type, headers=headers)
