"""Figures: something true for every dataset, in print size, never overlapping the caption."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from PIL import Image

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.figures import draw_envelope, draw_history
from toolkit.figures.cells import NO_VALUE, edges
from toolkit.figures.configurations import MOST_SETS, configurations
from toolkit.figures.contours import Panel, draw_field
from toolkit.figures.histories import draw_histories, place_words
from toolkit.figures.outlines import draw_outlines
from toolkit.figures.polar import NOT_RUN, draw_polar, gaps, sectors
from toolkit.figures.power import draw_power
from toolkit.figures.reading_history import history_caption
from toolkit.figures.scene import barge_outline, scene_of, spaced
from toolkit.figures.strips import strips_of
from toolkit.figures.style import LIMIT_HATCHES, OUTCOME_MARKERS, drawing, numbers_alike, sheet, wrapped
from toolkit.figures.view import caption, fixed_text, master_note, number_axes, take_slice
from toolkit.figures.wind_current import draw_wind_current
from toolkit.findings import LIMIT_NAMES, apply_limits, share_of_runs, wind_limit
from toolkit.findings.tables import overview_lines
from toolkit.motion.phases import Phase
from toolkit.quantities import Outcome

pytestmark = pytest.mark.whole

SMALL = {**synthetic.default_axes(2), "wind_speed": [0.0, 10.0, 15.0], "wind_from": [0.0, 120.0, 240.0]}
WAYS = ["swing_pull", "swing_push"]


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw few dots and no SVG, for speed; the tests of whole files do without."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    def stub(self, path: Path, **metadata: object) -> None:
        path.write_text(f"<svg>{' ' * 100}</svg>", encoding="utf-8")

    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 50)
    monkeypatch.setattr(FigureCanvasSVG, "print_svg", stub)


def texts(artist) -> list[str]:
    import matplotlib.text

    return [t.get_text() for t in artist.findobj(matplotlib.text.Text) if t.get_visible() and t.get_text()]


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.usefixtures("coarse")
@pytest.mark.parametrize(
    ("name", "dataset"),
    [
        ("dense", synthetic.results({k: synthetic.default_axes(11)[k] for k in ("bollard_pull", "displacement")})),
        ("all fail", synthetic.results(SMALL, outcome=4)),
        ("none run", synthetic.results(SMALL, outcome=0)),
        ("one case", synthetic.results({})),
        ("one value an axis", synthetic.results({k: v[:1] for k, v in SMALL.items()})),
        ("samples", synthetic.samples(40)),
        ("no case", synthetic.results({"bollard_pull": np.array([]), "displacement": SMALL["displacement"]})),
        ("words only", synthetic.results({"tug_type": ["tractor", "azimuth_stern_drive"]}, outcome=2)),
        ("no pair", synthetic.results({"manoeuvre": WAYS}, outcome=3)),
        ("no limits", synthetic.results({"wind_speed": [0.0, 5.0, 10.0]}, limits={})),
    ],
)
def test_draws_whatever_comes(name: str, dataset: xr.Dataset, tmp_path) -> None:
    keep = ["outcome", "static_wind_demand", "time_to_steady", "swept_radius_all", "peak_heel_fraction",
            "tension_over_mbl", "tension_over_swl"]  # fmt: skip
    paths = draw_envelope(dataset[keep].chunk(), tmp_path / "out")
    assert all(path.stat().st_size > 100 for path in paths)
    names = {path.name for path in paths}
    assert {"index.md", "outcomes.csv", "limits_alone_and_together.md"} <= names
    assert any(n.startswith("time_to_steady") and n.endswith(".svg") for n in names)
    index = (tmp_path / "out" / "index.md").read_text(encoding="utf-8")
    assert "Screening aid only" in index
    assert all(n in index for n in names if n.endswith(".png"))
    if name == "none run":
        assert "none of 36 cases has been run" in index


@pytest.mark.slow
@pytest.mark.usefixtures("coarse")
@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
def test_draws_all_that_a_full_grid_allows(tmp_path) -> None:
    axes = {**SMALL, "line_length": [15.0, 40.0], "current_speed": [0.0, 0.5], "power_setting": [0.25, 1.0]}
    dataset = synthetic.results({**axes, "manoeuvre": WAYS}).drop_vars("time_to_turn")
    names = {path.name for path in draw_envelope(dataset, tmp_path)}
    for way in WAYS:
        for name in (
            "time_to_steady",
            "residual_speed",
            "wind_limit_polar",
            "wind_limit_over_current",
            "passing_over_power",
        ):
            assert {f"{name}_{way}.png", f"{name}_{way}.svg"} <= names
        assert {f"bollard_pull_band_{way}.md", f"power_setting_band_{way}.csv", f"wind_limit_{way}.md"} <= names
    assert "push_against_pull_pairs.png" in names and "static_rule.md" in names
    assert "tension_over_line_length_swing_pull.png" in names
    assert "tension_over_line_length_swing_push.png" not in names


def test_same_dataset_same_bytes(tmp_path) -> None:
    dataset = synthetic.results({"wind_speed": [0.0, 5.0, 10.0]}, limits={})[["outcome", "time_to_steady"]]
    for folder in ("a", "b"):
        draw_envelope(dataset, tmp_path / folder)
    names = {path.name for path in (tmp_path / "a").iterdir()}
    assert {"time_to_steady.png", "time_to_steady.svg"} <= names
    for name in names:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name


def test_caption_stays_in_its_strip_and_says_what_it_must() -> None:
    dataset = synthetic.results(SMALL)
    judged = apply_limits(dataset)
    cut = take_slice(dataset, judged, ("bollard_pull",))
    words = caption(dataset, cut.cases, lead=("How to read this.",), notes=cut.notes)
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


def test_slice_takes_calm_the_middle_and_the_worst_over_directions() -> None:
    dataset = synthetic.results({**SMALL, "power_setting": [0.25, 0.5, 1.0]})
    judged = apply_limits(dataset)
    cut = take_slice(dataset, judged, ("bollard_pull", "displacement"), names=["peak_heel"])
    whole = {"wind_speed": 0, "power_setting": 1}
    assert set(cut.dataset["outcome"].dims) == {"bollard_pull", "displacement"} == set(cut.judged["passes"].dims)
    xr.testing.assert_equal(
        cut.judged["passes"], judged["passes"].isel(whole).all("wind_from").reset_coords(drop=True)
    )  # fmt: skip
    worst = dataset["peak_heel"].where(dataset["outcome"] == 1).isel(whole).max("wind_from")
    np.testing.assert_array_equal(cut.dataset["peak_heel"], worst)
    assert cut.behind == 3 and cut.cases["passes"].size == 12
    told = "; ".join(cut.notes)
    assert "wind speed 0 kn (lowest of 3)" in told and "power setting 50 % (middle of 3)" in told
    assert "wind from: worst over 3 directions" in told
    chosen = take_slice(dataset, judged, ("bollard_pull",), {"wind_from": 120.0})
    assert chosen.behind == 1 and "wind from from 120 deg (chosen of 3)" in "; ".join(chosen.notes)
    with pytest.raises(StudyError, match="not on the grid"):
        take_slice(dataset, judged, (), {"wind_from": 91.0})
    push = synthetic.results({"line_length": [15.0, 40.0]}, manoeuvre="swing_push")
    assert take_slice(push, apply_limits(push), ()).notes == ()


def test_each_combination_of_choices_is_a_set_up_to_a_few() -> None:
    axes = {"turn": ["port", "starboard"], "line_material": ["hmpe", "nylon"], "manoeuvre": WAYS}
    dataset = synthetic.results(axes)
    parts, left = configurations(dataset, apply_limits(dataset), {"turn": "port"})
    assert [part.suffix for part in parts] == ["swing_pull_hmpe", "swing_pull_nylon", "swing_push"]
    assert parts[1].words == "swing pull, nylon" and not left
    assert str(parts[1].dataset["line_material"].values) == "nylon"
    parts, left = configurations(dataset, apply_limits(dataset), {})
    assert len(parts) <= MOST_SETS
    assert len(left) == 1 and "towline material" in left[0] and "not for nylon" in left[0]
    assert [part.suffix for part in parts] == [f"{way}_{turn}" for way in WAYS for turn in axes["turn"]]
    assert parts[0].words == "swing pull, way round port"


def test_samples_are_parted_by_their_words() -> None:
    dataset = synthetic.samples(30)
    words = np.where(np.arange(30) % 3 == 0, "swing_push", "swing_pull")
    dataset = dataset.assign_coords(manoeuvre=("case", words))
    parts, _ = configurations(dataset, apply_limits(dataset), {})
    assert {part.suffix: part.dataset.sizes["case"] for part in parts} == {"swing_push": 10, "swing_pull": 20}


def _legend(made) -> set[str]:
    return {text.get_text() for legend in made.panel.legends for text in legend.get_texts()}


def test_cells_mark_what_was_not_passed_and_count_directions_that_failed() -> None:
    axes = {"bollard_pull": [1e5, 2e5], "displacement": [3e5, 8e5], "wind_from": [0.0, 90.0, 180.0]}
    dataset = synthetic.results(axes, limits={"time_to_steady": 1e9, "peak_heel_fraction": 0.0})
    dataset["outcome"][...] = int(Outcome.completed)
    dataset["outcome"][0, 0, :2] = int(Outcome.not_steady)
    dataset["time_to_turn"][0, 1, :] = np.nan
    dataset["time_to_turn"][1, 0, 0] = np.nan
    dataset["time_to_turn"][1, 0, 1:] = [240.0, 300.0]
    cut = take_slice(dataset, apply_limits(dataset), ("bollard_pull", "displacement"), names=["time_to_turn"])
    panel = Panel(dataset=cut.dataset, judged=cut.judged, behind=cut.behind)
    made = draw_field([panel], "time_to_turn", ("bollard_pull", "displacement"), title="", caption=())
    words = texts(made.panel)
    assert "2 of 3" in words and NO_VALUE in words and f"5.00{NO_VALUE}" in words
    assert {"not steady", "target heading not passed, steady just short of it",
            "does not pass; binds: peak heel over deck-edge angle"} <= _legend(made)  # fmt: skip


def test_colours_end_before_a_few_values_far_above_all_others() -> None:
    dataset = synthetic.results({"bollard_pull": np.linspace(1e5, 4e5, 7), "displacement": np.linspace(3e5, 9e5, 7)})
    dataset["time_to_steady"][...] = 300.0 + np.arange(49.0).reshape(7, 7)
    dataset["time_to_steady"][0, 0] = 1800.0
    dataset["outcome"][...] = int(Outcome.completed)
    panel = Panel(dataset=dataset, judged=apply_limits(dataset, {}))
    made = draw_field([panel], "time_to_steady", ("bollard_pull", "displacement"), title="", caption=())
    image = made.panel.axes[0].images[0]
    assert image.norm.vmax < 7.0 and image.colorbar.extend == "max"


def test_wind_over_current_marks_what_never_passes() -> None:
    axes = {"wind_speed": [0.0, 5.0, 10.0], "current_speed": [0.0, 0.5]}
    dataset = synthetic.results(axes, outcome=1)
    dataset["outcome"][2, 0] = dataset["outcome"][0, 1] = int(Outcome.lost_station)
    found = {"one barge": wind_limit(apply_limits(dataset, {}))}
    made = draw_wind_current(found, top=10.0, title="", caption=())
    np.testing.assert_allclose(made.panel.axes[0].lines[0].get_ydata(), [5.0 / synthetic.KNOT, np.nan])
    assert {"one barge", "not even the lowest wind run passes"} <= _legend(made)


def test_shares_and_reasons_over_power_add_up() -> None:
    judged = apply_limits(synthetic.results({**SMALL, "power_setting": [0.1, 0.3, 0.6, 1.0]}))
    counts = share_of_runs(judged, keep=("power_setting",))
    made = draw_power(counts, {}, title="", caption=())
    passing, reasons = made.panel.axes
    height = np.zeros(4)
    for bars in reasons.containers:
        height += [bar.get_height() for bar in bars]
    np.testing.assert_allclose(passing.lines[0].get_ydata() + height, 100.0)


def test_axes_and_fixed_words() -> None:
    dataset = synthetic.results({"bollard_pull": [1e5, 2e5], "wind_from": [0.0], "tug_type": ["tractor"]})
    assert number_axes(dataset) == ("bollard_pull",)
    told = fixed_text(synthetic.results({}, wind_speed=12 * synthetic.KNOT, wind_from=240.0))
    assert "wind speed 12 kn, wind from 240 deg" in told and "current to" not in told
    assert "towline" not in fixed_text(synthetic.results({}, manoeuvre="swing_push"))


def test_an_axis_of_one_value_is_told_as_fixed_and_a_failure_with_what_it_hangs_on() -> None:
    one = synthetic.results({"manoeuvre": ["swing_pull"], "failure": ["none", "port_drive_lost"]})
    assert fixed_text(one).startswith("swing pull, ")
    assert overview_lines(apply_limits(one), ["manoeuvre", "failure"]) == (
        "manoeuvre: swing pull (1 value)", "failure: none, port drive lost (2 values)",
    )  # fmt: skip
    told = fixed_text(one)
    assert "time of the failure 120 s" in told and "time to watch the consequence 300 s" in told
    assert "restart" not in told and "standby" not in told and "late or wrong" not in told
    dark = fixed_text(synthetic.results({}, failure="black_out", failure_angle=45.0, standby_pull=2e5))
    assert "angle turned at the failure 45 deg" in dark and "time of the failure" not in dark
    assert "time to restart 90 s" in dark and "pull of a standby tug 20.39 t" in dark
    assert "time until a standby tug has hold 5 min" in dark
    assert "time of the failure" not in fixed_text(synthetic.results({}))


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


def test_parts_of_the_compass_that_were_not_run_are_told_apart() -> None:
    for bearings, spans in (([0.0, 90.0, 180.0, 270.0], []), ([0.0, 120.0, 240.0], [30.0] * 3), ([240.0], [330.0]),
                            ([10.0, 20.0], [260.0])):  # fmt: skip
        _, left, width = sectors(np.array(bearings))
        starts, found = gaps(left, width)
        np.testing.assert_allclose(found, spans)
        assert width.sum() + found.sum() == pytest.approx(360.0) and starts.size == found.size
    dataset = synthetic.results({"wind_speed": [0.0, 5.0], "wind_from": [0.0, 90.0, 180.0]}, outcome=1)
    dataset["outcome"][:, 1] = int(Outcome.lost_station)
    dataset["outcome"][:, 2] = int(Outcome.not_run)
    judged = apply_limits(dataset, {})
    made = draw_polar({"": wind_limit(judged)}, top=5.0, title="", caption=())
    assert {NOT_RUN, "does not pass at the lowest speed run"} <= _legend(made)
    bars = [bar for bar in made.panel.axes[0].patches if bar.get_hatch() == "xxx"]
    # from 225 to 315 nothing was run, and from 135 to 225 no speed
    assert sorted(np.rad2deg(bar.get_x()) for bar in bars) == pytest.approx([135.0, 225.0])
    whole = synthetic.results({"wind_speed": [0.0, 5.0], "wind_from": np.arange(0.0, 360.0, 45.0)}, outcome=1)
    made = draw_polar({"": wind_limit(apply_limits(whole, {}))}, top=5.0, title="", caption=())
    assert NOT_RUN not in _legend(made)


def test_captions_say_whose_doing_an_end_is() -> None:
    def told(*codes: Outcome) -> str:
        return " ".join(master_note([xr.Dataset({"outcome": ("case", np.array(codes, dtype=np.int8))})]))

    assert told(Outcome.completed, Outcome.not_run, Outcome.deck_edge_immersed) == told() == ""
    said = told(Outcome.collided, Outcome.not_steady, Outcome.completed)
    assert said == ("Not steady, collided: such ends say what the modelled master did; neighbouring cases may differ.")
    assert "Lost station" in told(Outcome.lost_station) and "Timed out" in told(Outcome.timed_out)


@pytest.mark.usefixtures("coarse")
@pytest.mark.parametrize("outcome", [Outcome.completed, Outcome.timed_out])
def test_the_caption_of_a_figure_with_such_symbols_says_it(outcome: Outcome, tmp_path: Path) -> None:
    axes = {"bollard_pull": [1e5, 2e5], "line_length": [15.0, 40.0]}
    dataset = synthetic.results(axes, outcome=int(Outcome.completed), limits={})
    dataset["outcome"][0, 0] = int(outcome)
    draw_envelope(dataset[["outcome", "time_to_steady", "peak_tension", "peak_tension_3s"]], tmp_path)
    for name in ("time_to_steady", "tension_over_line_length"):
        with Image.open(tmp_path / f"{name}.png") as image:
            told = str(image.info["Description"])
        assert ("modelled master" in told) == (outcome is Outcome.timed_out), name


def test_edges_part_what_passes_from_what_does_not() -> None:
    assert len(edges(np.array([[True, False], [True, True]]))) == 2
    assert not edges(np.ones((3, 3), dtype=bool))


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.parametrize("manoeuvre", WAYS)
def test_history_figures(manoeuvre: str, tmp_path) -> None:
    history = synthetic.history(manoeuvre, 120, outcome=2)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("toolkit.figures.style.DOTS_PER_INCH", 50)
        paths = draw_history(history, tmp_path)
    assert [p.name for p in paths] == ["outlines.png", "outlines.svg", "histories.png", "histories.svg"]
    words = " ".join(texts(draw_histories(history).figure))
    assert ("tension [t]" in words) == (manoeuvre == "swing_pull")
    assert ("contact [t]" in words) == (manoeuvre == "swing_push")
    assert "ended: not steady" in words and "deck edge 13.0 deg" in words
    told = " ".join(texts(draw_outlines(history).figure))
    assert "from 240 deg" in told and "to 090 deg" in told and "north" in told


@pytest.mark.usefixtures("coarse")
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
    places = spaced(scene_of(history), 7)
    assert places[0] == 0 and places[-1] == 199 and places.size <= 7
    np.testing.assert_allclose(np.abs(barge_outline(34.0, 9.0)).max(axis=0), [17.0, 4.5])
    assert draw_outlines(history).panel.axes[0].get_aspect() == 1.0


def test_limits_of_a_history_may_be_given() -> None:
    history = synthetic.history(count=50).assign_attrs(limits=json.dumps({}))
    made = draw_histories(history, limits={"peak_heel_fraction": 0.5})
    assert "limit 6.5 deg" in " ".join(texts(made.figure))


def test_units_keep_their_numbers_and_their_capitals() -> None:
    text = "Fixed: current to 270 deg, make fast 30 s. Berthing energy (64.18 kJ); of 3 t; room ≥ 10 m, heel ≤ 0.67"
    for width in range(40, 240):
        lines = wrapped((text,), float(width))
        assert " ".join(lines) == text
        assert not any(line.startswith(("deg", "s.", "kJ", "t; ", "m,")) or line == "t;" for line in lines)
        assert not any(line.endswith(("≤", "≥")) for line in lines)
    history = synthetic.history(count=20).assign_coords(manoeuvre="side_push").assign_attrs(berthing_energy=64180.0)
    assert "erthing energy 64.18 kJ" in " ".join(history_caption(history, ""))


def test_panels_of_one_figure_write_their_numbers_alike() -> None:
    dataset = synthetic.results({k: synthetic.default_axes(2)[k] for k in ("bollard_pull", "displacement")})
    dataset["peak_heel_fraction"].values[:] = 0.19
    slight = dataset.copy(deep=True)
    slight["peak_heel_fraction"].values[:] = 0.0144
    panels = [Panel(dataset=one, judged=apply_limits(one)) for one in (slight, dataset)]
    told = texts(draw_field(panels, "peak_heel_fraction", ("bollard_pull", "displacement"), title="", caption=()).panel)
    assert {"0.190", "0.014"} <= set(told) and "0.0144" not in told
    assert f"{12.34:{numbers_alike(np.array([12.34]))}}" == "12.3"


def test_outlines_of_the_tug_alone_are_spaced_and_timed_by_her() -> None:
    history = synthetic.history(count=121).assign_coords(manoeuvre="shift")
    still = np.zeros(121)
    for name in ("barge_north", "barge_east", "barge_heading", "tug_heading", "tug_east"):
        history[name] = ("time", still)
    history["tug_north"] = ("time", np.linspace(60.0, -60.0, 121))
    assert spaced(scene_of(history), 7, of_tug=True).tolist() == [0, 20, 40, 60, 80, 100, 120]
    plan = draw_outlines(history).panel.axes[0]
    assert "drift" in plan.get_title()
    times = {t.get_text(): t.get_position() for t in plan.texts if t.get_text()}
    last = f"{float(history['time'][-1]) / 60.0:.1f}"
    assert len(times) == 7 and times[last] == pytest.approx((0.0, -60.0))


def test_what_is_next_to_nothing_does_not_fill_a_panel() -> None:
    history = synthetic.history(count=50)
    history["line_tension"] = ("time", np.full(50, 20.0))  # N: of a slack line's weight
    history["angle_turned"] = ("time", np.full(50, 1e-13))
    ax = next(ax for ax in draw_histories(history).panel.axes if ax.get_ylabel() == "tension [t]")
    assert ax.get_ylim()[1] >= 0.1
    strips = {strip.name: strip for strip in strips_of(history)}
    assert strips["line_tension"].high >= 0.1 and strips["angle_turned"].high >= 1.0
    none = history.assign(line_tension=history["line_tension"] * np.nan)
    assert "no line in use" in texts(draw_histories(none).figure)
    assert "not recorded" in texts(draw_histories(history.drop_vars("line_tension")).figure)


def test_upright_names_of_phases_fit_into_the_strip() -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    history = synthetic.history(count=200)
    codes = np.full(200, int(Phase.hold))
    codes[:8] = int(Phase.take_weight)
    history["phase"] = ("time", codes)
    made = draw_histories(history)
    FigureCanvasAgg(made.figure).draw()
    strip = made.panel.axes[0]
    (words,) = [t for t in strip.texts if t.get_rotation() == 90.0]
    box, room = words.get_window_extent(), strip.get_window_extent()
    assert room.y0 <= box.y0 and box.y1 <= room.y1


def test_phases_are_told_in_words_or_by_a_key() -> None:
    assert place_words("hold", 100.0) == ("hold", False)
    assert place_words("take weight", 30.0) == ("take\nweight", False)
    assert place_words("accelerate", 10.0) == ("accelerate", True)
    assert place_words("accelerate", 3.0) == ("", False)
    history = synthetic.history(count=700)
    made = draw_histories(history)
    told = texts(made.panel.axes[0])
    assert {"accelerate", "hold", "check", "steady"} <= set(told)
    assert len({"take weight", "take\nweight"} & set(told)) == 1
    brief = history.assign(phase=("time", np.where(history["time"] < 1.0, 0.0, 2.0)))
    assert "phase: take weight" in _legend(draw_histories(brief))
