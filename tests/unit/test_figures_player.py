"""The page that plays a case: self-contained, escaped, and true to the history."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

import toolkit.figures
from tests import synthetic
from toolkit.errors import StudyError
from toolkit.figures import write_player
from toolkit.figures.player import SCRIPTS, player_page
from toolkit.figures.player_data import moments_of
from toolkit.figures.strips import strips_of
from toolkit.quantities import INPUTS

VOID = {"meta", "input", "br", "hr", "img", "link"}


class Reader(HTMLParser):
    """Takes a page apart: elements that are open, identifiers, text by element, and where addresses stand."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.attributes: list[tuple[str, dict[str, str | None]]] = []
        self.text: dict[str, list[str]] = {}
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, f"</{tag}> where {self.open[-3:]} are open"
        self.open.pop()

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.setdefault(self.open[-1] if self.open else "", []).append(data)

    def words(self) -> str:
        return " ".join(" ".join(found) for tag, found in self.text.items() if tag not in ("script", "style"))


def data_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="history">(.*?)</script>', page, re.DOTALL)
    assert found
    return json.loads(found[1])


def test_page_is_well_formed_and_refers_to_nothing_outside() -> None:
    page = player_page(synthetic.history(count=30))
    reader = Reader(page)
    assert reader.open == []
    identifiers = [attributes["id"] for _, attributes in reader.attributes if "id" in attributes]
    assert len(set(identifiers)) == len(identifiers)
    for tag, attributes in reader.attributes:
        assert not {"src", "href", "srcset", "action", "style", "data"} & set(attributes), tag
        assert not [name for name in attributes if name.startswith("on")], tag
    assert set(re.findall(r"https?://[^\s\"'<)]+", page)) == {"http://www.w3.org/2000/svg"}
    assert "url(" not in page and "@import" not in page and "fetch(" not in page


