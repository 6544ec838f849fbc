"""Times the program beside floors measured in the same minutes, and keeps the figures in .bench/results.json."""

from __future__ import annotations

import json
import platform
import tempfile
from importlib.metadata import version
from pathlib import Path
from typing import Any

from processes import ROOT, run
from whole_run import against_floor, growth

RESULTS = ROOT / ".bench" / "results.json"
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
#: What each figure is to stay under.
BOUNDS = {
    "run_to_floor": 1.8,
    "unchanged_s": 0.4,
    "engine_to_floor": 8.0,
    "engine_slope": 1.05,
    "laying_slope": 1.5,
    "peak_mb": 90.0,
}


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        whole = against_floor(folder, times=7)
        engine: dict[str, Any] = json.loads(run(["tests/bench/engine.py"], ONE_THREAD).printed.splitlines()[-1])
        grown = growth(folder, (10, 100), times=3)
    laying: dict[str, Any] = json.loads(run(["tests/bench/laying.py", "60"], ONE_THREAD).printed.splitlines()[-1])
    figures = {
        "run_to_floor": whole["ratio"],
        "unchanged_s": whole["unchanged_s"],
        "engine_to_floor": engine["ratio"],
        "engine_slope": engine["growth"]["steepest"],
        "run_slope": grown["slope"],
        "laying_slope": laying["growth"]["slope"],
        "strip_density": laying["strip"],
        "peak_mb": whole["run_peak_mb"],
    }
    machine = {"python": platform.python_version(), "processor": platform.machine(), "system": platform.system()}
    packages = {name: version(name) for name in ("numpy", "reportlab", "shapely", "spyrrow", "XlsxWriter")}
    told = {
        "format": 1,
        "figures": figures,
        "bounds": BOUNDS,
        "whole_run": whole,
        "engine": engine,
        "growth_of_run": grown,
        "laying": laying,
        "machine": machine,
        "packages": packages,
    }
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    print(_shown(told))


def _shown(told: dict[str, Any]) -> str:
    whole, engine, grown, laying = (told[key] for key in ("whole_run", "engine", "growth_of_run", "laying"))
    counted = ", ".join(f"{count:,} {what}" for what, count in whole["counted"].items())
    growth_of_engine = engine["growth"]
    rows = [
        ("run_to_floor", f"grading run {whole['run_s']:.2f} s, floor {whole['floor_s']:.2f} s ({counted})"),
        ("unchanged_s", "grading run on what the last run made"),
        (
            "engine_to_floor",
            f"grade, balance, measure {engine['hands']:,} hands {1000 * engine['engine_s']:.0f} ms, bare numpy "
            f"{1000 * engine['floor_s']:.0f} ms ({engine['points']} points, {engine['drivers']} drivers, "
            f"{engine['measures']} measures, one thread)",
        ),
        ("engine_slope", f"{_pairs(growth_of_engine)}; the steeper step (all: {growth_of_engine['slope']})"),
        ("run_slope", _pairs(grown)),
        ("laying_slope", _laid(laying["growth"])),
        (
            "strip_density",
            f"of {laying['pieces']} pieces on a strip after {laying['seconds']:g} s; spyrrow, which packs nothing but "
            f"strips, {laying['spyrrow']:.2f}",
        ),
        ("peak_mb", f"of grading run; floor {whole['floor_peak_mb']:.0f} MB"),
    ]
    lines = []
    for key, text in rows:
        bound = f"at most {told['bounds'][key]:g}" if key in told["bounds"] else ""
        lines.append(f"{key:16} {told['figures'][key]:8.2f}  {bound:13}  {text}")
    return "\n".join([*lines, f"kept in {RESULTS.relative_to(ROOT)}"])


def _laid(grown: dict[str, Any]) -> str:
    rows = zip(grown["pairs"], grown["seconds"], grown["skins"], strict=True)
    return ", ".join(f"{pairs} pairs {seconds:.1f} s on {skins} skins" for pairs, seconds, skins in rows)


def _pairs(grown: dict[str, Any]) -> str:
    return ", ".join(f"{n:,} sizes {s:.3f} s" for n, s in zip(grown["sizes"], grown["seconds"], strict=True))


if __name__ == "__main__":
    main()
