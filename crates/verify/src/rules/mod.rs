//! The rules, one per file.
//!
//! [`sheet`], [`range`] and [`reference`] come first, since all others rest on sound inputs and on
//! references that exist. The order of the others does not matter.

mod beam;
mod beats;
pub(crate) mod bound;
mod carry;
mod coverage;
mod dots;
mod down;
mod inspection;
mod keep;
mod locks;
pub(crate) mod order;
pub(crate) mod outcome;
pub(crate) mod range;
pub(crate) mod reference;
mod setup;
pub(crate) mod sheet;
mod station;
mod stock;
pub(crate) mod time;
mod trip;
mod unplaced;

use crate::context::Context;
use crate::verdict::Log;

/// All rules that rest on a plan whose references exist.
pub(crate) fn check_all(ctx: &Context<'_>, log: &mut Log) {
    coverage::check(ctx, log);
    station::check(ctx, log);
    carry::check(ctx, log);
    setup::check(ctx, log);
    stock::check(ctx, log);
    trip::check(ctx, log);
    beam::check(ctx, log);
    beats::check(ctx, log);
    dots::check(ctx, log);
    inspection::check(ctx, log);
    order::check(ctx, log);
    locks::check(ctx, log);
    keep::check(ctx, log);
    down::check(ctx, log);
    unplaced::check(ctx, log);
}
