//! Marks, views and dots: a way to each, and what is done there.

use super::StationClock;
use crate::record::{About, Cause, Record, Unrecorded};
use domain::job::TaskId;
use units::{Point, Time};

impl StationClock {
    /// Looks at marks or views in order: way, settling and look for each; the head ends over the last.
    pub fn looks(&self, points: &[Point], each: Time, at: &mut Point) -> Time {
        self.looks_noted(points, each, at, Cause::Inspection, &mut Unrecorded)
    }

    /// [`Self::looks`] for this cause, told piece by piece.
    pub(crate) fn looks_noted<R: Record>(&self, points: &[Point], each: Time, at: &mut Point, cause: Cause, record: &mut R) -> Time {
        let mut total = Time::ZERO;
        for point in points {
            let about = || About { at: Some(*point), ..About::default() };
            if point != at {
                let way = self.travel(*at, *point, 100) + self.settle_place;
                total += way;
                record.note(cause, way, about);
            }
            total += each;
            record.note(cause, each, about);
            *at = *point;
        }
        total
    }

    /// Looks at the panel's marks, the head already standing over the first.
    pub fn marks(&self, marks: &[Point]) -> Time {
        self.marks_noted(marks, &mut Unrecorded)
    }

    /// [`Self::marks`], told piece by piece.
    pub(crate) fn marks_noted<R: Record>(&self, marks: &[Point], record: &mut R) -> Time {
        match marks.first() {
            None => Time::ZERO,
            Some(first) => self.looks_noted(marks, self.fiducial, &mut first.clone(), Cause::Fiducials, record),
        }
    }

    /// Sets dots of tasks in order: way, settling, and the dots one after the other at each.
    pub fn dots(&self, head: usize, places: impl Iterator<Item = (Point, u8)>, at: &mut Point) -> Time {
        self.dots_noted(head, places.map(|(point, count)| (None, point, count)), at, &mut Unrecorded)
    }

    /// [`Self::dots`] of tasks that may be named, told piece by piece.
    pub(crate) fn dots_noted<R: Record>(
        &self,
        head: usize,
        places: impl Iterator<Item = (Option<TaskId>, Point, u8)>,
        at: &mut Point,
        record: &mut R,
    ) -> Time {
        let mut total = Time::ZERO;
        for (task, point, count) in places {
            let about = |task| About { at: Some(point), head: Some(head as u32), task, ..About::default() };
            if point != *at {
                let way = self.travel(*at, point, 100) + self.settle_place;
                total += way;
                record.note(Cause::Dispense, way, || about(None));
            }
            let dots = self.heads[head].dot * i64::from(count);
            total += dots;
            record.note(Cause::Dispense, dots, || about(task));
            *at = point;
        }
        total
    }
}
