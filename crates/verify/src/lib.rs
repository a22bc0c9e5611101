//! The independent checker of a plan and of its bound.
