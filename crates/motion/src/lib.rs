//! The clock: how long a program takes on a station, exactly, with a breakdown.
