"""Studies and stores are data: nothing in them becomes code, and nothing is written outside the folder that is named.

That no module calls what turns text or bytes into code is in `tests/unit/test_structure.py`; that every word on a page
of HTML is escaped is in `tests/unit/test_report.py` and `tests/unit/test_figures_player.py`, and end to end below.
"""

from __future__ import annotations

import json
import pickle
import shutil
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zarr

from tests.fake_engine import MODEL
from toolkit.cli import main
from toolkit.errors import StoreError
from toolkit.execution.results import open_results

EVIL = "</script><script>alert('girt')</script><img src=x onerror=alert(1)>../../../outside\u2028"
STUDY = """
title = {title}
[tug]
bollard_pull = ["10 t", "30 t"]
[environment]
wind_speed = ["0 kn", "20 kn"]
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
"""


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder deep in another, which is the working folder, with a store by formulas in it."""
    for module in ("runner", "records"):
        monkeypatch.setattr(f"toolkit.execution.{module}.current_model", lambda: MODEL)
    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 30)
    folder = tmp_path / "a" / "b" / "c"
    folder.mkdir(parents=True)
    monkeypatch.chdir(folder)
    Path("basin.toml").write_text(STUDY.format(title=json.dumps(EVIL)), encoding="utf-8")
    assert main(["run", "basin.toml", "--serial", "--no-progress"]) == 0
    return folder


def outside(folder: Path) -> set[str]:
    """Everything in the folders above."""
    top = folder.parents[2]
    return {str(path.relative_to(top)) for path in top.rglob("*") if folder not in path.parents}


class Tags(HTMLParser):
    """What a browser would take for elements."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(tag)
        assert not any(name.startswith("on") for name, _ in attrs)


@pytest.mark.slow
@pytest.mark.parametrize("user", ["port_authority", "consultant", "researcher"])
def test_words_of_a_study_stay_words_on_the_page(place: Path, user: str) -> None:
    assert main(["report", "results/basin.zarr", "--user", user, "--histories", "0"]) == 0
    page = Path(f"results/basin/report_{user}.html").read_text(encoding="utf-8")
    assert "alert('girt')</script>" not in page
    assert Tags(page).found.count("script") == 2  # the data, and the page's own


@pytest.mark.slow
def test_words_in_a_store_cannot_name_a_file_outside_the_folder(place: Path) -> None:
    before = outside(place)
    names = zarr.open_group("results/basin.zarr", mode="r+")["manoeuvre"]
    assert isinstance(names, zarr.Array)
    names[...] = np.array(["../../../../up", "/" + "up/and/away"], dtype=np.dtypes.StringDType())
    for verb in (["envelope"], ["compare"], ["requirement"], ["report", "--user", "consultant", "--histories", "0"]):
        output = ["--output", "out/page.html" if verb[0] == "report" else "out"]
        assert main([verb[0], "results/basin.zarr", *verb[1:], *output]) in (0, 2, 3)
    assert outside(place) == before
    assert {path.name for path in place.iterdir()} <= {"basin.toml", "results", "out"}


class Bomb:
    """Writes a file where it is unpickled."""

    def __reduce__(self) -> tuple[Any, ...]:
        return Path.touch, (Path("unpickled"),)


def _as_version_2(store: Path) -> None:
    """An array of objects of Zarr's second version, unpickled by whoever trusts it."""
    shutil.rmtree(store / "peak_heel" / "c")
    (store / "peak_heel" / "zarr.json").unlink()
    array = {"zarr_format": 2, "shape": [2, 2, 2], "chunks": [2, 2, 2], "dtype": "|O", "fill_value": None, "order": "C",
             "filters": [{"id": "pickle", "protocol": 5}], "compressor": None, "dimension_separator": "."}  # fmt: skip
    (store / "peak_heel" / ".zarray").write_text(json.dumps(array), encoding="utf-8")
    (store / "peak_heel" / "0.0.0").write_bytes(pickle.dumps(Bomb()))


def _as_codec(store: Path) -> None:
    """The same through a codec of the third version."""
    document = store / "peak_heel" / "zarr.json"
    content = json.loads(document.read_bytes())
    content["codecs"] = [{"name": "numcodecs.pickle", "configuration": {"protocol": 5}}]
    document.write_text(json.dumps(content), encoding="utf-8")
    for file in (store / "peak_heel" / "c").rglob("*"):
        if file.is_file():
            file.write_bytes(pickle.dumps(Bomb()))


def _as_type(store: Path) -> None:
    """Objects as the type of an array."""
    document = store / "peak_heel" / "zarr.json"
    content = json.loads(document.read_bytes()) | {"data_type": "|O"}
    document.write_text(json.dumps(content), encoding="utf-8")


def _as_group(store: Path) -> None:
    """The whole store of the second version."""
    (store / "zarr.json").unlink()
    (store / ".zgroup").write_text('{"zarr_format": 2}', encoding="utf-8")


@pytest.mark.parametrize("harm", [_as_version_2, _as_codec, _as_type, _as_group])
def test_a_store_with_objects_in_it_is_refused_and_nothing_is_unpickled(
    harm: Any, place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = Path("results", "basin.zarr")
    harm(store)
    with pytest.raises(StoreError, match=r"basin\.zarr"):
        open_results(store).load()
    assert main(["export", str(store), "--csv", "a.csv"]) == 3
    assert main(["run", "basin.toml", "--serial", "--no-progress"]) == 3
    assert "basin.zarr" in capsys.readouterr().err
    assert not Path("unpickled").exists() and not Path("a.csv").exists()


@pytest.mark.parametrize("name", ["..", ".", "../../../up", "é/../../up"])
def test_the_store_of_a_study_without_one_lies_below_results(place: Path, name: str) -> None:
    from toolkit.execution.layout import default_store
    from toolkit.study import parse_study

    study = parse_study(STUDY.format(title='"x"'), name=name)
    store = default_store(study)
    assert store.resolve().parent == (place / "results").resolve() and store.suffix == ".zarr"
