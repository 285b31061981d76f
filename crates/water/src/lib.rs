//! Aqueous chemistry of tub water.
