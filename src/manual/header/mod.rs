//! The TOML header between two lines of `+++`. Every key the program knows stands in [`KEYS`], once.

pub(super) mod keys;

use std::ops::Range;

use pulldown_cmark::{Event, Options, Parser, Tag};
use toml::de::DeValue;

use keys::{INNER, known};
pub use keys::{KEYS, Key};

use crate::language::{Language, WORD_NAMES};
use crate::lengths::Mm;
use crate::manual::document::{Allowed, Battery, Charging, Emissions, Header, Product, Supply};
use crate::manual::literal::{self, Breaks};
use crate::manual::source::{Level, Remark, Source};
use crate::manual::tables::{Keys, Toml};
use crate::manual::{Error, front, web_page};

/// Where the TOML of a header stands in a text: between an opening first line of `+++` and the next line of `+++`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fence {
    pub toml: Range<usize>,
    /// The first byte after the closing line.
    pub end: usize,
}

/// Where the front matter of another tool stands: YAML between a first line of `---` and the next one.
pub(super) fn front_matter(text: &str) -> Option<Fence> {
    if !text.starts_with("---") {
        return None;
    }
    let mut events = Parser::new_ext(text, Options::ENABLE_YAML_STYLE_METADATA_BLOCKS).into_offset_iter();
    let (Event::Start(Tag::MetadataBlock(_)), range) = events.next()? else { return None };
    let first = text.find('\n')? + 1;
    let block = text.get(..range.end)?.trim_end();
    let last = block.rfind('\n')? + 1;
    let end = text[block.len()..].find('\n').map_or(text.len(), |at| block.len() + at + 1);
    // A line of text between two rules is Markdown, not the keys of another tool.
    (range.start == 0 && first <= last && front::has_keys(&text[first..last])).then_some(Fence { toml: first..last, end })
}

/// # Errors
/// `Err` when the header is opened and never closed.
pub(super) fn fence(text: &str) -> Result<Option<Fence>, ()> {
    let mut lines = text.split_inclusive('\n');
    let Some(first) = lines.next().filter(|line| line.trim_end() == "+++") else {
        return Ok(None);
    };
    let mut at = first.len();
    for line in lines {
        if line.trim_end() == "+++" {
            return Ok(Some(Fence { toml: first.len()..at, end: at + line.len() }));
        }
        at += line.len();
    }
    Err(())
}

