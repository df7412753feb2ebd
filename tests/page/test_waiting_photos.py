"""Upload limits, previews and settings files, without a page."""

import io
from pathlib import Path

import pytest
from PIL import Image

from scoring.errors import SettingsError
from scoring.page import waiting_photos
from scoring.page.photo_preview import PREVIEW_PX, preview_jpeg
from scoring.page.uploaded_settings import read_settings_upload, runs_by_photo
from scoring.page.waiting_photos import MB, MOST_PHOTOS, Upload, take_in, within_limits

ROOT = Path(waiting_photos.__file__).parents[2]
TOML = b"""
[[run]]
name = "A-01"
machine = "Alder"
axis = "x"
outer_wall_speed_mm_s = 150
accel_mm_s2 = 5000
photos = ["one.jpg", "sub/Two.JPG"]
"""


def uploads(count: int, size: int = 10) -> list[Upload]:
    return [Upload(f"{k}.jpg", f"{k:>{size}}".encode()) for k in range(count)]


def test_what_fits_waits_and_the_rest_is_told_by_name() -> None:
    kept, told = within_limits((), uploads(MOST_PHOTOS + 2))
    assert len(kept) == MOST_PHOTOS
    assert [sentence.split()[0] for sentence in told] == ["40.jpg", "41.jpg"]
    more, told = within_limits(kept, [Upload("late.jpg", b"late")])
    assert more == kept
    assert "one too many" in told[0]


def test_the_same_photo_waits_once_whatever_its_name() -> None:
    kept, told = within_limits(uploads(1), [Upload("copy.jpg", uploads(1)[0].content)])
    assert (len(kept), told) == (1, ())


def test_too_large_and_empty_files_are_turned_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waiting_photos, "MOST_MB", 1)
    monkeypatch.setattr(waiting_photos, "MOST_TOGETHER_MB", 2)
    large, half = Upload("large.tif", b"0" * (MB + 1)), [b"a", b"b", b"c"]
    kept, told = within_limits((), [large, Upload("empty.jpg", b"")])
    assert kept == ()
    assert "large.tif has 1 MB, more than 1 MB" in told[0]
    assert "empty.jpg is empty" in told[1]
    kept, told = within_limits((), [Upload(f"{x!r}.tif", x * (MB - 1)) for x in half])
    assert (len(kept), len(told)) == (2, 1)


class Held:
    """As Streamlit hands a file over."""

    name = "a.jpg"

    def getvalue(self) -> bytes:
        return b"content"


@pytest.mark.parametrize("held", [[Held()], Held(), None])
def test_what_a_widget_holds_moves_to_those_that_wait(held: object) -> None:
    state: dict[str, object] = {"files-0": held}
    take_in(state, "files-0")
    found = state[waiting_photos.WAITING]
    assert found == ((Upload("a.jpg", b"content"),) if held else ())
    assert state[waiting_photos.ROUND] == 1


def test_a_preview_is_upright_and_small() -> None:
    out = io.BytesIO()
    picture = Image.new("RGB", (4000, 3000), "white")
    picture.paste("red", (0, 0, 400, 3000))
    exif = picture.getexif()
    exif[0x0112] = 6  # turned: what is stored left is to be shown on top (EXIF 2.32, Orientation)
    picture.save(out, "JPEG", exif=exif)
    preview = preview_jpeg(out.getvalue())
    assert preview is not None
    with Image.open(io.BytesIO(preview)) as small:
        assert max(small.size) == PREVIEW_PX[0]
        assert small.size[1] > small.size[0]
        red = small.getpixel((small.size[0] // 2, 10))
    assert isinstance(red, tuple)
    assert red[0] > 200
    assert red[1] < 60


def test_what_is_no_picture_has_no_preview() -> None:
    assert preview_jpeg(b"no picture") is None


def test_a_settings_file_is_read_as_the_command_line_does() -> None:
    listed = read_settings_upload("workshop.toml", TOML)
    by_photo = runs_by_photo(listed)
    assert set(by_photo) == {"one.jpg", "two.jpg"}
    assert by_photo["two.jpg"].accel_mm_s2 == 5000
    csv = b"name,machine,axis,outer_wall_speed_mm_s,accel_mm_s2,photo\nB,Birch,y,150,1000,b.jpg\n"
    assert runs_by_photo(read_settings_upload("w.CSV", csv))["b.jpg"].machine == "Birch"


def test_one_bare_name_under_two_runs_is_refused() -> None:
    other = TOML.replace(b"A-01", b"A-02").replace(b'"sub/Two.JPG"', b'"other/two.jpg"')
    listed = read_settings_upload("w.toml", TOML + other.replace(b'"one.jpg", ', b""))
    with pytest.raises(SettingsError, match=r"two\.jpg is listed for A-01 and for A-02.*rename"):
        runs_by_photo(listed)
    twice = read_settings_upload("w.toml", TOML.replace(b"one.jpg", b"two.jpg"))
    assert runs_by_photo(twice)["two.jpg"].name == "A-01"


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("notes.txt", TOML, "notes.txt: a settings file ends in"),
        ("w.toml", b"[[run]\n", "w.toml: not valid TOML"),
        ("w.toml", b"\xff\xfe", "w.toml: not UTF-8"),
        ("w.csv", b"name\nA\n", "w.csv, row 2: .*missing"),
    ],
)
def test_a_wrong_settings_file_is_told_by_its_own_name(
    name: str, content: bytes, told: str
) -> None:
    with pytest.raises(SettingsError, match=told) as error:
        read_settings_upload(name, content)
    assert "/tmp" not in str(error.value)
