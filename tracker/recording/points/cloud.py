"""Points from LAS and LAZ scans."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from tracker.errors import InputError
from tracker.recording.points.extras import survey_library
from tracker.recording.points.parsed import Floats, Parsed, Progress, in_silence

_AT_ONCE = 1_000_000
MOST_POINTS = 200_000_000
NOISE = (7, 18)  # classes low and high noise (ASPRS LAS 1.4, table 17; from memory, unconfirmed)


def read_cloud(path: Path, progress: Progress = in_silence) -> Parsed:
    """All points of a scan but those withheld or classed as noise, which are counted in the notes.

    Raises InputError for a file that is cut off, damaged or no scan.
    """
    laspy = survey_library("laspy", "LAS and LAZ")
    if path.suffix.lower() == ".laz":
        survey_library("lazrs", "LAZ")
    try:
        with laspy.open(path) as scan:
            expected = int(scan.header.point_count)
            _check_count(path, expected)
            chunks = [_kept(some) for some in _watched(scan, expected, progress)]
    except InputError:
        raise
    except Exception as error:  # damaged scans make the library fail in many ways
        raise InputError(
            f"{path.name} cannot be read as LAS or LAZ ({_first_line(error)}): it is damaged or cut"
            " off. Copy it again and compare its size.",
            field="file",
        ) from None
    done = sum(count for _, count in chunks)
    if done != expected or not chunks:
        raise InputError(
            f"{path.name} holds {done:,} of the {expected:,} points that it promises: it is cut"
            " off. Copy it again.",
            field="file",
        )
    points = np.concatenate([places for places, _ in chunks])
    noise = done - len(points)
    notes = [f"{noise:,} points classed as noise or withheld were left out."] if noise else []
    return Parsed(points=points, notes=notes)


def _check_count(path: Path, expected: int) -> None:
    if expected > MOST_POINTS:
        raise InputError(
            f"{path.name} says it holds {expected:,} points; at most {MOST_POINTS:,} are read."
            " Thin it first.",
            field="file",
        )


def _watched(scan: Any, expected: int, progress: Progress) -> Iterator[Any]:
    done = 0
    for some in scan.chunk_iterator(_AT_ONCE):
        yield some
        done += len(some)
        progress(done, expected)


def _kept(some: Any) -> tuple[Floats, int]:
    """Places of the points that are no noise, and how many there were."""
    kept = ~np.isin(np.asarray(some.classification), NOISE)
    if "withheld" in some.point_format.dimension_names:
        kept &= np.asarray(some.withheld) == 0
    places = [np.asarray(axis, dtype=np.float64)[kept] for axis in (some.x, some.y, some.z)]
    return np.column_stack(places), len(kept)


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0][:120]
