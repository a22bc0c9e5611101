//! A watch that remembers how the takt fell.

use optimise::{Progress, Watch};
use std::sync::Mutex;
use std::time::Instant;
use units::Time;

/// A moment of planning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Seconds since planning began.
    pub seconds: f64,
    /// Best takt so far.
    pub takt: Time,
}

/// Seconds since it was made; keeps every improvement it is told of.
pub struct Recorder {
    begun: Instant,
    moments: Mutex<Vec<Moment>>,
}

impl Recorder {
    /// Starts.
    pub fn start() -> Self {
        Self { begun: Instant::now(), moments: Mutex::new(Vec::new()) }
    }

    /// All improvements, in order.
    pub fn moments(&self) -> Vec<Moment> {
        self.moments.lock().expect("nobody panics while noting a moment").clone()
    }
}

impl Watch for Recorder {
    fn seconds(&self) -> f64 {
        self.begun.elapsed().as_secs_f64()
    }

    fn stopped(&self) -> bool {
        false
    }

    fn progress(&self, p: &Progress) {
        let mut moments = self.moments.lock().expect("nobody panics while noting a moment");
        if moments.last().is_none_or(|m| p.takt < m.takt) {
            moments.push(Moment { seconds: self.seconds(), takt: p.takt });
        }
    }
}

/// When the takt first was no longer than `limit` [s].
pub fn first_within(moments: &[Moment], limit: f64) -> Option<f64> {
    moments.iter().find(|m| m.takt.0 as f64 <= limit).map(|m| m.seconds)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_moment_within_a_limit_counts() {
        let m = |seconds, takt| Moment { seconds, takt: Time(takt) };
        let fell = [m(0.1, 200), m(0.5, 120), m(2.0, 101), m(9.0, 100)];
        assert_eq!(first_within(&fell, 101.0), Some(2.0));
        assert_eq!(first_within(&fell, 105.0), Some(2.0));
        assert_eq!(first_within(&fell, 99.0), None);
    }

    #[test]
    fn only_improvements_are_kept() {
        let watch = Recorder::start();
        for takt in [50, 60, 40, 40] {
            watch.progress(&Progress { share: 0.5, takt: Time(takt), bound: None });
        }
        assert_eq!(watch.moments().iter().map(|m| m.takt.0).collect::<Vec<_>>(), [50, 40]);
    }
}
