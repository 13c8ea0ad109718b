"""Figures, tables and the verb of operability: something true for every record and limit."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from PIL import Image

from tests import synthetic
from tests.weather import made_record
from toolkit.cli import main, verbs
from toolkit.figures.operability import draw_exceedance, draw_hours, draw_months, draw_operability, draw_windows
from toolkit.figures.style import Sheet, drawing
from toolkit.findings.operability import Operability, invented_record, limit_of_results, limit_table, operability

pytestmark = pytest.mark.whole

EVERY = [0.0, 90.0, 180.0, 270.0]


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay figures out and place every artist, and write stubs for the pictures, for speed."""

    def stub(self: Sheet, folder: Path, name: str) -> list[Path]:
        with drawing():
            self.figure.draw_without_rendering()
        folder.mkdir(parents=True, exist_ok=True)
        paths = [folder / f"{name}.{kind}" for kind in ("png", "svg")]
        for path in paths:
            path.write_text(" " * 200, encoding="utf-8")
        return paths

    monkeypatch.setattr(Sheet, "save", stub)


def texts(sheet: Any) -> list[str]:
    import matplotlib.text

    return [t.get_text() for t in sheet.panel.findobj(matplotlib.text.Text) if t.get_visible() and t.get_text()]


def found(record: xr.Dataset | None = None, limits: Any = (6.0, 9.0, 8.0, 7.0), **more: Any) -> Operability:
    return operability(invented_record(6, seed=2) if record is None else record, limit_table(EVERY, limits), **more)


WEATHERS = {
    "gaps": made_record(np.where(np.arange(3000) % 50 < 20, np.nan, 7.5), np.arange(3000) % 360),
    "nothing known": made_record(np.full(100, np.nan), np.nan),
    "no wind": made_record(np.zeros(100), np.nan),
    "one step": made_record([5.0], [10.0]),
    "three hourly": made_record(np.tile([3.0, 9.0], 800), 200.0, step_hours=3.0),
    "typical year": made_record(np.tile([3.0, 9.0], 4380), 200.0).assign_attrs(kind="typical_year"),
}


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.usefixtures("coarse")
@pytest.mark.parametrize(
    ("name", "limits"),
    [*((name, (6.0, 9.0, 8.0, 7.0)) for name in WEATHERS), ("gaps", (np.nan,) * 4), ("gaps", (40.0,) * 4)],
)
def test_draws_whatever_comes(name: str, limits: tuple[float, ...], tmp_path: Path) -> None:
    paths = draw_operability(found(WEATHERS[name], limits), tmp_path / "out")
    names = {path.name for path in paths}
    assert all(path.stat().st_size > 100 for path in paths)
    assert {"index.md", "operability.csv", "operability.md", "record_reading.md", "wind_exceedance.svg"} <= names
    assert ("windows_and_years.png" in names) is (name != "typical year")
    index = (tmp_path / "out" / "index.md").read_text(encoding="utf-8")
    assert "Screening aid only" in index
    assert ("a typical year is spliced" in index) is (name == "typical year")


def test_files_are_of_print_size_and_say_what_they_rest_on(tmp_path: Path) -> None:
    paths = draw_operability(found(), tmp_path)
    picture = next(p for p in paths if p.name == "availability_by_month.png")
    with Image.open(picture) as image:
        assert abs(image.size[0] / 200 * 25.4 - 160) < 1
        told = image.info["Description"]
    for words in ("INVENTED record", "gaps not filled", "Box: wind at or below", "Runs:", "Wind is named by where",
                  "Provenance", "Screening aid only"):  # fmt: skip
        assert words in told


def test_exceedance_marks_the_limits_with_their_directions() -> None:
    some = found()
    words = texts(draw_exceedance(some))
    assert "box, 11.7 kn: N" in words and "17.5 kn: E" in words
    stopped = 100 - 100 * float(some.availability["share"].sel(rule="joint"))
    assert f"joint: stops work {stopped:.1f} % of the time" in words
    many = operability(invented_record(1), limit_table(np.arange(0, 360, 20), np.linspace(5, 12, 18)))
    assert "limits by direction: 9.72 to 23.3 kn" in texts(draw_exceedance(many))
    low = draw_exceedance(found(limits=(20.0, 20.0, 20.0, 20.0))).panel.axes[0]
    curve, at = low.lines[0], next(t.xy for t in low.texts if "all directions" in t.get_text())
    assert at[0] < curve.get_xdata()[-1]
    assert at[1] > low.transAxes.inverted().transform(
        low.transData.transform((at[0], np.interp(at[0], curve.get_xdata(), curve.get_ydata())))
    )[1]  # fmt: skip
    never = texts(draw_exceedance(found(limits=(np.nan, 9.0, 8.0, 7.0))))
    assert "no wind passes, calm included: N" in never
    assert not any(w.startswith("box, ") for w in never)


