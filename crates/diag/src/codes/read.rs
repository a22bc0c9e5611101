//! Codes of the area `read`: designers' files, mapping files, product documents.

codes! {
    EMPTY_FILE = "read.empty-file" Warning: "The file is empty.",
        sample "a file of 0 bytes", cure "Export the file again, or leave it out.";
    TOO_LARGE = "read.too-large" Error: "The file is larger than is read.",
        sample "a file of 200 MB", cure "Leave the file out, or export only the placements or the bill of materials.";
    BINARY = "read.binary" Warning: "The file is neither text nor a spreadsheet; it is left out.",
        sample "a picture among the files", cure "Leave it out, or export the data as text (comma-separated) or as a spreadsheet.";
    FORMAT_LATER = "read.format-later" Warning: "The file is of a format that is not read; it is left out.",
        sample "an XML document of another kind than IPC-2581", cure "Export the placements as a text list or a spreadsheet as well.";
    SPREADSHEET = "read.spreadsheet" Error: "The spreadsheet cannot be opened.",
        sample "a workbook cut short while it was copied", cure "Open and save it with a spreadsheet program, or export the sheet as comma-separated text.";
    NOT_A_TABLE = "read.not-a-table" Note: "No placements and no bill of materials were found in the file; it is left out.",
        sample "a readme", cure "Nothing, or name the columns under [[file]] in a mapping file.";
    FILE_ROLE = "read.file-role" Note: "What a file was taken for, and which column for what.",
        sample "Ref,Val,Package,PosX,PosY,Rot,Side", cure "If it is wrong, set role, separator or columns under [[file]] in a mapping file.";
    NO_PLACEMENTS = "read.no-placements" Error: "No placement list was found among the files.",
        sample "a bill of materials alone", cure "Add the list with the coordinates of the parts, or name its columns under [[file]] in a mapping file.";
    NO_BOM = "read.no-bom" Note: "No bill of materials was found; parts are known by value and package only.",
        sample "a placement list alone", cure "Add the bill of materials if there is one.";
    ENCODING = "read.encoding" Note: "The file does not say how its letters are encoded; it was inferred.",
        sample "10\u{b5}F as one byte for the micro sign", cure "If letters look wrong, save the file as UTF-8.";
    DAMAGED_TEXT = "read.damaged-text" Warning: "Some bytes are no letters in the file's encoding and were replaced.",
        sample "a file put together from two encodings", cure "Save the file as UTF-8 and check its values.";
    BROKEN_QUOTE = "read.broken-quote" Warning: "A quote is not closed where it should be; the line was read by itself.",
        sample "C1,\"100n,1.5,2.5", cure "Check the line named, and correct its quotes.";
    LINE_CUT = "read.line-cut" Warning: "A line has more cells than are read; the rest of it is left out.",
        sample "a line of 10,000 separators", cure "Check the separator of the file, or set it under [[file]] in a mapping file.";
    NO_HEADER = "read.no-header" Warning: "The list has no headings; its columns were told from what they hold.",
        sample "C1 168.91 15.56 180 10n C1206", cure "Check the columns named, or add a line of headings to the file.";
    LIST_CHOSEN = "read.list-chosen" Note: "Several files list the same placements; one is used.",
        sample "board.pos and board-pos.csv", cure "To use another, set role = \"ignore\" for this one under [[file]] in a mapping file.";
    LISTS_JOINED = "read.lists-joined" Note: "Placement lists that complete each other were joined.",
        sample "board-top.csv and board-bottom.csv", cure "If they belong to two boards, read them apart.";
    LISTS_DIFFER = "read.lists-differ" Warning: "Two lists of the same placements differ.",
        sample "R5 at 10.0 in one file and at 12.0 in the other", cure "Find out which file is current and leave the other out.";
    OTHER_BOARD = "read.other-board" Warning: "A placement list seems to be of another board; it is left out.",
        sample "the lists of two boards in one folder", cure "Read each board by itself, or set role = \"ignore\" for the list that is not wanted.";
    UNIT_STATED = "read.unit-stated" Note: "The unit of the coordinates is stated by the file.",
        sample "Center-X(mm)", cure "If it is wrong, set unit under [[file]] in a mapping file.";
    UNIT_INFERRED = "read.unit-inferred" Warning: "The file states no unit; it was inferred from the coordinates.",
        sample "X,Y without a unit", cure "Check the size of the board named; if it is wrong, set unit under [[file]] in a mapping file.";
    UNIT_CONTRADICTION = "read.unit-contradiction" Warning: "What the file says of its unit contradicts itself or the coordinates.",
        sample "Center-X(mm) under a line `Units: mil`", cure "Find out which is right, and set unit under [[file]] in a mapping file.";
    SIDE_FROM_FILE = "read.side-from-file" Note: "The list has no column for the side; its name or heading lines tell it.",
        sample "board-top.csv", cure "If it is wrong, set side under [[file]] in a mapping file.";
    SIDE_ASSUMED = "read.side-assumed" Warning: "Nothing tells the side; top was assumed.",
        sample "a list without side column", cure "Set side under [[file]] in a mapping file.";
    SIDE_UNKNOWN = "read.side-unknown" Warning: "The word for the side is not known; top was assumed.",
        sample "Side = inside", cure "Correct the word, or set side under [[file]] in a mapping file.";
    MAPPING_BY_HEADINGS = "read.mapping-by-headings" Note: "An entry of the mapping file holds for a file by its headings.",
        sample "a profile of one customer, kept with --remember", cure "If it is the wrong profile, give the right one, or an entry for this file by name.";
    MIRRORED = "read.mirrored" Note: "The bottom side is given with X negated; it was turned back.",
        sample "top X 5 to 46, bottom X -45 to -5", cure "If it is wrong, set mirrored = false under [[file]] in a mapping file.";
    MIRROR_DOUBT = "read.mirror-doubt" Warning: "Whether the bottom side's X is negated cannot be told.",
        sample "a bottom list alone with all X negative", cure "Set mirrored = true or false under [[file]] in a mapping file.";
    BAD_COORDINATE = "read.bad-coordinate" Error: "A row has no coordinate that can be read; the row is kept, but not placed.",
        sample "C1,abc,2.5", cure "Correct the row, or list its reference under not_fitted in a mapping file.";
    BAD_ROTATION = "read.bad-rotation" Warning: "A rotation cannot be read; 0 was taken.",
        sample "C1,1.0,2.0,north", cure "Correct the row.";
    NO_REFERENCE = "read.no-reference" Warning: "A row has coordinates and no reference; it was named after its line.",
        sample ",1.0,2.0,90", cure "Enter the reference.";
    DUPLICATE_REFERENCE = "read.duplicate-reference" Warning: "A reference occurs more than once; all its rows are kept.",
        sample "C1 at two places", cure "Rename one, or list what is not wanted under not_fitted in a mapping file.";
    PANEL = "read.panel" Warning: "Nearly every reference occurs equally often: the list seems to be a panel of several boards.",
        sample "every reference four times", cure "Export the list of a single board and lay the panel out when planning.";
    SAME_PLACE = "read.same-place" Warning: "Two parts lie at the same place: alternatives, of which one is placed.",
        sample "S1 and U2 both at 10.0, 20.0", cure "List the one that is not placed under not_fitted in a mapping file.";
    PARKED = "read.parked" Warning: "A row lies far off the board; it does not count for the board's size.",
        sample "a bracket at -100, -100", cure "Correct its coordinates, or list it under ignored in a mapping file.";
    NOT_FITTED = "read.not-fitted" Note: "Parts that the files say are not fitted.",
        sample "quantity 0, DNP, Place = NO, NF(C1 C2)", cure "If one is fitted after all, list it under fitted in a mapping file.";
    FITTED_DOUBT = "read.fitted-doubt" Warning: "The files contradict each other on whether a part is fitted; it is left out.",
        sample "DNP in one bill of materials and not in the other", cure "List it under fitted or not_fitted in a mapping file.";
    VARIANT = "read.variant" Warning: "The bill of materials marks variants; all of them were taken as fitted.",
        sample "Config = +can", cure "List what this variant leaves out under not_fitted in a mapping file.";
    PSEUDO_PART = "read.pseudo-part" Note: "Rows that are no parts were set aside.",
        sample "test points, holes, fiducials, connector pins", cure "If one is a part, list it under fitted in a mapping file.";
    DOUBTFUL_PART = "read.doubtful-part" Warning: "A row looks like no part, but the bill of materials buys it; it stays fitted.",
        sample "TP1 with a part number", cure "If it is not placed, list it under ignored or not_fitted in a mapping file.";
    NOT_IN_BOM = "read.not-in-bom" Warning: "A placement has no row in the bill of materials; it stays fitted.",
        sample "C63 only in the placement list", cure "Add it to the bill of materials, or list it under not_fitted in a mapping file.";
    ONLY_IN_BOM = "read.only-in-bom" Warning: "The bill of materials has a part without a place on the board; it cannot be placed.",
        sample "U3 only in the bill of materials", cure "If it is placed by machine, have the designer add it to the placement list.";
    BOM_QUANTITY = "read.bom-quantity" Warning: "A row of the bill of materials counts other than it lists.",
        sample "quantity 5 for C1 C2 C3", cure "Check the row; the references were used.";
    BOM_TEXT = "read.bom-text" Note: "Rows of the bill of materials that list no references were set aside.",
        sample "screws, totals, remarks", cure "If one is a placed part, give its references alone in the cell.";
    BOM_TWICE = "read.bom-twice" Warning: "The bill of materials lists a reference twice with different parts; the first is used.",
        sample "C1 in two rows", cure "Correct the bill of materials.";
    VALUE_DIFFERS = "read.value-differs" Warning: "Placement list and bill of materials state different values; the bill's part number is used.",
        sample "10n in the list, 100n in the bill", cure "Find out which is right.";
    PACKAGE_DIFFERS = "read.package-differs" Warning: "One part number is used with different packages; the most frequent is kept.",
        sample "one number on 0402 and on 0603", cure "Check the part number, or give the two parts different ones.";
    XML_BROKEN = "read.xml-broken" Error: "The document is not well-formed, or it is cut short; what stands before the place was read.",
        sample "an IPC-2581 document that ends in the middle", cure "Export it anew, or copy it again.";
    SEVERAL_DESIGNS = "read.several-designs" Warning: "The document holds components of several designs; the one with most of them is read.",
        sample "two steps with components", cure "Export the design that is wanted alone.";
    BOTTOM_TURN = "read.bottom-turn" Note: "How mirrored parts are turned was settled by the pads that name their pins.",
        sample "rotation 90 with mirror = true", cure "Nothing; check one polarised part of the bottom on the first panel all the same.";
    BOTTOM_TURN_DOUBT = "read.bottom-turn-doubt" Warning: "The standard lets the angle of mirrored parts be read in two ways, and nothing in the file settles it.",
        sample "rotation 90 with mirror = true, without pads", cure "Compare one polarised part of the bottom with the drawing; export with pads if you can.";
    PICK_POINT = "read.pick-point" Note: "Components whose origin is not the middle of their body; their places are those of the pick-up point.",
        sample "a chip whose origin is its first pin", cure "Nothing, unless a place looks wrong in the pictures; then have the pick-up point of its package corrected.";
    PANEL_STATED = "read.panel-stated" Note: "The document lays the board out in a panel.",
        sample "a step that repeats the board", cure "Give the same panel to `plan` with --panel and --pitch.";
    ALTERNATES = "read.alternates" Note: "The bill of materials approves several makers' parts for one number.",
        sample "two approved makers' parts of one resistor", cure "Set up the one that is on the shelf; check that all fit the same feeder and nozzle.";
    OUTLINE = "read.outline" Note: "A file states the outline of the board.",
        sample "the profile of the board", cure "If it is wrong, set width and depth under [board] in a mapping file.";
    OUTLINE_ELSEWHERE = "read.outline-elsewhere" Warning: "A file states the outline of the board, but most placements lie outside it: the two have different origins.",
        sample "a profile from (0, 0) on and a list whose origin is a corner of the drawing", cure "Export both with one origin, or set width, depth, origin_x and origin_y under [board] in a mapping file.";
    OFF_BOARD = "read.off-board" Warning: "Parts lie outside the board whose size is stated.",
        sample "a connector at -12 mm", cure "Check unit, mirroring and origin; list what is not placed under not_fitted in a mapping file.";
    OVERLAP = "read.overlap" Warning: "The bodies of two parts share room on one side of the board.",
        sample "R5 inside U3", cure "Check the size of the one named first, whether its origin is its middle, and whether both are fitted (alternatives: not_fitted in a mapping file).";
    TALL_NEIGHBOUR = "read.tall-neighbour" Note: "Parts stand so near to much taller ones that these must be placed later.",
        sample "a chip 0.4 mm beside a can of 10 mm", cure "Nothing if the heights are right: the plan keeps the order by the clearance of the line sheet. Check a height that surprises.";
    BOARD_SIZE = "read.board-size" Note: "No file states the size of the board; it was made from the placements.",
        sample "a list without outline", cure "Set width and depth under [board] in a mapping file.";
    MAPPING_SYNTAX = "read.mapping-syntax" Error: "The mapping file is not well-formed, or a value has the wrong type.",
        sample "mirrored = maybe", cure "Correct the line named; docs/reading.md describes the file.";
    MAPPING_KEY = "read.mapping-key" Error: "A key or word of the mapping file is not known.",
        sample "sparator = \",\"", cure "Correct the spelling; docs/reading.md lists every key.";
    MAPPING_UNUSED = "read.mapping-unused" Warning: "Something in the mapping file fits nothing that was read.",
        sample "not_fitted = [\"C99\"] on a board without C99", cure "Correct the name, or remove it.";
    PRODUCT_SYNTAX = "read.product-syntax" Error: "The file is not a product document, or it is cut short.",
        sample "a product file cut in half", cure "Read the designer's files again, or restore the document from a copy.";
    PRODUCT_SCHEMA = "read.product-schema" Error: "The product document is of another version.",
        sample "\"schema\": \"evenline-product/9\"", cure "Read the designer's files again with this version.";
    PRODUCT_INVALID = "read.product-invalid" Error: "The product document contradicts itself.",
        sample "a placement of a part that is not listed", cure "Correct the value named, or read the designer's files again.";
}
