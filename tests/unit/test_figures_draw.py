"""Figures: something true for every dataset, in print size, never overlapping the caption."""

from __future__ import annotations

import json

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.figures import draw_envelope, draw_history
from toolkit.figures.contours import _edges
from toolkit.figures.histories import draw_histories
from toolkit.figures.outlines import barge_outline, draw_outlines, instants
from toolkit.figures.polar import sectors
from toolkit.figures.style import LIMIT_HATCHES, OUTCOME_MARKERS, drawing, sheet
from toolkit.figures.view import caption, fixed_text, number_axes, take_slice
from toolkit.findings import LIMIT_NAMES, apply_limits
from toolkit.quantities import Outcome

SMALL = {**synthetic.default_axes(3), "wind_from": [0.0, 120.0, 240.0]}


def texts(artist) -> list[str]:
    import matplotlib.text

    return [t.get_text() for t in artist.findobj(matplotlib.text.Text) if t.get_visible() and t.get_text()]


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.parametrize(
    ("name", "dataset"),
    [
        pytest.param(
            "grid",
            synthetic.results({**SMALL, "line_length": [15.0, 40.0], "manoeuvre": ["swing_pull", "swing_push"]}),
            marks=pytest.mark.slow,
        ),
        ("dense", synthetic.results({k: synthetic.default_axes(11)[k] for k in ("bollard_pull", "displacement")})),
        ("all fail", synthetic.results(SMALL, outcome=4)),
        ("none run", synthetic.results(SMALL, outcome=0)),
        ("one case", synthetic.results({})),
        ("one value an axis", synthetic.results({k: v[:1] for k, v in SMALL.items()})),
        ("samples", synthetic.samples(40)),
        ("no case", synthetic.results({"bollard_pull": np.array([]), "displacement": SMALL["displacement"]})),
        ("words only", synthetic.results({"tug_type": ["tractor", "azimuth_stern_drive"]})),
        ("no pair", synthetic.results({"manoeuvre": ["swing_pull", "swing_push"]}, outcome=3)),
        ("no limits", synthetic.results({"wind_speed": [0.0, 5.0, 10.0]}, limits={})),
    ],
)
def test_draws_whatever_comes(name: str, dataset: xr.Dataset, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 60)  # coarse, for speed
    paths = draw_envelope(dataset.chunk(), tmp_path / "out")
    assert all(path.stat().st_size > 100 for path in paths)
    names = {path.name for path in paths}
    assert {"index.md", "outcomes.csv", "time_to_steady.png"} <= names | {"time_to_steady.png"}
    assert any(n.startswith("time_to_steady") and n.endswith(".svg") for n in names)
    index = (tmp_path / "out" / "index.md").read_text(encoding="utf-8")
    assert "Screening aid only" in index
    assert all(n in index for n in names if n.endswith(".png"))
    if name == "grid":
        assert {"wind_limit_polar_swing_push.png", "push_against_pull_pairs.png", "bollard_pull_band_swing_pull.md",
                "tension_over_line_length_swing_pull.png"} <= names  # fmt: skip
        assert "tension_over_line_length_swing_push.png" not in names
    if name == "none run":
        assert "none of 108 cases has been run" in index


def test_same_dataset_same_bytes(tmp_path) -> None:
    dataset = synthetic.results({"wind_speed": [0.0, 5.0, 10.0]})
    for folder in ("a", "b"):
        draw_envelope(dataset, tmp_path / folder)
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name


def test_caption_stays_in_its_strip_and_says_what_it_must() -> None:
    dataset = synthetic.results(SMALL)
    judged = apply_limits(dataset)
    _, verdict, notes = take_slice(dataset, judged, ("bollard_pull",))
    words = caption(dataset, verdict, lead=("How to read this.",), notes=notes)
    for told in ("Limits: peak heel", "cases run", "FROM", "Screening aid only", "study 0123456789abcdef", "Slice:"):
        assert told in " ".join(words)
    with drawing():
        made = sheet("A title", [*words, "long " * 300])
        ax = made.panel.subplots()
        ax.set_xlabel("label below the axes")
        made.figure.canvas.draw()
        renderer = made.figure.canvas.get_renderer()
        below = made.figure.subfigs[1]
        box = below.texts[0].get_window_extent(renderer)
        assert box.x0 >= 0 and box.x1 <= made.figure.bbox.x1
        assert box.y0 >= 0 and box.y1 <= below.bbox.y1 <= ax.get_tightbbox(renderer).y0 + 1
    assert made.figure.get_size_inches()[0] * 25.4 == pytest.approx(160.0)


