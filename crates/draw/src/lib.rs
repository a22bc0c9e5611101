//! Scenes drawn as SVG: boards, banks, balances.
