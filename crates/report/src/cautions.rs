//! What to mind before a program runs. References as listed in the project's process notes;
//! those marked "from memory" were not read again.

/// A caution: what it is about, what to do, and where it comes from.
#[derive(Clone, Copy, Debug)]
pub struct Caution {
    /// What it is about.
    pub topic: &'static str,
    /// What to do.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// All cautions, most important first.
pub const ALL: &[Caution] = &[
    Caution {
        topic: "A proposal, not a release",
        text: "This plan is a proposal. Local rules and qualified people come first; whoever is responsible for the line checks and releases it. Nothing here may be used to bypass a guard or an interlock.",
        source: "common practice, no source; order of risk reduction: ISO 12100 (from memory)",
    },
    Caution {
        topic: "New programs",
        text: "Verify every new or changed program at reduced speed without a board, then with one board, before production.",
        source: "common practice, no source",
    },
    Caution {
        topic: "Moving gantries, rails and feeders",
        text: "Gantries, conveyor rails, indexing feeders, cover-tape take-up and the cutter of used tape can crush and cut. Keep covers closed; never reach in while the machine can move. Know where the emergency stops are.",
        source: "pinch points: common practice, no source; interlocked guards: ISO 14119, emergency stop: ISO 13850 (from memory)",
    },
    Caution {
        topic: "Clearing jams and servicing",
        text: "Where an unexpected start could injure: know the energy, shut down, isolate, lock or tag, release stored energy (air and springs too), verify; only then reach in.",
        source: "OSHA 29 CFR 1910.147",
    },
    Caution {
        topic: "Static electricity",
        text: "Handle parts and boards with a tested wrist strap or footwear on a grounded mat; carry them in closed shielding packs; keep needless insulators away.",
        source: "ANSI/ESD S20.20-2021 (after secondary sources)",
    },
    Caution {
        topic: "Adhesives, paste and cleaners",
        text: "Read the safety data sheet, wear what it asks for, extract fumes, wash hands, no food at the line.",
        source: "GHS and OSHA 29 CFR 1910.1200 (from memory); hygiene: common practice, no source",
    },
    Caution {
        topic: "Hot boards",
        text: "Boards, carriers and rails are hot after reflow. Let them cool or use gloves made for it.",
        source: "common practice, no source",
    },
    Caution {
        topic: "Heavy reels, trays and carts",
        text: "Lift large reels and tray stacks with two hands or two people; push carts, do not pull them; lock their wheels. Nozzle parts are small and sharp.",
        source: "common practice, no source",
    },
];
