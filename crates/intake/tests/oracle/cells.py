"""Cells of a workbook as packages of the Python registry read them: openpyxl 3.1.5 (.xlsx), xlrd 2.0.2 (.xls), odfpy 1.4.1
(.ods), and the csv module of Python itself.

    python cells.py xlsx|xls|ods|csv < workbook

One line a cell: sheet, row, column (both from 1), kind, value, with a tab between them; backslash, tab and ends of line inside
a field are written \\\\, \\t, \\n and \\r. Kinds: text, number (the shortest decimal form), date (the day's number), bool. Errors
and empty cells are left out; formulas give the value that was stored with them.
"""

import csv
import datetime
import io
import re
import sys


def xlsx(data):
    import openpyxl
    from openpyxl.utils.datetime import to_excel

    book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    for sheet in book.worksheets:
        # Its own store of the cells that the file holds: laying out every row of a sheet with one far cell never ends.
        for (row, column), cell in sorted(sheet._cells.items()):
            value = cell.value
            if value is None or cell.data_type == "e":
                continue
            at = (sheet.title, row, column)
            if isinstance(value, bool):
                yield *at, "bool", value
            elif isinstance(value, (int, float)):
                yield *at, "number", value
            elif isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
                yield *at, "date", to_excel(value, book.epoch)
            else:
                # The format writes control characters as `_x000D_` (ECMA-376 part 1, ST_Xstring, from memory); openpyxl takes the
                # escape off `_x005F_` alone, and so these are taken off here.
                yield *at, "text", re.sub("_x00([01][0-9A-Fa-f])_", lambda found: chr(int(found[1], 16)), str(value))


def xls(data):
    import xlrd

    book = xlrd.open_workbook(file_contents=data, logfile=sys.stderr)
    kinds = {xlrd.XL_CELL_TEXT: "text", xlrd.XL_CELL_NUMBER: "number", xlrd.XL_CELL_DATE: "date", xlrd.XL_CELL_BOOLEAN: "bool"}
    for sheet in book.sheets():
        for row in range(sheet.nrows):
            for column in range(sheet.row_len(row)):
                cell = sheet.cell(row, column)
                if cell.ctype in kinds:
                    value = bool(cell.value) if cell.ctype == xlrd.XL_CELL_BOOLEAN else cell.value
                    yield sheet.name, row + 1, column + 1, kinds[cell.ctype], value


def ods(data):
    from odf.opendocument import load
    from odf.namespaces import OFFICENS, TABLENS, TEXTNS
    from odf.teletype import extractText

    def named(element, space, name):
        return [e for e in element.childNodes if getattr(e, "qname", None) == (space, name)]

    def rows(element):
        for child in element.childNodes:
            name = getattr(child, "qname", (None, None))
            if name == (TABLENS, "table-row"):
                yield child
            elif name[0] == TABLENS and name[1] in ("table-header-rows", "table-row-group", "table-rows"):
                yield from rows(child)

    def value(cell):
        kind = cell.getAttrNS(OFFICENS, "value-type")
        if kind in ("float", "percentage", "currency"):
            return "number", float(cell.getAttrNS(OFFICENS, "value"))
        if kind == "boolean":
            return "bool", cell.getAttrNS(OFFICENS, "boolean-value") == "true"
        if kind in ("date", "time"):
            return "text", cell.getAttrNS(OFFICENS, f"{kind}-value")
        stated = cell.getAttrNS(OFFICENS, "string-value")
        return "text", stated if stated else "\n".join(extractText(p) for p in named(cell, TEXTNS, "p"))

    for table in named(load(io.BytesIO(data)).spreadsheet, TABLENS, "table"):
        row_number = 1
        for row in rows(table):
            repeated = int(row.getAttrNS(TABLENS, "number-rows-repeated") or 1)
            column, found = 1, []
            for cell in row.childNodes:
                if getattr(cell, "qname", (None, None))[1] not in ("table-cell", "covered-table-cell"):
                    continue
                times = int(cell.getAttrNS(TABLENS, "number-columns-repeated") or 1)
                kind, what = value(cell)
                if kind != "text" or what.strip():
                    found += [(column + i, kind, what) for i in range(times)]
                column += times
            # An empty tail of a million rows is one element.
            for again in range(repeated if found else 0):
                for at, kind, what in found:
                    yield table.getAttrNS(TABLENS, "name"), row_number + again, at, kind, what
            row_number += repeated


def plain(data):
    for row, cells in enumerate(csv.reader(io.StringIO(data.decode("utf-8"), newline="")), 1):
        for column, text in enumerate(cells, 1):
            yield "", row, column, "text", text


def field(value):
    if isinstance(value, bool):
        return str(value).lower()
    text = value if isinstance(value, str) else repr(value)
    return text.replace("\\", "\\\\").replace("\t", "\\t").replace("\n", "\\n").replace("\r", "\\r")


def main():
    readers = {"xlsx": xlsx, "xls": xls, "ods": ods, "csv": plain}
    lines = ("\t".join(map(field, cell)) + "\n" for cell in readers[sys.argv[1]](sys.stdin.buffer.read()))
    sys.stdout.buffer.write("".join(lines).encode("utf-8"))


if __name__ == "__main__":
    main()