/// Reads the header of a source; a manual without one has an empty header.
///
/// # Errors
/// When it is not TOML, or a value is of the wrong kind.
pub(super) fn read(source: &Source, remarks: &mut Vec<Remark>) -> Result<Header, Error> {
    let Some(span) = source.header else {
        let body = source.text.get(source.body as usize..).unwrap_or_default();
        return Ok(match source.front {
            Some(front) => front::read(source, front, remarks),
            None if web_page::is_page(body) => web_page::header(body),
            None => Header::default(),
        });
    };
    let text = source.text.get(span.start as usize..span.end as usize).unwrap_or_default();
    let offsets = [(0, span.start)];
    let toml = Toml::new(source, text, &offsets);
    let table = toml.parse()?;
    let keys = Keys { table: table.get_ref(), name: "the header" };
    check(&toml, &keys, "", remarks);

    let own = |text: &str| literal::turn_back(text, Breaks::Spaces).into_owned();
    let text = |keys: &Keys, key: &str| Ok::<_, Error>(toml.text(keys, key)?.map(|(text, _)| own(text)));
    let texts = |keys: &Keys, key: &str| Ok::<_, Error>(toml.texts(keys, key)?.iter().map(|text| own(text)).collect());
    let mut header = Header {
        title: text(&keys, "title")?,
        subtitle: text(&keys, "subtitle")?,
        document: text(&keys, "document")?,
        revision: text(&keys, "revision")?,
        issued: issued(&toml, &keys)?,
        language: text(&keys, "language")?,
        translations: texts(&keys, "translations")?,
        fold: toml.length(&keys, "fold")?,
        style: text(&keys, "style")?,
        durable_copy: text(&keys, "durable_copy")?,
        ..Header::default()
    };
    header.tongue = tongue(&toml, &keys, remarks)?;
    note_spans(&toml, &keys, "", &mut header);
    match keys.entry("paper").map(|value| value.get_ref()) {
        Some(DeValue::Table(table)) => {
            let paper = Keys { table, name: "[paper]" };
            check(&toml, &paper, "paper", remarks);
            note_spans(&toml, &paper, "paper.", &mut header);
            header.paper = text(&paper, "width")?;
            header.phenol_free = toml.flag(&paper, "phenol_free")?;
        }
        _ => header.paper = text(&keys, "paper")?,
    }

    if let Some(product) = toml.table(&keys, "product", "[product]")? {
        check(&toml, &product, "product", remarks);
        note_spans(&toml, &product, "product.", &mut header);
        header.product = Product {
            maker: text(&product, "maker")?,
            address: text(&product, "address")?,
            contact: text(&product, "contact")?,
            model: text(&product, "model")?,
            purpose: text(&product, "purpose")?,
            hazards: texts(&product, "hazards")?,
            supply: None,
            markets: texts(&product, "markets")?,
            radio: toml.flag(&product, "radio")?,
            restricted: texts(&product, "restricted")?,
            battery: toml.choice(&product, "battery", &Battery::ALL.map(|battery| (battery.name(), battery)))?,
            charging: None,
            emissions: toml.choice(&product, "emissions", &Emissions::ALL.map(|class| (class.name(), class)))?,
            software: toml.flag(&product, "software")?,
            toy: toml.flag(&product, "toy")?,
            eu_responsible: text(&product, "eu_responsible")?,
            importer: text(&product, "importer")?,
            uk_importer: text(&product, "uk_importer")?,
            us_responsible: text(&product, "us_responsible")?,
        };
        header.product.charging = charging(&toml, &product, &mut header, remarks)?;
        if let Some(supply) = toml.table(&product, "supply", "`supply`")? {
            check(&toml, &supply, "supply", remarks);
            note_spans(&toml, &supply, "product.supply.", &mut header);
            header.product.supply = Some(Supply {
                volts: toml.number(&supply, "volts", "5.0")?.map(|(volts, _)| volts),
                amps: toml.number(&supply, "amps", "2.0")?.map(|(amps, _)| amps),
                kind: toml.choice(&supply, "kind", &[("dc", "dc"), ("ac", "ac")])?.map(str::to_owned),
            });
        }
    }
    if let Some(units) = toml.table(&keys, "units", "[units]")? {
        check(&toml, &units, "units", remarks);
        note_spans(&toml, &units, "units.", &mut header);
        header.unit_key = text(&units, "key")?;
    }
    if let Some(copy) = toml.table(&keys, "copy", "[copy]")? {
        check(&toml, &copy, "copy", remarks);
        note_spans(&toml, &copy, "copy.", &mut header);
        header.copy_unit = text(&copy, "unit")?;
    }
    if let Some(box_) = toml.table(&keys, "box", "[box]")? {
        check(&toml, &box_, "box", remarks);
        note_spans(&toml, &box_, "box.", &mut header);
        header.box_size = box_size(&toml, &box_)?;
    }
    if let Some(preflight) = toml.table(&keys, "preflight", "[preflight]")? {
        check(&toml, &preflight, "preflight", remarks);
        note_spans(&toml, &preflight, "preflight.", &mut header);
        header.allow = allowed(&toml, &preflight, remarks)?;
    }
    if let Some(words) = toml.table(&keys, "words", "[words]")? {
        own_words(&toml, &words, &mut header, remarks)?;
    }
    if let Some(faces) = toml.table(&keys, "faces", "[faces]")? {
        note_spans(&toml, &faces, "faces.", &mut header);
        for (tag, _) in faces.table.iter() {
            let tag = tag.get_ref();
            header.faces.extend(text(&faces, tag)?.map(|file| (own(tag), file)));
        }
    }
    Ok(header)
}

