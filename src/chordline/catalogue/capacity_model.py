"""The capacity model of the core, from the catalogue's records."""

from chordline.catalogue.schema import Catalogue
from chordline.core.capacity.model import Capacity, CapacityModel, ModelRow, Nuisance


def build_capacity_model(catalogue: Catalogue) -> CapacityModel:
    """Return the model; rows in the order of the battery."""
    return CapacityModel(
        capacities=tuple(
            Capacity(
                name=name,
                prior_mean=entry.prior_mean,
                prior_sd=entry.prior_sd,
                threshold=entry.threshold,
                straightening=entry.straightening,
            )
            for name, entry in catalogue.capacities.items()
        ),
        nuisances=tuple(
            Nuisance(name, entry.sd, entry.hand_sd) for name, entry in catalogue.nuisances.items()
        ),
        rows=tuple(
            ModelRow(
                test=test,
                measure=measure,
                loads=row.loads,
                intercept=row.intercept,
                model_sd=row.model_sd,
                repeat_sd=row.repeat_sd,
                typical_sd=row.typical_sd,
                instead_of=row.instead_of,
            )
            for test in catalogue.tests
            for measure, row in catalogue.model.get(test, {}).items()
        ),
    )
