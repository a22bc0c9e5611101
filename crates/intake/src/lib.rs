//! Designers' files and the engineer's tables, as text and bytes, into the domain with findings.