/// `charging`: a table, or `false` for a product that is none of the kinds with the common charger.
fn charging(toml: &Toml, product: &Keys, header: &mut Header, remarks: &mut Vec<Remark>) -> Result<Option<Charging>, Error> {
    if let Some(DeValue::Boolean(false)) = product.entry("charging").map(|value| value.get_ref()) {
        return Ok(Some(Charging::Other));
    }
    let Some(keys) = toml.table(product, "charging", "`charging`")? else {
        return Ok(None);
    };
    check(toml, &keys, "charging", remarks);
    note_spans(toml, &keys, "product.charging.", header);
    Ok(Some(Charging::Common {
        least_watts: toml.number(&keys, "least_watts", "2.5")?.map(|(watts, _)| watts),
        most_watts: toml.number(&keys, "most_watts", "10")?.map(|(watts, _)| watts),
        usb_pd: toml.flag(&keys, "usb_pd")?,
    }))
}

/// `[words]`: words of the writer's own for the manual's language, and for others in tables by their tags.
fn own_words(toml: &Toml, keys: &Keys, header: &mut Header, remarks: &mut Vec<Remark>) -> Result<(), Error> {
    let mut tables = vec![];
    for (key, value) in keys.table.iter() {
        let tag = key.get_ref();
        if let (DeValue::Table(table), Some(language)) = (value.get_ref(), Language::from_tag(tag)) {
            tables.push((tag.as_ref(), language, table));
        }
    }
    let named: Vec<&str> = WORD_NAMES.into_iter().chain(tables.iter().map(|(tag, ..)| *tag)).collect();
    toml.check_keys(keys, &named, |_| None, remarks);
    note_spans(toml, keys, "words.", header);
    words_of(toml, keys, header.tongue, header)?;
    for (tag, language, table) in tables {
        let keys = Keys { table, name: "a language's table in [words]" };
        toml.check_keys(&keys, &WORD_NAMES, |_| None, remarks);
        note_spans(toml, &keys, &format!("words.{tag}."), header);
        words_of(toml, &keys, language, header)?;
    }
    Ok(())
}

fn words_of(toml: &Toml, keys: &Keys, language: Language, header: &mut Header) -> Result<(), Error> {
    for name in WORD_NAMES {
        let Some((word, range)) = toml.text(keys, name)? else { continue };
        let word = literal::turn_back(word, Breaks::Spaces).trim().to_owned();
        if !word.chars().any(char::is_alphanumeric) {
            let hint = format!("write the word, or delete the line: \"{}\" is used then", usual(language, name));
            return Err(toml.error(range, format!("`{name}` of [words] says nothing"), Some(hint)));
        }
        header.own_words.insert(language, name, word);
    }
    Ok(())
}

/// The word of the language's table.
fn usual(language: Language, name: &str) -> &'static str {
    language.written().into_iter().find(|(known, _)| *known == name).map_or("", |(_, word)| word.text)
}

fn check(toml: &Toml, keys: &Keys, table: &str, remarks: &mut Vec<Remark>) {
    let elsewhere = |name: &str| {
        let home = KEYS.iter().find(|key| key.name == name && key.table != table)?;
        Some(match home.table {
            "" => format!("`{name}` belongs above the first table of the header"),
            inner if INNER.contains(&inner) => format!("`{name}` belongs into `{inner}` of [product]"),
            home => format!("`{name}` belongs under [{home}]"),
        })
    };
    toml.check_keys(keys, &known(table), elsewhere, remarks);
}

fn note_spans(toml: &Toml, keys: &Keys, prefix: &str, header: &mut Header) {
    for (key, value) in keys.table.iter() {
        let name = literal::turn_back(key.get_ref(), Breaks::Spaces);
        // A table's value begins at its own heading: the key alone says where it stands.
        let whole = if value.get_ref().is_table() || value.span().end < key.span().start {
            key.span()
        } else {
            key.span().start..value.span().end
        };
        header.spans.insert(format!("{prefix}{name}"), toml.span(whole));
    }
}

