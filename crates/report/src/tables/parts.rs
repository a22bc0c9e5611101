//! Part types: all of them for the workbook, and those whose sizes were not stated.

use crate::present::Report;
use crate::table::{Cell, Table};
use domain::part::{Certainty, Moisture, Part, Source, Sourced};
use units::Length;

/// How many of each part a panel takes.
fn counts(report: &Report<'_>) -> Vec<usize> {
    let mut counts = vec![0; report.plan.product.parts.len()];
    for task in report.job.iter().flat_map(|j| &j.tasks) {
        if let Some(count) = counts.get_mut(task.part.index()) {
            *count += 1;
        }
    }
    counts
}

/// Every part type with what is known of it.
pub(crate) fn all_parts(report: &Report<'_>) -> Table {
    let mut table = Table::new(&[
        "part number",
        "value",
        "package",
        "mount",
        ">body x mm",
        ">body y mm",
        ">height mm",
        "supply",
        ">tape mm",
        ">pitch mm",
        "nozzle class",
        ">speed %",
        ">accuracy mm",
        "sizes are",
        "from",
        ">per panel",
    ]);
    for (part, count) in report.plan.product.parts.iter().zip(counts(report)) {
        let mm = |l: &Sourced<Length>| Cell::Number(l.value.to_mm(), 3);
        let tape = crate::supply::tape(Some(part)).is_some();
        let (certainty, source) = least_sure(part);
        table.row(vec![
            part.number.clone().into(),
            part.value.clone().into(),
            part.package.clone().into(),
            part.mount.value.word().into(),
            mm(&part.body_x_um),
            mm(&part.body_y_um),
            mm(&part.height_um),
            part.supply.value.word().into(),
            if tape { mm(&part.tape_width_um) } else { Cell::Empty },
            if tape { mm(&part.tape_pitch_um) } else { Cell::Empty },
            part.nozzle_class.value.word().into(),
            u32::from(part.speed.value.0).into(),
            mm(&part.accuracy_um),
            certainty_words(certainty).into(),
            source_words(source).into(),
            count.into(),
        ]);
    }
    table
}

/// Parts of the job whose body or height is a guess or only likely; guesses first.
pub(crate) fn assumptions(report: &Report<'_>) -> Table {
    let mut table = Table::new(&["part number", "package", ">body x mm", ">body y mm", ">height mm", "sizes are", "from", ">per panel"]);
    let mut unsure: Vec<(Certainty, &Part, usize)> = report
        .plan
        .product
        .parts
        .iter()
        .zip(counts(report))
        .filter(|(_, count)| *count > 0)
        .map(|(part, count)| (least_sure(part).0, part, count))
        .filter(|(certainty, ..)| *certainty != Certainty::Certain)
        .collect();
    unsure.sort_by(|a, b| (a.0, &a.1.number).cmp(&(b.0, &b.1.number)));
    for (certainty, part, count) in unsure {
        let mm = |l: &Sourced<Length>| Cell::Number(l.value.to_mm(), 2);
        table.row(vec![
            part.number.clone().into(),
            part.package.clone().into(),
            mm(&part.body_x_um),
            mm(&part.body_y_um),
            mm(&part.height_um),
            certainty_words(certainty).into(),
            source_words(least_sure(part).1).into(),
            count.into(),
        ]);
    }
    table
}

/// What the store and the feeder room must know of the parts of the job, as far as anything is known.
pub(crate) fn handling(report: &Report<'_>) -> Table {
    let mut table = Table::new(&[
        "part number",
        "moisture level",
        "may lie open (J-STD-020, up to 30 °C and 60 % humidity)",
        "pin 1 in pocket",
        "may be replaced by",
        ">lost of 1000",
        ">per panel",
    ]);
    let parts = report.plan.product.parts.iter().zip(counts(report)).filter(|(_, count)| *count > 0);
    for (part, count) in parts {
        let h = &part.handling;
        let (moisture, lost) = (h.moisture.value, h.attrition_permille.value);
        if moisture.is_none() && lost.is_none() && h.pocket_quadrant.value.is_none() && h.alternates.value.is_empty() {
            continue;
        }
        table.row(vec![
            part.number.clone().into(),
            moisture.map_or(Cell::Empty, |m| m.word().into()),
            moisture.map_or(Cell::Empty, |m| floor_life(m).into()),
            h.pocket_quadrant.value.map_or(Cell::Empty, |q| format!("quadrant {}", q.0).into()),
            h.alternates.value.join("; ").into(),
            lost.map_or(Cell::Empty, Cell::from),
            count.into(),
        ]);
    }
    table
}

/// Floor life of each level (J-STD-020).
fn floor_life(level: Moisture) -> &'static str {
    match level {
        Moisture::One => "without limit",
        Moisture::Two => "1 year",
        Moisture::TwoA => "4 weeks",
        Moisture::Three => "168 h",
        Moisture::Four => "72 h",
        Moisture::Five => "48 h",
        Moisture::FiveA => "24 h",
        Moisture::Six => "bake first, then the time on the label",
    }
}

/// The least sure of the three sizes of a part, and where it came from.
fn least_sure(part: &Part) -> (Certainty, Source) {
    let sizes = [&part.body_x_um, &part.body_y_um, &part.height_um];
    sizes.into_iter().map(|s| (s.certainty, s.source)).min().unwrap_or((Certainty::Guess, Source::Default))
}

fn certainty_words(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Guess => "a guess: check",
        Certainty::Likely => "likely",
        Certainty::Certain => "certain",
    }
}

fn source_words(source: Source) -> &'static str {
    match source {
        Source::Default => "assumed",
        Source::Name => "the package name",
        Source::File => "the designer's file",
        Source::Library => "the parts library",
        Source::Engineer => "the parts table",
    }
}
