//! Stripling: instructions for a small product, set in dots and printed on a receipt printer, one strip for every box.

pub mod bitmap;
pub mod commands;
pub mod desk;
pub mod language;
pub mod layout;
pub mod manual;
pub mod pictures;
pub mod preflight;
pub mod printer;
pub mod send;
pub mod strip;
pub mod type_setting;
pub mod units;
