"""From the records to the sheets of training."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import Group
from chordline.application.club.views import GymnastView
from chordline.application.days import day_in_words
from chordline.application.drawn_line import DrawnLine
from chordline.application.findings import Findings
from chordline.application.make_squad_sheet import draw_line, lines_to_show
from chordline.application.roster.match import all_gymnasts
from chordline.application.tongue import Tongue
from chordline.application.training.defaults import UNSAID_LEVEL
from chordline.application.training.members import Member, find_group, read_members
from chordline.application.training.planned import (
    Evening,
    PlannedStation,
    ReadPlan,
    read_evening,
    read_plan,
    read_stations,
)
from chordline.application.training.sheets.coach_plan import (
    CoachPlanSheet,
    make_coach_plan_sheet,
)
from chordline.application.training.sheets.family import FamilySheet, make_family_sheet
from chordline.application.training.sheets.her import Her, holds_on
from chordline.application.training.sheets.plan_overview import PlanOverview, make_plan_overview
from chordline.application.training.sheets.referral import (
    ReferralNote,
    make_referral_note,
    sign_to_refer,
)
from chordline.application.training.sheets.stations import StationsSheet, make_stations_sheet
from chordline.application.training.signs import barred_loads, seen_signs
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measurement import Measurement
from chordline.errors import NotThereError, RefusedInputError


class GatherSheets:
    """Use case: gather what a sheet of training says from the records."""

    def __init__(
        self,
        records: Records,
        judge: JudgeScreen,
        catalogue: Catalogue,
        training: TrainingCatalogue,
    ) -> None:
        self._records = records
        self._judge = judge
        self._catalogue = catalogue
        self._training = training

    def family(self, gymnast_id: int, *, day: date, tongue: Tongue) -> FamilySheet:
        """Return the sheet for a gymnast and her family."""
        return make_family_sheet(
            self._her(gymnast_id, day),
            catalogue=self._catalogue,
            training=self._training,
            tongue=tongue,
        )

    def coach_plan(self, gymnast_id: int, *, day: date, tongue: Tongue) -> CoachPlanSheet:
        """Return a gymnast's findings and plan."""
        return make_coach_plan_sheet(
            self._her(gymnast_id, day),
            catalogue=self._catalogue,
            training=self._training,
            tongue=tongue,
        )

    def referral(
        self, gymnast_id: int, note_id: int | None, *, day: date, tongue: Tongue
    ) -> ReferralNote:
        """Return the referral note for a sign; the latest open one where none is named.

        Raises
        ------
        NotThereError
            For a note that she has not.
        RefusedInputError
            Where she has no open sign.
        """
        with self._records.reading() as tx:
            view = tx.gymnasts.view(gymnast_id, screens=1)
            her = self._read_her(tx, view, day)
            others = [
                name
                for id_, name in _club_names(tx, view.gymnast.club_id)
                if id_ != view.gymnast.id
            ]
        if note_id is None:
            note = sign_to_refer(view.notes, day)
            if note is None:
                raise RefusedInputError(
                    f"{view.gymnast.name} has no open sign; note what was reported first"
                )
        else:
            note = next((one for one in view.notes if one.id == note_id), None)
            if note is None:
                raise NotThereError("note", note_id)
        return make_referral_note(
            her,
            note,
            others=others,
            catalogue=self._catalogue,
            training=self._training,
            tongue=tongue,
        )

    def stations(
        self, group_id: int, *, day: date, tongue: Tongue, or_next: bool = False
    ) -> StationsSheet:
        """Return a group's stations of a day.

        Parameters
        ----------
        group_id : int
        day : date
        tongue : Tongue
        or_next : bool
            Whether the next session after that day stands in where it has none.

        Raises
        ------
        RefusedInputError
            Where nothing is planned.
        """
        with self._records.reading() as tx:
            group = find_group(tx, group_id)
            evening, stations = _evening_of(tx, group_id, day, or_next=or_next)
            members = read_members(tx, group, today=day, catalogue=self._catalogue)
        return make_stations_sheet(
            evening,
            stations,
            group=group.name,
            names=_names(members),
            barred={one.id: barred_loads(one.signs, self._training) for one in members},
            training=self._training,
            tongue=tongue,
        )

    def plan(self, group_id: int, *, day: date, tongue: Tongue) -> PlanOverview:
        """Return a group's plan, the one that holds on a day or else the next one.

        Raises
        ------
        RefusedInputError
            Where the group has none.
        """
        with self._records.reading() as tx:
            group = find_group(tx, group_id)
            plan = _plan_on(tx, group_id, day)
            if plan is None:
                raise RefusedInputError(f"{group.name} has no plan; make one first")
            members = read_members(tx, group, today=day, catalogue=self._catalogue)
        return make_plan_overview(
            plan,
            group=group.name,
            names=_names(members),
            catalogue=self._catalogue,
            training=self._training,
            tongue=tongue,
        )

    def _her(self, gymnast_id: int, day: date) -> Her:
        with self._records.reading() as tx:
            return self._read_her(tx, tx.gymnasts.view(gymnast_id, screens=1), day)

    def _read_her(self, tx: Tx, view: GymnastView, day: date) -> Her:
        her = view.gymnast
        plan, evenings = _her_plan(tx, view.groups, her.id, day)
        screen = next(iter(view.screens), None)
        found: Findings | None = None
        measurements: tuple[Measurement, ...] = ()
        seen: tuple[str, ...] = ()
        if screen is not None:
            hers = self._judge.read(tx, screen, her)
            measurements = tuple(one.measurement for one in hers.screen.filed)
            if measurements or hers.screen.held:
                found = self._judge.find(hers, screen)
                stops = (one.flag for one in found.stops)
                day_then = screen.screen.screened_on
                seen = seen_signs(view.notes, stops, day_then, self._catalogue)
        return Her(
            id=her.id,
            name=her.name,
            club=_club_name(tx, her.club_id),
            birth_date=her.birth_date,
            level=tx.training.levels([her.id]).get(her.id, UNSAID_LEVEL),
            day=day,
            open_notes=tuple(one for one in view.notes if holds_on(one, day)),
            screened_on=None if screen is None or found is None else screen.screen.screened_on,
            seen=seen,
            found=found,
            measurements=measurements,
            line=line_to_show(measurements, self._catalogue),
            plan=plan,
            hers=None if plan is None else plan.hers.get(her.id),
            evenings=evenings,
        )


