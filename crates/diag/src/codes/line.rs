//! Findings about line sheets.

codes! {
    SYNTAX = "line.syntax" Error: "The sheet is not well-formed TOML, or a value has the wrong type.",
        sample "slots = thirty", cure "Correct the line named; docs/line-sheet.md lists every key and its type.";
    UNKNOWN_KEY = "line.unknown-key" Error: "A key of the sheet is not known.",
        sample "spindels = 8", cure "Correct the spelling, or remove the key; docs/line-sheet.md lists every key.";
    MISSING_KEY = "line.missing-key" Error: "A key that this kind of station, head or bank needs is missing.",
        sample "kind = \"inline\" without pitch", cure "Add the key; docs/line-sheet.md says what it means.";
    OUT_OF_RANGE = "line.out-of-range" Error: "A value of the sheet cannot be true of a machine, such as a speed of zero.",
        sample "x = { speed = \"0 m/s\", acceleration = \"20 m/s2\" }", cure "Enter the measured or data-sheet value.";
    UNKNOWN_NAME = "line.unknown-name" Error: "The sheet refers to a nozzle or cart that it does not define.",
        sample "nozzles = [\"tiny\"] without [[nozzle]] name = \"tiny\"", cure "Define it, or correct the name.";
    DUPLICATE_NAME = "line.duplicate-name" Error: "Two things of one kind have the same name.",
        sample "two [[station]] with name = \"A\"", cure "Give each its own name.";
    EMPTY = "line.empty" Error: "The sheet has no station, or a station has no head.",
        sample "name = \"line\" and nothing else", cure "Add at least one [[station]] with one [[station.head]].";
    SCHEMA = "line.schema" Error: "The sheet is of another format or version.",
        sample "schema = \"evenline-line/9\"", cure "Use the version this program reads; `evenline schema line` prints it.";
}
