"""Takes pictures of the worksheets for README and guide: `python -m tests.pictures [NAME ...]`.

Each panel as a browser shows it, run in a fresh JupyterLab. Look at what changed before a commit.
The two lessons are left out where no name is given: they show nothing before a student predicts
and chooses, so their pictures are taken by hand.
"""

import sys
import tempfile
from pathlib import Path

from .browser import started
from .lab import run, serving
from .markdown import ROOT

FOLDER = ROOT / "worksheets" / "pictures"
WIDE, HIGH = 1500, 1900  # px of the window; the panel itself is narrower
MOST = 1000  # px of a picture's height


def take(names) -> None:
    with tempfile.TemporaryDirectory() as place, started() as browser:
        own = Path(place) / "own"
        own.mkdir()
        with serving(Path(place), own, names) as address:
            for name in names:
                page = browser.new_page(viewport={"width": WIDE, "height": HIGH})
                run(page, address, name)
                page.wait_for_timeout(3000)  # slow pages come once the controls rest
                page.locator(".airover").first.scroll_into_view_if_needed()
                box = page.locator(".airover").first.bounding_box()
                box["height"] = min(box["height"], MOST)
                page.screenshot(path=FOLDER / f"{name}.png", clip=box)
                page.close()


if __name__ == "__main__":
    every = sorted(path.stem for path in (ROOT / "worksheets").glob("0[1-8]-*.ipynb"))
    take(sys.argv[1:] or every)