def line_to_show(measurements: Sequence[Measurement], catalogue: Catalogue) -> DrawnLine | None:
    """Return the line that stands for her: of a trusted photo with the arms overhead."""
    trusted = {one.test: one for one in measurements if one.trust.accepted}
    for tests in lines_to_show(catalogue):
        for test in tests:
            if test in trusted:
                return draw_line(trusted[test], catalogue)
    return None


def _her_plan(
    tx: Tx, groups: Iterable[Group], gymnast_id: int, day: date
) -> tuple[ReadPlan | None, tuple[Evening, ...]]:
    """Return the plan that has her, else that of her first group, and her sessions from a day.

    Who trains with two groups has the sessions of both.
    """
    plans = [(group.id, plan) for group in groups if (plan := _plan_on(tx, group.id, day))]
    plans.sort(key=lambda one: gymnast_id not in one[1].hers)
    evenings = []
    for group_id, plan in plans:
        changed = {
            one.held_on: read_evening(one.record)
            for one in tx.training.sessions(group_id, first=day, last=plan.last_day)
        }
        coming = (changed.get(one.held_on, one) for one in plan.evenings if one.held_on >= day)
        evenings += [one for one in coming if gymnast_id in one.gymnasts]
    evenings.sort(key=lambda one: one.held_on)
    return (plans[0][1] if plans else None), tuple(evenings)


def _plan_on(tx: Tx, group_id: int, day: date) -> ReadPlan | None:
    """Return the plan that holds on a day, else the next one that is made already."""
    holding = tx.training.plan_holding(group_id, day)
    if holding is not None:
        plan = read_plan(holding.record)
        if plan.last_day >= day:
            return plan
    later = [one for one in tx.training.plans(group_id) if one.first_day > day]
    return read_plan(min(later, key=lambda one: one.first_day).record) if later else None


def _evening_of(
    tx: Tx, group_id: int, day: date, *, or_next: bool
) -> tuple[Evening, tuple[PlannedStation, ...]]:
    held = tx.training.session_held(group_id, day)
    if held is not None:
        if "stations" in held.record:
            stations = read_stations(held.record)
        else:
            stations = tuple(
                PlannedStation(one.name, one.equipment)
                for one in tx.training.group(group_id).stations
            )
        return read_evening(held.record), stations
    plan = _plan_on(tx, group_id, day)
    coming = [one for one in (plan.evenings if plan is not None else ()) if one.held_on >= day]
    if plan is None or not coming:
        raise RefusedInputError("no session is planned from that day on; make a plan first")
    if coming[0].held_on == day:
        return coming[0], plan.stations
    following = coming[0].held_on
    if or_next:
        return _evening_of(tx, group_id, following, or_next=False)
    raise RefusedInputError(
        f"no session is planned for that day; the next is on {day_in_words(following)}"
    )


def _names(members: Iterable[Member]) -> Mapping[int, str]:
    return {one.id: one.gymnast.name for one in members}


def _club_names(tx: Tx, club_id: int) -> list[tuple[int, str]]:
    return [
        (row.gymnast.id, row.gymnast.name)
        for archived in (False, True)
        for row in all_gymnasts(tx, club_id, archived=archived)
    ]


def _club_name(tx: Tx, club_id: int) -> str:
    return next((one.name for one in tx.clubs.all() if one.id == club_id), "")
