//! Balance, set-up, trips, order, bound, search and reasons.
