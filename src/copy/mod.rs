//! The lasting copy: the manual as one web page that needs nothing else. The same words in the same order as on the strip, in full
//! colour, and nothing of a unit.
//!
//! Reads a [`Document`] and never a layout. Runs no script, refers to nothing outside of its own file but by links that a person
//! follows, and is the same bytes on every machine.

mod blocks;
mod callouts;
mod codes;
mod comic;
mod embedded;
mod figures;
mod inlines;
mod links;
mod model;
pub mod page;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod stated;
mod style_sheet;

use crate::language::{Language, OwnWords, Wording};
use crate::manual::Document;
use crate::manual::document::{Block, Header, Inline, Kind, plain_text};
use crate::manual::imprint::{self, Words};
use crate::manual::source::Remark;
use crate::pictures::PictureSet;

pub use embedded::encoded;

use embedded::Gallery;
use figures::Place;
use links::Links;
use page::Page;

/// What every copy begins with: a page of the writer's own hardly does.
pub const BEGINNING: &str = "<!DOCTYPE html><!--copy-->";

/// What a PDF of the program's says made it.
pub const MAKER: &str = "Stripling, lasting copy";

/// Whether a file is a copy as PDF: all PDF begin alike, but say who made them.
pub fn is_pdf_of_ours(bytes: &[u8]) -> bool {
    let said = format!("/Creator({MAKER})");
    bytes.starts_with(b"%PDF-") && bytes.windows(said.len()).any(|part| part == said.as_bytes())
}

/// What makes a program that can write PDF; nothing where this one can.
pub const HOW_TO_GET_PDF: Option<&str> =
    if cfg!(feature = "pdf") { None } else { Some("cargo install --locked --path . --features pdf") };

/// Width of the column of text, in CSS pixels; 72 mm of a strip of 80 mm are as wide.
const COLUMN: u32 = 680;
const STRIP: u32 = 72;
/// From so many sections on the copy has a list of them.
const SECTIONS: usize = 4;

/// A copy, and what was noticed while it was made: each remark with an absolute span.
#[derive(Debug)]
pub struct Copy {
    pub html: String,
    pub remarks: Vec<Remark>,
}

/// What is said in place of a unit's values: the writer's own words, or those of the language.
pub fn words_for_units(header: &Header) -> String {
    header.copy_unit.clone().unwrap_or_else(|| header.wording().see_your_strip().to_owned())
}

/// The copy of a document that was filled for all units. `name` is its title where it has none.
pub fn html(document: &Document, pictures: &PictureSet, name: &str) -> Copy {
    let header = &document.header;
    let Writing { page: body, gallery, most_called, remarks, .. } = Writing::whole(document, pictures, name);
    let mut page = Page::default();
    page.open("html", &[("lang", &tag(header)), ("dir", direction(header.tongue))]);
    head(&mut page, document, name, &style_sheet::of(most_called));
    page.open("body", &[]);
    gallery.store(&mut page);
    page.join(body);
    Copy { html: page::html(&page.finish()), remarks }
}

fn direction(language: Language) -> &'static str {
    if language.is_rtl() { "rtl" } else { "ltr" }
}

/// The language as the writer wrote it, where that is a tag.
fn tag(header: &Header) -> String {
    let written = header.language.as_deref().unwrap_or_default().trim().replace('_', "-");
    // Words from the right are no English ones, whatever stands around them.
    let known = Language::from_tag(&written).is_some() || header.tongue == Language::EnglishFromRight;
    match written.parse::<icu_locale_core::LanguageIdentifier>() {
        Ok(tag) if known => tag.to_string(),
        _ => header.tongue.tag().to_owned(),
    }
}

fn head(page: &mut Page, document: &Document, name: &str, sheet: &str) {
    let header = &document.header;
    page.open("head", &[]);
    page.open("meta", &[("charset", "utf-8")]);
    let policy = format!(
        "default-src 'none'; img-src data:; style-src '{}'; base-uri 'none'; form-action 'none'",
        style_sheet::digest(sheet)
    );
    page.open("meta", &[("http-equiv", "Content-Security-Policy"), ("content", &policy)]);
    page.open("meta", &[("name", "viewport"), ("content", "width=device-width, initial-scale=1")]);
    page.open("meta", &[("name", "color-scheme"), ("content", "light dark")]);
    page.open("meta", &[("name", "referrer"), ("content", "no-referrer")]);
    if let Some(purpose) = &header.product.purpose {
        page.open("meta", &[("name", "description"), ("content", purpose)]);
    }
    page.element("title", &[], &heading_of(document, name));
    page.style(sheet);
    page.close();
}

/// What a window is titled with that shows the copy.
fn heading_of(document: &Document, name: &str) -> String {
    let title = title(document).map_or_else(|| name.to_owned(), plain_text);
    let title = match &document.header.subtitle {
        Some(subtitle) => format!("{title}: {subtitle}"),
        None => title,
    };
    title.trim().to_owned()
}

/// The first `#`, else what the header says.
fn title(document: &Document) -> Option<&[Inline]> {
    document.blocks.iter().find_map(|block| match &block.kind {
        Kind::Title(text) if !plain_text(text).trim().is_empty() => Some(text.as_slice()),
        _ => None,
    })
}

/// A copy under way.
struct Writing<'a> {
    page: Page,
    pictures: &'a PictureSet,
    language: Language,
    own_words: &'a OwnWords,
    /// In place of a unit's values.
    units: String,
    gallery: Gallery,
    links: Links,
    remarks: Vec<Remark>,
    /// Start of the top-level block that is written: spans inside count from there.
    base: u32,
    /// Of the heading before: none is skipped below it.
    level: u8,
    /// Headings so far.
    headings: usize,
    /// Figures with callouts so far.
    figures: usize,
    most_called: usize,
    /// How pictures stand in the words that are written.
    icons: Place,
}

