"""The picture in README.md, taken from the real page in a real JupyterLab:  python -m tests.browser.readme_picture

The words of the page go into the picture's file, so that a test can say when the page has moved on.
"""

import io
import re
import sys

from PIL import Image, PngImagePlugin

from evlab import load_vehicle
from evlab.workbench import ride_page
from tests.browser import browser_check

PICTURE = browser_check.ROOT / "notebooks/pictures/06_ride.png"
PAGE = "notebooks/06_ride.ipynb"
HIGH = {"width": 1280, "height": 1500}


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).strip()


def words() -> str:
    """What a reader sees on the page at rest: head, cautions, controls with their values, the sentence, the numbers."""
    bench = ride_page.open_bench(vehicle=load_vehicle("two_shed_trike"), route="two_sheds_up")
    try:
        bench.settle()
        rows = [f"{c.scale.label} {c.box.value}" if hasattr(c, "box") else str(c.value) for c in bench.controls.values()]
        told = [plain(part.value) for part in (bench.reading, bench.numbers)]
        warned = [plain(c.words) for c in bench.page.cautions(bench.result)]
        return "\n".join([*(p.title for p in bench.page.pictures), *rows, *told, *warned])
    finally:
        bench.shut()


def stamped() -> str:
    """The words that the picture was taken of."""
    return str(Image.open(PICTURE).text.get("words", ""))  # type: ignore[attr-defined]


def take() -> None:
    with browser_check.browser() as chromium, chromium.page(PAGE, "light") as page:
        page.set_viewport_size(HIGH)
        page.wait_for_timeout(1500)
        shot = Image.open(io.BytesIO(page.locator(".ev:has(.ev-body)").first.screenshot()))
    written = PngImagePlugin.PngInfo()
    written.add_text("words", words())
    shot.convert("P", palette=Image.Palette.ADAPTIVE).save(PICTURE, pnginfo=written, optimize=True)


if __name__ == "__main__":
    if lack := browser_check.missing():
        sys.exit(lack)
    take()
    print(f"{PICTURE.name}: {PICTURE.stat().st_size // 1024} kB")
