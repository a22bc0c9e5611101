//! Findings about planning: reasons why a part is not placed, and why there is no plan.

codes! {
    NOT_PLANNED_YET = "plan.not-planned-yet" Error: "A balance that was solved elsewhere is carried out on lines of single-beam gantry stations only.",
        sample "kind = \"two-beam\" or kind = \"turret\"", cure "Let the planner balance this line itself, or use a line of single-beam gantry stations.";
    NOTHING_TO_PLACE = "plan.nothing-to-place" Error: "No fitted part lies on the side to be planned.",
        sample "--side bottom for a board whose parts are all on top", cure "Choose the other side, or check what was read as not fitted.";
    SIDE_CHOSEN = "plan.side-chosen" Note: "Both sides hold fitted parts and no side was asked for; the fuller one is planned.",
        sample "evenline plan FOLDER without --side", cure "Say --side top or --side bottom.";
    BOARD_TOO_LARGE = "plan.board-too-large" Error: "The panel does not fit a station of the line.",
        sample "--panel 10x10 of a 60 mm board", cure "Use a smaller panel, or a line that takes it.";
    TOO_LARGE = "plan.part-too-large" Error: "The part is outside the envelope of every head of the line, height included.",
        sample "a body of 60 x 160 mm", cure "Place it by hand, add a head that takes it, or correct the body size in the parts table.";
    TOO_SMALL = "plan.part-too-small" Error: "The part is smaller than every head of the line can pick.",
        sample "a 0.25 x 0.125 mm chip", cure "Add a head and nozzle that take it, or correct the body size in the parts table.";
    NO_NOZZLE = "plan.no-nozzle" Error: "No head that could take the part has a nozzle or gripper for it.",
        sample "a gripper part on a line without gripper", cure "Add the nozzle to the sheet (and to the machine), or correct the nozzle class in the parts table.";
    ACCURACY = "plan.accuracy" Error: "No head is accurate enough for the part.",
        sample "accuracy 25 um asked, heads give 50 um", cure "Use an accurate head, or correct the accuracy in the parts table.";
    NO_FEEDER = "plan.no-feeder" Error: "The line has no feeder or tray place for the way the part is supplied.",
        sample "72 mm tape, widest feeder 44 mm", cure "Have the part supplied otherwise, add the feeder to the sheet, or correct the supply in the parts table.";
    THROUGH_HOLE = "plan.through-hole" Warning: "The part is a through-hole part; it is not placed by this line.",
        sample "PinHeader_1x04_P2.54mm_Vertical", cure "Insert it by hand, or set mount = smt in the parts table if it is surface-mount or paste-in-hole.";
    BY_HAND = "plan.by-hand" Warning: "The engineer's parts table says the part is placed by hand.",
        sample "mount = hand", cure "Nothing, or change mount in the parts table.";
    OFF_BOARD = "plan.off-board" Error: "The placement lies outside what the panel or the head can reach.",
        sample "a bracket parked at -100, -100", cure "Correct the coordinates, or mark the row as not fitted in a mapping file.";
    NO_SLOT = "plan.no-slot" Error: "More feeders or trays are needed than the line has slots, tray places or feeders.",
        sample "40 part types on a station with 30 slots", cure "Add a bank or cart, supply parts otherwise, or plan the product on a longer line.";
    NO_STOCK = "plan.no-stock" Error: "The stock of feeders, nozzles or carts on the sheet is used up.",
        sample "stock = 2 for 16 mm feeders, three parts on 16 mm tape", cure "Raise the stock on the sheet if there are more, or supply parts otherwise.";
    ORDER_CYCLE = "plan.order-cycle" Error: "The order rules contradict each other or the way the heads are spread.",
        sample "A before B and B before A", cure "Remove one of the rules named.";
    ORDER_NO_HEAD = "plan.order" Error: "The order rules leave no station for the part: those that could take it come too early or too late.",
        sample "a part that only the first station takes must follow one that only the last takes", cure "Relax the order rule, or move a head or nozzle along the line.";
    LOCK_UNKNOWN = "plan.lock-unknown" Error: "A lock names a part, station, head or slot that does not exist.",
        sample "station = \"chip-9\"", cure "Correct the name.";
    LOCK_CONFLICT = "plan.lock-conflict" Error: "Two locks contradict each other, or a lock asks what no head can do.",
        sample "the same slot for two parts", cure "Remove one of the locks named.";
    KEEP_GONE = "plan.keep-gone" Note: "Something that was to stay where it stands cannot, and was let go.",
        sample "--keep-setup with a plan whose product had parts that the new one lacks", cure "Nothing; or set the places up by hand with [[keep]].";
    KEPT_AS_IT_WAS = "plan.kept-as-it-was" Note: "The plan it began with holds for the new inputs, and the search found none that is better.",
        sample "--from PLAN --work 1", cure "Plan longer if the gap is too wide.";
    DOWN = "plan.down" Error: "The part could be placed only with what is out of order.",
        sample "[[down]] station = \"flex-3\", the one station for a large part", cure "Repair it, or place the part by hand until it is repaired.";
    LOCK_SYNTAX = "plan.lock-syntax" Error: "The locks file cannot be read.",
        sample "[[lock]] prat = \"C1\"", cure "Correct the line named; docs/planning.md describes the file.";
    NO_ADHESIVE = "plan.no-adhesive" Error: "The part asks for adhesive dots and no station has a head that sets them.",
        sample "adhesive_dots = 2 on a line without adhesive head", cure "Add the head, or set adhesive_dots = 0 if another machine sets them.";
    NO_INSPECTION = "plan.no-inspection" Error: "An inspection of an area is asked for and no station can look.",
        sample "[[inspect]] on a line without inspection", cure "Add `inspection` to a station of the sheet, or remove the rule.";
    FIDUCIALS_ASSUMED = "plan.fiducials-assumed" Warning: "The product names no fiducial; two marks near opposite corners are timed instead.",
        sample "a placement list without fiducial rows", cure "Tell the real marks, for the exact time and position.";
    SIZE_GUESSED = "plan.size-guessed" Warning: "The plan rests on guessed part sizes.",
        sample "a part without package name", cure "Enter the sizes in a parts table (`evenline parts` prints one to fill in).";
    PLAN_SYNTAX = "plan.syntax" Error: "The file is not a plan, or it is cut short.",
        sample "a plan file cut in half", cure "Plan again, or restore the file from a copy.";
    PLAN_SCHEMA = "plan.schema" Error: "The plan is of another version.",
        sample "\"schema\": \"evenline-plan/9\"", cure "Plan again with this version.";
    STOPPED = "plan.stopped" Note: "Planning was stopped early; the best plan so far is kept.",
        sample "Ctrl-C", cure "Plan longer if the gap is too wide.";
    PANEL = "plan.panel" Error: "The panel asked for is not one.",
        sample "--panel 0x3, or a pitch smaller than the board", cure "Write --panel COLUMNSxROWS --pitch XxY with units, such as 2x3 and 60mmx45mm.";
    USAGE = "use.arguments" Error: "The command cannot be carried out as written.",
        sample "--seconds minus one", cure "Read the help of the command.";
    FILE = "use.file" Error: "A file could not be opened, read or written.",
        sample "a path that does not exist", cure "Check the path and the rights on it.";
    STORE = "use.store" Error: "The store of the planning room could not be opened, read or written, or refuses what is asked.",
        sample "--store postgres://127.0.0.1/room without a server", cure "Check the place and the rights on it; nothing was changed.";
    ADDRESS = "use.address" Error: "The planning room cannot be served as asked.",
        sample "--listen 127.0.0.1:80 without the right to it", cure "Choose another address or port with --listen.";
    SERVER = "use.server" Error: "A planning room on a server cannot be reached, or refuses what is asked.",
        sample "--server http://127.0.0.1:8470 without a room there", cure "Check --server and EVENLINE_TOKEN; `evenline room me` says whether both fit.";
}
