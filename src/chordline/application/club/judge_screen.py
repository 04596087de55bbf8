"""From a screen in the records to its findings."""

from collections.abc import Callable
from dataclasses import replace

from chordline.application.club.her_screen import HerScreen, her_screen
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import FindingsRecord, GymnastRecord, Json
from chordline.application.club.views import ScreenView
from chordline.application.find_limits import FindLimits
from chordline.application.findings import Findings
from chordline.application.findings_json import findings_to_json
from chordline.application.forecast.forecast_json import forecast_from_json
from chordline.application.forecast.forecast_line import ForecastLine
from chordline.application.judge_folder import judge_gymnast
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement


class JudgeScreen:
    """Use case: judge a screen, and keep what was found."""

    def __init__(
        self,
        records: Records,
        pictures: StoredPictures,
        find: FindLimits,
        catalogue: Catalogue,
        forecast: ForecastLine | None = None,
        *,
        renew: Callable[[Measurement], Measurement] | None = None,
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, pictures, find, catalogue, forecast
        renew : callable, optional
            Gives a stored measurement the errors that are in use now.
        """
        self._records = records
        self._pictures = pictures
        self._find = find
        self._catalogue = catalogue
        self._forecast = forecast
        self._renew = renew

    def __call__(self, screen_id: int) -> FindingsRecord:
        """Judge a screen as it is now and keep the findings."""
        with self._records.transaction() as tx:
            view = tx.screens.view(screen_id)
            found = self._judge(self.read(tx, view), view, forecast=self._forecast)
            return tx.screens.save_findings(
                view.screen,
                findings_to_json(found),
                catalogue=found.catalogue_version,
                models=found.models,
            )

    def latest_of(self, gymnast_id: int) -> FindingsRecord | None:
        """Judge a gymnast's latest screen; None where she has none."""
        with self._records.reading() as tx:
            screens = tx.gymnasts.view(gymnast_id, screens=1).screens
        return self(screens[0].screen.id) if screens else None

    def read(self, tx: Tx, view: ScreenView, gymnast: GymnastRecord | None = None) -> HerScreen:
        """Return a screen as it is judged and printed."""
        her = gymnast or tx.gymnasts.get(view.screen.gymnast_id)
        hers = her_screen(
            her,
            view,
            sizes=tx.gymnasts.sizes(her.id),
            notes=tx.gymnasts.notes(her.id),
            catalogue=self._catalogue,
            read=self._pictures.read,
        )
        return hers if self._renew is None else _renewed(hers, self._renew)

    def find(self, hers: HerScreen, view: ScreenView) -> Findings:
        """Return the findings of a screen without keeping them.

        The forecast, which takes longer than all else, is that of the findings that are kept where
        these still hold.
        """
        kept = _kept_forecast(view.findings, self._catalogue.version)
        if kept is None:
            return self._judge(hers, view, forecast=self._forecast)
        return replace(
            self._judge(hers, view, forecast=None), forecast=forecast_from_json(kept["forecast"])
        )

    def _judge(
        self, hers: HerScreen, view: ScreenView, *, forecast: ForecastLine | None
    ) -> Findings:
        day = view.screen.screened_on.isoformat()
        return judge_gymnast(hers.screen, screen=day, find=self._find, forecast=forecast)


def _renewed(hers: HerScreen, renew: Callable[[Measurement], Measurement]) -> HerScreen:
    filed = tuple(replace(one, measurement=renew(one.measurement)) for one in hers.screen.filed)
    return replace(hers, screen=replace(hers.screen, filed=filed))


def _kept_forecast(kept: FindingsRecord | None, catalogue: str) -> Json | None:
    """Return the record whose forecast still holds, or None where it has to be made anew."""
    if kept is None or not kept.up_to_date or kept.catalogue != catalogue:
        return None
    return kept.record if "forecast" in kept.record else None
