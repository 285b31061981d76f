//! Decisions of water care.
