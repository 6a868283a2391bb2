//! Headers of included files. The language of such a file holds for what it brings; anything else that its header says otherwise than the
//! manual's own is passed over, and said.

use super::document::Header;
use super::header;
use super::source::{Level, Remark, Source, Span};
use crate::language::Language;

/// The stretches of the text that are in a language of their own, ascending.
pub(super) fn tongues(source: &Source, own: &Header, remarks: &mut Vec<Remark>) -> Vec<(Span, Language)> {
    let ours = source.header.and_then(|span| source.text.get(span.start as usize..span.end as usize));
    let ours: toml::Table = ours.and_then(|toml| toml.parse().ok()).unwrap_or_default();
    let mut tongues = Vec::new();
    for (n, file) in source.files.iter().enumerate().skip(1) {
        let Ok(Some(fence)) = header::fence(file.text()) else { continue };
        let stretches = source.stretches(n);
        let Some(first) = stretches.first() else { continue };
        let theirs: toml::Table = file.text().get(fence.toml).and_then(|toml| toml.parse().ok()).unwrap_or_default();
        let said = theirs.get("language").and_then(|tag| tag.as_str());
        if let Some(language) = said.map(Language::standing_in).filter(|language| *language != own.tongue) {
            tongues.extend(stretches.iter().map(|stretch| (*stretch, language)));
        }
        let other: Vec<String> = theirs
            .iter()
            .filter(|(key, value)| *key != "language" && ours.get(*key) != Some(value))
            .map(|(key, _)| format!("`{key}`"))
            .collect();
        if !other.is_empty() {
            remarks.push(Remark {
                rule: "included-header",
                level: Level::Warning,
                message: format!("the header of {} says {} otherwise than this manual's, which is what holds", file.name(), other.join(", ")),
                hint: Some("of an included file's header only `language` is heeded, for what it brings; write the rest into this manual's own".into()),
                span: Span { start: first.start, end: first.start },
            });
        }
    }
    tongues.sort_by_key(|(span, _)| (span.start, std::cmp::Reverse(span.end)));
    tongues
}
