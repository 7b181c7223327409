"""Moving pictures as files: .gif, .mp4, or a page with a player."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.fields.quantity import Quantity
from archerysim.show.motion.scene import Scene

if TYPE_CHECKING:
    from archerysim.shot.flight.bare_shaft import BareDifference
    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.launch import Launch

MOVING = (".html", ".gif", ".mp4")
GIF_FRAMES = 80
GIF_SHORTEST = 0.02  # of one picture [s]; browsers slow down shorter ones
GIF_TICK = 0.01  # in which a .gif counts [s]
HELD = 2.0  # how long the last picture stays [s]
MOST_FRAMES = 1000
SLOW = Quantity(text="how many times slower than real", low="1", high="100000")
GIF_DOTS, MP4_DOTS = 75, 150  # [1/in]: 960 and 1920 wide
COLORS = 96  # of a .gif's picture


def animate(
    launch: Launch,
    path: str | os.PathLike[str],
    *,
    left_handed: bool | None = None,
    frames: int | None = None,
    slow: float | None = None,
) -> Path:
    """Write the release as a moving picture: bow, nock, rest, fingers and arrow from full draw until clear.

    A shot in both planes is shown from the side and from above, and along the shaft from behind the archer.

    Parameters
    ----------
    launch : Launch
        With its trace.
    path : path
        ``.html`` (a page with a player; needs nothing else), ``.gif``, or ``.mp4`` (needs ffmpeg).
    left_handed : bool, optional
        Mirrored, the target to the left; by default as ``archer.handed`` says.
    frames : int, optional
        Pictures, 2 to 1000, out of those that the launch keeps; by default all, 80 for a .gif.
    slow : float, optional
        How many times slower than real, 1 to 100000; by default so that it lasts about 8 s.

    Returns
    -------
    Path
        The file, written whole or not at all.

    Raises
    ------
    SetupError
        If the file cannot be written, ffmpeg is missing, or frames or slow are out of range.
    UsageError
        If the launch has no trace.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> from tempfile import TemporaryDirectory
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> with TemporaryDirectory() as folder:
    ...     show.animate(launch, f"{folder}/shot.html", frames=4).name
    'shot.html'
    """
    from archerysim.show.motion.release import release_scene

    return _write(
        lambda count: release_scene(launch, left_handed=left_handed, frames=count, slow=slow), path, frames, slow
    )


def animate_flight(
    flights: Flight | BareDifference | Sequence[Flight],
    path: str | os.PathLike[str],
    *,
    names: Sequence[str] | None = None,
    left_handed: bool | None = None,
    frames: int | None = None,
    slow: float | None = None,
) -> Path:
    """Write flights as a moving picture: the way to the target with the drop taken out, each arrow close beside it.

    Up and down are enlarged as printed; the shaft's attitude is enlarged with them. The close-ups are not enlarged.

    Parameters
    ----------
    flights : Flight, BareDifference or sequence of Flight
        One to three, to the same distance. What ``archerysim.shot.flight.range_cautions`` says of them is printed.
    path : path
        As for `animate`.
    names : sequence of str, optional
        Of the flights; "fletched" and "bare" if left out.
    left_handed : bool, optional
        Mirrored, the target to the left; by default as the flights' archer draws.
    frames : int, optional
        Pictures, 2 to 1000.
    slow : float, optional
        How many times slower than real, 1 to 100000; by default so that it lasts about 8 s.

    Returns
    -------
    Path
        The file, written whole or not at all.

    Raises
    ------
    SetupError
        If the file cannot be written, ffmpeg is missing, or frames or slow are out of range.
    UsageError
        If the flights do not belong together.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> from tempfile import TemporaryDirectory
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"), mesh="coarse")
    >>> with TemporaryDirectory() as folder:
    ...     show.animate_flight(archerysim.bare_difference(launch, "18 m"), f"{folder}/flight.html", frames=4).name
    'flight.html'
    """
    from archerysim.show.motion.flight import flight_scene

    return _write(
        lambda count: flight_scene(flights, names=names, left_handed=left_handed, frames=count, slow=slow),
        path, frames, slow,
    )  # fmt: skip


def check_motion(
    path: str | os.PathLike[str], frames: int | None, slow: float | None, field: str = "path",
    still: tuple[str, ...] = (),
) -> None:  # fmt: skip
    """Refuse a moving picture that could not be written, before any work is done.

    Parameters
    ----------
    path, frames, slow
        As for `animate`.
    field : str
        What the error names ("path", "out").
    still : tuple of str
        Endings of still pictures that will do too; they have no frames and are not slow.

    Raises
    ------
    SetupError
    """
    from archerysim.errors import SetupError
    from archerysim.fields.file_writing import check_target
    from archerysim.fields.given import whole_number

    check_target(path, field, MOVING + still)
    ending = Path(path).suffix.lower()
    if ending == ".mp4":
        _need_ffmpeg(field)
    for name, value in (("frames", frames), ("slow", slow)):
        if value is not None and ending in still:
            raise SetupError(
                name, f"{Path(path).name!r} is a still picture", f"Leave it out, or use {' or '.join(MOVING)}"
            )
    if frames is not None:
        whole_number("frames", frames, "a number of pictures", 2, MOST_FRAMES)
    if slow is not None:
        SLOW.read("slow", slow)


def _write(
    make: Callable[[int | None], Scene], path: str | os.PathLike[str], frames: int | None, slow: float | None
) -> Path:
    """Check everything first, then make the scene and write it."""
    from archerysim.fields.file_writing import write_bytes

    check_motion(path, frames, slow)
    ending = Path(path).suffix.lower()
    scene = make(GIF_FRAMES if frames is None and ending == ".gif" else frames)
    if ending == ".html":
        from archerysim.show.motion.player import player

        film = player(scene).encode()
    else:
        film = (_gif if ending == ".gif" else _mp4)(scene)
    write_bytes(path, film, "path")
    return Path(path)


def _need_ffmpeg(field: str) -> None:
    """Refuse an .mp4 where it cannot be made.

    Raises
    ------
    SetupError
    """
    from matplotlib.animation import FFMpegWriter

    from archerysim.errors import SetupError

    if not FFMpegWriter.isAvailable():
        raise SetupError(field, "an .mp4 needs the program ffmpeg, which is missing here", "Use .html or .gif")


def _gif(scene: Scene) -> bytes:
    """Every instant drawn into a .gif; the last stays a while."""
    from io import BytesIO

    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image

    from archerysim.errors import SetupError
    from archerysim.show.motion.paint import Painter

    count = scene.time.size
    lasts = scene.slow * float(scene.time[-1]) / (count - 1)
    if lasts < GIF_SHORTEST:
        raise SetupError(
            "frames", f"{count} pictures would follow each other in {1e3 * lasts:.1f} ms; a .gif shows at most "
            f"{1.0 / GIF_SHORTEST:.0f} a second", "Give fewer frames, or a larger slow",
        )  # fmt: skip
    painter = Painter(scene)
    painter.figure.set_dpi(GIF_DOTS)
    canvas: Any = FigureCanvasAgg(painter.figure)

    def picture(frame: int) -> Image.Image:
        painter.draw(frame)
        canvas.draw()
        dots = np.asarray(canvas.buffer_rgba())[..., :3].copy()
        return Image.fromarray(dots).quantize(COLORS, dither=Image.Dither.NONE)

    tick = round(1e3 * GIF_TICK)
    duration = [tick * round(lasts / GIF_TICK)] * (count - 1) + [round(1e3 * HELD)]
    film = BytesIO()
    others = (picture(k) for k in range(1, count))
    picture(0).save(film, format="GIF", save_all=True, append_images=others, duration=duration, loop=0)
    return film.getvalue()


def _mp4(scene: Scene) -> bytes:
    """Every instant drawn and handed to ffmpeg, which writes into a folder of its own; the last stays a while."""
    import subprocess
    import tempfile

    from matplotlib.animation import FFMpegWriter

    from archerysim.errors import SetupError
    from archerysim.show.motion.paint import Painter

    count = scene.time.size
    lasts = scene.slow * float(scene.time[-1]) / (count - 1)
    painter = Painter(scene)
    writer = FFMpegWriter(fps=1.0 / lasts)  # type: ignore[arg-type]
    try:
        with tempfile.TemporaryDirectory(prefix="archerysim-") as folder:
            film = Path(folder) / "film.mp4"
            with writer.saving(painter.figure, os.fspath(film), MP4_DOTS):
                for frame in [*range(count), *[count - 1] * math.ceil(HELD / lasts)]:
                    painter.draw(frame)
                    writer.grab_frame()
            return film.read_bytes()
    except (OSError, subprocess.CalledProcessError) as error:
        why = error.strerror if isinstance(error, OSError) else f"it ended with status {error.returncode}"
        raise SetupError(
            "path", f"ffmpeg made no film ({why})", "Make room for temporary files, or use .html or .gif"
        ) from None
