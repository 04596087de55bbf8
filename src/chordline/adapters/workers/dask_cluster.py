"""Workers of a Dask cluster, on other machines or on this one."""

import logging
import warnings
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Any, Final

from chordline.errors import WorkersError, WrongUseError

#: How long to wait for a scheduler to answer.
_ANSWERS_WITHIN: Final = "10s"
#: How long to wait for the first worker [s].
_FIRST_WORKER_S: Final = 10.0
#: How often a photo is tried again that failed for want of its worker; Dask itself moves it to
#: another one where the worker is gone.
_RETRIES: Final = 2
#: For each worker: what runs, what is ready, what is under way to it.
_EACH: Final = 3
#: Never fewer, so that workers that join later find work; a photo is a few megabytes.
_LEAST_AT_ONCE: Final = 16

Fingerprint = tuple[tuple[str, str], ...]


class DaskCluster:
    """Implements `Workers` with a cluster that runs already.

    Parameters
    ----------
    address : str
        Of the scheduler, as `tcp://10.0.0.5:8786`.
    check : callable
        Given each worker's fingerprint by its address; returns what is wrong, or "".
    fingerprint : callable
        Runs on the workers.
    """

    def __init__(
        self,
        address: str,
        *,
        fingerprint: Callable[[], Fingerprint],
        check: Callable[[Mapping[str, Fingerprint]], str],
    ) -> None:
        self._address = address
        self._fingerprint = fingerprint
        self._check = check
        self._client: Any = None
        self._at_once = _LEAST_AT_ONCE

    @property
    def at_once(self) -> int:
        """How many photos to hand out at once."""
        return self._at_once

    @property
    def lost_again(self) -> tuple[type[Exception], ...]:
        """What stands for a photo whose workers were lost again and again."""
        from distributed.scheduler import KilledWorker  # noqa: PLC0415

        return (KilledWorker,)

    @contextmanager
    def open(self) -> Iterator[Executor]:
        """Reach the cluster and look whether its workers are as they should be.

        Raises
        ------
        WrongUseError
            Where Dask is not installed.
        WorkersError
        """
        with warnings.catch_warnings():
            # A photo is larger than what Dask thinks that a task should carry.
            warnings.filterwarnings("ignore", message="Sending large graph")
            client = self._reach()
            try:
                self._look_at_workers(client)
                self._client = client
                yield client.get_executor(pure=False, retries=_RETRIES)
            finally:
                self._client = None
                client.close()

    def any_left(self) -> bool:
        """Return whether the scheduler answers and knows a worker."""
        try:
            return self._client is not None and bool(self._client.ncores())
        except OSError:
            return False

    def _reach(self) -> Any:
        try:
            from distributed import Client  # noqa: PLC0415
        except ImportError:
            raise WrongUseError(
                "a cluster needs Dask; install it here and on the workers: "
                "pip install 'chordline[cluster]'"
            ) from None
        # Dask tells of lost connections by itself; the sentences here say what to do.
        reach: Any = Client
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        try:
            return reach(self._address, timeout=_ANSWERS_WITHIN, set_as_default=False)
        except (OSError, ValueError) as error:
            told = str(error).strip() or type(error).__name__
            raise WorkersError(
                f"no cluster answers at {self._address} ({told}); start it with 'dask scheduler' "
                "and 'dask worker', and give its address as tcp://HOST:8786"
            ) from None

    def _look_at_workers(self, client: Any) -> None:
        try:
            client.wait_for_workers(1, timeout=_FIRST_WORKER_S)
        except TimeoutError:
            raise WorkersError(
                f"the cluster at {self._address} has no worker; start one with "
                f"'dask worker {self._address}'"
            ) from None
        try:
            found = client.run(self._fingerprint)
        except (ImportError, AttributeError) as error:
            raise WorkersError(
                f"the workers cannot measure ({error}); install the same chordline on them: "
                "pip install 'chordline[cluster]'"
            ) from None
        if wrong := self._check(found):
            raise WorkersError(wrong)
        self._at_once = max(_LEAST_AT_ONCE, _EACH * len(found))
