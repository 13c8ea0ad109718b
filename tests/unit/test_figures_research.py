"""Figures of comparisons and sensitivities, and the two verbs: something true for whatever comes."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import matplotlib.text
import numpy as np
import pytest
import xarray as xr
from PIL import Image

from tests import fake_engine, synthetic
from toolkit.cli import main
from toolkit.errors import StudyError
from toolkit.execution.records import evaluate_with
from toolkit.figures.comparison_pages import draw_comparison
from toolkit.figures.convergence import draw_step
from toolkit.figures.interaction import draw_interaction
from toolkit.figures.paired_difference import draw_difference_curve, draw_paired_differences
from toolkit.figures.sensitivity import draw_indices, draw_screening
from toolkit.figures.sensitivity_pages import draw_sensitivity
from toolkit.figures.style import Sheet
from toolkit.figures.win_map import draw_win_map
from toolkit.findings import pair, pair_along
from toolkit.findings.interaction import interaction
from toolkit.findings.paired import compare_results
from toolkit.findings.sensitivity.analysis import Analysis, analyse
from toolkit.findings.win_map import win_map
from toolkit.motion.convergence import Accuracy

pytestmark = pytest.mark.whole

WAYS = ["swing_pull", "swing_push"]
GRID = {
    "displacement": [3e5, 9e6],
    "wind_speed": [0.0, 10.0],
    "manoeuvre": WAYS,
    "draw": [0.0, 1.0, 2.0],
}


@pytest.fixture(autouse=True)
def _coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw few dots and no SVG, for speed."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 50)
    monkeypatch.setattr(FigureCanvasSVG, "print_svg", lambda self, path, **_: path.write_text("<svg></svg>"))


@pytest.fixture
def unrendered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put figures together without turning them into dots, for speed."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    monkeypatch.setattr(FigureCanvasAgg, "print_png", lambda self, path, **_: path.write_bytes(b"png"))


def words(sheet: Sheet) -> str:
    found = [t.get_text() for t in sheet.figure.findobj(matplotlib.text.Text) if t.get_visible()]
    return " | ".join(found)


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.usefixtures("unrendered")
@pytest.mark.parametrize(
    ("name", "dataset"),
    [
        ("draws", synthetic.results(GRID)),
        ("one axis", synthetic.results({"wind_speed": [0.0, 12.0], "manoeuvre": WAYS})),
        ("nothing else", synthetic.results({"manoeuvre": WAYS})),
        ("all fail", synthetic.results(GRID, outcome=4)),
        ("none run", synthetic.results(GRID, outcome=0)),
        ("no limits", synthetic.results(GRID, limits={})),
    ],
)
def test_a_comparison_is_drawn_whatever_comes(name: str, dataset: xr.Dataset, tmp_path: Path) -> None:
    paths, found = draw_comparison(dataset.chunk(), tmp_path / "out", axis="manoeuvre")
    assert all(path.exists() and path.stat().st_size > 0 for path in paths)
    assert len(found) == 1
    index = (tmp_path / "out" / "index.md").read_text(encoding="utf-8")
    assert "Screening aid only" in index and "swing pull against swing push" in index
    assert ("where_better.png" in index) == (name not in ("one axis", "nothing else"))
    if name == "one axis":
        assert "fewer than two axes" in index


@pytest.mark.usefixtures("unrendered")
def test_all_values_of_an_axis_are_set_against_the_first(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("toolkit.figures.comparison_pages.MOST_COMPARED", 2)
    dataset = synthetic.results({"line_length": [10.0, 20.0, 30.0, 40.0]})
    monkeypatch.setattr("toolkit.figures.comparison_pages.draw_two_compared", lambda *_: None)
    _, found = draw_comparison(dataset, tmp_path, axis="line_length")
    assert [one.attrs["second"] for one in found] == ["20 m", "30 m"]
    assert "40 m: not compared" in (tmp_path / "index.md").read_text(encoding="utf-8")
    _, some = draw_comparison(dataset, tmp_path, axis="line_length", values=["30 m", "10 m"])
    assert [(one.attrs["first"], one.attrs["second"]) for one in some] == [("30 m", "10 m")]


def test_what_cannot_be_compared_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    dataset = synthetic.results(GRID)
    for wrong in (
        {"axis": ""}, {"axis": "turn"}, {"axis": "manoeuvre", "values": ["swing_pull"]},
        {"axis": "manoeuvre", "values": ["swing_pull", "swing_round"]}, {"axis": "manoeuvre", "over": ("turn", "draw")},
        {"axis": "manoeuvre", "quantity": "shoe_size"}, {"second": dataset.isel(draw=0)},
    ):  # fmt: skip
        with pytest.raises(StudyError):
            draw_comparison(dataset, tmp_path / "out", **wrong)
    assert not (tmp_path / "out").exists()


def test_figures_of_a_comparison_say_what_failed() -> None:
    axes = {"displacement": np.geomspace(3e5, 9e6, 12), "wind_speed": np.linspace(0, 15, 11), "manoeuvre": WAYS}
    pairs = pair_along(synthetic.results(axes, bollard_pull=8.0 * synthetic.TONNE_FORCE), "manoeuvre", *WAYS)
    curve = draw_difference_curve(pairs, "time_to_steady", title="t", caption=("c",))
    share = 100.0 * int(pairs["neither"].sum()) / pairs["neither"].size
    assert share > 0.0 and f"neither completed: {share:.1f} %" in words(curve)
    dense = words(draw_win_map(win_map(pairs, ("displacement", "wind_speed")), title="t", caption=("c",)))
    assert "net preference" in dense and "does better" in dense and "neither ever completes" in dense
    idle = synthetic.results(axes, outcome=0)
    empty = pair_along(idle, "manoeuvre", *WAYS)
    assert "No pair was run" in words(draw_difference_curve(empty, "time_to_steady", title="t", caption=("c",)))
    assert "No pair was run" in words(
        draw_win_map(win_map(empty, ("displacement", "wind_speed")), title="t", caption=("c",))
    )
    assert "No pair was run" in words(draw_paired_differences([], title="t", caption=("c",)))
    none = interaction(idle, "displacement", "manoeuvre")
    assert "No case was run" in words(draw_interaction(none, title="t", caption=("c",)))


def test_numbers_of_a_map_are_bold_only_where_signs_support_them() -> None:
    times = np.full((1, 2, 8), 100.0)
    other = times + np.array([[[5.0] * 8, [5.0] * 6 + [-5.0] * 2]])
    dims = ("displacement", "wind_speed", "draw")
    one, two = (
        xr.Dataset({"outcome": (dims, np.ones(v.shape, np.int8)), "time_to_steady": (dims, v)}) for v in (times, other)
    )
    sheet = draw_win_map(win_map(pair(one, two), dims[:2]), title="t", caption=("c",))
    weights = {t.get_text(): t.get_fontweight() for t in sheet.figure.findobj(matplotlib.text.Text)}
    assert weights["+100"] == "bold" and weights["(+50)"] == "normal"


@pytest.fixture(scope="module")
def analysis() -> Analysis:
    evaluate = partial(evaluate_with, fake_engine.MODEL)
    return analyse(fake_engine.samples_of(), evaluate, samples=32, trajectories=3, replicates=2)


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
def test_an_analysis_is_drawn(analysis: Analysis, tmp_path: Path) -> None:
    row = {
        "median": 1e-6,
        "percentile_90": 1e-4,
        "percentile_99": 1e-3,
        "largest": 0.1,
        "share_within": 0.9,
        "changed": 0.1,
    }
    steps = {"Invented: nothing.": [Accuracy(run=f"step / {k}", outcome="peak_heel", cases=5, **row) for k in (1, 2)]}
    paths = draw_sensitivity(analysis, tmp_path, steps=steps)
    names = {path.name for path in paths}
    assert {"screening.png", "indices.png", "spread_of_coefficients_figure.png", "sample_size_figure.png",
            "time_step_1_figure.png", "sensitivity.csv", "time_step_1.md", "index.md"} <= names  # fmt: skip
    index = (tmp_path / "index.md").read_text(encoding="utf-8")
    for said in ("did not complete", "Base: ", "Varied: ", "Screening aid only", "seed 1"):
        assert said in index
    with Image.open(tmp_path / "indices.png") as picture:
        assert picture.convert("L").getextrema()[0] < 60


def test_a_response_that_is_constant_says_so(analysis: Analysis) -> None:
    nothing = analysis.indices.sel(quantity=["completed"]) * np.nan
    text = words(draw_indices(nothing.assign_attrs(level=0.95), title="t", caption=("c",)))
    assert "nothing to share out" in text
    # beside others it leaves the names of the inputs standing, which all panels share
    several = analysis.indices.copy(deep=True)
    several["total_order"].loc[{"quantity": several["quantity"].values[0]}] = np.nan
    drawn = draw_indices(several, title="t", caption=("c",))
    assert all(label.get_text() for label in drawn.figure.axes[0].get_yticklabels())
    assert len(drawn.figure.axes[0].get_yticklabels()) == several.sizes["factor"]
    none = analysis.screened.isel(quantity=[])
    assert "No response applies" in words(draw_screening(none, title="t", caption=("c",)))
    empty = [Accuracy(run="r", outcome="peak_heel", cases=0, median=np.nan, percentile_90=np.nan, percentile_99=np.nan,
                      largest=np.nan, share_within=np.nan, changed=0.0)]  # fmt: skip
    assert "No case" in words(draw_step(empty, title="t", caption=("c",)))


def test_an_interval_of_few_samples_does_not_flatten_the_shares(analysis: Analysis) -> None:
    wild = analysis.indices.copy(deep=True)
    wild["total_order_high"].values[:] = 900.0
    made = draw_indices(wild.assign_attrs(level=0.95), title="t", caption=("c",))
    ends = [ax.get_xlim()[1] for ax in made.panel.axes]
    assert 1.5 in ends and max(ends) == 1.5 and "runs on beyond the scale" in words(made)


def test_no_words_of_a_figure_leave_the_page(analysis: Analysis) -> None:
    """Every visible text lies within the figure, at print size."""
    dataset = synthetic.results(GRID)
    pairs = pair_along(dataset, "manoeuvre", *WAYS)
    both = [dataset.isel(manoeuvre=k, drop=True) for k in (0, 1)]
    sheets = [
        draw_paired_differences(
            [compare_results(*both, names=("swing pull", "swing push"), resamples=49)], title="t", caption=("c",)
        ),
        draw_difference_curve(pairs, "time_to_steady", title="t", caption=("c",)),
        draw_win_map(win_map(pairs, ("displacement", "wind_speed")), title="t", caption=("c",)),
        draw_indices(analysis.indices, title="t", caption=("c",)),
        draw_screening(analysis.screened, title="t", caption=("c",)),
    ]
    for sheet in sheets:
        sheet.figure.canvas.draw()
        page = sheet.figure.bbox
        ticks = {id(label) for ax in sheet.figure.axes for label in (*ax.get_xticklabels(), *ax.get_yticklabels())}
        for text in sheet.figure.findobj(matplotlib.text.Text):
            if text.get_visible() and text.get_text().strip() and id(text) not in ticks:
                box = text.get_window_extent()
                ends = (page.x0 - box.x0, box.x1 - page.x1, page.y0 - box.y0, box.y1 - page.y1)
                assert max(ends) <= 2.0, text.get_text()


STUDY = """
title = "Marrowby samples"
seed = 4
[tug]
bollard_pull = { from = "10 t", to = "60 t", spacing = "log" }
[environment]
wind_speed = { from = "0 kn", to = "20 kn" }
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
[design]
kind = "sobol"
samples = 64
"""


@pytest.mark.usefixtures("unrendered")
def test_the_verb_sensitivity(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setattr("toolkit.execution.records.current_model", lambda: fake_engine.MODEL)
    Path("marrowby.toml").write_text(STUDY, encoding="utf-8")
    small = ["--samples", "32", "--trajectories", "2", "--replicates", "2", "--outcomes", "end_time", "completed"]
    assert main(["sensitivity", "marrowby.toml", *small]) == 0
    said = capsys.readouterr().out
    assert "share of the variance" in said and "none is dropped" in said and "Cautions" in said
    assert Path("results/marrowby/sensitivity/indices.png").exists()
    assert main(["sensitivity", "marrowby.toml", *small, "--at", "line_length=3 m"]) == 2
    assert "line_length is not swept" in capsys.readouterr().err
    assert main(["sensitivity", "marrowby.toml", "--samples", "33"]) == 2
    assert "power of two" in capsys.readouterr().err


@pytest.mark.usefixtures("unrendered")
def test_the_verb_compare(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("toolkit.cli.verbs.results_at", lambda place: synthetic.results(GRID))
    assert main(["compare", "marrowby.zarr", "--at", "wind_speed=10 m/s", "--over", "displacement", "draw"]) == 0
    said = capsys.readouterr().out
    assert "swing push less swing pull" in said and "sign flips" in said and "Cautions" in said
    assert Path("results/marrowby/comparison/paired_differences.csv").exists()
    assert main(["compare", "marrowby.zarr", "--with", "other.zarr", "--output", "two"]) == 0
    assert "differ in no input" in capsys.readouterr().out
    for wrong, told in (
        (["--axis", "draw", "--with", "b.zarr"], "both given"), (["--over", "draw"], "Name two"),
        (["--axis", "turn"], "turn"), (["--quantity", "shoe_size"], "shoe_size is missing"),
        (["--at", "wind_speed=11 m/s"], "is not swept"),
    ):  # fmt: skip
        assert main(["compare", "marrowby.zarr", *wrong]) == 2
        assert told in capsys.readouterr().err
