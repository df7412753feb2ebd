"""Take README's pictures anew: ``python -m reference_images.take_pictures [--port N]``.

Runs the demo into a database of its own, opens the page on it and photographs what the page shows.
Needs the ``test`` extra and a chromium. Run it from the repository's root.
"""

import argparse
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, expect, sync_playwright

HERE = Path(__file__).resolve().parent
OUT = HERE / "pictures"
COUPON = Path(sys.executable).with_name("coupon")
RIPPLE_RUN, GAPS_RUN = "ALDER-STOCK-10K", "BIRCH-STOCK-10K"
RING_FIGURE, FLOW_FIGURE = 0, 2  # between them stands the ripple's spectrum
PHOTOS = ("ringdown/glossy-blue.jpg", "flow/gaps-everywhere-natural.jpg")
PHOTO_PX = (560, 420)
CHECK_PHOTO, CROP_MARGIN_PX = "check/check-grey.jpg", 60
FIGURE_PX, PAGE_PX, LONG_MS = 1120, 1400, 60_000
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def save_page(picture: Image.Image, name: str) -> None:
    """Save as a PNG of few colours, which is all that a page without photos has."""
    path = OUT / f"{name}.png"
    picture.convert("RGB").quantize(255).save(path, optimize=True)
    print(f"{path.relative_to(HERE.parent)}: {path.stat().st_size / 1024:.0f} KiB")


def save_photo(picture: Image.Image, name: str) -> None:
    """Save what holds a photo; not as ``.jpg``, which are the photos to be measured."""
    path = OUT / f"{name}.jpeg"
    picture.convert("RGB").save(path, quality=90, subsampling=0, optimize=True)
    print(f"{path.relative_to(HERE.parent)}: {path.stat().st_size / 1024:.0f} KiB")


@contextmanager
def served_page(database: Path, port: int) -> Iterator[str]:
    """The page's address, while it is served."""
    command = [str(COUPON), "page", "--db", str(database), "--port", str(port), "--no-browser"]
    address = f"http://localhost:{port}"
    # In a group of its own: the command starts the server as a process beneath it.
    with subprocess.Popen(command, stderr=subprocess.DEVNULL, start_new_session=True) as server:
        try:
            for _ in range(240):
                try:
                    with urllib.request.urlopen(f"{address}/_stcore/health", timeout=5):
                        break
                except (urllib.error.URLError, ConnectionError):
                    time.sleep(0.25)
            yield address
        finally:
            os.killpg(server.pid, signal.SIGTERM)


def photograph_figure(browser: Browser, address: str, run: str, place: int) -> Image.Image:
    """A rectified face with its trace beneath: figure number ``place`` of a run's page."""
    page = browser.new_page(viewport={"width": FIGURE_PX, "height": 1400})
    page.goto(f"{address}/run?run={run}")
    chart = page.get_by_test_id("stVegaLiteChart").nth(place)
    expect(chart.locator("svg, canvas").first).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(3000)  # the chart fits itself to the width that the layout settles on
    shot = chart.screenshot()
    page.close()
    return Image.open(io.BytesIO(shot))


def photograph_page(browser: Browser, address: str, *, charts: int, height_px: int) -> Image.Image:
    """A page from its title down, once so many charts are drawn."""
    page = browser.new_page(viewport={"width": PAGE_PX, "height": height_px})
    page.goto(address)
    for k in range(charts):
        chart = page.get_by_test_id("stVegaLiteChart").nth(k).locator("svg, canvas").first
        expect(chart).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(3000)
    title = page.get_by_test_id("stHeading").first.bounding_box()
    shot = page.screenshot()
    page.close()
    top = int(title["y"]) if title else 0
    picture = Image.open(io.BytesIO(shot))
    return picture.crop((0, top, picture.width, picture.height))


def put_side_by_side(photos: tuple[str, ...]) -> Image.Image:
    """Small copies of reference photos, left to right."""
    picture = Image.new("RGB", (PHOTO_PX[0] * len(photos), PHOTO_PX[1]))
    for place, name in enumerate(photos):
        with Image.open(HERE / name) as photo:
            small = photo.resize(PHOTO_PX, Image.Resampling.LANCZOS)
        picture.paste(small, (place * PHOTO_PX[0], 0))
    return picture


def crop_coupon(name: str) -> Image.Image:
    """The coupon of a reference photo, cut out with a little of the card around it."""
    truth = json.loads((HERE / name).with_suffix(".json").read_text("utf-8"))
    corners = truth["picture"]["face_corners"]
    across, down = ([corner[key] for corner in corners] for key in ("x_px", "y_px"))
    around = CROP_MARGIN_PX
    box = (min(across) - around, min(down) - around, max(across) + around, max(down) + around)
    with Image.open(HERE / name) as photo:
        part = photo.crop(tuple(round(side) for side in box))
    height = round(part.height * FIGURE_PX / part.width)
    return part.resize((FIGURE_PX, height), Image.Resampling.LANCZOS)


def main() -> None:
    """Take all pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--port", type=int, default=8599)
    port = parser.parse_args().port
    OUT.mkdir(exist_ok=True)
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        database = Path(folder) / "demo.db"
        subprocess.run([str(COUPON), "demo", "--db", str(database)], check=True, cwd=folder)
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        with served_page(database, port) as address:
            save_photo(
                photograph_figure(browser, address, RIPPLE_RUN, RING_FIGURE), "measured-ripple"
            )
            save_photo(photograph_figure(browser, address, GAPS_RUN, FLOW_FIGURE), "measured-gaps")
            ranking = photograph_page(browser, address, charts=3, height_px=1600)
            save_page(ranking, "ranking")
            comparison = f"{address}/compare?only_machine=Alder"
            compared = photograph_page(browser, comparison, charts=2, height_px=1980)
            save_photo(compared, "before-after")
        browser.close()
    save_photo(put_side_by_side(PHOTOS), "two-photos")
    save_photo(crop_coupon(CHECK_PHOTO), "check-blade")


if __name__ == "__main__":
    main()
