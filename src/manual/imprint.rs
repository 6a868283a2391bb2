//! What a manual says of itself at its end: product, maker, who answers for it where, document, revision, date, where it is kept.

use super::document::Header;

/// One line of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line<'h> {
    pub words: Vec<Words<'h>>,
    /// The key of the header that it stands for, as in [`Header::spans`].
    pub key: &'static str,
    /// It names the product or who made it.
    pub bold: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Words<'h> {
    /// Of the program's, in the manual's language.
    Fixed(String),
    /// Of the writer's.
    Own(&'h str),
}

/// All of it; nothing when the header says nothing of all this.
pub fn lines(header: &Header) -> Vec<Line<'_>> {
    let (words, product) = (header.wording(), &header.product);
    let mut lines = Vec::new();
    let mut line = |key, bold, words| lines.push(Line { words, key, bold });
    let fixed = |text: &str| Words::Fixed(text.to_owned());
    if let Some(model) = &product.model {
        // A title that names the model says it all.
        let title = header.title.as_deref().filter(|title| !title.contains(model.as_str()));
        let title = title.map(|title| [Words::Own(title), fixed(" ")]).into_iter().flatten();
        line("product.model", true, title.chain([Words::Own(model)]).collect());
    }
    if let Some(maker) = &product.maker {
        line("product.maker", true, vec![Words::Own(maker)]);
    }
    for (value, key) in [(&product.address, "product.address"), (&product.contact, "product.contact")] {
        if let Some(value) = value {
            line(key, false, vec![Words::Own(value)]);
        }
    }
    for (value, label, key) in [
        (&product.eu_responsible, words.responsible_in_eu(), "product.eu_responsible"),
        (&product.importer, words.importer(None), "product.importer"),
        (&product.uk_importer, words.importer(Some("UK")), "product.uk_importer"),
        (&product.us_responsible, words.responsible_in_us(), "product.us_responsible"),
    ] {
        if let Some(value) = value {
            line(key, false, vec![Words::Fixed(label), Words::Own(value)]);
        }
    }
    let revision = header.revision.as_deref().map(|own| {
        let (before, after) = words.around_revision();
        let words = [Words::Fixed(before), Words::Own(own), Words::Fixed(after)];
        words.into_iter().filter(|words| !matches!(words, Words::Fixed(none) if none.is_empty())).collect()
    });
    let identity = [
        header.document.as_deref().map(|own| vec![Words::Own(own)]),
        revision,
        header.issued.as_deref().map(|own| vec![Words::Own(own)]),
    ];
    let identity: Vec<Vec<Words>> = identity.into_iter().flatten().collect();
    if !identity.is_empty() {
        line("document", false, identity.join(&fixed(" \u{b7} ")));
    }
    if let Some(address) = &header.durable_copy {
        let before = words.lasting_copy();
        // A wide colon has its own white.
        let gap = if before.ends_with('：') { "" } else { " " };
        line("durable_copy", false, vec![Words::Fixed(format!("{before}{gap}")), Words::Own(address)]);
    }
    lines
}
