//! Findings about parts: sizes read from package names, and the engineer's parts table.

codes! {
    SIZE_UNKNOWN = "parts.size-unknown" Warning: "No size could be read from the package name, value or part number; one is assumed from the reference.",
        sample "package PSA00299", cure "Enter body_x_mm, body_y_mm and height_mm in the parts table, or give the package a name that holds the size.";
    SIZE_TYPICAL = "parts.size-typical" Warning: "The package name gives family and pins but no size; a typical size of that family is assumed.",
        sample "package QFN24", cure "Enter body_x_mm, body_y_mm and height_mm of the data sheet in the parts table.";
    SIZE_DIFFERS = "parts.size-differs" Warning: "The drawing of the package in a file is smaller than the body that its name says.",
        sample "R_1206 drawn as 1.0 x 0.5 mm", cure "Measure one, and enter the size in the parts table.";
    CODE_AMBIGUOUS = "parts.code-ambiguous" Note: "The chip code exists in inch and in metric codes with different sizes; the message says which was taken.",
        sample "package 0402, which is 1.0 x 0.5 mm by inch code and 0.4 x 0.2 mm by metric code", cure "If the other code is meant, enter the body size in the parts table.";
    CODE_LOST_ZERO = "parts.code-lost-zero" Note: "The bare code 1005 was read as metric; a spreadsheet may have made it from 01005 by dropping the zero.",
        sample "package 1005 without a Metric suffix", cure "If 01005 is meant (0.4 x 0.2 mm), enter the body size in the parts table.";
    MOUNT_BY_NAME = "parts.mount-by-name" Note: "The part was taken for a through-hole part because of its package name.",
        sample "package PinHeader_1x04_P2.54mm_Vertical", cure "If it is surface-mount or paste-in-hole, set mount = smt in the parts table.";
    TABLE_EMPTY = "parts.table-empty" Error: "The parts table holds no row.",
        sample "a file of zero bytes", cure "Print a table with `evenline parts`, fill it in, and feed it back.";
    TABLE_NO_KEY = "parts.table-no-key" Error: "The parts table has no column `number` or `package`, or a row names neither.",
        sample "body_x_mm,body_y_mm without number", cure "Add the part number, or the package for all parts of that package.";
    TABLE_UNKNOWN_COLUMN = "parts.table-unknown-column" Error: "A column of the parts table is not known; its cells were not used.",
        sample "bodyx_mm", cure "Correct the name in the header, or remove the column; docs/parts.md lists every column.";
    TABLE_REPEATED_COLUMN = "parts.table-repeated-column" Error: "A column of the parts table stands twice; only the first was used.",
        sample "number,height_mm,height_mm", cure "Remove one of the two.";
    TABLE_UNKNOWN_PART = "parts.table-unknown-part" Warning: "A row of the parts table names a part or package that the product does not hold.",
        sample "number R-100K in a table for a product without it", cure "Correct the name, or leave the row if the table serves several products.";
    TABLE_UNREADABLE = "parts.table-unreadable" Error: "A cell of the parts table cannot be read; the value before it stands.",
        sample "body_x_mm = wide", cure "Write a number in the unit of the header, or one of the words that docs/parts.md lists.";
    TABLE_OUT_OF_RANGE = "parts.table-out-of-range" Error: "A value of the parts table cannot be true of a part; the value before it stands.",
        sample "height_mm = 800", cure "Enter the figure of the data sheet, in the unit of the header.";
    TABLE_DISAGREES = "parts.table-disagrees" Warning: "Two rows of the parts table state different values for the same part; the later one stands.",
        sample "two rows for one number with heights 1.0 and 1.2", cure "Keep one of the rows.";
    TABLE_ROW_LENGTH = "parts.table-row-length" Warning: "A row of the parts table has more cells than the header; the cells beyond it were not used.",
        sample "a row with an unquoted comma in its value", cure "Put quotation marks round cells that hold the separator.";
    TABLE_NOT_TEXT = "parts.table-not-text" Error: "The parts table is no text, or text in an encoding that cannot be recognised.",
        sample "a picture instead of a table", cure "Save the table as CSV in UTF-8, or as a workbook.";
}
