//! Where links lead: to the web, to a person, to a heading of the copy itself, and nowhere else.

use std::collections::{BTreeMap, BTreeSet};

use percent_encoding::percent_decode_str;
use url::Url;

use crate::manual::document::{Block, Document, Kind, plain_text};
use crate::manual::heading_name;

/// Names of the headings, in their order.
pub struct Links {
    headings: Vec<String>,
    by_name: BTreeMap<String, String>,
}

impl Links {
    pub fn of(document: &Document) -> Links {
        let mut links = Links { headings: Vec::new(), by_name: BTreeMap::new() };
        let mut taken: BTreeSet<String> = ["top", "text", "contents"].map(str::to_owned).into();
        document.walk(&mut |_, block| {
            let (Kind::Title(text) | Kind::Heading { text, .. }) = &block.kind else { return };
            let words = plain_text(text);
            let mut id = slug(&words);
            let name = id.clone();
            for n in 2.. {
                if taken.insert(id.clone()) {
                    break;
                }
                id = format!("{name}-{n}");
            }
            links.by_name.entry(heading_name(&words)).or_insert_with(|| id.clone());
            links.headings.push(id);
        });
        links
    }

    /// The name of the heading that so many stand before.
    pub fn heading(&self, n: usize) -> &str {
        self.headings.get(n).map_or("top", String::as_str)
    }

    /// Name and words of every section.
    pub fn sections(&self, document: &Document) -> Vec<(String, String)> {
        let (mut sections, mut n) = (Vec::new(), 0);
        let mut visit = |block: &Block, outer: bool| {
            if let Kind::Title(text) | Kind::Heading { text, .. } = &block.kind {
                if outer && matches!(block.kind, Kind::Heading { level: 0..=2, .. }) {
                    sections.push((self.heading(n).to_owned(), plain_text(text).trim().to_owned()));
                }
                n += 1;
            }
        };
        for block in &document.blocks {
            visit(block, true);
            block.walk_inside(block.span.start, &mut |_, inner| visit(inner, false));
        }
        sections.retain(|(_, words)| !words.is_empty());
        sections
    }

    /// Where an address of the manual leads in the copy.
    pub fn resolved(&self, address: &str) -> Option<String> {
        let Some(target) = address.strip_prefix('#') else { return followed(address) };
        let name = heading_name(&percent_decode_str(target).decode_utf8_lossy());
        let plain = name.trim_end_matches(|letter: char| letter.is_ascii_digit());
        match self.by_name.get(&name).or_else(|| self.by_name.get(plain)) {
            Some(id) => Some(format!("#{id}")),
            None => matches!(name.as_str(), "" | "top").then(|| "#top".to_owned()),
        }
    }
}

/// The address as it is followed: of the web or of a person, spelled as the standard has it; nothing else is a link.
pub fn followed(address: &str) -> Option<String> {
    let address = address.trim();
    let is_person = address.contains('@') && !address.contains([':', '/', ' ']);
    let url = if is_person { Url::parse(&format!("mailto:{address}")) } else { Url::parse(address) };
    let url = url.ok().filter(|url| matches!(url.scheme(), "http" | "https" | "mailto"))?;
    // What the parser lets stand and the standard does not allow in an address.
    let coded = |character: char| match character {
        '[' | ']' if url.host_str().is_some_and(|host| host.starts_with('[')) => character.to_string(),
        '[' | ']' | '|' | '\\' | '^' | '`' | '{' | '}' | '<' | '>' | '"' | ' ' => format!("%{:02X}", u32::from(character)),
        other => other.to_string(),
    };
    Some(url.as_str().chars().map(coded).collect())
}

/// A heading's words as a name: small letters and digits, the rest hyphens.
fn slug(words: &str) -> String {
    let mut slug = String::new();
    for character in words.chars().flat_map(char::to_lowercase) {
        match character.is_alphanumeric() {
            true => slug.push(character),
            false if !slug.is_empty() && !slug.ends_with('-') => slug.push('-'),
            false => {}
        }
    }
    let slug = slug.trim_end_matches('-');
    if slug.is_empty() { "section".to_owned() } else { slug.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_web_and_people_are_linked_to() {
        assert_eq!(followed("https://example.com/a b?c=[1]|2").as_deref(), Some("https://example.com/a%20b?c=%5B1%5D%7C2"));
        assert_eq!(followed("mailto:help@example.com").as_deref(), Some("mailto:help@example.com"));
        assert_eq!(followed("help@example.com").as_deref(), Some("mailto:help@example.com"));
        for refused in [
            "javascript:alert(1)",
            "JaVa\nScRiPt:alert(1)",
            "data:text/html,x",
            "file:///etc/passwd",
            "//example.com",
            "a.md",
            "",
            "vbscript:x@y",
        ] {
            assert_eq!(followed(refused), None, "{refused}");
        }
    }

    #[test]
    fn a_heading_is_found_by_its_words_and_has_a_name_of_its_own() {
        let source = crate::manual::read_text(
            "a.md",
            "# T\n\n## Text\n\n## Set up!\n\n## Set up\n\n[a](#set-up) [b](#SetUp) [c](#set-up-1) [d](#none)\n",
        )
        .unwrap();
        let links = Links::of(&crate::manual::parse(&source).unwrap());
        assert_eq!(links.headings, ["t", "text-2", "set-up", "set-up-2"]);
        assert_eq!(links.resolved("#set-up").as_deref(), Some("#set-up"));
        assert_eq!(links.resolved("#SetUp").as_deref(), Some("#set-up"));
        assert_eq!(links.resolved("#none"), None);
    }
}
