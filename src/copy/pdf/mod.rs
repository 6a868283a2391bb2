//! The lasting copy as PDF: what the page says, in the same order, on sheets of paper, with its structure (ISO 14289-1).
//!
//! Reads the page's elements, never a layout of the strip. Lines are set by `type_setting` in steps far finer than an office printer's
//! dots; nothing of it ends in dots.

mod comic;
mod drawing;
mod figures;
mod flow;
mod lists;
mod safety;
mod sheets;
mod slab;
mod table;
mod tags;
mod text;
mod words;
mod write;

use std::collections::BTreeMap;

pub use text::{FINE, as_designed};

use super::page::{Element, Node};
use super::{Writing, direction, heading_of, tag};
use crate::manual::Document;
use crate::manual::source::Remark;
use crate::pictures::PictureSet;
use crate::type_setting::Faces;
use slab::Colour;

pub const PAPER: Colour = [255, 255, 255];
pub const INK: Colour = [0x21, 0x20, 0x1c];
pub const QUIET: Colour = [0x55, 0x52, 0x4a];
pub const LINE: Colour = [0xd0, 0xcb, 0xbf];
pub const SOFT: Colour = [0xf3, 0xf1, 0xea];
pub const LINK: Colour = [0x0b, 0x5a, 0x7d];
pub const HOT: Colour = [0xb3, 0x34, 0x1e];

/// Sizes of the type in points, and shares of the white between what is set: the usual, and what is tried where the last sheet would
/// be nearly empty.
const SIZES: [(f32, f32); 5] = [(9.5, 1.0), (9.5, 0.75), (9.2, 0.75), (8.9, 0.7), (8.6, 0.65)];

/// The sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sheet {
    A4,
    Letter,
}

/// States that print on Letter, by the subtag of their region (common practice, no source).
const LETTER: [&str; 12] = ["US", "CA", "MX", "PH", "CL", "CO", "VE", "CR", "GT", "PA", "DO", "PR"];

impl Sheet {
    /// By the region of a language's tag: `en-US` is Letter, a tag without one A4.
    pub fn of(tag: Option<&str>) -> Sheet {
        let tag = tag.unwrap_or_default().trim().replace('_', "-");
        let region = tag.parse::<icu_locale_core::LanguageIdentifier>().ok().and_then(|tag| tag.region);
        match region {
            Some(region) if LETTER.contains(&region.as_str()) => Sheet::Letter,
            _ => Sheet::A4,
        }
    }

    /// Width and height in points: ISO 216, ANSI/ASME Y14.1.
    fn size(self) -> [f32; 2] {
        match self {
            Sheet::A4 => [595.28, 841.89],
            Sheet::Letter => [612.0, 792.0],
        }
    }
}

/// Where type stands on a sheet, in points.
#[derive(Clone, Copy, Debug)]
pub struct Body {
    pub width: f32,
    pub page_height: f32,
    pub left: f32,
    pub top: f32,
    /// Of all columns.
    pub full: f32,
    pub column: f32,
    pub between: f32,
    pub columns: usize,
    pub height: f32,
    /// Of the type.
    pub size: f32,
    /// Share of the usual white between what is set.
    pub white: f32,
}

impl Body {
    fn of(sheet: Sheet) -> Body {
        let [width, page_height] = sheet.size();
        let (left, top, between) = (48.0, 50.0, 24.0);
        let full = width - left * 2.0;
        let column = (full - between) / 2.0;
        Body {
            width,
            page_height,
            left,
            top,
            full,
            column,
            between,
            columns: 2,
            height: page_height - top - 64.0,
            size: SIZES[0].0,
            white: SIZES[0].1,
        }
    }
}

/// A copy on paper, and what was noticed while it was made: each remark with an absolute span.
#[derive(Debug)]
pub struct Pdf {
    pub bytes: Vec<u8>,
    pub remarks: Vec<Remark>,
}

