//! All integration tests, one binary: linking the whole program once is what takes time.

mod commonmark;
mod golden;
mod pictures;
mod preflight;
mod printer;
mod program;
mod rooms;
mod send;
mod type_setting;
