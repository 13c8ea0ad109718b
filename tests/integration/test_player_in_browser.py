"""The page that plays a case, in a browser: it draws, plays, obeys the keyboard, and can be read."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests import synthetic
from tests.browser import MISSING, Page, browser
from toolkit.figures import write_player
from toolkit.figures.scene import scene_of

pytestmark = pytest.mark.skipif(bool(MISSING), reason=MISSING or "none")

RIGHT, HOME, END = "\ue014", "\ue011", "\ue010"
EDGE = [[-75, -60], [75, -60], [75, 60], [-75, 60]]

CONTRAST = """
function parts(colour) { return colour.match(/[\\d.]+/g).map(Number); }
function light([r, g, b]) {
  const [x, y, z] = [r, g, b].map(v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return 0.2126 * x + 0.7152 * y + 0.0722 * z;
}
function behind(element) {
  for (let one = element; one; one = one.parentElement) {
    const found = parts(getComputedStyle(one).backgroundColor);
    if (found.length === 3 || found[3] > 0) { return found; }
  }
  return [255, 255, 255];
}
const worst = [];
for (const element of document.querySelectorAll("body *")) {
  const own = [...element.childNodes].some(node => node.nodeType === 3 && node.textContent.trim());
  if (!own || ["SCRIPT", "NOSCRIPT", "title"].includes(element.tagName)) { continue; }
  const style = getComputedStyle(element);
  const ink = parts(element.namespaceURI.endsWith("svg") ? style.fill : style.color);
  const [a, b] = [light(ink), light(behind(element))].sort((p, q) => q - p);
  worst.push([(a + 0.05) / (b + 0.05), element.tagName, element.textContent.trim().slice(0, 30)]);
}
return worst.sort((p, q) => p[0] - q[0]).slice(0, 3);
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pages")


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


def show(page: Page, folder: Path, history) -> None:
    page.open(write_player(history, folder / "page.html"))


def test_draws_the_case_and_goes_where_the_slider_is(page: Page, folder: Path) -> None:
    history = synthetic.history(count=701)
    show(page, folder, history.assign_attrs(basin_edge=json.dumps(EDGE), berth_line=json.dumps(EDGE[:2])))
    assert page.text("#clock") == "0 min 00 s" and page.text("#phase") == "phase: take weight"
    for kind, count in ((".barge", 2), (".tug", 1), (".line", 1), (".thrust", 2), (".berth", 1), (".curve", 4)):
        assert page.script("return document.querySelectorAll(arguments[0]).length", f"svg {kind}") == count, kind
    page.press("#time", RIGHT)
    assert page.text("#clock") == "0 min 01 s" and page.script("return document.getElementById('time').value") == "1"
    page.press("#time", END)
    assert page.text("#clock") == "5 min 50 s" and page.text("#phase") == "ended: completed"
    assert page.script("return document.getElementById('time').getAttribute('aria-valuetext')") == (
        "5 min 50 s, ended: completed"
    )
    turn = page.script("return document.querySelector('g:has(> .barge)').transform.baseVal[1].angle")
    assert turn == pytest.approx(float(history["barge_heading"][-1]), abs=0.06)
    assert page.text("#readings").count("angle turned") == 1 and "184.0 deg" in page.text("#readings")
    page.press("#time", HOME)
    assert page.text("#clock") == "0 min 00 s"


def test_line_meets_both_hulls_and_shows_whether_it_is_taut(page: Page, folder: Path) -> None:
    history = synthetic.history(count=71).assign_attrs(barge_towing_offset=2.0)
    show(page, folder, history)
    ends = "const l = document.querySelector('.line'); return ['x1','y1','x2','y2'].map(k => Number(l.getAttribute(k)))"
    state = "return document.querySelector('.line').getAttribute('class')"
    assert page.script(state) == "line slack"
    page.script("const s = document.getElementById('time'); s.value = 30; s.dispatchEvent(new Event('input'))")
    assert page.script(state) == "line taut"
    x1, y1, x2, y2 = page.script(ends)
    found = scene_of(history)
    assert found is not None
    on_ground = [[x1, -y1], [x2, -y2]]
    np.testing.assert_allclose(on_ground, found.line_ends(30), atol=0.06)


def test_plays_pauses_and_stops_at_the_end(page: Page, folder: Path) -> None:
    show(page, folder, synthetic.history(count=701))
    page.script(
        "document.getElementById('pace').value = '160'; window.said = [];"
        "new MutationObserver(() => said.push(document.getElementById('announced').textContent))"
        ".observe(document.getElementById('announced'), { childList: true })"
    )
    page.click("#play")
    assert page.text("#play") == "Pause"
    deadline = time.monotonic() + 20.0
    while page.text("#play") == "Pause" and time.monotonic() < deadline:
        time.sleep(0.05)
    assert page.text("#play") == "Play" and page.text("#clock") == "5 min 50 s"
    said = "; ".join(page.script("return said"))
    assert "4 min 40 s: target heading first passed" in said and "4 min 44 s: steady from here" in said
    page.script("document.getElementById('pace').value = '1'")
    page.click("#play")  # from the beginning again
    page.click("#play")
    paused = page.text("#clock")
    assert paused in ("0 min 00 s", "0 min 01 s", "0 min 02 s")
    page.click("#forward")
    assert int(page.text("#clock")[6:8]) >= 10


def test_moments_and_curves_go_to_their_time(page: Page, folder: Path) -> None:
    show(page, folder, synthetic.history(count=701))
    where = page.script(
        "const b = [...document.querySelectorAll('#moments button')];"
        "const n = b.findIndex(x => x.parentElement.textContent.includes('first passed')); b[n].click(); return n"
    )
    assert where >= 0 and page.text("#clock") == "4 min 40 s"
    page.click("#graphs figure:nth-of-type(2) svg")  # its middle, a little before the middle of the time axis
    minutes, seconds = page.text("#clock").removesuffix(" s").split(" min ")
    assert 155 < 60 * int(minutes) + int(seconds) < 175
    cursors = page.script("return [...document.querySelectorAll('.cursor')].map(c => c.getAttribute('x1'))")
    assert len(cursors) == 4 and len(set(cursors)) == 1


def test_choices_hide_and_follow(page: Page, folder: Path) -> None:
    show(page, folder, synthetic.history(count=71))
    page.press("#time", END)
    seen = (
        "return [...document.querySelectorAll(arguments[0])]"
        ".filter(x => x.checkVisibility({ visibilityProperty: true })).length"
    )
    assert page.script(seen, ".swept") > 20
    whole = page.script("return document.getElementById('plan').getAttribute('viewBox')")
    for box in ("show-track", "show-swept", "show-thrust", "follow"):
        page.press(f"#{box}", " ")
    assert page.script(seen, ".swept") == page.script(seen, ".track") == page.script(seen, ".thrust") == 0
    assert page.script("return document.getElementById('plan').getAttribute('viewBox')") != whole


def test_what_has_the_focus_is_not_behind_the_controls(page: Page, folder: Path) -> None:
    page.size(420, 700)
    show(page, folder, synthetic.history(count=71))
    covered = page.script(
        "const found = [];"
        "for (const one of document.querySelectorAll('input, .moments button')) {"
        "  scrollTo(0, one.getBoundingClientRect().bottom + scrollY - innerHeight + 20);"
        "  one.focus({ preventScroll: true });"
        "  const b = one.getBoundingClientRect();"
        "  const top = document.elementFromPoint((b.left + b.right) / 2, (b.top + b.bottom) / 2);"
        "  if (top !== one && !one.contains(top)) { found.push(one.id || one.textContent); } }"
        "return found"
    )
    assert covered == []


@pytest.mark.parametrize("name", ["push", "one entry", "none", "no places", "holes"])
def test_whatever_is_missing_is_left_out(page: Page, folder: Path, name: str) -> None:
    pull = synthetic.history(count=30, outcome=8)
    holes = pull.copy()
    holes["tug_east"] = holes["tug_east"].where(holes["time"] > 100.0)
    holes["tug_heel"] = holes["tug_heel"].where(holes["time"] > 100.0)
    history = {
        "push": synthetic.history("swing_push", 30),
        "one entry": pull.isel(time=[0]),
        "none": pull.isel(time=slice(0, 0)),
        "no places": pull.drop_vars(["barge_north", "tug_heel", "phase"]),
        "holes": holes,
    }[name]
    show(page, folder, history)
    if name == "none":
        assert not page.script("return document.getElementById('moving').checkVisibility()")
        assert "Nothing moves: collided" in page.text("main")
        return
    page.press("#time", END)
    assert page.text("#phase").startswith("ended: ")
    if name == "push":
        assert page.script("return document.querySelector('.line').getAttribute('visibility')") == "hidden"
    if name == "holes":
        page.press("#time", HOME)
        assert "none" in page.text("#readings")
        assert page.script("return document.querySelector('g:has(> .tug)').getAttribute('visibility')") == "hidden"


@pytest.mark.parametrize("width", [1280, 420])
def test_can_be_read_in_any_width(page: Page, folder: Path, width: int) -> None:
    page.size(width, 1000)
    show(page, folder, synthetic.history(count=71))
    page.press("#time", END)
    for ratio, tag, words in page.script(CONTRAST):
        assert ratio >= 4.5, (tag, words)
    assert page.script("return document.documentElement.scrollWidth <= innerWidth")
    unnamed = page.script(
        "return [...document.querySelectorAll('button, input, select')]"
        ".filter(x => !x.textContent.trim() && !x.labels?.[0]?.textContent.trim()).length"
    )
    assert unnamed == 0


def test_little_motion_where_the_system_asks_for_it(tmp_path: Path) -> None:
    """Once a second at most: in 0.6 s of playing, nothing but the first picture has been shown."""
    with browser(tmp_path, "--force-prefers-reduced-motion") as calm:
        calm.open(write_player(synthetic.history(count=701), tmp_path / "page.html"))
        assert calm.script("return !document.getElementById('calm').hidden")
        calm.script(
            "window.times = new Set();"
            "new MutationObserver(() => times.add(document.getElementById('clock').textContent))"
            ".observe(document.getElementById('clock'), { childList: true });"
            "document.getElementById('play').click()"
        )
        time.sleep(0.6)
        assert len(calm.script("return [...times]")) <= 1
        time.sleep(1.2)
        assert len(calm.script("return [...times]")) <= 2
        assert calm.text("#clock") != "0 min 00 s"
