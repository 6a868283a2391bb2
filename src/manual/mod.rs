//! From the file the writer wrote to a document: header, fields, Markdown, blocks. Knows no dots.
//!
//! ```text
//! Folder + file name -> Template::load -> fill(unit, run) -> Source -> parse -> Document
//! ```
//!
//! A value from outside (a unit's field) is text and stays text: it never becomes markup, a block, a file that is included, or code.

mod addresses;
mod alerts;
pub mod document;
mod edits;
mod emoji;
mod error;
mod fields;
pub mod folder;
mod foreign;
mod foreign_fences;
mod front;
pub mod gathered;
mod hashes;
mod header;
pub mod imprint;
mod included;
mod literal;
mod markdown;
pub mod models;
mod numbered;
mod reading;
pub mod source;
mod tables;
pub mod units;
mod unlinked;
mod walk;
mod web_page;

pub use document::Document;
pub use error::{Error, FolderError};
pub use fields::{Run, Template};
pub use folder::{Folder, Unsaved};
pub use header::{KEYS as HEADER_KEYS, Key as HeaderKey};
pub use markdown::{fence_names, heading_name, options as markdown_options, share as page_share};
pub use reading::LONGEST;
pub use source::Source;
pub use units::{Unit, Units};

/// Reads a manual of the folder and fills its fields.
///
/// # Errors
/// When the file or an include cannot be read, is not text, or its template or header cannot be understood.
pub fn read(folder: &Folder, file: &str, unit: Option<&Unit>, run: &Run) -> Result<Source, Error> {
    Template::load(folder, file)?.fill(unit, run)
}

/// A manual's text that stands in no folder: includes find nothing.
///
/// # Errors
/// As [`read`].
pub fn read_text(name: &str, text: &str) -> Result<Source, Error> {
    let folder = Folder::of_files([(name, text.as_bytes())]);
    read(&folder, name, None, &Run::default())
}

/// Where the Markdown begins in the text of a file: behind its header or front matter.
pub fn body_of(text: &str) -> usize {
    let fence = header::fence(text).ok().flatten().or_else(|| header::front_matter(text));
    fence.map_or(0, |fence| fence.end)
}

/// From the filled text to the document.
///
/// # Errors
/// When the header or a fenced block cannot be understood.
pub fn parse(source: &Source) -> Result<Document, Error> {
    let mut remarks = source.controls();
    let header = header::read(source, &mut remarks)?;
    let tongues = included::tongues(source, &header, &mut remarks);
    markdown::read(source, header, tongues, remarks)
}

#[cfg(test)]
mod tests;
