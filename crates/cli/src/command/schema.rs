//! `evenline schema`.

use crate::End;
use crate::args::SchemaArgs;

pub fn run(a: &SchemaArgs) -> Result<End, End> {
    match app::documents::schema(&a.name) {
        Some(text) => crate::say::print(&text),
        None => Err(End::Usage),
    }
}
