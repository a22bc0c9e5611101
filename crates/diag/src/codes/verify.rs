//! Findings of the checker: what a plan claims and does not keep.

codes! {
    SCHEMA = "verify.schema" Error: "The plan is of a version that the checker does not know.",
        sample "\"schema\": \"evenline-plan/9\"", cure "Plan again with this version.";
    SHEET = "verify.sheet" Error: "The line sheet inside the plan is not sound.",
        sample "speed = \"0 m/s\" in the plan's line", cure "Correct the sheet and plan again.";
    PRODUCT = "verify.product" Error: "The product or panel inside the plan is not sound.",
        sample "a panel of 0 x 2 boards", cure "Read the product again and plan again.";
    RANGE = "verify.range" Error: "A figure is beyond what a placement line can be, so the checker does not compute with it.",
        sample "a board 20 m wide, or a speed of 0.1 mm/s", cure "Correct the figure; lengths to 10 m and times to an hour are checked.";
    REFERENCE = "verify.reference" Error: "The plan refers to something that does not exist.",
        sample "head 4 of a station with two heads", cure "Plan again; the file was edited or damaged.";
    PANEL_SIZE = "verify.panel-size" Error: "The panel does not fit a station it passes.",
        sample "a 400 mm panel on a station for 330 mm", cure "Plan a smaller panel, or another line.";
    PLACED_TWICE = "verify.placed-twice" Error: "A task is placed more than once.",
        sample "C1@1 in two trips", cure "Plan again; the file was edited or the planner is wrong.";
    NOT_PLACED = "verify.not-placed" Error: "A task is neither placed nor listed as unplaced.",
        sample "C1@1 missing from every trip", cure "Plan again; the file was edited or the planner is wrong.";
    PLACED_AND_UNPLACED = "verify.placed-and-unplaced" Error: "A task is listed as unplaced although it is placed, or is listed twice.",
        sample "C1@1 in a trip and in the list of unplaced tasks", cure "Plan again; the file was edited or the planner is wrong.";
    UNPLACED_REASON = "verify.unplaced-reason" Error: "The reason given for an unplaced task does not hold.",
        sample "plan.no-slot while a bank has free slots", cure "Plan again; if it stays, the planner gives up too early.";
    MOUNT = "verify.mount" Error: "A part is placed that is not for a placement line.",
        sample "a through-hole part in a trip", cure "Insert it by hand, or correct its mount in the parts table, and plan again.";
    OFF_PANEL = "verify.off-panel" Error: "A task is placed outside the panel.",
        sample "a placement at x = -5 mm", cure "Correct the coordinates and plan again.";
    ENVELOPE = "verify.envelope" Error: "A head carries a part outside its envelope.",
        sample "a part 9 mm high on a head for 6 mm", cure "Move the part to a head that takes it and plan again.";
    ACCURACY = "verify.accuracy" Error: "A head places a part that asks for better accuracy than the head reaches.",
        sample "accuracy 30 um asked, head gives 50 um", cure "Move the part to an accurate head and plan again.";
    NOZZLE = "verify.nozzle" Error: "The nozzle on a spindle does not serve the part, or is none that the head takes.",
        sample "a wide part on the nozzle for tiny chips", cure "Plan again; the nozzle layout is wrong.";
    FEEDER_KIND = "verify.feeder-kind" Error: "A feeder or tray place does not fit the part standing there.",
        sample "12 mm tape on an 8 mm feeder", cure "Use the feeder for the part's tape, or correct the part's supply, and plan again.";
    SLOT_OUTSIDE = "verify.slot-outside" Error: "A feeder does not lie wholly inside its bank.",
        sample "a feeder of two slots on the last slot", cure "Move the feeder and plan again.";
    SLOT_OVERLAP = "verify.slot-overlap" Error: "Two feeders cover the same slot.",
        sample "feeders of two slots on slots 3 and 4", cure "Move one of them and plan again.";
    TRAY_PLACE = "verify.tray-place" Error: "A tray place or level does not exist, or is given twice.",
        sample "level 9 of a magazine of 8", cure "Move the tray and plan again.";
    FEEDER_STOCK = "verify.feeder-stock" Error: "More feeders of a kind are set up than the sheet has in stock.",
        sample "three feeders set up, stock = 2", cure "Raise the stock on the sheet if there are more, and plan again.";
    NOZZLE_STOCK = "verify.nozzle-stock" Error: "More nozzles of a kind are on the heads than the sheet has in stock.",
        sample "eight nozzles on two heads, stock = 6", cure "Raise the stock on the sheet if there are more, and plan again.";
    STROKE_REACH = "verify.stroke-reach" Error: "A stroke is empty, or picks parts that the head cannot reach at once.",
        sample "two pockets 20 mm apart under spindles 15 mm apart", cure "Plan again; the stroke must be split.";
    SPINDLE_TWICE = "verify.spindle-twice" Error: "A spindle carries two parts in one trip.",
        sample "spindle 1 picks twice", cure "Plan again; the trip must be split.";
    PICK_WITHOUT_PLACE = "verify.pick-without-place" Error: "A part is picked and not placed in the same trip.",
        sample "spindle 2 picks, and places nothing", cure "Plan again; the file was edited or the planner is wrong.";
    PLACE_WITHOUT_PICK = "verify.place-without-pick" Error: "A part is placed that was not picked in the same trip by the same spindle.",
        sample "spindle 2 places, and picked nothing", cure "Plan again; the file was edited or the planner is wrong.";
    WRONG_SUPPLY = "verify.wrong-supply" Error: "A part is picked from a feeder or tray of another part.",
        sample "R1 picked from the feeder of the 100 nF capacitors", cure "Plan again; building from this plan would place wrong parts.";
    NOZZLE_CHANGE_WITHOUT_RACK = "verify.nozzle-change-without-rack" Error: "A head changes nozzles at a station without a nozzle rack.",
        sample "two layouts in one pass, no nozzle_rack on the sheet", cure "Add the rack to the sheet if there is one, or plan again.";
    HEAD_WORK = "verify.head-work" Error: "A pass asks a head or station for work it cannot do.",
        sample "placing with a dispense head", cure "Plan again; the file was edited or the planner is wrong.";
    ALTERNATING = "verify.alternating" Error: "A station alternates its passes although its sheet does not allow it.",
        sample "alternating = true without head_swap.alternate", cure "Allow it on the sheet if the machine can, or plan again.";
    BEAM = "verify.beam" Error: "A beam picks from a bank or tray place of the other beam, or a trip comes after trips of a beam that is not there.",
        sample "beam 1 picks from the bank behind the board, which is beam 2's", cure "Plan again; the beams would meet over the board.";
    DRUM_NOZZLES = "verify.drum-nozzles" Error: "A head of a turret's drum holds more nozzles than it has room for.",
        sample "three nozzles on a head, nozzles_per_head = 2", cure "Plan again, or correct the sheet.";
    DOTS = "verify.dots" Error: "Adhesive dots of a task are missing, set twice, or set for a task without dots.",
        sample "a part with two dots, placed without any dispense pass", cure "Plan again; the file was edited or the planner is wrong.";
    INSPECTION = "verify.inspection" Error: "An area that must be looked at is not covered by the views of the plan.",
        sample "an [[inspect]] entry and no inspect pass", cure "Plan again; or remove the entry from the locks file.";
    ORDER_STATED = "verify.order-stated" Error: "An order that the engineer states is not kept.",
        sample "first = [\"U1\"], then = [\"C*\"], and C3 before U1", cure "Plan again, or relax the entry in the locks file.";
    ORDER_RANK = "verify.order-rank" Error: "Work of a later rank comes before work of an earlier rank.",
        sample "a chip before a large ball-grid part under the rule operation", cure "Plan again, or choose another order rule.";
    ORDER_CLEARANCE = "verify.order-clearance" Error: "A tall part comes before a low neighbour within the nozzle holder's reach.",
        sample "a 10 mm capacitor before the chip 0.5 mm beside it", cure "Plan again, or correct heights or clearance figures.";
    ORDER_COVER = "verify.order-cover" Error: "A shield comes before a part under it.",
        sample "the shield before the radio it covers", cure "Plan again; the covered part could not be placed.";
    ORDER_DOTS = "verify.order-dots" Error: "Adhesive dots come after the part that should stand on them.",
        sample "the dispense pass behind the placing pass", cure "Plan again; or turn off alternating passes at that station.";
    ORDER_INSPECTION = "verify.order-inspection" Error: "A part is placed on an area before the area is looked at.",
        sample "the inspect pass behind the placing pass", cure "Plan again; or turn off alternating passes at that station.";
    LOCK = "verify.lock" Error: "A lock of the engineer is not kept, or names something that does not exist.",
        sample "part locked to station flex-1, placed by chip-1", cure "Plan again, or correct the lock.";
    FORBID = "verify.forbid" Error: "A part is placed where the engineer forbids it, or the entry names something that does not exist.",
        sample "part forbidden at chip-1, placed by chip-1", cure "Plan again, or correct the entry.";
    KEEP = "verify.keep" Error: "A feeder or tray that the engineer keeps does not stand where it is kept.",
        sample "[[keep]] of a feeder at chip-1 front 3, and slot 3 is empty", cure "Plan again, or correct the entry.";
    CLOSED = "verify.closed" Error: "More is set up at a station than its closed set-up allows.",
        sample "[[closed]] station = \"chip-1\", and a feeder that no [[keep]] names stands there", cure "Plan again, or allow more with `add`.";
    FEEDERS_PER_PART = "verify.feeders-per-part" Error: "More feeders of a part stand at a station than the locks file allows.",
        sample "feeders_per_part = 1, and two feeders of the 100 nF capacitors at chip-1", cure "Plan again, or allow more with `feeders_per_part`.";
    DOWN = "verify.down" Error: "The plan uses what is out of order, or the entry names something that does not exist.",
        sample "[[down]] head = \"drum\" of a station whose program uses it", cure "Plan again; the program could not run.";
    TIME = "verify.time" Error: "The time stated for a station is not what its program takes.",
        sample "\"time_us\": 18000000 for a program of 19.2 s", cure "Plan again; the file was edited or made with another clock.";
    BREAKDOWN = "verify.breakdown" Error: "The breakdown stated for a station is not where its time goes.",
        sample "\"sight_us\": 0 for trips with a camera", cure "Plan again; the file was edited or made with another clock.";
    TAKT = "verify.takt" Error: "The takt stated is not that of the slowest station or equipment.",
        sample "\"takt_us\": 1 for stations of 18 s", cure "Plan again; the file was edited or made with another clock.";
    BOUND = "verify.bound" Error: "The bound stated does not follow from the certificate, or the certificate is unsound.",
        sample "\"bound_us\" larger than the leaves prove, or a choice of heads or manners that no leaf agrees with", cure "Plan again; the claimed gap cannot be trusted.";
    OUTCOME = "verify.outcome" Error: "The outcome stated does not agree with the rest of the plan.",
        sample "proven-optimal with a takt above the bound", cure "Plan again; the file was edited or the planner is wrong.";
    FAMILY_INPUT = "verify.family-input" Error: "The products of a family do not rest on the same line, rules of the set-up and parts, or a demand is unsound.",
        sample "two lines in one family plan", cure "Plan the family again; the file was edited or joined from several.";
    FAMILY_SET_UP = "verify.family-set-up" Error: "A product of a family is planned on another set-up than the shared one.",
        sample "a feeder on slot 4 for one product and on slot 9 for another", cure "Plan the family again; building from this plan would mean changing over.";
    FAMILY_SUM = "verify.family-sum" Error: "The time or bound of a family is not the sum over its products, each times its panels.",
        sample "\"time_us\": 1 for six products", cure "Plan the family again; the file was edited or made with another clock.";
}