def test_policy_allows_this_script_and_style_and_nothing_else() -> None:
    page = player_page(synthetic.history(count=10))
    policy = next(a["content"] for tag, a in Reader(page).attributes if tag == "meta" and "http-equiv" in a)
    assert policy is not None and policy.startswith("default-src 'none'") and "unsafe" not in policy
    for tag in ("style", "script"):
        bodies = re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        assert len(bodies) == 1
        digest = base64.b64encode(hashlib.sha256(bodies[0].encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy


def test_words_of_a_history_are_never_markup() -> None:
    evil = "</script><script>alert(1)</script><!-- <b>&amp;\"' \u2028 $title"
    history = synthetic.history(count=10).assign_attrs(
        title=evil, cautions=evil, directions=evil, commit=evil, outcome=evil
    )
    page = player_page(history.assign_coords(manoeuvre=evil))
    reader = Reader(page)
    assert sum(tag == "script" for tag, _ in reader.attributes) == 2
    assert not any(tag == "b" for tag, _ in reader.attributes)
    assert reader.words().count(evil) >= 4
    assert data_of(page)["outcome"] == evil
    embedded = page[page.index('id="history">') : page.index("</script>", page.index('id="history">'))]
    assert not set("<>&\u2028") & set(embedded.removeprefix('id="history">'))


@pytest.mark.parametrize("manoeuvre", ["swing_pull", "swing_push"])
def test_data_are_the_history_in_users_units(manoeuvre: str) -> None:
    history = synthetic.history(manoeuvre, 50)
    data = data_of(player_page(history))
    columns = data["columns"]
    np.testing.assert_allclose(data["time"], history["time"], atol=0.006)
    np.testing.assert_allclose(columns["swing_rate"], 60.0 * history["swing_rate"], atol=0.006)
    np.testing.assert_allclose(columns["tug_heel"], history["tug_heel"], atol=0.06)
    np.testing.assert_allclose(columns["barge_north"], history["barge_north"], atol=0.006)
    force = "line_tension" if manoeuvre == "swing_pull" else "contact_force"
    np.testing.assert_allclose(columns[force], history[force] / synthetic.TONNE_FORCE, atol=0.006)
    np.testing.assert_allclose(columns["port drive"], history["thrust_port"] / synthetic.TONNE_FORCE, atol=0.006)
    assert (data["scene"]["line"] is None) == (manoeuvre == "swing_push")
    assert {strip["column"] for strip in data["strips"]} == {"angle_turned", "swing_rate", "tug_heel", force}
    for named in (*data["strips"], *data["readings"]):
        assert len(columns[named["column"]]) == 50
    west, south, east, north = data["scene"]["view"]
    assert west < history["tug_east"].min() and east > history["tug_east"].max()
    assert south < history["tug_north"].min() and north > history["tug_north"].max()


def test_page_says_what_a_decision_needs() -> None:
    history = synthetic.history(count=40, outcome=8).assign_attrs(range_flags=5)
    words = Reader(player_page(history)).words().casefold()
    for told in (
        "collided", "Girting", "Snap-back", "Local rules", "from 240 deg", "to 090 deg", "Wind comes FROM",
        "study 0123456789abcdef", "peak heel over deck-edge angle ≤ 0.67", "shallow added mass, tug family",
        "deck edge 13 deg, either side", "line's MBL 75 t, off the scale", "drift distance", "16 m",
        "target heading first passed", "ended: collided", "largest tension on record", "phase: check",
    ):  # fmt: skip
        assert told.casefold() in words, told
    for name in ("bollard_pull", "wind_from"):
        assert INPUTS[name].long_name.casefold() in words


def test_moments_are_in_order_and_their_peaks_are_those_of_the_record() -> None:
    history = synthetic.history(count=80)
    moments = moments_of(history, strips_of(history))
    assert [one.time for one in moments] == sorted(one.time for one in moments)
    at = next(one.time for one in moments if one.words.startswith("largest tension"))
    assert at == history["time"].values[np.argmax(history["line_tension"].values)]


def test_surroundings_are_in_the_plan() -> None:
    edge = [[-75, -60], [75, -60], [75, 60], [-75, 60]]
    history = synthetic.history(count=30).assign_attrs(
        basin_edge=json.dumps(edge), basin_shoals=json.dumps([edge]), berth_line=json.dumps(edge[:2])
    )
    page = player_page(history)
    scene = data_of(page)["scene"]
    turned = [[east, north] for north, east in edge]
    assert scene["edge"] == turned and scene["shoals"] == [turned] and scene["berth"] == turned[:2]
    for told in ("Dashed: edge of the basin", "grey area: shoal", "heavy grey line: berth"):
        assert told in page
    with pytest.raises(StudyError, match="berth_line"):
        player_page(history.assign_attrs(berth_line="[1]"))


def test_limits_may_be_given() -> None:
    words = Reader(player_page(synthetic.history(count=20), limits={"drift_distance": 12.0})).words()
    assert "≤ 12 m" in words and "≤ 0.67" not in words


def test_little_or_nothing_is_told_as_that(tmp_path: Path) -> None:
    whole = synthetic.history(count=20, outcome=9)
    missing = whole.copy()
    for name in missing.data_vars:
        missing[name] = missing[name].astype(float) * np.nan
    bare = xr.Dataset(coords={"time": [0.0, 1.0]})
    for history in (whole.isel(time=[0]), missing, bare, xr.Dataset()):
        data = data_of(player_page(history))
        assert data["scene"] is None or history.sizes["time"] == 1
    page = write_player(whole.isel(time=slice(0, 0)), tmp_path / "new" / "page.html").read_text(encoding="utf-8")
    assert "Nothing moves: aground" in page and 'aria-labelledby="moving-heading" hidden' in page
    assert "Screening aid only" in page and data_of(page)["time"] == []


def test_the_same_history_gives_the_same_page() -> None:
    assert player_page(synthetic.history(count=25)) == player_page(synthetic.history(count=25))


def test_parts_of_the_page_are_beside_the_module_and_are_kept() -> None:
    folder = Path(toolkit.figures.__file__).parent / "player_page"
    assert {path.name for path in folder.iterdir()} == {"page.html", "page.css", *SCRIPTS}
    for path in folder.iterdir():
        assert path.read_text(encoding="utf-8").count("$") == 0 or path.name in ("page.html", *SCRIPTS)


def test_the_script_uses_no_name_that_would_let_text_become_markup_or_code() -> None:
    folder = Path(toolkit.figures.__file__).parent / "player_page"
    for name in SCRIPTS:
        text = (folder / name).read_text(encoding="utf-8")
        for forbidden in ("innerHTML", "outerHTML", "insertAdjacent", "document.write", "eval(", "Function(", "http:"):
            assert forbidden not in text.replace('"http://www.w3.org/2000/svg"', ""), (name, forbidden)


def test_gusts_are_told_where_there_are_any() -> None:
    steady = synthetic.history(count=20)
    for factor, told in ((np.ones(20), False), (np.linspace(0.8, 1.3, 20), True)):
        data = data_of(player_page(steady.assign(gust=("time", factor))))
        assert any(reading["column"] == "gust" for reading in data["readings"]) is told
