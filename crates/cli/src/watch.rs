//! The planner's view of the world: seconds, Ctrl-C, and a progress bar.

use app::plan::Progress;
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Counts seconds, shows progress, listens for Ctrl-C.
pub struct Terminal {
    begun: Instant,
    stop: Arc<AtomicBool>,
    bar: ProgressBar,
}

impl Terminal {
    /// Begins counting. The bar shows on standard error, and only on a terminal.
    pub fn new() -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let heard = Arc::clone(&stop);
        let listening = ctrlc::set_handler(move || {
            // A second Ctrl-C ends the program at once.
            if heard.swap(true, Ordering::SeqCst) {
                std::process::exit(130);
            }
        });
        if let Err(e) = listening {
            eprintln!("note: Ctrl-C ends the program without a plan ({e})");
        }
        let bar = ProgressBar::new(1000);
        if let Ok(style) = ProgressStyle::with_template("{bar:30} {percent:>3} %  {msg}") {
            bar.set_style(style);
        }
        Self { begun: Instant::now(), stop, bar }
    }

    /// Takes the bar away.
    pub fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

impl app::plan::Watch for Terminal {
    fn seconds(&self) -> f64 {
        self.begun.elapsed().as_secs_f64()
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::SeqCst)
    }

    fn progress(&self, p: &Progress) {
        self.bar.set_position((p.share * 1000.0) as u64);
        let bound =
            p.bound.map_or(String::new(), |b| format!(", bound {:.2} s, gap {:.1} %", b.to_s(), 100.0 * (p.takt.to_s() / b.to_s() - 1.0)));
        self.bar.set_message(format!("takt {:.2} s{bound}  (Ctrl-C keeps the best so far)", p.takt.to_s()));
    }
}
