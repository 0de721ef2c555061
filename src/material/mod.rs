//! material.
