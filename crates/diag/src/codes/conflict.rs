//! Findings that name what stands against each other: the smallest set, and what would cure it.

codes! {
    SLOTS = "conflict.slots" Error: "These part types need more slots than all banks have that can hold their feeders.",
        sample "40 part types on a station with 30 slots, which alone takes them", cure "Add a bank or cart, or supply parts otherwise.";
    TRAYS = "conflict.trays" Error: "These part types in trays compete for fewer tray places.",
        sample "six part types in trays, five tray places", cure "Add tray places or levels, or supply parts on tape.";
    FEEDERS = "conflict.feeders" Error: "These part types need more feeders of their kinds than are in stock and in order.",
        sample "stock = 2 for 16 mm feeders, three part types on 16 mm tape", cure "Raise the stock on the sheet if there are more, or supply parts otherwise.";
    NOZZLE = "conflict.nozzle" Error: "The heads that could take the part hold none of the nozzle kinds that serve it.",
        sample "a part of class wide, and no head that lists the nozzle for wide parts", cure "List the nozzle at one of the heads named, if the machine holds it.";
    ENVELOPE = "conflict.envelope" Error: "The part is outside the envelope of every head; the nearest head and its limits are named.",
        sample "a body of 60 x 160 mm, the largest head takes 55 x 150 mm", cure "Place it by hand, or on a machine that takes it.";
    ORDER = "conflict.order" Error: "One placement must come before another, but the line takes it only behind the other.",
        sample "first = [\"X1\"], then = [\"R*\"], X1 only at the last station and R* only at the first", cure "Relax the order, or let one of the parts be placed at another station.";
    ENTRIES = "conflict.entries" Error: "These entries of the rules together leave no head for the part.",
        sample "a part forbidden at chip-1 that only chip-1 and a head that is down could take", cure "Remove one of the entries named.";
}
