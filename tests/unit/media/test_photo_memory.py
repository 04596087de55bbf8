"""A picture of a hundred megapixels is read within 1.5 GB, whatever its format."""

import subprocess
import sys
from pathlib import Path

import pytest
from heif_grid import build_heif_grid
from PIL import Image

STATUS = Path("/proc/self/status")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not STATUS.exists(), reason="needs Linux to tell the peak"),
]

ALLOWED_MB = 1500
WIDTH_PX, HEIGHT_PX = 11547, 8660
READ = """
import sys
from pathlib import Path
from chordline.adapters.media.photo_reader import PillowPhotoReader
photo = PillowPhotoReader().read(Path(sys.argv[1]))
assert max(photo.rgb.shape) == 4096
status = Path('/proc/self/status').read_text()
print(int(status.split('VmHWM:')[1].split()[0]) // 1024)
"""


@pytest.fixture(scope="module")
def picture():
    """A picture without detail: what is in it takes time to pack, and no memory to read."""
    return Image.new("RGB", (WIDTH_PX, HEIGHT_PX), (180, 120, 60))


def peak_mb(path):
    command = [sys.executable, "-c", READ, str(path)]
    peak = int(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    print(f"peak {peak} MB")
    return peak


@pytest.mark.parametrize(
    ("form", "options"),
    [
        pytest.param("JPEG", {"quality": 90}, id="jpeg"),
        pytest.param("JPEG", {"quality": 90, "progressive": True}, id="progressive-jpeg"),
        pytest.param("PNG", {"compress_level": 1}, id="png"),
        pytest.param("WEBP", {"quality": 70, "method": 0}, id="webp"),
    ],
)
def test_a_hundred_megapixels_fit(picture, tmp_path, form, options):
    path = tmp_path / "large"
    picture.save(path, form, **options)
    assert peak_mb(path) < ALLOWED_MB


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_a_hundred_transparent_megapixels_fit(picture, tmp_path, form):
    clear = picture.copy()
    clear.putalpha(200)
    path = tmp_path / "large"
    clear.save(path, form, **({"compress_level": 1} if form == "PNG" else {"method": 0}))
    assert peak_mb(path) < ALLOWED_MB


@pytest.mark.parametrize("mode", ["P", "I;16", "L"])
def test_a_hundred_megapixels_of_other_png_fit(tmp_path, mode):
    path = tmp_path / "large"
    Image.new(mode, (WIDTH_PX, HEIGHT_PX)).save(path, "PNG", compress_level=1)
    assert peak_mb(path) < ALLOWED_MB


def test_a_hundred_megapixels_of_cmyk_fit(tmp_path):
    path = tmp_path / "large"
    Image.new("CMYK", (WIDTH_PX, HEIGHT_PX)).save(path, "JPEG")
    assert peak_mb(path) < ALLOWED_MB


def test_a_hundred_megapixels_of_heic_fit(tmp_path):
    path = tmp_path / "large"
    path.write_bytes(build_heif_grid(columns=20, rows=19, width_px=10240, height_px=9728))
    assert peak_mb(path) < ALLOWED_MB
