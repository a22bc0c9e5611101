//! What the colours of a board picture tell: who places a part, in which pass, or when.

use crate::legend::{Entry, tinted};
use crate::lookup;
use crate::palette::{self, Tint};
use crate::scene::Colour;
use domain::job::{Job, TaskId};
use domain::plan::Plan;
use std::collections::BTreeMap;

/// What the colours of a board picture tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Colouring {
    /// Which station places a part.
    #[default]
    Station,
    /// In which pass of which station it is placed.
    Pass,
    /// When its station places it: light first, dark last.
    Order,
}

impl Colouring {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Station, Self::Pass, Self::Order];

    /// Its word in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Self::Station => "station",
            Self::Pass => "pass",
            Self::Order => "order",
        }
    }

    /// The one of a word.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.word() == word)
    }
}

/// How a placed part looks, and who places it in words.
pub(super) struct Look {
    pub(super) tint: Tint,
    pub(super) by: String,
}

/// The looks of all placed parts, and what they mean.
pub(super) struct Colours {
    pub(super) looks: BTreeMap<TaskId, Look>,
    pub(super) legend: Vec<Entry>,
}

/// Looks of all tasks of the job that are placed.
pub(super) fn colours(plan: &Plan, job: &Job<'_>, colouring: Colouring) -> Colours {
    let mut all = Colours { looks: BTreeMap::new(), legend: Vec::new() };
    let mut nth_pass = 0;
    for (s, station) in plan.stations.iter().enumerate() {
        let name = &station.station;
        let passes: Vec<Vec<TaskId>> =
            station.passes.iter().map(|p| p.work.placed().filter(|t| t.index() < job.tasks.len()).collect()).collect();
        let total: usize = passes.iter().map(Vec::len).sum();
        let base = palette::station(s);
        let mut done = 0;
        for (p, (pass, tasks)) in station.passes.iter().zip(&passes).enumerate() {
            let own = palette::station(nth_pass);
            for task in tasks {
                done += 1;
                let look = match colouring {
                    Colouring::Station => Look { tint: base, by: name.clone() },
                    Colouring::Pass => Look { tint: own, by: format!("{name}, pass {}", p + 1) },
                    Colouring::Order => Look { tint: shade(base, share(done, total)), by: format!("{name}, {done} of {total}") },
                };
                all.looks.insert(*task, look);
            }
            if colouring == Colouring::Pass && !tasks.is_empty() {
                let head = lookup::head_name(plan, station, pass.head);
                all.legend.push(Entry::tint(own, format!("{name}, pass {} with {head} ({})", p + 1, tasks.len())));
                nth_pass += 1;
            }
        }
        match colouring {
            Colouring::Station => all.legend.push(Entry::tint(base, format!("{name} ({total})"))),
            Colouring::Order if total > 0 => all.legend.push(ramp(base, format!("{name}: light first, dark last ({total})"))),
            Colouring::Pass | Colouring::Order => {}
        }
    }
    all
}

/// How far the nth of `total` is, 0 for the first and 1 for the last.
fn share(nth: usize, total: usize) -> f64 {
    if total > 1 { (nth - 1) as f64 / (total - 1) as f64 } else { 1.0 }
}

/// A step of the ramp of one hue, from light (0) over the hue itself (middle) to dark (1). The hatch stays that of the station.
fn shade(tint: Tint, at: f64) -> Tint {
    let at = at.clamp(0.0, 1.0);
    let toward = |from: u8, to: u8, share: f64| (f64::from(from) + (f64::from(to) - f64::from(from)) * share).round() as u8;
    let mix = |c: u8| if at < 0.5 { toward(c, 0xff, 0.7 * (1.0 - 2.0 * at)) } else { toward(c, 0, 0.7 * (2.0 * at - 1.0)) };
    let Colour(r, g, b) = tint.colour;
    Tint { colour: Colour(mix(r), mix(g), mix(b)), ..tint }
}

/// A swatch of three steps of a ramp.
fn ramp(tint: Tint, words: String) -> Entry {
    let swatch = [0.0, 0.5, 1.0].into_iter().enumerate().flat_map(|(i, at)| tinted(5.0 * i as f64, 1.0, 5.0, 12.0, shade(tint, at), ""));
    Entry { swatch: swatch.collect(), words }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_darkens_all_the_way() {
        let luma = |t: Tint| 0.299 * f64::from(t.colour.0) + 0.587 * f64::from(t.colour.1) + 0.114 * f64::from(t.colour.2);
        for station in 0..12 {
            let steps: Vec<f64> = (0..=20).map(|i| luma(shade(palette::station(station), f64::from(i) / 20.0))).collect();
            assert!(steps.windows(2).all(|w| w[1] < w[0]), "{station}: {steps:?}");
            assert!(steps[0] - steps[20] > 90.0, "{station}: too little contrast {steps:?}");
        }
    }

    #[test]
    fn words_lead_back() {
        assert!(Colouring::ALL.into_iter().all(|c| Colouring::of(c.word()) == Some(c)));
        assert_eq!(Colouring::of("hue"), None);
    }
}
