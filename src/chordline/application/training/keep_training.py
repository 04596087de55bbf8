"""How a group trains, and how long its gymnasts have trained, as said."""

from chordline.application.club.ports import Records
from chordline.application.training.records import GroupTraining
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.planning.problem import Level
from chordline.errors import ImpossibleRecordError

MOST_STATIONS = 20


class KeepTraining:
    """Use case: keep what a coach says of a group's training."""

    def __init__(self, records: Records, training: TrainingCatalogue) -> None:
        self._records = records
        self._training = training

    def save(self, changed: GroupTraining, *, token: str | None = None) -> GroupTraining:
        """Return how a group trains as it stands afterwards; a form sent twice is saved once.

        Raises
        ------
        StaleTrainingError
            Where somebody else changed it since the form began.
        ImpossibleRecordError
            With a sentence, for what cannot be.
        """
        check_training(changed, self._training)
        with self._records.transaction() as tx:
            if token is not None and not tx.first_time(token):
                return tx.training.group(changed.group_id)
            return tx.training.save_group(changed)

    def say_level(self, gymnast_id: int, level: Level, *, token: str | None = None) -> None:
        """Keep how long a gymnast has trained."""
        with self._records.transaction() as tx:
            if token is None or tx.first_time(token):
                tx.training.say_level(gymnast_id, level)


def check_training(said: GroupTraining, training: TrainingCatalogue) -> None:
    """Raise `ImpossibleRecordError` where a group cannot train so."""
    days = said.weekdays
    if not days:
        raise ImpossibleRecordError("weekdays", "say on which days the group trains")
    if list(days) != sorted(set(days)) or not set(days) <= set(range(7)):
        raise ImpossibleRecordError("weekdays", "each day of the week stands once, in order")
    if not 1 <= said.minutes <= 480:
        raise ImpossibleRecordError("minutes", "a session has 1 to 480 minutes")
    if not 1 <= len(said.stations) <= MOST_STATIONS:
        raise ImpossibleRecordError(
            "stations", f"a group works at 1 to {MOST_STATIONS} stations; name them"
        )
    names = [one.name.strip().casefold() for one in said.stations]
    for station, name in zip(said.stations, names, strict=True):
        if names.count(name) > 1:
            raise ImpossibleRecordError(
                "stations", f"two stations are called '{station.name}'; number them"
            )
        for one in station.equipment:
            if one not in training.equipment:
                known = ", ".join(training.equipment)
                raise ImpossibleRecordError(
                    "equipment", f"no equipment is called '{one}'; known are {known}"
                )
