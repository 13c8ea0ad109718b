"""The balance of energy of one case of a study or of results."""

from __future__ import annotations

from typing import TYPE_CHECKING

from toolkit.execution.history import one_case, study_of

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.motion.energy import EnergyBalance
    from toolkit.study import Study

__all__ = ["case_energy"]


def case_energy(source: Study | xr.Dataset, /, *, case: int | None = None, **selection: object) -> EnergyBalance:
    """Run one case again and add up the work of every load.

    Parameters
    ----------
    source, case, **selection
        As for `toolkit.execution.history.history`.

    Returns
    -------
    EnergyBalance
        See `toolkit.motion.energy.energy_balance`; its `imbalance` and `share`
        say how well the energy of the case is accounted for.

    Raises
    ------
    StudyError, StoreError
        As for `toolkit.execution.history.history`.
    """
    from toolkit.motion.energy import energy_balance
    from toolkit.motion.setting import NO_SETTING
    from toolkit.study import Study

    columns, _, _ = one_case(source, case, selection)
    study = source if isinstance(source, Study) else study_of(source)
    return energy_balance(columns, NO_SETTING if study is None else study.setting)