impl<'a> Writing<'a> {
    /// The whole of a document, written.
    fn whole(document: &'a Document, pictures: &'a PictureSet, name: &str) -> Writing<'a> {
        let header = &document.header;
        let mut writing = Writing {
            page: Page::default(),
            pictures,
            language: header.tongue,
            own_words: &header.own_words,
            units: words_for_units(header),
            gallery: Gallery::of(document, pictures),
            links: Links::of(document),
            remarks: Vec::new(),
            base: 0,
            level: 1,
            headings: 0,
            figures: 0,
            most_called: 0,
            icons: Place::Line,
        };
        writing.body(document, name);
        writing
    }

    fn wording(&self) -> Wording<'a> {
        Wording::new(self.language, self.own_words)
    }

    fn body(&mut self, document: &Document, name: &str) {
        let header = &document.header;
        self.page.element("a", &[("class", "skip"), ("href", "#text")], self.wording().skip());
        self.page.open("header", &[]);
        let own = title(document);
        self.page.open("h1", &[("id", "top")]);
        match own {
            Some(text) => self.words(text),
            None => self.page.text(header.title.as_deref().unwrap_or(name)),
        }
        self.page.close();
        if let Some(subtitle) = &header.subtitle {
            self.page.element("p", &[("class", "sub")], subtitle);
        }
        let mut rest: Vec<&Block> = document.blocks.iter().collect();
        if let Some(at) = rest.iter().position(|block| matches!(block.kind, Kind::Title(_))) {
            let block = rest.remove(at);
            self.base = block.span.start;
            if let Kind::Title(text) = &block.kind {
                self.headings += 1;
                self.large_pictures(text);
            }
            // The picture of the product belongs to its name.
            if rest
                .get(at)
                .is_some_and(|next| at == 0 && matches!(&next.kind, Kind::Figure(figure) if figure.callouts.is_empty()))
            {
                let block = rest.remove(at);
                self.base = block.span.start;
                self.block(block);
            }
        }
        self.page.close();
        self.contents(document);
        self.page.open("main", &[("id", "text"), ("tabindex", "-1")]);
        let outside = self.page.depth();
        for block in rest {
            self.base = block.span.start;
            if matches!(block.kind, Kind::Heading { level: 0..=2, .. }) {
                self.end_section(outside);
                let id = self.links.heading(self.headings).to_owned();
                self.page.open("section", &[("aria-labelledby", &id)]);
            }
            self.spoken(block, document.tongue_at(block.span.start), header.tongue);
        }
        self.end_section(outside);
        self.page.close();
        self.imprint(header);
    }

    /// A block in its own language, where that is not the manual's.
    fn spoken(&mut self, block: &Block, own: Language, usual: Language) {
        if own == usual {
            return self.block(block);
        }
        self.page.open("div", &[("lang", own.tag()), ("dir", direction(own))]);
        self.language = own;
        self.block(block);
        self.language = usual;
        self.page.close();
    }

    fn end_section(&mut self, outside: usize) {
        if self.page.depth() > outside {
            self.page.close();
        }
    }

    fn contents(&mut self, document: &Document) {
        let sections: Vec<(String, String)> = self.links.sections(document);
        if sections.len() < SECTIONS {
            return;
        }
        self.page.open("nav", &[("aria-labelledby", "contents")]);
        self.page.element("h2", &[("id", "contents")], self.wording().contents());
        self.page.open("ol", &[("role", "list")]);
        for (id, text) in sections {
            self.page.open("li", &[]);
            self.page.element("a", &[("href", &format!("#{id}"))], &text);
            self.page.close();
        }
        self.page.close();
        self.page.close();
        self.level = 1;
    }

    /// Who made it, which document it is, where it is kept.
    fn imprint(&mut self, header: &Header) {
        let lines = imprint::lines(header);
        if lines.is_empty() {
            return;
        }
        self.page.open("footer", &[]);
        for line in lines {
            let mut attributes: Vec<(&'static str, &str)> = Vec::new();
            if line.bold {
                attributes.push(("class", "maker"));
            }
            if line.key == "document" {
                // So that the page can be told from another's, and from its own of another state.
                attributes.extend(header.document.as_deref().map(|document| (stated::DOCUMENT, document)));
                attributes.extend(header.revision.as_deref().map(|revision| (stated::REVISION, revision)));
            }
            self.page.open("p", &attributes);
            for words in &line.words {
                match (words, line.key) {
                    (Words::Fixed(words), _) => self.page.text(words),
                    (Words::Own(address), "product.contact" | "durable_copy") => self.address(address),
                    (Words::Own(words), _) => self.page.text(&self.isolated(words)),
                }
            }
            self.page.close();
        }
        self.page.close();
    }

    /// An address as a link to itself, where it can be followed.
    fn address(&mut self, address: &str) {
        let told = self.isolated(address);
        match links::followed(address) {
            Some(followed) => self.page.element("a", &[("href", &followed)], &told),
            None => self.page.text(&told),
        }
    }

    fn note(&mut self, remark: Remark) {
        self.remarks.push(Remark { span: remark.span.from_base(self.base), ..remark });
    }

    fn lack(&mut self, address: &str, why: &str) {
        self.page.open("div", &[("class", "frame")]);
        self.page.element("code", &[], address);
        self.page.text(" ");
        self.page.element("span", &[], why);
        self.page.close();
    }
}
