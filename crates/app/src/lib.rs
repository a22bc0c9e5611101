//! The use cases that join the other crates; what every edge calls.
