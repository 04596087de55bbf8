"""The devices that are live now: a few, in memory only, each forgotten soon after it went quiet."""

import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from chordline.application.live.ports import FrameReader, LiveEye
from chordline.application.live.session import LiveAsk, LiveSession
from chordline.application.live.told import LiveTold
from chordline.catalogue.live import LiveCatalogue
from chordline.catalogue.schema import Catalogue
from chordline.errors import RefusedInputError, WrongUseError


class LiveEndedError(RefusedInputError):
    """A device that is not live any more, or never was."""

    def __init__(self) -> None:
        super().__init__("the live line has ended; start it again")


@dataclass
class _Device:
    """A session and who waits for it."""

    session: LiveSession
    used_s: float
    newest_s: float = float("-inf")
    busy: bool = False
    gate: threading.Condition = field(default_factory=threading.Condition)


class LiveSessions:
    """Use case: open, answer frames, end.

    Parameters
    ----------
    eye : callable
        Returns the eye, or None where its weights are not installed; asked at the first opening.
    frames : FrameReader
    catalogue : Catalogue
    live : LiveCatalogue
    clock : callable
        Seconds of a clock that only runs forwards.
    """

    def __init__(
        self,
        eye: Callable[[], LiveEye | None],
        frames: FrameReader,
        catalogue: Catalogue,
        live: LiveCatalogue,
        *,
        clock: Callable[[], float],
    ) -> None:
        self._eye = eye
        self._frames = frames
        self._catalogue = catalogue
        self._live = live
        self._clock = clock
        self._devices: dict[str, _Device] = {}
        self._lock = threading.Lock()

    def __len__(self) -> int:
        with self._lock:
            self._forget_old()
            return len(self._devices)

    def open(self) -> str:
        """Return the name of a new session.

        Raises
        ------
        RefusedInputError
            Without pose weights, or when as many devices as may be are live.
        """
        eye = self._eye()
        if eye is None:
            raise RefusedInputError(
                "the pose weights are not installed, so nobody can be found in the picture; "
                "'chordline weights' installs them"
            )
        session = LiveSession(eye.watch(), self._catalogue, self._live)
        with self._lock:
            self._forget_old()
            if len(self._devices) >= self._live.setting("most_sessions"):
                # A device that is live sends several frames a second.
                self._forget_since(self._live.setting("quiet_s"))
            if len(self._devices) >= self._live.setting("most_sessions"):
                raise RefusedInputError(
                    f"{len(self._devices)} devices are live already, more would only wait for one "
                    "another; stop one of them first"
                )
            name = secrets.token_urlsafe(12)
            self._devices[name] = _Device(session, self._clock())
        return name

    def take(self, name: str, content: bytes, ask: LiveAsk) -> LiveTold | None:
        """Return what is told of a frame, or None where a later one has come meanwhile.

        Raises
        ------
        WrongUseError
            For an unknown test.
        LiveEndedError
            For a session that is not, or no longer, there.
        PictureError
            For what is no frame.
        """
        if ask.test not in self._catalogue.tests:
            known = ", ".join(self._catalogue.tests)
            raise WrongUseError(f"no test is called '{ask.test}'; known are {known}")
        device = self._device(name)
        with device.gate:
            if ask.at_s <= device.newest_s:
                return None
            device.newest_s = ask.at_s
            # Who waits here is late now; it is told so at once.
            device.gate.notify_all()
            device.gate.wait_for(lambda: not device.busy or device.newest_s > ask.at_s)
            if device.newest_s > ask.at_s:
                return None
            device.busy = True
        try:
            return device.session.take(self._frames.read_frame(content), ask)
        finally:
            with device.gate:
                device.busy = False
                device.gate.notify_all()

    def end(self, name: str) -> None:
        """Forget a session; ending one that is not there is no fault."""
        with self._lock:
            self._devices.pop(name, None)

    def _device(self, name: str) -> _Device:
        with self._lock:
            self._forget_old()
            if name not in self._devices:
                raise LiveEndedError
            device = self._devices[name]
            device.used_s = self._clock()
            return device

    def _forget_old(self) -> None:
        self._forget_since(self._live.setting("keep_session_s"))

    def _forget_since(self, quiet_s: float) -> None:
        """Forget who sent nothing for so long."""
        oldest_s = self._clock() - quiet_s
        for name in [n for n, one in self._devices.items() if one.used_s < oldest_s]:
            del self._devices[name]
