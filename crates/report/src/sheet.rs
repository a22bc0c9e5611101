//! One sheet by itself, as tables with their headings: for whoever shows or prints it in a way of their own.

use crate::present::Report;
use crate::table::Table;
use crate::tables;
use domain::plan::Plan;

/// Sheets that can be had one by one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhichSheet {
    /// What stands where.
    SetUp,
    /// What is collected before.
    Kit,
    /// Every placement in the order of work.
    Program,
    /// The check list for the first panel.
    FirstPanel,
    /// What to mind.
    Cautions,
}

impl WhichSheet {
    /// All of them, in the order in which they are used.
    pub const ALL: [Self; 5] = [Self::Kit, Self::SetUp, Self::Program, Self::FirstPanel, Self::Cautions];

    /// Its word in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Self::SetUp => "set-up",
            Self::Kit => "kit",
            Self::Program => "program",
            Self::FirstPanel => "first-panel",
            Self::Cautions => "cautions",
        }
    }

    /// The one of a word.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.word() == word)
    }

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::SetUp => "Set-up",
            Self::Kit => "Kit",
            Self::Program => "Program",
            Self::FirstPanel => "First panel: check list",
            Self::Cautions => "Cautions",
        }
    }

    /// What it is for, in a sentence.
    pub fn purpose(self) -> &'static str {
        match self {
            Self::SetUp => "What stands where, station by station, with the code to scan at each feeder.",
            Self::Kit => "What is collected before the set-up: reels, sticks, trays, feeders, nozzles and carts.",
            Self::Program => "Every placement in the order of work, station by station.",
            Self::FirstPanel => tables::FIRST,
            Self::Cautions => "What to mind before a program runs.",
        }
    }
}

/// A table with its heading.
#[derive(Clone, Debug)]
pub struct SheetPart {
    /// Its heading.
    pub title: String,
    /// The table.
    pub table: Table,
    /// Stands in its place when it has no rows.
    pub none: &'static str,
}

/// A sheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Which it is.
    pub which: WhichSheet,
    /// Product, side and line it belongs to.
    pub subject: String,
    /// Its tables.
    pub parts: Vec<SheetPart>,
}

/// One sheet of a plan.
pub fn sheet(plan: &Plan, which: WhichSheet) -> Sheet {
    let report = Report::new(plan);
    let part = |title: &str, table: Table, none: &'static str| SheetPart { title: title.to_owned(), table, none };
    let parts = match which {
        WhichSheet::SetUp => plan
            .stations
            .iter()
            .map(|s| part(&format!("Station {}", s.station), tables::setup_of(&report, s), "Nothing stands at this station."))
            .collect(),
        WhichSheet::Kit => vec![
            part("Reels, sticks and trays", tables::kit(&report), "Nothing stands anywhere."),
            part("Feeders, nozzles and carts", tables::tools(&report), "Nothing is needed."),
        ],
        WhichSheet::Program => vec![part("Placements", tables::program(&report), "Nothing is placed.")],
        WhichSheet::FirstPanel => vec![part("References", tables::first_panel(&report), "Nothing is placed.")],
        WhichSheet::Cautions => vec![part("Cautions", tables::cautions(), "")],
    };
    Sheet { which, subject: report.title.clone(), parts }
}

/// What a station does: its nozzles, its passes, and the trips or beats of each pass. Nothing when there is no such station.
pub fn work_of(plan: &Plan, station: usize) -> Vec<SheetPart> {
    let Some(planned) = plan.stations.get(station) else { return Vec::new() };
    let report = Report::new(plan);
    let mut parts = vec![
        SheetPart { title: "Nozzles".to_owned(), table: tables::nozzles(&report, planned), none: "No nozzle is needed." },
        SheetPart { title: "Order of work".to_owned(), table: tables::passes(&report, planned), none: "This station does nothing." },
    ];
    for (i, pass) in planned.passes.iter().enumerate() {
        if let Some((word, table)) = tables::trips(&report, planned, pass) {
            let head = draw::lookup::head_name(plan, planned, pass.head);
            parts.push(SheetPart { title: format!("{word} of pass {} ({head})", i + 1), table, none: "This pass places nothing." });
        }
    }
    parts
}
