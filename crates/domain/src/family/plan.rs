//! A family plan: one set-up, and for each product a plan of its own on it.
//!
//! Each product's plan is complete by itself: it holds product, line, rules, programs and certificate, and the
//! whole set-up, also feeders that only other products pick from. So it can be timed, checked and reported alone.

use crate::plan::{Outcome, Plan, Reason, SupplyAt};
use diag::{Finding, codes};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use units::Time;

/// What this program calls the file format of family plans.
pub const SCHEMA: &str = "evenline-family-plan/1";

/// A family plan with its inputs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FamilyPlan {
    /// Format, [`SCHEMA`].
    pub schema: String,
    /// Name of the family.
    pub name: String,
    /// Seed of the search.
    pub seed: u64,
    /// Work done by the search [moves tried].
    pub work: u64,
    /// How it ended.
    pub outcome: Outcome,
    /// Time of the whole demand: Σ panels × takt over the products [µs].
    pub time_us: Time,
    /// No family plan of these products in these numbers on this line takes less [µs].
    pub bound_us: Time,
    /// What stands where, in the order of the line, the same for every product.
    pub setup: Vec<SharedSetup>,
    /// The products.
    pub members: Vec<Member>,
    /// What holds the plan back, and what sharing costs.
    pub reasons: Vec<Reason>,
    /// Findings that concern the family as a whole.
    pub findings: Vec<Finding>,
}

/// What stands at a station for all products.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SharedSetup {
    /// Name of the station.
    pub station: String,
    /// Feeders and trays. Parts are indices into the list of parts that all products have in common.
    pub supplies: Vec<SupplyAt>,
}

/// A product of a family plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Member {
    /// Boards wanted.
    pub boards: u64,
    /// Panels that hold them.
    pub panels: u64,
    /// Takt of the best plan of this product by itself that was found on the way, with a set-up of its own [µs];
    /// for comparison, 0 if there is none.
    pub alone_us: Time,
    /// Its plan.
    pub plan: Plan,
}

impl FamilyPlan {
    /// Reads a family plan file.
    ///
    /// # Errors
    /// `family.plan-syntax` when it is no family plan or is cut short, `family.plan-schema` when it is of another version.
    pub fn parse(file: &str, text: &str) -> Result<Self, Box<Finding>> {
        let syntax = |e: serde_json::Error| Box::new(Finding::new(codes::family::PLAN_SYNTAX, e.to_string()).at(file, e.line() as u32));
        let schema = schema_of(text).map_err(syntax)?;
        if schema != SCHEMA {
            let wrong = Finding::new(codes::family::PLAN_SCHEMA, format!("this program reads `{SCHEMA}`"));
            return Err(Box::new(wrong.at(file, 1).value(schema)));
        }
        serde_json::from_str(text).map_err(syntax)
    }

    /// Whether a text says of itself that it is a family plan, of whatever version.
    pub fn is_one(text: &str) -> bool {
        schema_of(text).is_ok_and(|s| s.starts_with("evenline-family-plan/"))
    }

    /// (time − bound) / bound.
    pub fn gap(&self) -> f64 {
        if self.bound_us.0 > 0 { (self.time_us.0 - self.bound_us.0) as f64 / self.bound_us.0 as f64 } else { 0.0 }
    }
}

fn schema_of(text: &str) -> Result<String, serde_json::Error> {
    #[derive(Deserialize)]
    struct Version {
        schema: String,
    }
    serde_json::from_str::<Version>(text).map(|v| v.schema)
}

/// Σ panels × figure; `None` if it leaves 64 bits.
///
/// ```
/// use domain::family::plan::weighted;
/// use units::Time;
/// assert_eq!(weighted([(120, Time(50)), (3, Time(7))]), Some(Time(6_021)));
/// assert_eq!(weighted([(u64::MAX, Time(2))]), None);
/// ```
pub fn weighted(figures: impl IntoIterator<Item = (u64, Time)>) -> Option<Time> {
    let mut sum = 0i128;
    for (panels, t) in figures {
        sum = i128::from(panels).checked_mul(i128::from(t.0)).and_then(|x| sum.checked_add(x))?;
    }
    i64::try_from(sum).ok().map(Time)
}
