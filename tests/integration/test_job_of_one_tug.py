"""The whole job of one tug, from the study file in `experiments` to a store, a history and figures."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

import toolkit
from toolkit.cli import main
from toolkit.quantities import Outcome

STUDY = "job_in_marrowby_basin.toml"


def thinned(repository: Path, **fewer: str) -> str:
    """Text of the study with other lists of values, by key."""
    text = (repository / "experiments" / STUDY).read_text(encoding="utf-8")
    for key, values in fewer.items():
        text, count = re.subn(rf"^{key} = \[.*\]$", f"{key} = {values}", text, flags=re.MULTILINE)
        assert count == 1, key
    return text


def test_every_leg_is_done_and_told_on_one_clock(repository: Path) -> None:
    text = thinned(
        repository, bollard_pull='"30 t"', displacement='["450 t", "1000 t"]', wind_from='"90 deg"',
        wind_speed='["0 kn", "12 kn"]',
    )  # fmt: skip
    Path("job.toml").write_text(text, encoding="utf-8")
    results = toolkit.run(toolkit.load_study("job.toml"), workers=1).load()
    assert results.sizes == {"tug_type": 2, "displacement": 2, "wind_speed": 2}
    assert (results["outcome"] == int(Outcome.completed)).all()
    assert (results["legs_completed"] == 6).all()
    assert results["governing_leg"].isin(range(1, 7)).all()
    # towed in by 250 m at no more than what he means to, and never as far from the start again as all that adds up to
    assert ((results["tow_speed"] > 0.6) & (results["tow_speed"] < 1.0)).all()
    assert (results["drift_distance"] > 250.0).all() and (results["drift_distance"] < 600.0).all()
    assert (results["swept_radius_all"] >= results["swept_radius_barge"]).all()
    assert (results["swept_radius_barge"] > results["drift_distance"]).all()
    # the swing is done after the tow, the berth is met last, at the end of the job
    # she may be steady short of the target, and then never passes it
    swung = results["time_to_turn"].fillna(results["time_to_steady"])
    assert (swung > 300.0).all() and (swung < results["time_to_berth"]).all()
    np.testing.assert_allclose(results["time_to_berth"], results["end_time"], atol=1.0)
    assert ((results["contact_speed"] > 0.02) & (results["contact_speed"] < 0.4)).all()


@pytest.mark.slow
def test_from_the_file_to_history_and_figures(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = thinned(repository, bollard_pull='["20 t", "45 t"]', displacement='["450 t", "1000 t"]', wind_speed='"6 kn"',
                   wind_from='"90 deg"')  # fmt: skip
    Path("job.toml").write_text(text, encoding="utf-8")
    assert main(["run", "job.toml", "--serial", "--no-progress"]) == 0
    assert main(["envelope", "results/job.zarr"]) == 0
    told = capsys.readouterr().out
    assert "Girting" in told
    assert list(Path("results").rglob("*.png"))
    assert main(["history", "job.toml", "--at", "bollard_pull=20 t", "displacement=450 t", "tug_type=tractor"]) == 0
    assert "shift" in capsys.readouterr().out
