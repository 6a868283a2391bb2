//! The end of the strip: which product, who made it and who answers for it where, document number, revision, date, where the
//! lasting copy is.

use super::Room;
use crate::language::Language;
use crate::layout::bench::Bench;
use crate::layout::galley::{Chunk, Galley};
use crate::layout::text::{self, Setting};
use crate::manual::document::Header;
use crate::manual::source::Span;
use crate::type_setting::Type;
use crate::units::Dots;

/// Nothing when the header says nothing of all this.
pub fn imprint(bench: &Bench, header: &Header, room: Room) -> Option<Galley> {
    let small = bench.small();
    let bold = Type { bold: true, ..small };
    let words: Language = header.tongue;
    let at = |key: &str| header.spans.get(key).copied().unwrap_or_default();
    let mut lines: Vec<(String, Type, Span)> = Vec::new();
    let own = |text: &str| text::isolated(bench, text).into_owned();
    let product = &header.product;
    if let Some(model) = &product.model {
        // A title that names the model says it all.
        let title = header.title.as_deref().filter(|title| !title.contains(model.as_str()));
        let named = title.map_or_else(|| own(model), |title| format!("{} {}", own(title), own(model)));
        lines.push((named, bold, at("product.model")));
    }
    if let Some(maker) = &product.maker {
        lines.push((own(maker), bold, at("product.maker")));
    }
    for (value, key) in [(&product.address, "product.address"), (&product.contact, "product.contact")] {
        if let Some(value) = value {
            lines.push((own(value), small, at(key)));
        }
    }
    for (value, label, key) in [
        (&product.eu_responsible, words.responsible_in_eu(), "product.eu_responsible"),
        (&product.importer, words.importer(None), "product.importer"),
        (&product.uk_importer, words.importer(Some("UK")), "product.uk_importer"),
        (&product.us_responsible, words.responsible_in_us(), "product.us_responsible"),
    ] {
        if let Some(value) = value {
            lines.push((format!("{label}{}", own(value)), small, at(key)));
        }
    }
    let identity: Vec<String> = [
        header.document.as_deref().map(own),
        header.revision.as_deref().map(|revision| format!("{}\u{a0}{}", words.revision(), own(revision))),
        header.issued.as_deref().map(own),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !identity.is_empty() {
        lines.push((identity.join(" \u{b7} "), small, at("document")));
    }
    if let Some(address) = &header.durable_copy {
        // A wide colon has its own white.
        let gap = if words.lasting_copy().ends_with('：') { "" } else { " " };
        lines.push((format!("{}{gap}{}", words.lasting_copy(), own(address)), small, at("durable_copy")));
    }
    if lines.is_empty() {
        return None;
    }
    let mut parts = vec![ruled(bench, room.width)];
    for (line, look, span) in lines {
        parts.push(text::plain(
            bench,
            &line,
            &Setting { look, hyphenate: false, ..Setting::small(bench, "imprint", room.width, span) },
        ));
    }
    let galley = Galley::stack("imprint", parts).solid();
    Some(Galley { above: bench.dots(bench.style.space.section), ..galley })
}

fn ruled(bench: &Bench, width: Dots) -> Galley {
    let height = bench.line(bench.style.line.imprint);
    let mut chunk = Chunk { height, ..Chunk::default() };
    chunk.fill(Dots(0), Dots(0), width, height);
    Galley { chunks: vec![chunk], below: bench.dots(bench.style.space.item), ..Galley::default() }
}
