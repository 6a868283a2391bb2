//! Stripling: instructions for a small product, set in dots and printed on a receipt printer, one strip for every box.
//!
//! The whole program is these calls; `commands/press.rs` makes them for every command, with units and a user's printer.
//!
//! ```
//! use std::path::Path;
//! use stripling::layout::{self, Bench, Store, Style};
//! use stripling::manual::{self, Folder, Run};
//! use stripling::pictures::Album;
//! use stripling::printer::{self, Profile};
//! use stripling::type_setting::{FONT_FILES, Faces};
//! use stripling::strip;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let profile = Profile::named("80mm")?;
//! let faces = Faces::new(profile.resolution);
//! let folder = Folder::open(Path::new("manuals/heron"))?;                     // the only door to the manual's files
//! let source = manual::read(&folder, "heron.md", None, &Run::default())?;     // 1 fields filled, every byte led back to its file
//! let document = manual::parse(&source)?;                                     // 2 header and Markdown become blocks with spans
//! let album = Album::open(folder, FONT_FILES);
//! let style = Style::named("comic").ok_or("no such style")?;
//! let (paper, language) = (profile.paper(), document.header.tongue);
//! let bench = Bench { faces: &faces, album: &album, style: &style, paper, language, panel_room: None };
//! let layout = layout::lay_out(&document, &bench, &Store::new());             // 3 blocks become galleys, galleys stand on panels
//! let strip = strip::paint(&layout, &faces);                                  // 4 marks become dots,
//! let strip = printer::as_told(strip, &profile);                              //   which this printer can be told
//! let picture = strip::png::write(&strip.bitmap, strip.resolution);           // 5 what you look at
//! let bytes = printer::encode(&strip, &profile);                              // 6 what the printer is told
//! assert_eq!(printer::decode(&bytes, &profile).bitmap, strip.bitmap);         //   what it does with it: proof = paper
//! assert!(picture.starts_with(b"\x89PNG"));
//! # Ok(())
//! # }
//! ```
//!
//! Then `send::run` sends one for every box, and keeps an honest account.
//!
//! A room imports only rooms below it; DEVELOPERS.md says what each never does.

pub mod bitmap;
pub mod commands;
pub mod copy;
pub mod desk;
pub mod gain;
pub mod language;
pub mod layout;
pub mod makeready;
pub mod manual;
pub mod models;
pub mod names;
pub mod packing;
pub mod pictures;
pub mod preflight;
pub mod printer;
pub mod send;
pub mod strip;
pub mod type_setting;
pub mod units;
pub mod web;
