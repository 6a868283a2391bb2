//! From the file the writer wrote to a document: header, fields, Markdown, blocks. Knows no dots.

pub mod document;
pub mod folder;
pub mod source;
