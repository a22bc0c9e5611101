//! Two threads against one: the same plan for the same work, and how much sooner.

use crate::Trouble;
use crate::campaign::{Setting, child};
use crate::instance::Instance;

/// One instance with one and with two threads.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Name of the instance.
    pub instance: String,
    /// Whether both gave the same plan.
    pub same: bool,
    /// Seconds with one thread.
    pub one_s: f64,
    /// Seconds with two.
    pub two_s: f64,
}

/// Runs each instance twice with the same work.
///
/// # Errors
/// When a run fails or no limit by work is given.
pub fn measure(instances: &[Instance], setting: &Setting) -> Result<Vec<Pair>, Trouble> {
    if setting.work.is_none() {
        return Err("--work is needed: only equal work gives equal plans".to_owned());
    }
    let with = |threads: usize| Setting { threads, seconds: None, ..setting.clone() };
    let mut pairs = Vec::new();
    for instance in instances {
        let (one, two) = (child(instance, 1, &with(1))?, child(instance, 1, &with(2))?);
        if one.outcome != "planned" {
            continue;
        }
        pairs.push(Pair {
            instance: instance.name.clone(),
            same: one.fingerprint == two.fingerprint,
            one_s: one.took_s.unwrap_or(0.0),
            two_s: two.took_s.unwrap_or(0.0),
        });
        println!("{}", line(&pairs[pairs.len() - 1]));
    }
    Ok(pairs)
}

/// Heading of [`line`]s.
pub const HEADING: &str = "| instance | same plan | 1 thread [s] | 2 threads [s] | times faster |\n|---|---|---|---|---|";

/// A pair for people.
pub fn line(p: &Pair) -> String {
    format!(
        "| {} | {} | {:.2} | {:.2} | {:.2} |",
        p.instance,
        if p.same { "yes" } else { "NO" },
        p.one_s,
        p.two_s,
        p.one_s / p.two_s.max(1e-9)
    )
}
