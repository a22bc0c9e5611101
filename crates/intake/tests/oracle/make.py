"""A workbook of cells that readers stumble over, as packages of the Python registry write it: openpyxl 3.1.5 (.xlsx), xlwt
1.3.0 (.xls), odfpy 1.4.1 (.ods).

    python make.py xlsx|xls|ods > workbook
"""

import datetime
import io
import sys

TEXTS = ["Ref", "  two  blanks  ", "tab\there", "first\nsecond", "4k7 Ω ±1 %", "0402", "1e3", "=1+1", "'", "&lt;<b>", "零件", "😀", "A" * 9000]
NUMBERS = [0, -0.1, 4.7, 0.1 + 0.2, 1e-12, 1e21, 123456789, 1073741823, 12.34, 5e-324, 2.0**53, 1 / 3]
DATES = [datetime.datetime(2026, 3, 1), datetime.datetime(1999, 12, 31, 18, 30)]


def xlsx(out):
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "made & <odd>"
    for column, values in ((2, TEXTS), (4, NUMBERS), (5, DATES), (6, [True, False])):
        for row, value in enumerate(values, 3):
            cell = sheet.cell(row, column, value)
            if isinstance(value, str):
                cell.data_type = "s"
    sheet.cell(40, 1, "=B3")
    sheet.cell(41, 1, "#DIV/0!").data_type = "e"
    sheet.merge_cells("A50:C51")
    sheet["A50"] = "merged"
    book.create_sheet("empty")
    hidden = book.create_sheet("hidden")
    hidden.sheet_state = "hidden"
    hidden["XFD1048576"] = "beyond what is read"
    hidden["SR7"] = "the last column that is read"
    hidden["A1048576"] = "the last row"
    book.save(out)


def xls(out):
    import xlwt

    book = xlwt.Workbook(encoding="utf-8")
    sheet = book.add_sheet("made & <odd>")
    day = xlwt.easyxf(num_format_str="YYYY-MM-DD HH:MM")
    for column, values in ((2, TEXTS), (4, NUMBERS), (5, DATES), (6, [True, False])):
        for row, value in enumerate(values, 3):
            sheet.write(row, column, value, day if isinstance(value, datetime.datetime) else xlwt.Style.default_style)
    sheet.write_merge(50, 51, 0, 2, "merged")
    book.add_sheet("empty")
    book.add_sheet("second").write(65535, 255, "the last corner")
    book.save(out)


def ods(out):
    from odf.office import Annotation
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import CoveredTableCell, Table, TableCell, TableHeaderRows, TableRow
    from odf.teletype import addTextToElement
    from odf.text import P

    def text(value, **more):
        cell = TableCell(valuetype="string", **more)
        for line in value.split("\n"):
            paragraph = P()
            addTextToElement(paragraph, line)
            cell.addElement(paragraph)
        return cell

    def row(*cells, **more):
        made = TableRow(**more)
        for cell in cells:
            made.addElement(cell)
        return made

    book = OpenDocumentSpreadsheet()
    table = Table(name="made & <odd>")
    heads = TableHeaderRows()
    heads.addElement(row(text("head of all pages")))
    table.addElement(heads)
    table.addElement(row(TableCell(numbercolumnsrepeated=3), numberrowsrepeated=4))
    for value in TEXTS:
        table.addElement(row(TableCell(numbercolumnsrepeated=2), text(value)))
    for value in NUMBERS:
        shown = TableCell(valuetype="float", value=repr(value))
        shown.addElement(P(text=f"{value:.1f}"))
        table.addElement(row(shown))
    table.addElement(row(TableCell(valuetype="percentage", value="0.25"), TableCell(valuetype="currency", value="1.5", currency="EUR")))
    table.addElement(row(TableCell(valuetype="date", datevalue="2026-03-01"), TableCell(valuetype="time", timevalue="PT18H30M00S")))
    table.addElement(row(TableCell(valuetype="boolean", booleanvalue="true"), TableCell(valuetype="boolean", booleanvalue="false")))
    table.addElement(row(text("twice", numbercolumnsrepeated=2), text("after"), numberrowsrepeated=3))
    table.addElement(row(text("merged", numbercolumnsspanned=2), CoveredTableCell(), text("beside")))
    noted = text("with a note")
    note = Annotation()
    note.addElement(P(text="not part of the cell"))
    noted.childNodes.insert(0, note)
    table.addElement(row(noted))
    table.addElement(row(TableCell(numbercolumnsrepeated=1024), numberrowsrepeated=1000000))
    book.spreadsheet.addElement(table)
    book.spreadsheet.addElement(Table(name="empty"))
    book.write(out)


def main():
    out = io.BytesIO()
    {"xlsx": xlsx, "xls": xls, "ods": ods}[sys.argv[1]](out)
    sys.stdout.buffer.write(out.getvalue())


if __name__ == "__main__":
    main()
