"""The whole of 'grading run' on the demo beside a floor that writes as much, and how it grows with the sizes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from statistics import median

import numpy as np
from counting import recipe_of, totals
from processes import ROOT, Taken, run

from grading.drafting.scenario import demo_sizes

__all__ = ["against_floor", "growth"]

#: Runs the program, then prints which modules of others it had loaded.
_LISTING = """
import json, sys
from importlib.metadata import packages_distributions
from grading.cli import main
try:
    main(sys.argv[1:])
except SystemExit:
    pass
installed = set(packages_distributions()) - {"grading"}
print(json.dumps(sorted(name for name in sys.modules if name.split(".")[0] in installed)))
"""


def against_floor(folder: Path, times: int) -> dict[str, object]:
    """Seconds and memory of the run and of the floor, each the median of several taken in turns."""
    words = ["run", "--quiet", "--out"]
    listed = run(["-c", _LISTING, *words, str(folder / "counted")])
    recipe = recipe_of(folder / "counted")
    told = {"recipe": recipe, "modules": json.loads(listed.printed.splitlines()[-1])}
    (folder / "recipe.json").write_text(json.dumps(told), encoding="utf-8")
    runs: list[Taken] = []
    floors: list[Taken] = []
    unchanged: list[Taken] = []
    for number in range(times + 1):
        runs.append(run(["-m", "grading", *words, str(folder / f"run {number}")]))
        floors.append(run(["tests/bench/floor.py", str(folder / "recipe.json"), str(folder / f"floor {number}")]))
        unchanged.append(run(["-m", "grading", *words, str(folder / f"run {number}")]))
        shutil.rmtree(folder / f"run {number}")
    written = recipe_of(folder / "floor 0")
    for number in range(times + 1):
        shutil.rmtree(folder / f"floor {number}")
    del runs[0], floors[0]  # the first of each warms the disk's cache
    taken, least = (median(one.seconds for one in of) for of in (runs, floors))
    return {
        "run_s": round(taken, 3),
        "floor_s": round(least, 3),
        "unchanged_s": round(median(one.seconds for one in unchanged), 3),
        "ratio": round(median(a.seconds / b.seconds for a, b in zip(runs, floors, strict=True)), 3),
        "run_peak_mb": round(max(one.megabytes for one in runs), 1),
        "floor_peak_mb": round(max(one.megabytes for one in floors), 1),
        "counted": totals(recipe),
        "written_by_floor": totals(written),
    }


def growth(folder: Path, sizes: tuple[int, ...], times: int) -> dict[str, object]:
    """Seconds of a whole run of one group with so many sizes, and the log-log slope."""
    seconds = []
    for count in sizes:
        table = folder / f"{count} sizes" / "Women.csv"  # a file's name is its group's, for which the demo has a block
        table.parent.mkdir()
        table.write_text(_sizes_between(count), encoding="utf-8")
        words = ["-m", "grading", "run", "--quiet", "--sizes", str(table)]
        words += ["--block", str(ROOT / "tables" / "block.xlsx"), "--out"]
        # each into a folder of its own: a second run into the first's would find nothing to do
        outs = [str(folder / f"run {number} of {count}") for number in range(times)]
        seconds.append(median(run([*words, out]).seconds for out in outs))
    slope = np.polyfit(np.log(sizes), np.log(seconds), 1)[0]
    return {"sizes": list(sizes), "seconds": [round(one, 3) for one in seconds], "slope": round(float(slope), 3)}


def _sizes_between(count: int) -> str:
    """A CSV table of so many sizes, evenly from the first of the women's to the last."""
    women = demo_sizes()[0]
    parts = np.linspace(0, 1, count)
    lines = [";".join(["Measurement", "Unit", *(f"S{i + 1}" for i in range(count))])]
    for name, values in zip(women.measurements, women.values, strict=True):
        figures = values[0] + (values[-1] - values[0]) * parts
        lines.append(";".join([name, "mm", *(f"{figure:.4f}" for figure in figures)]))
    return "\n".join(lines)
