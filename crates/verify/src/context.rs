//! A plan whose references are known to exist, flattened for the rules.

use crate::capability::nozzle_serves;
use crate::sequence::Sequence;
use domain::job::{Job, TaskId};
use domain::line::{Head, Line, Station};
use domain::part::Part;
use domain::plan::{Pass, Plan, Trip, Work};
use motion::Clock;

/// What every rule is given.
pub(crate) struct Context<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) line: &'a Line,
    pub(crate) job: &'a Job<'a>,
    pub(crate) clock: &'a Clock<'a>,
    /// Every placement.
    pub(crate) placed: Vec<Placed>,
    pub(crate) sequence: Sequence,
}

/// One placement of the plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed {
    pub(crate) task: TaskId,
    pub(crate) station: usize,
    pub(crate) head: usize,
    /// The nozzle kind its spindle has in the layout of its trip, or that its head of the drum turns down for it.
    pub(crate) nozzle: Option<u32>,
}

/// One trip and where it stands.
pub(crate) struct TripAt<'a> {
    pub(crate) station: usize,
    pub(crate) pass: usize,
    pub(crate) number: usize,
    pub(crate) head: usize,
    pub(crate) layout: &'a [Option<u32>],
    pub(crate) trip: &'a Trip,
}

impl<'a> Context<'a> {
    pub(crate) fn new(plan: &'a Plan, job: &'a Job<'a>, clock: &'a Clock<'a>) -> Self {
        let mut placed = Vec::with_capacity(job.tasks.len());
        for (station, _, pass) in passes(plan) {
            if let Work::Turret { nozzles, beats } = &pass.work {
                placed.extend(beats.iter().enumerate().filter_map(|(i, b)| {
                    let (task, head) = (b.as_ref()?.task, pass.head as usize);
                    let held = nozzles.get(i % nozzles.len().max(1)).map_or(&[][..], Vec::as_slice);
                    let (drum, part) = (&plan.line.station[station].head[head], job.part(task));
                    let serving = held.iter().find(|k| nozzle_serves(&plan.line, drum, part, **k as usize));
                    Some(Placed { task, station, head, nozzle: serving.or(held.first()).copied() })
                }));
            }
        }
        for t in trips(plan) {
            placed.extend(t.trip.places.iter().map(|p| Placed {
                task: p.task,
                station: t.station,
                head: t.head,
                nozzle: t.layout.get(usize::from(p.spindle)).copied().flatten(),
            }));
        }
        Self { plan, line: &plan.line, job, clock, placed, sequence: Sequence::new(plan, job.tasks.len(), clock) }
    }

    pub(crate) fn part(&self, task: TaskId) -> &'a Part {
        self.job.part(task)
    }

    pub(crate) fn station(&self, station: usize) -> &'a Station {
        &self.line.station[station]
    }

    pub(crate) fn head(&self, station: usize, head: usize) -> &'a Head {
        &self.line.station[station].head[head]
    }

    /// All trips of the plan, in the order of the line.
    pub(crate) fn trips(&self) -> impl Iterator<Item = TripAt<'a>> {
        trips(self.plan)
    }

    /// All passes of the plan with their station, in the order of the line.
    pub(crate) fn passes(&self) -> impl Iterator<Item = (usize, usize, &'a Pass)> {
        passes(self.plan)
    }

    /// `C1@2 at station chip-1, head inline`, for messages.
    pub(crate) fn say(&self, p: &Placed) -> String {
        let (station, head) = (self.station(p.station), self.head(p.station, p.head));
        format!("{} by head `{}` of station `{}`", self.job.name(p.task), head.name, station.name)
    }
}

fn passes(plan: &Plan) -> impl Iterator<Item = (usize, usize, &Pass)> {
    plan.stations.iter().enumerate().flat_map(|(s, station)| station.passes.iter().enumerate().map(move |(k, pass)| (s, k, pass)))
}

fn trips(plan: &Plan) -> impl Iterator<Item = TripAt<'_>> {
    passes(plan).flat_map(|(station, pass, p)| {
        let (layouts, trips): (&[Vec<Option<u32>>], &[Trip]) = match &p.work {
            Work::Place { layouts, trips } => (layouts, trips),
            Work::Dispense { .. } | Work::Inspect { .. } | Work::Turret { .. } => (&[], &[]),
        };
        trips.iter().enumerate().map(move |(number, trip)| TripAt {
            station,
            pass,
            number,
            head: p.head as usize,
            layout: layouts.get(trip.layout as usize).map_or(&[], Vec::as_slice),
            trip,
        })
    })
}

impl TripAt<'_> {
    /// `station chip-1, pass 1, trip 3`, for messages.
    pub(crate) fn say(&self, ctx: &Context<'_>) -> String {
        format!("station `{}`, pass {}, trip {}", ctx.station(self.station).name, self.pass + 1, self.number + 1)
    }
}
