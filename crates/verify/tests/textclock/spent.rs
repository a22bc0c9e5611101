//! Where the time of a panel goes.

use domain::plan::Breakdown;
use units::Time;

/// Times of one panel [µs each].
#[derive(Clone, Copy, Default)]
pub struct Spent {
    pub transfer: i64,
    pub fiducials: i64,
    pub pick_travel: i64,
    pub pick_strokes: i64,
    pub feeder_wait: i64,
    pub sight: i64,
    pub place_travel: i64,
    pub place_strokes: i64,
    pub index: i64,
    pub nozzle_change: i64,
    pub head_swap: i64,
    pub tray_change: i64,
    pub dispense: i64,
    pub inspection: i64,
    pub beam_wait: i64,
}

impl Spent {
    pub fn total(&self) -> i64 {
        self.transfer
            + self.fiducials
            + self.pick_travel
            + self.pick_strokes
            + self.feeder_wait
            + self.sight
            + self.place_travel
            + self.place_strokes
            + self.index
            + self.nozzle_change
            + self.head_swap
            + self.tray_change
            + self.dispense
            + self.inspection
            + self.beam_wait
    }

    pub fn breakdown(&self) -> Breakdown {
        Breakdown {
            transfer_us: Time(self.transfer),
            fiducials_us: Time(self.fiducials),
            pick_travel_us: Time(self.pick_travel),
            pick_strokes_us: Time(self.pick_strokes),
            feeder_wait_us: Time(self.feeder_wait),
            sight_us: Time(self.sight),
            place_travel_us: Time(self.place_travel),
            place_strokes_us: Time(self.place_strokes),
            index_us: Time(self.index),
            nozzle_change_us: Time(self.nozzle_change),
            head_swap_us: Time(self.head_swap),
            tray_change_us: Time(self.tray_change),
            dispense_us: Time(self.dispense),
            inspection_us: Time(self.inspection),
            beam_wait_us: Time(self.beam_wait),
        }
    }
}
