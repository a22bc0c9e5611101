//! Package names.
