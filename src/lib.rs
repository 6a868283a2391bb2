//! Stripling: instructions for a small product, set in dots and printed on a receipt printer, one strip for every box.
//!
//! The whole program is these seven calls; `commands/press.rs` makes them for every command, with units and a user's printer.
//!
//! ```text
//! let folder   = Folder::open(Path::new("manuals/heron"))?;              // the only door to the manual's files
//! let source   = manual::read(&folder, "heron.md", None, &run)?;         // 1 fields filled, every byte led back to its file
//! let document = manual::parse(&source)?;                                // 2 header and Markdown become blocks with spans
//! let layout   = layout::lay_out(&document, &bench, &store);             // 3 blocks become galleys, galleys stand on panels
//! let strip    = strip::paint(&layout, &faces);                          // 4 marks become dots,
//! let strip    = printer::as_told(strip, &profile);                      //   which this printer can be told
//! let picture  = strip::png::write(&strip.bitmap, strip.resolution);     // 5 what you look at
//! let bytes    = printer::encode(&strip, &profile);                      // 6 what the printer is told; decode(bytes) == strip
//! send::run(&mut ledger, destination.as_mut(), &order, &mut make, &mut tell)?;  // 7 one for every box, and an honest account
//! ```
//!
//! A room imports only rooms below it; DEVELOPERS.md says what each never does.

pub mod bitmap;
pub mod commands;
pub mod desk;
pub mod language;
pub mod layout;
pub mod manual;
pub mod models;
pub mod names;
pub mod pictures;
pub mod preflight;
pub mod printer;
pub mod send;
pub mod strip;
pub mod type_setting;
pub mod units;
pub mod web;
