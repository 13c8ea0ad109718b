"""`towage history`: what it writes besides the printed figures."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests import synthetic
from toolkit.cli import main
from toolkit.figures import can_write_mp4


@pytest.fixture
def study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A study of one case, with an invented history in place of the engine's."""
    history = synthetic.history(count=12)
    channels = {str(name): np.asarray(values) for name, values in history.data_vars.items()}
    facts = {name: value for name, value in history.attrs.items() if isinstance(value, float)}
    monkeypatch.setattr(
        "toolkit.motion.history.case_history",
        lambda columns, setting: ({"time": history["time"].values, **channels}, {**facts, "outcome": 1.0}),
    )
    monkeypatch.setattr("toolkit.figures.draw_history", lambda history, folder: [])  # drawing takes long
    path = tmp_path / "basin.toml"
    path.write_text("title = 'Marrowby Basin, <one> case'\n", encoding="utf-8")
    return path


def written() -> set[str]:
    return {path.name for path in Path("results/basin/history-0").iterdir()}


def test_a_page_is_written_unless_something_else_is_asked_for(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["history", study.name]) == 0
    assert written() == {"history.nc", "moving.html"}
    assert "Marrowby Basin, &lt;one&gt; case" in Path("results/basin/history-0/moving.html").read_text(encoding="utf-8")
    assert str(Path("results/basin/history-0/moving.html")) in capsys.readouterr().out


def test_several_moving_pictures_may_be_asked_for(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["history", study.name, "--animate", "gif", "html", "--animate", "gif"]) == 0
    assert written() == {"history.nc", "moving.html", "moving.gif"}
    assert capsys.readouterr().out.count("moving.gif") == 1


def test_mp4_without_ffmpeg_is_refused_before_anything_is_done(
    study: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import matplotlib

    with matplotlib.rc_context({"animation.ffmpeg_path": "no-such-program"}):
        assert main(["history", study.name, "--animate", "html", "mp4"]) == 2
    assert "Install ffmpeg, or choose html or gif" in capsys.readouterr().err
    assert not Path("results").exists()


@pytest.mark.skipif(not can_write_mp4(), reason="ffmpeg is a system package, and is not on this machine")
def test_mp4_is_written_where_ffmpeg_is(study: Path) -> None:
    assert main(["history", study.name, "--animate", "mp4"]) == 0
    assert written() == {"history.nc", "moving.mp4"}


def test_a_word_that_is_not_known_is_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as leaving:
        main(["history", study.name, "--animate", "flipbook"])
    assert leaving.value.code == 2
    assert "choose from" in capsys.readouterr().err
