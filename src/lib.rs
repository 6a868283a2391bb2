//! Stripling: instructions for a small product, set in dots and printed on a receipt printer, one strip for every box.
//!
//! The way from a manual to a printer, as every command takes it:
//!
//! ```
//! use std::path::Path;
//! use stripling::prepress::{Choices, Prepress};
//! use stripling::{printer, strip::png};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # std::env::set_current_dir(env!("CARGO_MANIFEST_DIR"))?;
//! let units = Some("manuals/heron/units.csv".into());
//! let press = Prepress::open(Path::new("manuals/heron/heron.md"), &Choices { units, ..Choices::default() })?;
//! for (unit, number) in press.chosen(Some("HRN-C-01041"))? {
//!     let made = press.strip(unit, number)?;                                      // its source, document and layout are in it too
//!     let picture = png::write(&made.strip.bitmap, made.strip.resolution);        // what you look at
//!     let bytes = printer::encode(&made.strip, &press.profile);                   // what the printer is told
//!     assert_eq!(printer::decode(&bytes, &press.profile).bitmap, made.strip.bitmap);  // and what it does with it: proof = paper
//!     # assert!(picture.starts_with(b"\x89PNG"));
//! }
//! # Ok(())
//! # }
//! ```
//!
//! Inside [`prepress`] it goes down the house, room by room: [`manual`] reads and fills the text into a document, [`layout`] sets its
//! blocks in galleys on panels, [`strip`] paints their marks as dots, [`printer`] says which of them a printer can be told.
//!
//! Then `send::run` sends one for every box, and keeps an honest account.
//!
//! A room imports only rooms below it; DEVELOPERS.md says what each never does.

pub mod bitmap;
pub mod commands;
pub mod copy;
pub mod desk;
pub mod edit;
pub mod gain;
pub mod geometry;
pub mod language;
pub mod layout;
pub mod lengths;
pub mod makeready;
pub mod manual;
pub mod models;
pub mod names;
pub mod packing;
pub mod pictures;
pub mod preflight;
pub mod prepress;
pub mod printer;
pub mod send;
pub mod strip;
pub mod type_setting;
pub mod web;
