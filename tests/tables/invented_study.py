"""An invented clean study as rows of text, to be spoilt and written in many file formats."""

import csv
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path

from openpyxl import Workbook

from pmulab.tables import Allotted, Expectations, study_tables
from pmulab.tables.example import example_frames
from pmulab.tables.kinds import value_text

TABLES = study_tables()
CARDS = {
    "C314": Allotted("A", "L"),
    "C159": Allotted("B", "L"),
    "C265": Allotted("A", "R"),
    "C358": Allotted("B", "R"),
}
EXPECTED = Expectations(
    arms={"A": "Damp nonwoven", "B": "Dry nonwoven"}, lid="upper", allocation=CARDS
)


def _clean() -> dict[str, list[list[str]]]:
    out = {}
    for name, frame in example_frames(TABLES).items():
        rows = [
            [
                v if isinstance(v, str) else value_text(f, v)
                for f, v in zip(TABLES[name].fields, row, strict=True)
            ]
            for row in frame.itertuples(index=False, name=None)
        ]
        out[name] = [list(TABLES[name].names), *rows]
    return out


@dataclass
class Study:
    """Rows as a spreadsheet shows them: row 1 is the header."""

    rows: dict[str, list[list[object]]] = field(default_factory=_clean)

    def column(self, table, name):
        return self.rows[table][0].index(name)

    def put(self, table, row, **values):
        for name, value in values.items():
            self.rows[table][row - 1][TABLES[table].names.index(name)] = value
        return self

    def header(self, table, name, text):
        self.rows[table][0][self.column(table, name)] = text
        return self

    def drop_column(self, table, name):
        at = self.column(table, name)
        for row in self.rows[table]:
            del row[at]
        return self

    def add_column(self, table, name, values=()):
        self.rows[table][0].append(name)
        for number, row in enumerate(self.rows[table][1:]):
            row.append(values[number] if number < len(values) else "")
        return self

    def csv_text(self, table, delimiter=","):
        buffer = StringIO(newline="")
        csv.writer(buffer, delimiter=delimiter).writerows(self.rows[table])
        return buffer.getvalue()

    def write_csv(self, folder: Path, delimiter=",", encoding="utf-8", suffix=".csv", only=None):
        for table in only or self.rows:
            text = self.csv_text(table, delimiter)
            (folder / f"{table}{suffix}").write_bytes(text.encode(encoding))

    def book(self, only=None):
        book = Workbook()
        book.remove(book.active)
        for table in only or self.rows:
            sheet = book.create_sheet(table)
            for row in self.rows[table]:
                sheet.append([None if cell == "" else cell for cell in row])
        return book

    def write_xlsx(self, folder: Path, only=None):
        self.book(only).save(folder / "records.xlsx")
