//! Findings about a change by hand that is tried out on a finished plan.

codes! {
    UNKNOWN = "change.unknown" Error: "The change names a station, part, head, bank or tray place that the plan does not have there.",
        sample "the feeder of C-100N-0402 on front slot 3, where another part stands", cure "Correct the name; `evenline report` shows what stands where.";
    NOTHING = "change.nothing" Error: "The change asks for what the plan does already.",
        sample "a feeder to the slot it stands on", cure "Choose another place.";
    SLOT = "change.slot" Error: "The feeder would not lie wholly inside the bank.",
        sample "a feeder of two slots on the last slot", cure "Choose a slot further from the end of the bank.";
    DOWN = "change.down" Error: "What the change needs is out of order.",
        sample "a slot that a [[down]] entry names", cure "Choose another place, or take the entry out once it works again.";
    IN_THE_WAY = "change.in-the-way" Error: "Another feeder or tray stands there, and the two cannot change places.",
        sample "a feeder of one slot onto one of two slots, with a neighbour beside the slot it leaves", cure "Move what stands in the way first, or choose another place.";
    RULES = "change.rules" Error: "A lock, keep, forbid or closed entry of the plan's rules stands against the change.",
        sample "the feeder of a part that a [[keep]] entry keeps", cure "Take the entry out of the rules and plan again, or choose another change.";
    HEAD = "change.head" Error: "No head that is asked for can place the part.",
        sample "a connector to a station for chips", cure "Choose a station or head that takes it.";
    SUPPLY = "change.supply" Error: "The part cannot be picked from that place.",
        sample "a part in trays to a bank, or a feeder to the bank of the other beam", cure "Choose a place for the part's supply, on the side of the head that picks it.";
    STOCK = "change.stock" Error: "No feeder or nozzle is left in stock for the change.",
        sample "stock = 2 for 16 mm feeders, both set up for other parts", cure "Raise the stock on the sheet if there are more, or move another part away first.";
    NO_ROOM = "change.no-room" Error: "The station has no free slots or tray place for the part.",
        sample "a part to a station whose banks are full", cure "Move another feeder away first.";
    ORDER = "change.order" Error: "By the order rules the part may not be placed there: something comes before or after it elsewhere.",
        sample "a low part to the last station, its tall neighbour at the first", cure "Choose a station earlier or later on the line, or relax the order rule.";
    PROGRAM = "change.program" Error: "The plan cannot be changed piece by piece.",
        sample "a plan that the checker refuses", cure "Put the change into the locks file and plan again; `evenline verify` says whether the plan is sound.";
}
