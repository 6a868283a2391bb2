//! All integration tests, one binary.

mod golden;
mod type_setting;
