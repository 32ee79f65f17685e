import laspy
import numpy as np
import pytest

from tests.recording.points.files import EAST, NORTH, floor_points
from tracker.errors import InputError
from tracker.recording.points.cloud import read_cloud

POINTS = floor_points(3000)


def scan(path, points=POINTS, noise=0):
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales, header.offsets = [0.001] * 3, [EAST, NORTH, 0.0]
    las = laspy.LasData(header)
    las.x, las.y, las.z = points.T
    las.classification = np.where(np.arange(len(points)) < noise, 7, 2).astype(np.uint8)
    las.write(path)
    return path


@pytest.mark.parametrize("kind", [".las", ".laz"])
def test_scans_give_their_points_to_the_millimetre(tmp_path, kind):
    told = []
    found = read_cloud(scan(tmp_path / f"a{kind}"), lambda done, of: told.append((done, of)))
    assert found.points == pytest.approx(POINTS, abs=5.1e-4)
    assert told == [(3000, 3000)]


def test_points_classed_as_noise_are_left_out_and_counted(tmp_path):
    found = read_cloud(scan(tmp_path / "a.laz", noise=12))
    assert len(found.points) == 2988
    assert "12 points" in found.notes[0]


@pytest.mark.parametrize("kind", [".las", ".laz"])
@pytest.mark.parametrize("kept", [0.0, 0.001, 0.01, 0.3, 0.9, 0.9999])
def test_a_scan_that_is_cut_off_is_refused_wherever_it_ends(tmp_path, kind, kept):
    path = scan(tmp_path / f"a{kind}")
    raw = path.read_bytes()
    path.write_bytes(raw[: int(kept * len(raw))])
    with pytest.raises(InputError, match="cut off"):
        read_cloud(path)


def test_a_scan_that_promises_too_much_is_refused_before_it_is_read(tmp_path):
    path = scan(tmp_path / "a.las")
    raw = bytearray(path.read_bytes())
    raw[247:255] = (10**11).to_bytes(8, "little")  # count of points, by the LAS 1.4 header
    path.write_bytes(bytes(raw))
    with pytest.raises(InputError, match="100,000,000,000 points"):
        read_cloud(path)


def test_text_that_calls_itself_a_scan_is_refused(tmp_path):
    (tmp_path / "a.las").write_text("1,2,3\n" * 200)
    with pytest.raises(InputError, match="cannot be read as LAS"):
        read_cloud(tmp_path / "a.las")
