//! Codes of the area `verify`.

codes! {}