def test_months_hours_and_windows_show_the_numbers_of_the_findings() -> None:
    some = found(job_hours=5.0)
    months = draw_months(some)
    bars = [patch.get_height() for patch in months.panel.axes[0].patches]
    expected = 100 * some.availability["share_by_month"].values.ravel()
    np.testing.assert_allclose(bars, expected)
    hours = texts(draw_hours(some))
    first = f"{100 * float(some.availability['share_by_month_and_hour'].sel(rule='joint', month=1, hour=0)):.0f}"
    assert sum(re.fullmatch(r"\d+", w) is not None for w in hours) >= 12 * 24
    assert first in hours and "hour of day, UTC" in hours
    words = texts(draw_windows(some))
    assert some.years is not None
    assert f"joint P90 {100 * float(some.years['p90'].sel(rule='joint')):.1f}" in words
    assert "year of the record (invented)" in words
    few = texts(draw_windows(found(invented_record(2))))
    assert "P50 and P90 need 5 whole years" in few


def test_months_without_a_record_say_so() -> None:
    record = made_record(np.full(24 * 40, 5.0), 10.0, start="2001-03-01")
    assert texts(draw_months(found(record))).count("no record") == 10


AXES = {
    "displacement": np.array([300e3, 800e3]),
    "wind_speed": np.array([0.0, 10.0, 20.0, 30.0]) * synthetic.KNOT,
    "wind_from": np.arange(0.0, 360.0, 45.0),
}


@pytest.fixture
def results(monkeypatch: pytest.MonkeyPatch) -> xr.Dataset:
    made = synthetic.results(AXES)
    monkeypatch.setattr(verbs, "results_at", lambda place: made)
    return made


@pytest.mark.usefixtures("coarse")
def test_the_verb_writes_and_tells(results: xr.Dataset, capsys: pytest.CaptureFixture[str]) -> None:
    time = pd.date_range("2001-01-01", periods=8760, freq="1h")
    rows = "".join(f"{t:%Y-%m-%dT%H:%MZ},{n % 30},{n % 360}\n" for n, t in enumerate(time))
    Path("wind.csv").write_text(f"time,wind_speed [kn],wind_from [deg]\n{rows}", encoding="utf-8")
    arguments = ["operability", "basin.zarr", "--at", "displacement=800 t", "--record", "wind.csv",
                 "--hours-in", "UTC+2", "--forecast-factor", "0.8", "--job", "2 h", "--height", "10"]  # fmt: skip
    assert main(arguments) == 0
    said = capsys.readouterr().out
    assert "8,760 steps of 1 h" in said and "operational limit = limit times 0.8" in said
    assert "Cautions" in said and "results/basin/operability/operability.csv" in said
    assert "barge displacement, laden 800 t" in said.split("Holds for: ")[0]
    holds = said.split("Holds for: ")[1].splitlines()[0]
    assert "swing pull" in holds and "towline length" in holds and "displacement" not in holds
    table = pd.read_csv("results/basin/operability/operability.csv", comment="#")
    by_hand = operability(
        made_record((np.arange(8760) % 30) * synthetic.KNOT, np.arange(8760) % 360),
        limit_of_results(results, {"displacement": "800 t"}),
        forecast_factor=0.8,
        job_hours=2.0,
    )
    shares = 100 * by_hand.availability["share"].values
    np.testing.assert_allclose(table.loc[0, ["box", "joint"]].astype(float), shares, rtol=1e-3)
    assert "windows of 2 h or more a year" in table["what"].values


@pytest.mark.usefixtures("results", "coarse")
def test_the_verb_makes_an_invented_record(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["operability", "basin.zarr", "--worst-over", "displacement", "--invented", "1", "--seed", "7",
                 "--output", "here"]) == 0  # fmt: skip
    said = capsys.readouterr().out
    assert "INVENTED" in said and "seed 7" in said and "a P50 and a P90 year need 5" not in said
    assert "INVENTED record" in Path("here/operability.md").read_text(encoding="utf-8")


@pytest.mark.usefixtures("results")
@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        ([], 2, "one of --record and --invented is needed"),
        (["--record", "a.csv", "--invented", "2"], 2, "and not both"),
        (["--record", "a.csv"], 3, "there is no such file"),
        (["--invented", "1", "--job", "three"], 2, "'three' is no length of time"),
        (["--record", "a.csv", "--columns", "nonsense", "--at", "=3"], 2, "2 problems"),
        (["--invented", "1", "--typical-year"], 2, "--typical-year would say nothing"),
        (["--invented", "1", "--height", "20"], 2, "--height would say nothing"),
        (["--record", "a.csv", "--seed", "3"], 2, "--seed would say nothing"),
        (["--invented", "1"], 2, "displacement is swept and not named. Choose one of 300 t, 800 t"),
        (["--invented", "500", "--at", "displacement=300 t"], 2, "no whole number within [1, 100]"),
        (["--invented", "1", "--at", "displacement=300 t", "--gust-factor", "9"], 2, "gust_factor = 9"),
        (["--record", "a.csv", "--times-in", "Nowhere"], 2, "'Nowhere' is no time zone"),
    ],
)
def test_the_verb_refuses_in_words(
    arguments: list[str], code: int, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["operability", "basin.zarr", *arguments]) == code
    said = capsys.readouterr().err
    assert words in said and "Traceback" not in said
    assert not Path("results").exists()
