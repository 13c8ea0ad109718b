"""A case as a moving picture: GIF, or MP4 where ffmpeg is at hand (floor 6)."""

from __future__ import annotations

import math
import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.execution.whole import write_whole
from toolkit.figures.moving_view import DOTS, HEIGHT, INKS, WIDTH, MovingView, Picture
from toolkit.figures.style import CAUTION, drawing
from toolkit.findings.reading import provenance

if TYPE_CHECKING:
    import xarray as xr
    from PIL import Image

__all__ = ["animate_history", "can_write_mp4", "chosen_entries"]

FRAMES_PER_SECOND = 10.0
DURATION = 20.0
"""Usual length of a moving picture [s]."""

MOST_FRAMES = 600
"""More would make a file too large to send and slow to write."""

HOLD = 2.0
"""Time for which the last picture stands [s]."""

BLENDS = 4
"""Steps from an ink to white in the palette of a GIF, for the edges of letters and lines."""


def can_write_mp4() -> bool:
    """Whether matplotlib finds ffmpeg on this machine."""
    from matplotlib.animation import FFMpegWriter

    return bool(FFMpegWriter.isAvailable())


def chosen_entries(entries: int, frames: int) -> NDArray[np.int64]:
    """Entries of a history that become pictures: evenly spread, first and last included, each once."""
    return np.unique(np.linspace(0, entries - 1, min(frames, entries)).round().astype(np.int64))


def animate_history(
    history: xr.Dataset,
    path: str | Path,
    *,
    frames_per_second: float = FRAMES_PER_SECOND,
    duration: float = DURATION,
    limits: object | None = None,
) -> Path:
    """Write one case as a moving picture: plan view, clock, and strips of turn, rate, heel and force.

    Parameters
    ----------
    history : xarray.Dataset
        As :func:`toolkit.history` returns it: channels along ``time``, facts as
        attributes or scalar variables. Channels that are missing or do not
        apply are left out; without any entry a single picture says why.
    path : path
        File to write; its suffix, ``.gif`` or ``.mp4``, says what. Its folder is
        made, a file of the same name replaced.
    frames_per_second : float
        1 to 50; a GIF keeps time in hundredths of a second.
    duration : float
        How long it plays [s], 1 to 120, before the last picture stands for 2 s.
        A history of fewer entries than pictures plays for less.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the attribute ``limits``.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    StudyError
        For another suffix, for numbers that are out of range, for MP4 without
        ffmpeg, and for surroundings or limits that cannot be read.
    StoreError
        If ffmpeg fails. No file is left behind.
    """
    place = Path(path)
    _check(place, frames_per_second, duration)
    places = chosen_entries(int(history.sizes.get("time", 0)), round(frames_per_second * duration))
    comment = f"{provenance(history.attrs)} {CAUTION}"
    with drawing():
        view = MovingView(history, limits)
        place.parent.mkdir(parents=True, exist_ok=True)
        if place.suffix.lower() == ".gif":
            _write_gif(place, view.pictures(places), frames_per_second, comment)
        else:
            _write_mp4(place, view.pictures(places), frames_per_second, comment)
    return place


def _check(place: Path, frames_per_second: float, duration: float) -> None:
    """Refuse what cannot be written, all of it at once."""
    problems = []
    if place.suffix.lower() not in (".gif", ".mp4"):
        problems.append(
            Problem(where=str(place), what=f"{place.suffix or 'no suffix'!r} is no moving picture that is written here",
                    remedy="Name a .gif or .mp4; write_player writes an .html")
        )  # fmt: skip
    elif place.suffix.lower() == ".mp4" and not can_write_mp4():
        problems.append(
            Problem(where=str(place), what="ffmpeg is not on this machine", why="MP4 is written through it",
                    remedy="Install ffmpeg, or name a .gif")
        )  # fmt: skip
    for name, value, unit, low, high in (
        ("frames_per_second", frames_per_second, "1/s", 1.0, 50.0),
        ("duration", duration, "s", 1.0, 120.0),
    ):
        if not (low <= value <= high):
            problems.append(
                Problem(where="animation", what=f"{name} = {value:g} {unit} is outside [{low:g}, {high:g}] {unit}",
                        remedy="Give a number inside")
            )  # fmt: skip
    if not problems and frames_per_second * duration > MOST_FRAMES:
        problems.append(
            Problem(where="animation", why="the file would be large and slow to write",
                    what=f"{frames_per_second:g} pictures a second for {duration:g} s are more than {MOST_FRAMES}",
                    remedy="Lower the one or the other")
        )  # fmt: skip
    if problems:
        raise StudyError(problems)


