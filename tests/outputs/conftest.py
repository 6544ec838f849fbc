"""LibreOffice as a second reader of what is written, where it is installed."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop>
</item></oor:items>"""


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not installed")
    profile = tmp_path_factory.mktemp("profile")
    (profile / "user").mkdir()
    (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS_RECALCULATE)

    def convert(source: Path, kind: str) -> Path:
        out = source.parent / "converted"
        words = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", kind]
        subprocess.run([*words, "--outdir", str(out), str(source)], check=True, capture_output=True, timeout=120)
        return out / f"{source.stem}.{kind}"

    return convert
