"""A workbook's file: in memory, the same bytes for the same content, and signed by the program that made it."""

from __future__ import annotations

import datetime as dt
from io import BytesIO

from xlsxwriter import Workbook
from xlsxwriter.app import App
from xlsxwriter.packager import Packager
from xlsxwriter.worksheet import Worksheet

from grading.epoch import asked_moment

__all__ = ["Container"]

_EPOCH = dt.datetime(1980, 1, 1)  # the earliest day that a zip archive can hold


class Container(Workbook):  # type: ignore[misc]
    """An XlsxWriter workbook that becomes bytes, with nothing in it from the clock.

    ``day`` goes into the document's properties; without one it is that of the environment's ``SOURCE_DATE_EPOCH``
    (reproducible-builds.org) or 1 January 1980.
    """

    def __init__(self, title: str, subject: str, day: dt.date | None) -> None:
        self._file = BytesIO()
        # Columns are measured in noughts of this: one that every system has, or its like, so that all print alike wide.
        typeface = {"font_name": "Arial", "font_size": 10}
        super().__init__(self._file, {"in_memory": True, "default_format_properties": typeface})
        moment = dt.datetime.combine(day, dt.time()) if day else asked_moment() or _EPOCH
        self.set_properties({"title": title, "subject": subject, "author": "grading", "created": moment})

    def add_sheet(self, name: str) -> Worksheet:
        """A new sheet at the end."""
        return self.add_worksheet(name, _Worksheet)

    def to_bytes(self) -> bytes:
        """The finished file. Call it once, when all is written."""
        self.close()
        return self._file.getvalue()

    def _get_packager(self) -> Packager:
        return _Packager()


class _Worksheet(Worksheet):  # type: ignore[misc]
    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        # No formula of ours has a function newer than the format; looking for two dozen of them takes long.
        return formula.removeprefix("=")

    def _xml_formula_element(self, formula: str, result: object, attributes: list[tuple[str, object]]) -> None:
        # XlsxWriter would leave a formula that gives empty text without a value.
        typed = [*attributes, ("t", "str")] if result == "" else attributes
        super()._xml_formula_element(formula, result, typed)


class _Packager(Packager):  # type: ignore[misc]
    def _write_app_file(self) -> None:
        app = _Signed()
        sheets = self.workbook.worksheets()
        for sheet in sheets:
            app._add_part_name(sheet.get_name())
        app._add_heading_pair(("Worksheets", len(sheets)))
        app._set_properties(self.workbook.doc_properties)
        app._set_xml_writer(self._filename("docProps/app.xml"))
        app._assemble_xml_file()


class _Signed(App):  # type: ignore[misc]
    """The properties that name the program: XlsxWriter would sign with the name of one that never saw the file."""

    def _write_application(self) -> None:
        self._xml_data_element("Application", "grading")
