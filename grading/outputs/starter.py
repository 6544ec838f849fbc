"""The starter folder: tables to fill in, a page on how to measure, and a note of what to type next.

'python -m grading.outputs.starter FOLDER' writes the tables alone, those that are not there.
"""

from __future__ import annotations

import csv
import io
import os
import sys
import sysconfig
from dataclasses import replace
from pathlib import Path

from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drafting.scenario import BASES, demo_block, demo_blocks, demo_sizes
from grading.drafting.second_scenario import second_block, second_sizes, with_second
from grading.drafting.stock_scenario import NOTES, demo_stock
from grading.drafting.style import choices_in_words
from grading.drafting.trace import standard_points
from grading.drawing.paper import DEFAULT_PRINTING, Printing
from grading.findings import Finding
from grading.model.measured import Hands
from grading.outputs.choices import pictures_of_choices
from grading.outputs.measuring_guide import measuring_guide
from grading.publish.fresh import write_fresh
from grading.sheets.cells import as_text
from grading.sheets.declared import TRACED
from grading.sheets.values import cells
from grading.sheets.writing import block_workbook, hand_workbook, sizes_workbook, stock_table_workbook

__all__ = ["demo_tables", "starter_files", "write_missing_tables"]

_INVENTED = "Every figure here is invented: it shows how the sheet is filled in, and is there to be replaced."

#: How much smaller the left hand of the example is than the right, mm: invented.
_SMALLER_LEFT = {"fist girth": 4.0, "palm length": 1.0, "thumb girth": 2.0}

_NOTE = """START HERE

Open 'how to measure.pdf', measure both hands, and write the figures into
hands.xlsx over the example's. Click on a heading to read what its column is for.

Type the lines that begin with 'grading' in a terminal, in this folder. If it does
not know that word, type this one first, once in each new terminal:

    {path}

1.  Grade the four invented size groups of tables/sizes.xlsx from the blocks
    beside it. Everything is written into the folder output. Look at a nest.pdf.

    grading run

2.  Draft a base block for the larger of your two hands. The working is shown, and
    drafted-block.xlsx and a construction sheet are written.

    grading draft --measured hands.xlsx --group Women

3.  Grade the women's sizes from your own block. Put your own sizes into
    tables/sizes.xlsx, and tune the block by editing its points.

    grading run --group Women --block drafted-block.xlsx --out own

Take up the points of your own pattern (points.csv shows how they are listed):

    grading draft --measured hands.xlsx --from-points points.csv --group Women --out traced.xlsx

Have a drafted block used from now on; the old one is kept beside it:

    grading draft --measured hands.xlsx --group Women --use

Make one pair for one hand:

    grading hand --group Women --measured hands.xlsx --name "Order 1"

See what is here and what to type next, and everything else that there is:

    grading
    grading --help
"""


def demo_tables() -> dict[str, bytes]:
    """The invented tables by file name: the sizes, a base block for each group of them, and what is in stock."""
    files = {"sizes.xlsx": sizes_workbook((*demo_sizes(), second_sizes()), notes=[_INVENTED])}
    first, *others = (*demo_blocks(), second_block())
    files["block.xlsx"] = block_workbook(first)
    for block in others:
        files[f"block-{block.groups[0].lower().replace(' ', '-')}.xlsx"] = block_workbook(block)
    files["stock.xlsx"] = stock_table_workbook(with_second(demo_stock()), notes=NOTES)
    return files


def starter_files(printing: Printing = DEFAULT_PRINTING) -> dict[str, bytes]:
    """Everything of the starter folder by its name there, with forward slashes."""
    # A source would be left standing beside somebody's own figures.
    unsourced = [replace(table, source=("",) * len(table.measurements)) for table in (*demo_sizes(), second_sizes())]
    return {
        **{f"tables/{name}": content for name, content in demo_tables().items()},
        "tables/sizes.xlsx": sizes_workbook(unsourced, notes=[_INVENTED]),
        "hands.xlsx": hand_workbook(
            _example_hands(), HOW_TO_MEASURE, choices_in_words(), pictures_of_choices(), notes=[_INVENTED]
        ),
        "points.csv": _points_csv(),
        "how to measure.pdf": measuring_guide(printing),
        "START HERE.txt": _NOTE.format(path=_line_for_path()).encode(),
    }


def _line_for_path() -> str:
    """What is typed so that a terminal knows the program in every folder."""
    programs = sysconfig.get_path("scripts")
    return f"set PATH=%PATH%;{programs}" if os.name == "nt" else f'export PATH="$PATH:{programs}"'


def _example_hands() -> Hands:
    """The hands of the example: the right one that the demo block is drafted for, the left one a little smaller."""
    block, table = demo_block(), demo_sizes()[0]
    column = table.sizes.index(BASES[block.groups[0]])
    right = {name: float(table.values[row, column]) for row, name in enumerate(table.measurements)}
    return Hands({name: right[name] - less for name, less in _SMALLER_LEFT.items()}, right)


def _points_csv() -> bytes:
    """The demo block's points as a maker would list them, with decimal points and commas between."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow([column.name for column in TRACED.columns])
    rows.writerows([[as_text(cell) for cell in row] for row in cells(TRACED, standard_points(demo_block()))])
    return text.getvalue().encode()


def write_missing_tables(folder: Path) -> tuple[list[Path], list[Finding]]:
    """Write the demo's tables that are not in the folder; returns those there that differ, which stay as they are."""
    files = {folder / name: content for name, content in demo_tables().items()}
    edited = [path for path, content in files.items() if path.exists() and path.read_bytes() != content]
    return edited, write_fresh({path: content for path, content in files.items() if path not in edited})


if __name__ == "__main__":
    differing, findings = write_missing_tables(Path(sys.argv[1]))
    for path in differing:
        print(f"left: {path} (not as the program would write it; move it away to have it written anew)")
    for finding in findings:
        print(finding, file=sys.stderr)
    sys.exit(bool(findings))