fn issued(toml: &Toml, keys: &Keys) -> Result<Option<String>, Error> {
    let Some((_, value)) = keys.table.iter().find(|(key, _)| key.get_ref() == "issued") else {
        return Ok(None);
    };
    let written = match value.get_ref() {
        DeValue::Datetime(moment) => moment.date.map(|date| date.to_string()),
        DeValue::String(text) => {
            let text = literal::turn_back(text, Breaks::Spaces);
            text.parse::<toml::value::Datetime>().ok().and_then(|moment| moment.date).map(|date| date.to_string())
        }
        _ => None,
    };
    written
        .map(Some)
        .ok_or_else(|| toml.error(value.span(), "`issued` wants a date".into(), Some("for example: issued = 2026-11-20".into())))
}

/// The language of the tag; of a tag it has no words for the program speaks English, and says so.
fn tongue(toml: &Toml, keys: &Keys, remarks: &mut Vec<Remark>) -> Result<Language, Error> {
    let Some((tag, range)) = toml.told(keys, "language")? else {
        return Ok(Language::default());
    };
    if Language::from_tag(&tag).is_none() {
        let tags: Vec<&str> = Language::ALL.iter().map(|language| language.tag()).collect();
        remarks.push(Remark {
            rule: "unknown-language",
            level: Level::Warning,
            message: format!("there are no fixed words and no hyphenation for \"{tag}\"; English is used"),
            hint: Some(format!("the known languages are {}", tags.join(", "))),
            span: toml.span(range),
        });
    }
    Ok(Language::standing_in(&tag))
}

fn box_size(toml: &Toml, keys: &Keys) -> Result<Option<[Mm; 3]>, Error> {
    const EXAMPLE: &str = "[90, 60, 40]";
    let Some((sides, range)) = toml.numbers::<3>(keys, "size", EXAMPLE)? else {
        return Ok(None);
    };
    if sides.iter().any(|side| !(0.1..=10_000.0).contains(side)) {
        let hint = format!("for example: size = {EXAMPLE}");
        return Err(toml.error(range, "`size` wants three lengths in mm, from 0.1 to 10000".into(), Some(hint)));
    }
    Ok(Some(sides.map(Mm::new)))
}

fn allowed(toml: &Toml, keys: &Keys, remarks: &mut Vec<Remark>) -> Result<Vec<Allowed>, Error> {
    const EXAMPLE: &str = "[\"rule-name\", { rule = \"rule-name\", reason = \"…\" }]";
    let reason = toml.told(keys, "reason")?.map(|(reason, _)| reason.into_owned());
    let Some((items, _)) = toml.list(keys, "allow", EXAMPLE)? else {
        return Ok(Vec::new());
    };
    let mut allowed = Vec::new();
    for item in items.iter() {
        let span = toml.span(item.span());
        match item.get_ref() {
            DeValue::String(rule) => {
                let rule = literal::turn_back(rule, Breaks::Spaces).into_owned();
                allowed.push(Allowed { rule, reason: reason.clone(), span });
            }
            DeValue::Table(table) => {
                let entry = Keys { table, name: "an entry of `allow`" };
                toml.check_keys(&entry, &["rule", "reason"], |_| None, remarks);
                let (rule, _) = toml.required(&entry, "rule", item.span())?;
                let rule = literal::turn_back(rule, Breaks::Spaces).into_owned();
                let own = toml.told(&entry, "reason")?.map(|(reason, _)| reason.into_owned());
                allowed.push(Allowed { rule, reason: own.or_else(|| reason.clone()), span });
            }
            _ => {
                let message = "`allow` wants names of rules".into();
                return Err(toml.error(item.span(), message, Some(format!("for example: allow = {EXAMPLE}"))));
            }
        }
    }
    Ok(allowed)
}
