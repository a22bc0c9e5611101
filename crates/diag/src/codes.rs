//! The register of all codes, one list per area.

/// Declares the codes of one area and the list of them all.
macro_rules! codes {
    ($($name:ident = $id:literal $severity:ident: $meaning:literal, sample $sample:literal, cure $cure:literal;)*) => {
        $(
            #[doc = $meaning]
            pub const $name: &$crate::Code = &$crate::Code {
                id: $id,
                severity: $crate::Severity::$severity,
                meaning: $meaning,
                sample: $sample,
                cure: $cure,
            };
        )*
        /// Every code of this area.
        pub const ALL: &[&$crate::Code] = &[$($name),*];
    };
}

pub mod change;
pub mod conflict;
pub mod family;
pub mod line;
pub mod parts;
pub mod plan;
pub mod read;
pub mod verify;

/// Every code of every area, in the order of the index.
pub fn all() -> impl Iterator<Item = &'static crate::Code> {
    [read::ALL, parts::ALL, line::ALL, plan::ALL, conflict::ALL, change::ALL, family::ALL, verify::ALL].into_iter().flatten().copied()
}

/// The code with this stable name.
pub fn find(id: &str) -> Option<&'static crate::Code> {
    all().find(|code| code.id == id)
}
