//! pattern.
