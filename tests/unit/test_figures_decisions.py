"""Figures, cards and folders that people decide by: something true for whatever comes, nothing over the edge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pytest
import xarray as xr
from matplotlib.text import Text

from tests import synthetic
from tests.fake_engine import TONNE_FORCE
from toolkit.errors import StudyError
from toolkit.figures.box_joint import draw_box_joint
from toolkit.figures.card import PAGE_MM, draw_card, save_card
from toolkit.figures.limit_pages import LimitOptions, write_limits
from toolkit.figures.passing_share import draw_passing_share
from toolkit.figures.requirement_map import draw_requirement
from toolkit.figures.requirement_pages import RuleOptions, write_requirement
from toolkit.figures.rule_bars import draw_rule_bars
from toolkit.figures.standby_map import draw_standby
from toolkit.findings import (
    Standby,
    apply_limits,
    back_test_rules,
    box_against_joint,
    by_sectors,
    go_card,
    operational_limit,
    passing_share,
    requirement,
    share_of_runs,
    standby_need,
    static_permits,
    wind_limit,
)
from toolkit.findings.draft_rule import parse_draft_rule
from toolkit.study import parse_study

pytestmark = pytest.mark.whole

SMALL = {**synthetic.default_axes(3), "wind_speed": [0.0, 10.0, 15.0], "wind_from": [0.0, 120.0, 240.0]}
warnings_are_errors = pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw few dots, and no outlines, for speed."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    def stub(self, path: Path, **metadata: object) -> None:
        path.write_text(" " * 100, encoding="utf-8")

    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 40)
    monkeypatch.setattr("toolkit.figures.card.DOTS_PER_INCH", 40)
    monkeypatch.setattr(FigureCanvasSVG, "print_svg", stub)
    monkeypatch.setattr(FigureCanvasPdf, "print_pdf", stub)


def said(artist: Any) -> str:
    return " ".join(t.get_text() for t in artist.findobj(Text) if t.get_visible())


def failing(dataset: xr.Dataset) -> xr.Dataset:
    """The same cases with all well and with two failures, of which one lets fewer pass."""
    lost = dataset.copy(deep=True)
    lost["outcome"] = xr.where(lost["bollard_pull"] < 30 * TONNE_FORCE, 7, lost["outcome"]).astype(np.int8)
    dark = dataset.copy(deep=True)
    dark["outcome"] = xr.full_like(dataset["outcome"], 8)
    return xr.concat([dataset, lost, dark], dim="failure").assign_coords(
        failure=["none", "port_drive_lost", "black_out"]
    )


@warnings_are_errors
@pytest.mark.usefixtures("coarse")
@pytest.mark.parametrize(
    ("name", "dataset"),
    [
        ("some pass", synthetic.results(SMALL)),
        ("all fail", synthetic.results(SMALL, outcome=4)),
        ("none run", synthetic.results(SMALL, outcome=0)),
        ("one barge, one wind", synthetic.results({"bollard_pull": SMALL["bollard_pull"]})),
    ],
)
def test_a_requirement_is_written_for_whatever_comes(name: str, dataset: xr.Dataset, tmp_path: Path) -> None:
    keep = ["outcome", "static_wind_demand", "drift_distance", *synthetic.LIMITS]
    paths = write_requirement(failing(dataset[keep]), tmp_path, options=RuleOptions(share=0.6))
    names = {path.name for path in paths}
    assert {"rule.md", "requirement.md", "requirement.png", "requirement_rows.csv", "rules_tested.md", "standby.png",
            "standby.md", "consequences.md", "index.md"} <= names  # fmt: skip
    assert all(path.stat().st_size > 50 for path in paths)
    rule = (tmp_path / "rule.md").read_text(encoding="utf-8")
    assert "Screening aid only" in rule and "When a standby tug is needed" in rule
    if name == "some pass":
        assert "bollard pull" in rule and "standby tug needed" in rule
    if name == "all fail":
        assert "not permitted with one such tug" in rule
    if name == "none run":
        assert "not decided: cases were not run" in rule


@warnings_are_errors
@pytest.mark.usefixtures("coarse")
def test_choices_power_and_a_draft_are_in_the_folder(tmp_path: Path) -> None:
    axes = {**SMALL, "power_setting": [0.5, 1.0], "manoeuvre": ["swing_pull", "swing_push"]}
    draft = parse_draft_rule("up to,10 kn,30 kn\n10000 t,20 t,not permitted\n", name="office.csv")
    dataset = synthetic.results(axes)[["outcome", "static_wind_demand", *synthetic.LIMITS]]
    options = RuleOptions(share=0.6, draft=draft, bands={"displacement": [3e5, 1e7], "wind_speed": [10.0]})
    names = {path.name for path in write_requirement(dataset, tmp_path, options=options)}
    for way in ("swing_pull", "swing_push"):
        assert {f"rule_{way}.md", f"power_cap_{way}.csv", f"requirement_{way}.svg", f"rules_tested_{way}.md"} <= names
    text = (tmp_path / "rule_swing_push.md").read_text(encoding="utf-8")
    assert "office: of" in text and "this requirement: of" in text and "power setting" in text
    assert "towline length" not in text.split("## Basis")[0].split("## What is asked for")[1]


@warnings_are_errors
def test_maps_and_bars_say_what_is_in_the_cells() -> None:
    dataset = synthetic.results(SMALL)
    judged = apply_limits(dataset)
    made = draw_requirement(requirement(judged, share=0.6), title="Required", caption=["told"])
    words = said(made.figure)
    assert "none passes" in words and "best fails" in words and "asked for" in words
    thin = requirement(judged, bands={"wind_speed": None}, share=0.6)
    assert "needs bands of two inputs" in said(draw_requirement(thin, title="", caption=[]).figure)
    tested = back_test_rules(judged, {"static": static_permits(dataset)})
    words = said(draw_rule_bars(tested, title="Rules", caption=[]).figure)
    assert "too lax" in words and "all" in words
    unrun = apply_limits(synthetic.results(SMALL, outcome=0))
    empty = draw_rule_bars(back_test_rules(unrun, {"static": static_permits(dataset)}), title="", caption=[])
    assert "no case has been run" in said(empty.figure)
    need = standby_need(apply_limits(failing(dataset)), share=0.6)
    words = said(draw_standby(need, title="Standby", caption=[]).figure)
    assert "port drive lost" in words and "black out" in words and "not permitted even with all well" in words
    need["need"][:], need["smallest_without"][:] = int(Standby.needed), np.nan
    need["need"][:, 1] = int(Standby.not_needed)
    words = said(draw_standby(need, title="Standby", caption=[]).figure)
    assert "not 20 t" in words and "needed, save with some smaller tugs" in words and "every" not in words


@warnings_are_errors
def test_shares_and_boxes_are_drawn_with_and_without_anything_to_show() -> None:
    codes = np.array([[1, 1, 1], [1, 4, 1], [4, 4, 4]], np.int8)
    axes = {"wind_speed": [0.0, 5.0, 10.0], "draw": [1, 2, 3]}
    judged = apply_limits(xr.Dataset({"outcome": (tuple(axes), codes)}, coords=axes), {})
    made = draw_passing_share({"": passing_share(judged)}, title="Share", caption=[], wanted=0.9, limit=5.0)
    assert "share asked for, 90 %" in said(made.figure) and "reached up to 9.719 kn" in said(made.figure)
    counted = draw_passing_share({"a": share_of_runs(judged, keep=["wind_speed"])}, title="", caption=[])
    assert "cases run that pass" in said(counted.figure)
    assert "No case has been run" in said(draw_passing_share({}, title="", caption=[]).figure)
    codes = np.array([[1, 1, 1], [1, 1, 4], [1, 4, 4]], np.int8)
    axes = {"wind_speed": [0.0, 5.0, 10.0], "current_speed": [0.0, 0.5, 1.0]}
    found = wind_limit(apply_limits(xr.Dataset({"outcome": (tuple(axes), codes)}, coords=axes), {}))
    made = draw_box_joint({"7.5 m": box_against_joint(found)}, title="Boxes", caption=[])
    assert "largest box that holds" in said(made.figure) and "promised too much: 75 %" in said(made.figure)
    never = box_against_joint(found.assign(limit=found["limit"] * np.nan))
    assert "Nothing is permitted" in said(draw_box_joint({"": never}, title="", caption=[]).figure)
    assert "No limit was found" in said(draw_box_joint({}, title="", caption=[]).figure)


def card_of(count: int = 8, more: tuple[str, ...] = ()) -> Any:
    judged = apply_limits(synthetic.results(synthetic.default_axes(2))).isel(bollard_pull=1, displacement=1)
    found = by_sectors(wind_limit(judged), count)
    card = go_card(operational_limit(found), judged, title="Marrowby Basin: swing push, barge of 10000 t")
    return replace(card, basis=(*more, *card.basis))


@pytest.mark.parametrize(("count", "more"), [(1, ()), (16, ()), (8, ("One more line of the basis.",) * 7)])
def test_a_card_fits_on_its_page(count: int, more: tuple[str, ...]) -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure = draw_card(card_of(count, more))
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    words = said(figure)
    for told in ("GO / CAUTION / NO-GO", "Girting", "Break off", "Review date", "Provenance"):
        assert told in words, told
    assert "cut for want of room" not in words
    wide, high = figure.canvas.get_width_height()
    for text in figure.findobj(Text):
        if text.get_text().strip() and text.get_visible():
            box = text.get_window_extent(canvas.get_renderer())
            assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide and box.y1 <= high, text.get_text()
    assert figure.get_size_inches() * 25.4 == pytest.approx(PAGE_MM)


def test_a_card_is_one_page_and_the_same_each_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("toolkit.figures.card.DOTS_PER_INCH", 40)
    paths = [save_card(card_of(), tmp_path / folder, "card") for folder in ("a", "b")]
    assert [p.suffix for p in paths[0]] == [".pdf", ".png", ".svg", ".md"]
    for one, two in zip(*paths, strict=True):
        if one.suffix == ".svg" and matplotlib.__version_info__ < (3, 10):
            continue  # names of clip paths were drawn anew each time
        assert one.read_bytes() == two.read_bytes(), one.name
    pdf = paths[0][0].read_bytes()
    assert pdf.startswith(b"%PDF") and pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") == 1


STUDY = """
title = "Marrowby Basin, small"
[tug]
bollard_pull = ["20 t", "40 t"]
[barge]
displacement = ["300 t", "900 t"]
[environment]
wind_speed = ["0 kn", "20 kn"]
basin_radius = "110 m"
[manoeuvre]
manoeuvre = "swing_push"
[limits]
peak_heel_fraction = "67 percent"
time_to_steady = "12 min"
room_to_edge = "10 m"
"""


def formulas(table: Mapping[str, Any]) -> xr.Dataset:
    """A model of formulas: heel grows with wind and current, all ground below 2 m."""
    columns = dict(
        zip(table, np.broadcast_arrays(*(np.atleast_1d(np.asarray(v)) for v in table.values())), strict=True)
    )
    wind = columns["wind_speed"].astype(float)
    heel = (wind + 8.0 * columns["current_speed"]) / (14.0 + 5.0 * np.cos(np.deg2rad(columns["wind_from"])))
    data = {
        "outcome": np.where(columns["water_depth"] < 2.5, 9, 1).astype(np.int8),
        "peak_heel_fraction": heel,
        "tension_over_mbl": np.where(columns["manoeuvre"] == "swing_push", np.nan, 0.2 + 0.0 * wind),
        "tension_over_swl": np.where(columns["manoeuvre"] == "swing_push", np.nan, 0.3 + 0.0 * wind),
        "time_to_steady": 300.0 + columns["displacement"] / 5e3,
        "room_to_edge": 40.0 - 2.0 * wind,
        "depth_ratio": columns["water_depth"] / 2.0,
    }
    coords = {name: ("case", values) for name, values in columns.items()}
    return xr.Dataset({k: ("case", v) for k, v in data.items()}, coords=coords, attrs=synthetic.attributes({}))


@warnings_are_errors
@pytest.mark.usefixtures("coarse")
def test_limits_of_a_study_are_searched_drawn_and_put_on_cards(tmp_path: Path) -> None:
    study = parse_study(STUDY)
    lines: list[str] = []
    options = LimitOptions(directions=8, currents=(0.0, 0.5, 1.0), depth_ratios=(1.2, 2.0), step=3.0, resolution=0.2)
    paths, found = write_limits(study, tmp_path, formulas, options=options, say=lines.append)
    names = {path.name for path in paths}
    assert {"card.pdf", "card.md", "limit_by_direction.png", "limit_over_current.md", "box_against_joint.svg",
            "limit_by_displacement.csv"} <= names  # fmt: skip
    assert len(lines) == len(found) == 3
    limit = found["limit_by_direction"]["limit"].isel(displacement=0)
    by_heel = 0.67 * (14.0 + 5.0 * np.cos(np.deg2rad(limit["wind_from"])))
    truth = np.minimum(by_heel, 15.0).values
    assert ((truth - limit.values) >= 0).all() and ((truth - limit.values) <= 0.21).all()
    index = (tmp_path / "index.md").read_text(encoding="utf-8")
    assert "somebody is aground" in index and "Screening aid only" in index
    with pytest.raises(StudyError, match="nothing in the study is drawn by chance"):
        write_limits(study, tmp_path, formulas, options=LimitOptions(draws=5))
    card = (tmp_path / "card.md").read_text(encoding="utf-8")
    assert "| 000 deg |" in card and "Local rules" in card and "barge of 300 t" in card
