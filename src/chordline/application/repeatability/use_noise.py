"""The club decides: its own errors, or our defaults."""

from collections.abc import Callable, Collection
from dataclasses import dataclass

from chordline.application.club.ports import Records
from chordline.application.repeatability.noise_json import noise_to_json
from chordline.application.repeatability.own_noise import OwnNoise, propose_noise
from chordline.application.repeatability.records import NoiseRecord
from chordline.application.repeatability.study_results import StudyResults, read_results
from chordline.application.repeatability.takes import TakesOfTest, read_takes
from chordline.catalogue.schema import Catalogue
from chordline.errors import RefusedInputError


@dataclass(frozen=True)
class Known:
    """What a club's studies say now, and what is in use.

    Attributes
    ----------
    results : StudyResults or None
        Of the study of marks that was asked for.
    takes : tuple of TakesOfTest
    proposed : OwnNoise
    in_use : NoiseRecord or None
    """

    results: StudyResults | None
    takes: tuple[TakesOfTest, ...]
    proposed: OwnNoise
    in_use: NoiseRecord | None

    @property
    def already_used(self) -> bool:
        """Whether what is proposed is what is in use."""
        return self.in_use is not None and dict(self.in_use.record) == noise_to_json(self.proposed)


class UseNoise:
    """Use case: tell a club's own errors, use them, or go back to the defaults."""

    def __init__(
        self, records: Records, defaults: Catalogue, *, changed: Callable[[], None]
    ) -> None:
        self._records = records
        self._defaults = defaults
        self._changed = changed

    def tell(
        self, club_id: int, study_id: int | None = None, *, without: Collection[str] = ()
    ) -> Known:
        """Return what the studies say, of one study of marks or of none."""
        with self._records.reading() as tx:
            results = (
                None
                if study_id is None
                else read_results(tx, study_id, self._defaults, without=without)
            )
            takes = read_takes(tx, club_id, self._defaults)
            in_use = tx.studies.noise(club_id)
        return Known(results, takes, propose_noise(results, takes, self._defaults), in_use)

    def tell_latest(self, club_id: int) -> Known:
        """Return what is known with the latest study of marks that says something, if any.

        Coaches who were left out when its errors were taken into use are left out here too.
        """
        with self._records.reading() as tx:
            in_use = tx.studies.noise(club_id)
            latest = next(
                (
                    study.id
                    for study in tx.studies.all(club_id)
                    if read_results(tx, study.id, self._defaults).says_something
                ),
                None,
            )
        same = in_use is not None and in_use.record["study"] == latest
        without = in_use.record["without"] if same and in_use is not None else ()
        return self.tell(club_id, latest, without=without)

    def use(
        self, club_id: int, study_id: int | None, *, author: str, without: Collection[str] = ()
    ) -> NoiseRecord:
        """Use the club's own errors from now on.

        Raises
        ------
        RefusedInputError
            Where no study says anything yet.
        """
        proposed = self.tell(club_id, study_id, without=without).proposed
        if not proposed.errors:
            raise RefusedInputError("no study says anything yet, so the defaults stay in use")
        with self._records.transaction() as tx:
            kept = tx.studies.use_noise(club_id, noise_to_json(proposed), author=author)
        self._changed()
        return kept

    def go_back(self, club_id: int) -> None:
        """Use our defaults from now on."""
        with self._records.transaction() as tx:
            tx.studies.use_defaults(club_id)
        self._changed()