/// The copy of a document that was filled for all units. `faces` are [`as_designed`] at [`FINE`].
///
/// # Errors
/// In words, when what the manual holds cannot stand in a PDF that everybody can read.
pub fn pdf(document: &Document, pictures: &PictureSet, faces: Faces, name: &str, sheet: Sheet) -> Result<Pdf, String> {
    let header = &document.header;
    let Writing { page, gallery, remarks, .. } = Writing::whole(document, pictures, name);
    let mut stored = super::page::Page::default();
    gallery.store(&mut stored);
    let (nodes, stored) = (page.finish(), stored.finish());
    let setter = text::Setter::new(faces);
    let rtl = direction(header.tongue) == "rtl";
    let set = |(size, white): (f32, f32)| {
        let body = Body { size, white, ..Body::of(sheet) };
        let mut flow = flow::Flow::new(&setter, body, header.tongue);
        flow.store = symbols(&stored);
        for node in &nodes {
            match node {
                Node::Element(skip) if skip.is("skip") => {}
                Node::Element(element) => flow.block(element),
                Node::Text(_) => {}
            }
        }
        let placed = sheets::onto_pages(&flow.slabs, &body, rtl);
        (flow, placed)
    };
    let (mut flow, mut placed) = set(SIZES[0]);
    // A last sheet with a few lines on it is paper and a page to turn for nothing: type a little smaller may save it.
    let pages = |placed: &[sheets::Placed]| placed.last().map_or(0, |last| last.page);
    if sheets::last_is_nearly_empty(&flow.slabs, &placed, &Body::of(sheet)) {
        let smaller = SIZES[1..].iter().map(|&size| set(size)).find(|(_, smaller)| pages(smaller) < pages(&placed));
        if let Some(smaller) = smaller {
            (flow, placed) = smaller;
        }
    }
    let facts = write::Facts {
        title: text::clean(&heading_of(document, name)),
        purpose: header.product.purpose.clone().map(|purpose| text::clean(&purpose)),
        maker: header.product.maker.clone().map(|maker| text::clean(&maker)),
        language: tag(header),
        foot: foot(document, name),
        keywords: [("document", &header.document), ("revision", &header.revision)]
            .into_iter()
            .filter_map(|(name, value)| Some(super::stated::keyword(name, value.as_deref()?)))
            .collect(),
    };
    let bytes = write::write(flow, &placed, &facts)?;
    Ok(Pdf { bytes, remarks })
}

/// What stands at the foot of every page: what it is, and which.
fn foot(document: &Document, name: &str) -> String {
    let header = &document.header;
    let revision = header.revision.as_deref().map(|own| {
        let (before, after) = header.wording().around_revision();
        format!("{before}{own}{after}")
    });
    let title = super::title(document).map(crate::manual::document::plain_text);
    let title = title.or_else(|| header.title.clone()).unwrap_or_else(|| name.to_owned());
    let parts = [Some(title), header.document.clone(), revision, header.issued.clone()];
    let parts = parts.into_iter().flatten().map(|part| text::clean(part.trim())).filter(|part| !part.is_empty());
    let parts: Vec<String> = parts.map(|part| super::inlines::isolated(header.tongue, &part).into_owned()).collect();
    parts.join(" \u{b7} ")
}

fn symbols(nodes: &[Node]) -> BTreeMap<String, &Element> {
    let mut found = BTreeMap::new();
    for node in nodes {
        if let Node::Element(store) = node {
            found.extend(store.elements().map(|symbol| (symbol.get("id").to_owned(), symbol)));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sheet_follows_the_region() {
        for (tag, sheet) in [
            (Some("en-US"), Sheet::Letter),
            (Some("fr_CA"), Sheet::Letter),
            (Some("es-MX"), Sheet::Letter),
            (Some("en"), Sheet::A4),
            (Some("en-GB"), Sheet::A4),
            (Some("zh-Hans-CN"), Sheet::A4),
            (Some("?"), Sheet::A4),
            (None, Sheet::A4),
        ] {
            assert_eq!(Sheet::of(tag), sheet, "{tag:?}");
        }
    }
}
