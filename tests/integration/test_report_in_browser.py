"""The page of a report in a browser: the envelope moves, obeys the keyboard, can be read and printed."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.browser import MISSING, Page, ask, browser
from tests.integration.test_player_in_browser import CONTRAST
from toolkit.findings import apply_limits
from toolkit.report import USERS, write_report
from toolkit.report.page import ReportOptions

pytestmark = pytest.mark.skipif(bool(MISSING), reason=MISSING or "none")

RIGHT, DOWN, ENTER, SPACE, END = "\ue014", "\ue015", "\ue007", " ", "\ue010"
CELLS = "return [...document.querySelectorAll('#grid .cell')].map(cell => cell.textContent)"
FOCUS = "const a = document.activeElement; return a.className === '' ? a.id : [a.dataset.row, a.dataset.column]"
AXES: dict[str, Any] = {
    "bollard_pull": np.array([10.0, 30.0, 60.0]) * synthetic.TONNE_FORCE,
    "displacement": np.array([400e3, 1500e3]),
    "wind_speed": np.array([0.0, 10.0, 30.0]) * synthetic.KNOT,
    "wind_from": np.array([60.0, 240.0]),
    "manoeuvre": np.array(["swing_pull", "swing_push"]),
}


@pytest.fixture(scope="module")
def results() -> xr.Dataset:
    return synthetic.results(AXES, limits={"time_to_steady": 500.0, "peak_heel_fraction": 0.9})


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, results: xr.Dataset) -> Path:
    place = tmp_path_factory.mktemp("reports")
    options = ReportOptions(
        history=lambda number: synthetic.history(count=60), histories=1, source="results/basin.zarr"
    )
    for user in USERS:
        write_report(results, place / f"{user}.html", user, options=options)
    write_report(synthetic.samples(20), place / "samples.html", "researcher")
    return place


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[Page]:
    with browser(folder) as opened:
        yield opened


@pytest.fixture(autouse=True)
def _nothing_to_complain_of(page: Page) -> Iterator[None]:
    """The console stays silent: no error, nothing that the policy of the page refuses."""
    page.complaints()
    yield
    assert page.complaints() == []


def verdicts(results: xr.Dataset, **at: int) -> list[bool]:
    """Whether each cell passes, rows of displacement by columns of pull, from every direction."""
    passes = apply_limits(results)["passes"].isel(at).all("wind_from")
    return [bool(one) for one in passes.transpose("displacement", "bollard_pull").values.ravel()]


def test_the_grid_is_the_judgement_and_follows_slider_and_menus(page: Page, folder: Path, results: xr.Dataset) -> None:
    page.open(folder / "port_authority.html")
    way = int(page.script("return document.querySelector('[data-axis=manoeuvre] select').value"))
    cells = page.script(CELLS)
    assert [text.startswith("pass") for text in cells] == verdicts(results, wind_speed=1, manoeuvre=way)
    assert all("of 2 pass" in text for text in cells)
    before = page.text("#summary")
    page.press("[data-axis=wind_speed] input[type=range]", RIGHT)
    now = page.script(CELLS)
    assert [text.startswith("pass") for text in now] == verdicts(results, wind_speed=2, manoeuvre=way) and now != cells
    assert page.text("#summary") != before and "wind speed 30 kn" in page.text("#summary")
    told = page.script(
        "return document.querySelector('[data-axis=wind_speed] [type=range]').getAttribute('aria-valuetext')"
    )
    assert told == page.text("[data-axis=wind_speed] output") == "30 kn"
    page.script(
        "const s = document.querySelector('[data-axis=manoeuvre] select'); s.value = arguments[0];"
        "s.dispatchEvent(new Event('change'))", str(1 - way)
    )  # fmt: skip
    assert [t.startswith("pass") for t in page.script(CELLS)] == verdicts(results, wind_speed=2, manoeuvre=1 - way)
    page.click("[data-axis=wind_from] input[type=checkbox]")
    assert not any("of 2 pass" in text for text in page.script(CELLS))
    assert "wind from 060 deg" in page.text("#summary") and "from from" not in page.text("#summary")


def test_axes_of_the_grid_are_chosen_and_the_same_one_twice_swaps(page: Page, folder: Path) -> None:
    page.open(folder / "consultant.html")
    choose = (
        "const s = document.getElementById(arguments[0]);"
        "s.value = [...s.options].find(o => o.textContent === arguments[1]).value; s.dispatchEvent(new Event('change'))"
    )
    assert page.text("#grid thead th") == "wind speed"
    page.script(choose, "grid-rows", "bollard pull")
    assert page.text("#grid thead th") == "bollard pull" and len(page.script(CELLS)) == 3 * 2
    assert page.script("return document.activeElement.id") == "grid-rows"
    page.script(choose, "grid-columns", "bollard pull")
    assert page.text("#grid thead th") == "wind from" and len(page.script(CELLS)) == 2 * 3


def test_cells_tell_by_words_and_pattern_and_are_named_for_the_ear(page: Page, folder: Path) -> None:
    page.open(folder / "port_authority.html")
    page.press("[data-axis=wind_speed] input[type=range]", END)
    looks = page.script(
        "return [...document.querySelectorAll('#grid .cell')].map(c => [c.querySelector('.verdict').textContent,"
        "getComputedStyle(c).backgroundImage, c.getAttribute('aria-label'), c.getAttribute('role')])"
    )
    by_word: dict[str, set[str]] = {}
    for word, pattern, label, role in looks:
        by_word.setdefault(word, set()).add(pattern)
        assert role == "gridcell" and "displacement" in label and "bollard pull" in label
        assert ("passes" in label) == (word == "pass")
    assert len(by_word) >= 2 and all(len(patterns) == 1 for patterns in by_word.values())
    assert len(set.union(*by_word.values())) == len(by_word), "no two verdicts look alike"
    legend = page.text("#legend")
    assert all(word in legend for word in by_word)


def test_keys_move_in_the_grid_and_open_a_case(page: Page, folder: Path, results: xr.Dataset) -> None:
    page.open(folder / "port_authority.html")
    assert page.script("return document.querySelectorAll('#grid .cell[tabindex=\"0\"]').length") == 1
    page.press("#grid .cell[tabindex='0']", RIGHT + DOWN)
    assert page.script(FOCUS) == ["1", "1"]
    outline = page.script("return getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.press("#grid .cell[tabindex='0']", ENTER)
    heading = page.text("#case-heading")
    number = int(heading.removeprefix("Case ").partition(":")[0])
    place = np.unravel_index(number, results["outcome"].shape)
    time = float(results["time_to_steady"].values[place]) / 60.0
    told = page.text("#case-body")
    assert "bollard pull 30 t" in told and "worst of the 2 cases" in told
    assert f"{float(f'{time:.4g}'):g} min" in told and "≤ 8.333 min" in told
    assert page.script("return document.querySelectorAll('#grid [aria-selected=true]').length") == 1
    if page.script("return document.querySelectorAll('#case-body img').length") == 0:
        assert f"towage history results/basin.zarr --case {number}" in told
    page.press("#grid .cell[tabindex='0']", END + SPACE)
    assert page.text("#case-heading") != heading and page.script(FOCUS) == ["1", "2"]


def test_a_case_that_was_drawn_is_found_and_shows_its_pictures(page: Page, folder: Path) -> None:
    page.open(folder / "port_authority.html")
    number = page.script("return document.querySelector('.one-case').dataset.case")
    page.click("button[data-go]")
    assert page.text("#case-heading").startswith(f"Case {number}:")
    sizes = page.script(
        "return [...document.querySelectorAll('#case-body img')].map(i => [i.complete, i.naturalWidth])"
    )
    assert len(sizes) == 2 and all(complete and width > 100 for complete, width in sizes)


@pytest.mark.parametrize("user", USERS)
def test_can_be_read_and_printed(page: Page, folder: Path, user: str) -> None:
    page.size(1100, 900)
    page.open(folder / f"{user}.html")
    page.script("document.querySelector('#grid .cell').click()")
    for _ in range(2):
        worst = page.script(CONTRAST)
        assert worst[0][0] >= 4.5, worst
        page.press("[data-axis] input[type=range]:not(:disabled)", END)
    unseen = page.script(
        "return [...document.images].filter(i => !i.complete || i.naturalWidth === 0 || !i.alt).length"
    )
    assert unseen == 0
    page.size(500, 900)
    assert page.script("return document.documentElement.scrollWidth <= innerWidth")
    printed = base64.b64decode(ask(f"{page._at}/print", {"page": {"width": 21.0, "height": 29.7}, "background": False}))
    assert printed.startswith(b"%PDF") and printed.count(b"/Type /Page\n") >= 4


def test_results_without_a_grid_say_so(page: Page, folder: Path) -> None:
    page.open(folder / "samples.html")
    assert "they are samples" in page.text("#nothing")
    assert page.script("return document.getElementById('moving').hidden")