def _write_gif(place: Path, pictures: Iterator[Picture], frames_per_second: float, comment: str) -> None:
    """Write pictures in one palette, which keeps a GIF small: what does not change is not stored again."""
    from PIL import Image

    palette = _palette()
    images = [Image.fromarray(picture).quantize(palette=palette, dither=Image.Dither.NONE) for picture in pictures]
    step = 10 * max(round(100.0 / frames_per_second), 2)
    made = BytesIO()
    images[0].save(
        made, format="GIF", save_all=True, append_images=images[1:], optimize=True, loop=0,
        duration=[*([step] * (len(images) - 1)), max(step, round(1000.0 * HOLD))],
        comment=comment.encode("ascii", "replace"),
    )  # fmt: skip
    write_whole(place, made.getvalue())


def _palette() -> Image.Image:
    """Palette of all pictures: greys, and every ink in steps to white."""
    from matplotlib.colors import to_rgb
    from PIL import Image

    inks = 255.0 * np.array([to_rgb(ink) for ink in INKS])
    blends = [255.0 - share * (255.0 - ink) for ink in inks for share in np.linspace(1.0, 0.0, BLENDS, endpoint=False)]
    greys = [np.full(3, level) for level in np.linspace(0.0, 255.0, 24)]
    colours = np.unique(np.round([*blends, *greys]).astype(np.uint8), axis=0)
    made = Image.new("P", (1, 1))
    made.putpalette(colours.ravel().tolist())
    return made


def _write_mp4(place: Path, pictures: Iterator[Picture], frames_per_second: float, comment: str) -> None:
    """Hand pictures to ffmpeg through matplotlib; the file appears only once it is whole."""
    from matplotlib.animation import FFMpegWriter
    from matplotlib.figure import Figure

    class Painted(Figure):
        """A figure that is painted already: what it saves is the picture that it holds."""

        picture = np.zeros((HEIGHT, WIDTH, 3), dtype=np.uint8)

        def savefig(self, fname: Any, **how: Any) -> None:
            opaque = np.full((HEIGHT, WIDTH, 1), 255, dtype=np.uint8)
            fname.write(np.concatenate((self.picture, opaque), axis=2).tobytes())

    writer = FFMpegWriter(fps=frames_per_second, codec="h264", metadata={"comment": comment})  # type: ignore[arg-type]
    painted = Painted(figsize=(WIDTH / DOTS, HEIGHT / DOTS), dpi=DOTS)
    with TemporaryDirectory() as folder:
        made = Path(folder) / "moving.mp4"
        try:
            writer.setup(painted, str(made), dpi=DOTS)
            for picture in pictures:
                painted.picture = picture
                writer.grab_frame()
            for _ in range(math.ceil(HOLD * frames_per_second)):
                writer.grab_frame()
            writer.finish()
        except (OSError, subprocess.CalledProcessError) as error:
            said = str(getattr(error, "stderr", "") or error).strip().splitlines()
            raise StoreError(
                f"{place}: ffmpeg could not write it ({said[0] if said else 'it said nothing'}). "
                "Use a build of ffmpeg with H.264, or write a .gif."
            ) from error
        write_whole(place, made.read_bytes())
