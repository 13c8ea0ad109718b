"""`towage convergence`: the coarsest step that will do, and the run that takes it."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

import toolkit
from tests.one_case import columns_of
from toolkit.cli import main
from toolkit.motion.convergence import Accuracy, coarsest, step_error
from toolkit.motion.layout import PARAMETER_ROW
from toolkit.motion.prepare import prepare
from toolkit.motion.setting import Setting
from toolkit.quantities import INPUTS, RangeFlag

STUDY = """
title = "Marrowby Basin: corners"
[barge]
displacement = ["400 t", "1500 t"]
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
target_angle = "20 deg"
time_limit = "2 min"
"""


def entry(run: str, outcome: str, within: float, changed: float = 0.0, cases: int = 10) -> Accuracy:
    return Accuracy(run=run, outcome=outcome, cases=cases, median=0.0, percentile_90=0.0, percentile_99=0.0,
                    largest=0.0, share_within=within, changed=changed)  # fmt: skip


def test_the_coarsest_that_is_good_in_all_that_counts() -> None:
    rows = [
        entry("step / 0.5", "peak_tension", 0.9), entry("step / 0.5", "time_to_turn", 1.0),
        entry("step / 1", "peak_tension", 1.0), entry("step / 1", "time_to_turn", np.nan, cases=0),
        entry("step / 2", "peak_tension", 1.0), entry("step / 2", "time_to_turn", 1.0),
    ]  # fmt: skip
    both = ("peak_tension", "time_to_turn")
    assert coarsest(rows, both, 0.99) == "step / 1"
    assert coarsest(rows, both, 0.9) == "step / 0.5"
    assert coarsest(rows, ("time_to_turn",), 0.99) == "step / 0.5"
    assert coarsest([entry("step / 1", "peak_tension", 1.0, changed=0.1)], both, 0.5) == ""


def test_refinement_multiplies_the_steps_of_the_rule() -> None:
    steps = PARAMETER_ROW.steps_per_tick
    rule = prepare(columns_of()).parameters[steps, 0]
    for factor in (0.25, 0.5, 1.0, 1.5, 32.0):
        prepared = prepare(columns_of(step_refinement=factor))
        assert prepared.parameters[steps, 0] == np.ceil(factor * rule)
        assert bool(prepared.range_flags[0] & RangeFlag.coarse_step) == (factor < 1.0)


def test_every_leg_of_a_job_counts_as_a_case() -> None:
    manoeuvres = INPUTS["manoeuvre"].choices
    legs = ({"manoeuvre": manoeuvres.index("shift"), "station_to": INPUTS["station_to"].choices.index("port_shoulder")},
            {"manoeuvre": manoeuvres.index("swing_push"), "target_angle": 10.0, "time_limit": 60.0})  # fmt: skip
    columns = {name: np.repeat(values, 2) for name, values in columns_of(displacement=8e5).items()}
    rows = step_error(columns, (1, 4), setting=Setting(legs=legs), names=("peak_heel", "peak_contact_force"))
    assert {(row.outcome, row.cases) for row in rows} == {("peak_heel", 4), ("peak_contact_force", 2)}
    assert all(0.0 < row.largest < 0.02 for row in rows)


def test_command(capsys: pytest.CaptureFixture[str]) -> None:
    Path("corners.toml").write_text(STUDY, encoding="utf-8")
    assert main(["convergence", "corners.toml"]) == 0
    told = capsys.readouterr().out
    assert "4 of 4 corners" in told and "Coarsest step with 99 %" in told and "Girting" in told
    with Path("results/corners/convergence.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))
    assert {row[0] for row in rows[1:]} == {f"step / {k}" for k in ("0.5", "0.75", "1", "2", "4")}
    assert Path("results/corners/convergence_figure.png").stat().st_size > 10_000
    # the run takes the step it is told, and says so
    Path("finer.toml").write_text(STUDY + "[numerics]\nstep_refinement = 2\n", encoding="utf-8")
    finer = toolkit.run(toolkit.load_study("finer.toml"), workers=1).load()
    plain = toolkit.run(toolkit.load_study("corners.toml"), workers=1).load()
    assert (finer["peak_heel"] != plain["peak_heel"]).any()
    np.testing.assert_allclose(finer["peak_heel"], plain["peak_heel"], rtol=0.2)
    assert "step_refinement" in finer.attrs["step_rule"]
    assert '"step_refinement": 2' in str(finer.attrs) or float(finer["step_refinement"]) == 2.0


@pytest.mark.parametrize(("words", "said"), [(["--cases", "0"], "cases = 0"), (["--share", "150"], "outside (0, 100]")])
def test_bad_numbers_are_refused(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("corners.toml").write_text(STUDY, encoding="utf-8")
    assert main(["convergence", "corners.toml", *words]) == 2
    assert said in capsys.readouterr().err
    assert not Path("results").exists()


def test_a_step_is_never_named_without_anything_to_judge_it_by(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = (entry("step / 0.5", "peak_tension", np.nan, cases=0), entry("step / 0.5", "peak_heel", 1.0))
    monkeypatch.setattr("toolkit.motion.convergence.step_error", lambda *_, **__: rows)
    Path("corners.toml").write_text(STUDY, encoding="utf-8")
    assert main(["convergence", "corners.toml"]) == 0
    told = capsys.readouterr().out
    assert "nothing to judge a step by" in told and "Coarsest" not in told
