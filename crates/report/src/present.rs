//! A plan and how it is to be presented.

use crate::error::ReportError;
use domain::job::Job;
use domain::plan::Plan;
use draw::Scene;
use draw::beams::BeamStretch;
use units::Time;

/// A plan, ready to be written as a page, sheets or a workbook.
pub struct Report<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) title: String,
    /// The job of the plan, or why it has none.
    pub(crate) job: Result<Job<'a>, String>,
    /// Time of each pass of each station, where somebody has timed them.
    pub(crate) pass_times: Vec<Vec<Time>>,
    /// What the beams of each station do when, where somebody has played them out.
    pub(crate) beams: Vec<Vec<BeamStretch>>,
}

impl<'a> Report<'a> {
    /// A report titled after the product, the side and the line.
    pub fn new(plan: &'a Plan) -> Self {
        let title = format!("{}, {} side, on {}", plan.product.name, plan.side.word(), plan.line.name);
        Self { plan, title, job: draw::lookup::job(plan), pass_times: Vec::new(), beams: Vec::new() }
    }

    /// With another title.
    #[must_use]
    pub fn titled(mut self, title: impl Into<String>) -> Self {
        self.title = title.into();
        self
    }

    /// With the time of each pass, station by station, for the lines of time; see [`crate::pass_times`].
    #[must_use]
    pub fn timed(mut self, pass_times: Vec<Vec<Time>>) -> Self {
        self.pass_times = pass_times;
        self
    }

    /// With what the beams do when, station by station; see [`crate::beam_stretches`].
    #[must_use]
    pub fn played(mut self, beams: Vec<Vec<BeamStretch>>) -> Self {
        self.beams = beams;
        self
    }

    /// The line of time of a station: of two beams side by side where they are played out.
    pub(crate) fn timeline(&self, station: usize) -> Option<Scene> {
        let played = self.beams.get(station).filter(|b| !b.is_empty());
        played
            .and_then(|b| draw::beams::scene(self.plan, station, b))
            .or_else(|| draw::timeline::scene(self.plan, station, self.pass_times.get(station).map(Vec::as_slice)))
    }

    /// As one self-contained page: no scripts, nothing fetched.
    pub fn html(&self) -> String {
        crate::html::page(self)
    }

    /// As printed sheets, A4 landscape.
    ///
    /// # Errors
    /// When a picture has more shapes than the sheet writer takes (about a million), or the sheets cannot be written.
    pub fn pdf(&self) -> Result<Vec<u8>, ReportError> {
        crate::pdf::sheets(self)
    }

    /// As a workbook.
    ///
    /// # Errors
    /// When a sheet would have more rows than a workbook can hold.
    pub fn xlsx(&self) -> Result<Vec<u8>, ReportError> {
        crate::xlsx::workbook(self)
    }

    /// Reference of a task.
    pub(crate) fn task(&self, task: domain::job::TaskId) -> String {
        match &self.job {
            Ok(job) => draw::lookup::task_name(job, task),
            Err(_) => format!("task {}", task.0),
        }
    }
}
