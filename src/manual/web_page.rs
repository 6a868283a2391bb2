//! A whole page of HTML as a manual: how it is told from Markdown, and what its head says.

use std::cell::{Cell, RefCell};

use html5ever::buffer_queue::BufferQueue;
use html5ever::tendril::StrTendril;
use html5ever::tokenizer::states::RawKind;
use html5ever::tokenizer::{TagKind, Token, TokenSink, TokenSinkResult, Tokenizer, TokenizerOpts};

use super::document::Header;
use crate::language::Language;

/// Whether a text is a page of HTML: a document type or the element `html` is the first thing in it but comments (the HTML
/// Standard, "Writing HTML documents").
pub(super) fn is_page(text: &str) -> bool {
    let mut rest = text.trim_start();
    loop {
        let (opens, closes) = if rest.starts_with("<!--") { ("<!--", "-->") } else { ("<?xml", "?>") };
        match rest.strip_prefix(opens).and_then(|inner| inner.split_once(closes)) {
            Some((_, after)) => rest = after.trim_start(),
            None => break,
        }
    }
    let starts = |word: &str| rest.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word));
    starts("<!doctype html") || starts("<html")
}

/// What a page says of itself: its language; its title, where no heading of the first level stands on it.
pub(super) fn header(page: &str) -> Header {
    let head = Head::default();
    let queue = BufferQueue::default();
    queue.push_back(StrTendril::from(page));
    let tokenizer = Tokenizer::new(head, TokenizerOpts::default());
    while !matches!(tokenizer.feed(&queue), html5ever::TokenizerResult::Done) {}
    tokenizer.end();
    let Head { language, title, headed, .. } = tokenizer.sink;
    let language = language.into_inner();
    let title = title.into_inner().split_whitespace().collect::<Vec<_>>().join(" ");
    Header {
        title: Some(title).filter(|title| !title.is_empty() && !headed.get()),
        tongue: language.as_deref().map(Language::standing_in).unwrap_or_default(),
        language,
        ..Header::default()
    }
}

#[derive(Default)]
struct Head {
    language: RefCell<Option<String>>,
    title: RefCell<String>,
    in_title: Cell<bool>,
    headed: Cell<bool>,
}

impl TokenSink for Head {
    type Handle = ();

    fn process_token(&self, token: Token, _: u64) -> TokenSinkResult<()> {
        match token {
            Token::TagToken(tag) => {
                let start = tag.kind == TagKind::StartTag;
                match &*tag.name {
                    "html" if start => {
                        let said = tag.attrs.iter().find(|attribute| &*attribute.name.local == "lang");
                        let said = said.map(|attribute| attribute.value.trim().to_owned()).filter(|said| !said.is_empty());
                        let mut language = self.language.borrow_mut();
                        *language = language.take().or(said);
                    }
                    "h1" => self.headed.set(true),
                    "title" => {
                        self.in_title.set(start && self.title.borrow().is_empty());
                        if start {
                            return TokenSinkResult::RawData(RawKind::Rcdata);
                        }
                    }
                    "script" | "style" if start => return TokenSinkResult::RawData(RawKind::Rawtext),
                    _ => {}
                }
            }
            Token::CharacterTokens(text) if self.in_title.get() => self.title.borrow_mut().push_str(&text),
            _ => {}
        }
        TokenSinkResult::Continue
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_told_by_its_first_words() {
        for page in [
            "<!DOCTYPE html><p>a",
            "\n<html lang=de>",
            "<!-- made by hand -->\n<!doctype HTML>",
            "<?xml version=\"1.0\"?>\n<html>",
        ] {
            assert!(is_page(page), "{page}");
        }
        for other in ["# A\n\n<html>", "<p>a</p>", "<h1>A</h1>", "<!-- <html> -->\n# A", "<!--", "<!doctype svg>", ""] {
            assert!(!is_page(other), "{other}");
        }
    }

    #[test]
    fn a_page_says_its_language_and_its_title() {
        let told = |page: &str| {
            let header = header(page);
            (header.language, header.title)
        };
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(told("<!doctype html><html lang='de'><title>A &amp;\n B</title><h2>C</h2>"), (some("de"), some("A & B")));
        assert_eq!(told("<html><title>A</title><h1>B</h1>").1, None);
    }
}
