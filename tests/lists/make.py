#!/usr/bin/env python3
"""Writes week.xlsx and week.ods for tests/lists.rs, by libraries that have nothing to do with this
program: pip install openpyxl odfpy, then run it in this folder."""
import datetime

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

ROWS = [
    ["Orders of week 23"],
    [],
    ["No.", "Name", "Qty", "Pocket", "Delivery"],
    [1001, "Zoë Müller", 1, "A1", datetime.date(2026, 5, 12)],
    [1002, "Isolde", 2, None, datetime.date(2026, 5, 12)],
    [1003, 7, 1, None, datetime.date(2026, 5, 13)],
    [],
    [1004, "Łukasz", None, "A3", None],
]

book = openpyxl.Workbook()
about = book.active
about.title = "About"
about.append(["Not the list"])
sheet = book.create_sheet("Week 23")
for row in ROWS:
    sheet.append(row)
old = book.create_sheet("Week 22")
old.append(["Name", "Qty"])
old.append(["Old", 1])
old.sheet_state = "hidden"
book.save("week.xlsx")

document = OpenDocumentSpreadsheet()
table = Table(name="Week 23")
for row in ROWS:
    line = TableRow()
    for value in row:
        if value is None:
            cell = TableCell()
        elif isinstance(value, (int, float)):
            cell = TableCell(valuetype="float", value=value)
            cell.addElement(P(text=str(value)))
        elif isinstance(value, datetime.date):
            cell = TableCell(valuetype="date", datevalue=value.isoformat())
            cell.addElement(P(text=value.strftime("%d.%m.%Y")))
        else:
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=value))
        line.addElement(cell)
    table.addElement(line)
document.spreadsheet.addElement(table)
document.save("week.ods")
