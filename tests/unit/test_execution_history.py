"""What a history takes along from where it was asked for; the engine itself is stood in for."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests import synthetic
from toolkit.execution.history import history
from toolkit.findings import limits_of
from toolkit.study import parse_study


@pytest.fixture(autouse=True)
def _no_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    channels = {"time": np.array([0.0, 0.5]), "tug_heel": np.zeros(2)}
    monkeypatch.setattr("toolkit.motion.history.case_history", lambda columns: (channels, {"outcome": 1.0}))


def test_limits_of_the_study_reach_the_history() -> None:
    study = parse_study("[limits]\ntime_to_steady = '12 min'\nroom_to_edge = '15 m'\n", name="basin.toml")
    found = history(study, case=0)
    assert limits_of(found) == study.limits.in_force()
    assert limits_of(found)["time_to_steady"] == 720.0


def test_limits_of_results_are_those_of_now() -> None:
    study = parse_study("title = 'a basin'\n", name="basin.toml")
    results = synthetic.results({}).assign_attrs(study=json.dumps(study.canonical()), limits='{"overshoot": 3.0}')
    with pytest.warns(UserWarning, match="another model"):
        results = results.assign_attrs(model_hash="another model")
        assert limits_of(history(results, case=0)) == {"overshoot": 3.0}
    del results.attrs["limits"], results.attrs["model_hash"]
    assert limits_of(history(results, case=0)) == {}