def test_slice_takes_calm_and_the_direction_of_fewest_passes() -> None:
    dataset = synthetic.results(SMALL)
    judged = apply_limits(dataset)
    part, verdict, notes = take_slice(dataset, judged, ("bollard_pull", "displacement"))
    assert set(part["outcome"].dims) == {"bollard_pull", "displacement"}
    assert float(part["wind_speed"]) == 0.0
    passing = judged["passes"].sum(["bollard_pull", "displacement", "wind_speed"])
    assert int(passing.sel(wind_from=float(part["wind_from"]))) == int(passing.min())
    assert any("lowest of 4" in n for n in notes) and any("fewest cases pass there" in n for n in notes)
    chosen, _, _ = take_slice(dataset, judged, ("bollard_pull",), {"wind_from": 120.0})
    assert float(chosen["wind_from"]) == 120.0
    with pytest.raises(StudyError, match="not on the grid"):
        take_slice(dataset, judged, (), {"wind_from": 91.0})
    assert verdict["passes"].shape == part["outcome"].shape


def test_axes_and_fixed_words() -> None:
    dataset = synthetic.results({"bollard_pull": [1e5, 2e5], "wind_from": [0.0], "tug_type": ["tractor"]})
    assert number_axes(dataset) == ("bollard_pull",)
    told = fixed_text(synthetic.results({}, wind_speed=12 * synthetic.KNOT, wind_from=240.0))
    assert "wind speed 12 kn, wind from 240 deg" in told and "current to" not in told
    assert "towline" not in fixed_text(synthetic.results({}, manoeuvre="swing_push"))


def test_every_limit_and_outcome_has_its_own_mark() -> None:
    assert set(LIMIT_HATCHES) == set(LIMIT_NAMES) and len(set(LIMIT_HATCHES.values())) == len(LIMIT_NAMES)
    assert set(OUTCOME_MARKERS) == {o.name for o in Outcome} - {"completed"}
    assert len(set(OUTCOME_MARKERS.values())) == len(OUTCOME_MARKERS)


def test_sectors_go_round_once_and_join_north() -> None:
    places, left, width = sectors(np.array([0.0, 90.0, 180.0, 270.0, 360.0]))
    assert places.tolist() == [0, 1, 2, 3]
    assert width.sum() == pytest.approx(360.0) and left[0] == -45.0
    assert sectors(np.array([10.0, 20.0]))[2].max() <= 90.0
    assert sectors(np.array([240.0]))[2].tolist() == [30.0]


def test_edges_part_what_passes_from_what_does_not() -> None:
    assert len(_edges(np.array([[True, False], [True, True]]))) == 2
    assert not _edges(np.ones((3, 3), dtype=bool))


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.parametrize("manoeuvre", ["swing_pull", "swing_push"])
def test_history_figures(manoeuvre: str, tmp_path) -> None:
    history = synthetic.history(manoeuvre, 120, outcome=2)
    paths = draw_history(history, tmp_path)
    assert [p.name for p in paths] == ["outlines.png", "outlines.svg", "histories.png", "histories.svg"]
    words = " ".join(texts(draw_histories(history).figure))
    assert ("tension [t]" in words) == (manoeuvre == "swing_pull")
    assert ("contact [t]" in words) == (manoeuvre == "swing_push")
    assert "ended: not steady" in words and "deck edge 13.0 deg" in words
    told = " ".join(texts(draw_outlines(history).figure))
    assert "from 240 deg" in told and "to 090 deg" in told and "north" in told


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
def test_history_figures_of_little(tmp_path) -> None:
    whole = synthetic.history(count=50)
    all_missing = whole.copy()
    for name in all_missing.data_vars:
        all_missing[name] = all_missing[name].astype(float) * np.nan
    bare = xr.Dataset(coords={"time": [0.0, 1.0]})
    for number, history in enumerate((whole.isel(time=[0]), whole.isel(time=slice(0, 0)), all_missing, bare)):
        assert len(draw_history(history, tmp_path / str(number))) == 4


def test_outlines_have_equal_scales_and_keep_start_and_end() -> None:
    history = synthetic.history(count=200)
    places = instants(history, 7)
    assert places[0] == 0 and places[-1] == 199 and places.size <= 7
    np.testing.assert_allclose(np.abs(barge_outline(34.0, 9.0)).max(axis=0), [17.0, 4.5])
    assert draw_outlines(history).panel.axes[0].get_aspect() == 1.0


def test_limits_of_a_history_may_be_given() -> None:
    history = synthetic.history(count=50).assign_attrs(limits=json.dumps({}))
    made = draw_histories(history, limits={"peak_heel_fraction": 0.5})
    assert "limit 6.5 deg" in " ".join(texts(made.figure))
