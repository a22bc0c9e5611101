//! Codes of the area `read`.

codes! {}
