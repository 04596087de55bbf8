"""What was done in a session: kept so that the next plan knows it."""

from collections.abc import Sequence

from chordline.application.club.ports import Records, Tx
from chordline.application.training.deal import Round, exercises_of
from chordline.application.training.evening_json import rounds_of
from chordline.application.training.records import SessionRecord, WorkRecord
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import RefusedInputError


class KeepDone:
    """Use case: say what gymnasts did of their turns, before or after the end of the session."""

    def __init__(self, records: Records, training: TrainingCatalogue) -> None:
        self._records = records
        self._training = training

    def mark(
        self,
        session_id: int,
        gymnast_id: int,
        *,
        exercise: str,
        share: float,
        author: str,
    ) -> tuple[WorkRecord, ...]:
        """Keep what she did of an exercise, also of one that was not planned for her.

        Parameters
        ----------
        session_id, gymnast_id : int
        exercise : str
        share : float
            Of the turn's dose: 0 = not done, 1 = all of it.
        author : str

        Returns
        -------
        tuple of WorkRecord
            Everything done in the session.
        """
        with self._records.transaction() as tx:
            session = tx.training.session(session_id)
            hers = exercises_of(rounds_of(session.record)).get(gymnast_id, ())
            tx.training.mark_done(
                session_id,
                gymnast_id,
                exercise=exercise,
                share=share,
                minutes=self._minutes(exercise, session) * max(hers.count(exercise), 1),
                author=author,
            )
            return tx.training.work_of_session(session_id)

    def _minutes(self, exercise: str, session: SessionRecord) -> float:
        named = exercise in {
            one for done in exercises_of(rounds_of(session.record)).values() for one in done
        }
        if exercise not in self._training.exercises and not named:
            raise RefusedInputError(f"no exercise is called '{exercise}'; choose one of the list")
        return minutes_of(exercise, session, self._training)


def keep_done(
    tx: Tx,
    session: SessionRecord,
    rounds: Sequence[Round],
    *,
    training: TrainingCatalogue,
    author: str,
) -> None:
    """Keep that everybody did everything in some rounds; what was said before stands."""
    said = {(one.gymnast_id, one.exercise) for one in tx.training.work_of_session(session.id)}
    for gymnast_id, exercises in sorted(exercises_of(rounds).items()):
        for exercise in dict.fromkeys(exercises):
            if (gymnast_id, exercise) in said:
                continue
            turns = exercises.count(exercise)
            tx.training.mark_done(
                session.id,
                gymnast_id,
                exercise=exercise,
                share=1.0,
                minutes=minutes_of(exercise, session, training) * turns,
                author=author,
            )


def minutes_of(exercise: str, session: SessionRecord, training: TrainingCatalogue) -> float:
    """Return the minutes of a turn; of a round where the catalogue has the exercise no more."""
    entry = training.exercises.get(exercise)
    return float(session.record["round_min"]) if entry is None else entry.minutes
