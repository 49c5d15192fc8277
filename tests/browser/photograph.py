"""Take the README's picture: `python tests/browser/photograph.py .pictures/live_panel.png`."""

import sys
import tempfile
from pathlib import Path

from lab import open_lab, open_notebook, open_page, run_all


def main(target: str) -> None:
    with tempfile.TemporaryDirectory() as folder, open_lab(Path(folder)) as lab, open_page() as page:
        open_notebook(page, lab, "00_start_here.ipynb")
        run_all(page)
        panel = page.locator(".mixlab-live-dose").first
        panel.scroll_into_view_if_needed()
        page.wait_for_timeout(1500)
        panel.screenshot(path=target)


if __name__ == "__main__":
    main(sys.argv[1])
