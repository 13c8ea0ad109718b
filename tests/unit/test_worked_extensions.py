"""The worked extensions of the developers' guide, put into a copy of the package word for word, and tried there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
GUIDE = REPOSITORY / "DEVELOPERS.md"
BLOCK = re.compile(r"^```(python|diff) file=(\S+)\n(.*?)^```$", re.DOTALL | re.MULTILINE)


def blocks() -> list[tuple[str, str, str]]:
    """Kind, file and text of every worked block of the guide."""
    return [(found[1], found[2], found[3]) for found in BLOCK.finditer(GUIDE.read_text(encoding="utf-8"))]


def changed(text: str, diff: str) -> str:
    """Text with a diff of one hunk applied; what it takes for granted must stand there once."""
    lines = diff.splitlines(keepends=True)
    before = "".join(line[1:] for line in lines if line[0] in " -")
    after = "".join(line[1:] for line in lines if line[0] in " +")
    assert text.count(before) == 1, f"stands there {text.count(before)} times:\n{before}"
    return text.replace(before, after)


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the package as the guide extends it."""
    folder = tmp_path_factory.mktemp("extended")
    shutil.copytree(REPOSITORY / "toolkit", folder / "toolkit", ignore=shutil.ignore_patterns("__pycache__"))
    for kind, name, text in blocks():
        path = folder / name
        if kind == "python":
            assert not path.exists(), f"{name} is there already: the example needs another name"
            path.write_text(text, encoding="utf-8")
        else:
            path.write_text(changed(path.read_text(encoding="utf-8"), text), encoding="utf-8")
    return folder


def tried(copy: Path, script: str) -> str:
    """What a script prints that runs against the extended package, with the kernels in plain Python."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(copy), str(REPOSITORY)])}
    opening = f"import toolkit; assert toolkit.__file__.startswith({str(copy)!r}), toolkit.__file__\n"
    done = subprocess.run(
        [sys.executable, "-c", opening + script], env=environment, cwd=copy, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_guide_holds_three_worked_extensions() -> None:
    new = {name for kind, name, _ in blocks() if kind == "python"}
    assert new == {
        "toolkit/loads/drogue.py", "toolkit/motion/manoeuvres/swing_nudge.py", "toolkit/findings/slowest.py",
    }  # fmt: skip
    assert sum(kind == "diff" for kind, _, _ in blocks()) >= 7


def test_a_load(copy: Path) -> None:
    tried(
        copy,
        """
import math
from tests.one_case import REFERENCE, Lane, columns_of
from toolkit.loads.drogue import drogue
from toolkit.motion.energy import energy_balance

# by hand: 2 m/s ahead, 0.5 m/s across at the place, so sqrt(4.25) m/s
ahead, side, moment = drogue(2.0, 0.2, -0.01, -30.0, 100.0)
assert math.isclose(ahead, -100.0 * math.sqrt(4.25) * 2.0) and math.isclose(side, -100.0 * math.sqrt(4.25) * 0.5)
assert math.isclose(moment, -30.0 * side)
assert drogue(0.0, 0.0, 0.0, -30.0, 100.0)[0] == 0.0
assert drogue(2.0, -0.2, 0.01, -30.0, 100.0) == (ahead, -side, -moment)  # mirror

rates = [Lane(manoeuvre="tow_ahead", drogue_area=area, **REFERENCE).set(barge_surge=1.5).rates().barge_surge
         for area in (0.0, 10.0)]
mass = Lane(manoeuvre="tow_ahead", **REFERENCE).parameters().barge_surge_mass
assert math.isclose((rates[0] - rates[1]) * mass, 0.5 * 1025.0 * 1.2 * 10.0 * 1.5**2, rel_tol=1e-6)

balance = energy_balance(columns_of(manoeuvre="tow_ahead", displacement=1e6, start_speed=1.5, drogue_area=20.0,
                                    time_limit=10.0), plain=True)
assert balance.share < 0.001, balance.share
""",
    )


@pytest.mark.slow
def test_a_manoeuvre(copy: Path) -> None:
    told = tried(
        copy,
        """
import math
from tests.one_case import columns_of
from toolkit.motion.energy import energy_balance
from toolkit.motion.layout import STATE_ROW
from toolkit.motion.manoeuvres import MANOEUVRES

assert list(MANOEUVRES)[-1] == "swing_nudge"
turned = []
for way in ("starboard", "port"):
    balance = energy_balance(columns_of(manoeuvre="swing_nudge", displacement=3e5, target_angle=30.0, turn=way,
                                        time_limit=30.0), plain=True)
    assert balance.share < 0.005, balance.share
    assert balance.works["fender_loss"] < 0.0 and balance.works["line_loss"] == 0.0
    turned.append(math.degrees(balance.final[STATE_ROW.turned]))
print(*turned)
""",
    )
    starboard, port = map(float, told.split())
    assert starboard == pytest.approx(port, rel=1e-6)  # the mirror image
    assert 1.0 < starboard < 40.0


def test_a_finding(copy: Path) -> None:
    tried(
        copy,
        """
import numpy as np
from tests import synthetic
from toolkit.findings import apply_limits
from toolkit.findings.slowest import slowest, slowest_table

axes = {"bollard_pull": np.array([20.0, 60.0]) * synthetic.TONNE_FORCE, "displacement": np.array([4e5, 9e5, 2e6])}
results = synthetic.results(axes)
judged = apply_limits(results, {})
found = slowest(results, judged, "bollard_pull")
times = results["end_time"].transpose("bollard_pull", "displacement").values
passes = judged["passes"].transpose("bollard_pull", "displacement").values
wanted = [max(row[ok]) if ok.any() else np.nan for row, ok in zip(times, passes)]
np.testing.assert_allclose(found["end_time"], wanted)
assert found["run"].values.tolist() == [3, 3]
text = slowest_table(found, judged, "bollard_pull").to_markdown()
assert "Girting" in text and "slowest that passes [min]" in text and "Runs:" in text
none = slowest(results, apply_limits(results, {"end_time": 1.0}), "bollard_pull")
assert np.isnan(none["end_time"]).all() and not none["passing"].any()
""",
    )


def test_a_diff_that_no_longer_fits_is_seen() -> None:
    assert changed("a\nb\nc\n", " a\n-b\n+d\n") == "a\nd\nc\n"
    with pytest.raises(AssertionError, match="0 times"):
        changed("a\nc\n", " a\n-b\n+d\n")
    with pytest.raises(AssertionError, match="2 times"):
        changed("a\na\n", " a\n+d\n")
