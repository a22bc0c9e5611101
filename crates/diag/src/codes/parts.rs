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
    LIBRARY_SYNTAX = "parts.library-syntax" Error: "The parts library is no library document.",
        sample "a file of another program given to --library", cure "Name a library that `evenline library add` made, or begin a new one.";
    LIBRARY_VALUE = "parts.library-value" Warning: "The library holds something that is no value of its column; it was not used.",
        sample "a height of 0 mm", cure "Import a table with the right value; the old one stays in the history.";
    LIBRARY_DIFFERS = "parts.library-differs" Warning: "The library and a designer's file state different values for one part.",
        sample "height 1.2 mm in the library, 0.8 mm in the file", cure "Measure the part, and import the figure into the library or state it in the parts table.";
    LIBRARY_CHANGED = "parts.library-changed" Note: "A value of the library was replaced; the old one stays in its history.",
        sample "height 0.8 becomes 1.2", cure "If the old value was right, import it again.";
    LIBRARY_DERIVED = "parts.library-derived" Note: "Values that only follow from names or were assumed are not taken into the library.",
        sample "a table from `evenline parts` given to `library import` as it was printed", cure "Write engineer in the source column beside the values that you know.";
    LIBRARY_OVER_NAME = "parts.library-over-name" Note: "The library overrules what package names say.",
        sample "a body of 2.1 x 1.3 mm in the library for a package called 2012", cure "If a name is right, import its size into the library.";
    LIBRARY_USED = "parts.library-used" Note: "The parts library knows some parts of the product.",
        sample "--library parts.json", cure "Nothing; the version is named so that the reading can be repeated.";
    TABLE_ROW_LENGTH = "parts.table-row-length" Warning: "A row of the parts table has more cells than the header; the cells beyond it were not used.",
        sample "a row with an unquoted comma in its value", cure "Put quotation marks round cells that hold the separator.";
    TABLE_NOT_TEXT = "parts.table-not-text" Error: "The parts table is no text, or text in an encoding that cannot be recognised.",
        sample "a picture instead of a table", cure "Save the table as CSV in UTF-8, or as a workbook.";
}
