"""Ladders from the records, and a coach's word that a gymnast has a rung."""

from collections.abc import Sequence
from datetime import date

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import GymnastRecord
from chordline.application.club.views import GymnastQuery, GymnastView, Page
from chordline.application.find_limits import FindLimits
from chordline.application.judge_folder import judge_gymnast
from chordline.application.training.climb import Climbed, climb
from chordline.application.training.climb_known import SCREENS, read_known
from chordline.application.training.records import SkillRecord
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.capacity.model import Belief
from chordline.errors import ImpossibleRecordError, RefusedInputError


class HerLadder:
    """Use case: read ladders, keep and take back that a gymnast has a rung."""

    def __init__(
        self,
        records: Records,
        judge: JudgeScreen,
        find: FindLimits,
        *,
        catalogue: Catalogue,
        training: TrainingCatalogue,
    ) -> None:
        self._records = records
        self._judge = judge
        self._find = find
        self._catalogue = catalogue
        self._training = training

    def of(self, gymnast_id: int, *, today: date) -> Climbed:
        """Return a gymnast's ladder; her latest screen says how her capacities hang together."""
        with self._records.reading() as tx:
            view = tx.gymnasts.view(gymnast_id, screens=SCREENS)
            skills = tx.training.skills([gymnast_id])
            belief = self._belief(tx, view)
        return self._climb(view, skills, today=today, belief=belief)

    def of_club(
        self,
        club_id: int,
        *,
        today: date,
        group_id: int | None = None,
        after: str | None = None,
        limit: int = 30,
    ) -> Page[Climbed]:
        """Return the ladders of a club or a group, by name; capacities count as independent."""
        query = GymnastQuery(club_id, group_id=group_id, after=after, limit=limit)
        with self._records.reading() as tx:
            page = tx.gymnasts.page(query)
            ids = [row.gymnast.id for row in page.rows]
            views = [tx.gymnasts.view(id, screens=SCREENS) for id in ids]
            skills = tx.training.skills(ids)
        rows = [
            self._climb(view, [one for one in skills if one.gymnast_id == id], today=today)
            for id, view in zip(ids, views, strict=True)
        ]
        return Page(rows, page.next, page.total)

    def say(
        self,
        gymnast_id: int,
        rung: str,
        *,
        reached_on: date,
        today: date,
        author: str,
        token: str | None = None,
    ) -> GymnastRecord:
        """Keep that she has a rung since a day; said again, the later word holds.

        Raises
        ------
        RefusedInputError
            For a rung that the ladder does not have.
        ImpossibleRecordError
            For a day that is still to come.
        """
        if rung not in self._training.rungs:
            known = ", ".join(self._training.rungs)
            raise RefusedInputError(f"no rung is called '{rung}'; the ladder has {known}")
        if reached_on > today:
            raise ImpossibleRecordError("reached_in_the_future", "the day lies in the future")
        with self._records.transaction() as tx:
            her = tx.gymnasts.get(gymnast_id)
            if token is None or tx.first_time(token):
                tx.training.say_skill(gymnast_id, rung, reached_on=reached_on, author=author)
        return her

    def take_back(self, gymnast_id: int, rung: str, *, token: str | None = None) -> GymnastRecord:
        """Say that she has a rung no more; also one that the ladder does not have any more."""
        with self._records.transaction() as tx:
            her = tx.gymnasts.get(gymnast_id)
            said = [one.rung for one in tx.training.skills([gymnast_id])]
            if rung not in said and rung not in self._training.rungs:
                raise RefusedInputError(f"no rung is called '{rung}'")
            if token is None or tx.first_time(token):
                tx.training.take_back_skill(gymnast_id, rung)
        return her

    def _belief(self, tx: Tx, view: GymnastView) -> Belief | None:
        if not view.screens:
            return None
        latest = view.screens[0]
        hers = self._judge.read(tx, latest, view.gymnast)
        day = latest.screen.screened_on.isoformat()
        return judge_gymnast(hers.screen, screen=day, find=self._find).belief

    def _climb(
        self,
        view: GymnastView,
        skills: Sequence[SkillRecord],
        *,
        today: date,
        belief: Belief | None = None,
    ) -> Climbed:
        known = read_known(
            view,
            skills,
            today=today,
            catalogue=self._catalogue,
            training=self._training,
            belief=belief,
        )
        return climb(known, catalogue=self._catalogue, training=self._training)
