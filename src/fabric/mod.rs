//! fabric.
