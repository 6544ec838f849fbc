"""The picture that the README shows, drawn from the demo's own run: 'python -m grading.jobs.picture FOLDER'."""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

from PIL import Image
from PIL.PngImagePlugin import PngInfo

from grading.drawing.marks import Box
from grading.drawing.paper import PAPERS, Printing
from grading.drawing.picture import png
from grading.jobs.tables import read_job
from grading.outputs.files import Choices, group_files
from grading.outputs.overview import overview_page

__all__ = ["overview_picture", "picture_run"]

#: What is beside the dots in the picture's file: the run that it was drawn from.
_RUN = "run"
_DOTS_PER_MM = 5.0


def overview_picture(tables: Path, group: str) -> bytes:
    """The overview of a group of a folder of tables as a PNG picture that names its run."""
    (graded,) = read_job(tables / "sizes.xlsx", (), [group]).groups
    made = dict(group_files(graded, Choices()))
    page = overview_page(graded, {name: made[name] for name in made if name != "overview.pdf"},
                         Printing(PAPERS["a4"]), "mm")  # fmt: skip
    frame = Box(0, 0, page.sheet.width, page.sheet.height)
    told, out = PngInfo(), BytesIO()
    told.add_text(_RUN, graded.run_id)
    with Image.open(BytesIO(png(page.drawing, frame, dots_per_mm=_DOTS_PER_MM))) as image:
        image.quantize(16).save(out, "PNG", pnginfo=told, optimize=True)
    return out.getvalue()


def picture_run(picture: bytes) -> str:
    """The run that a picture was drawn from."""
    with Image.open(BytesIO(picture)) as image:
        return str(image.info.get(_RUN, ""))


if __name__ == "__main__":
    (Path(sys.argv[1]) / "overview.png").write_bytes(overview_picture(Path("tables"), "Women"))
