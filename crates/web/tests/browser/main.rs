//! What only a real browser can show of the room: scripts, dragging, live figures, keys, focus, print, colours.
//!
//! Each story starts its own room and its own browser. They are left out, with a message, where `/usr/bin/chromium` is not there;
//! `EVENLINE_REQUIRE_BROWSER=1` makes that a failure. `EVENLINE_SCREENS=folder` keeps pictures of the pages,
//! `EVENLINE_AXE=path/to/axe.min.js` checks them for what keeps people out.

#[path = "../common/mod.rs"]
mod common;

mod chromium;
mod house;
mod tab;

mod boards;
mod keys;
mod lines;
mod live;
mod looks;
mod people;
mod plans;
