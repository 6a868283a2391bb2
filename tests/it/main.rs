//! All integration tests, one binary: linking the whole program once is what takes time.

mod bad_input;
mod broken_pictures;
mod commands;
mod commonmark;
mod desk;
mod figures;
mod gather;
mod golden;
mod layout;
mod manuals;
mod models;
mod paper;
mod pictures;
mod places;
mod pngsuite;
mod preflight;
mod printer;
mod program;
mod project;
mod reading;
mod readme;
mod rooms;
mod send;
mod tongues;
mod type_setting;
mod words;
