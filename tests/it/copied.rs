//! A lasting copy as a browser's parser reads it: html5ever's tokens (WHATWG HTML, 13.2.5). Shared with the fuzz target.

use std::cell::RefCell;

use html5ever::buffer_queue::BufferQueue;
use html5ever::tokenizer::states::RawKind;
use html5ever::tokenizer::{Tag, TagKind, Token, TokenSink, TokenSinkResult, Tokenizer, TokenizerOpts};
use stripling::copy::page;
use stripling::pictures::colour;

/// What was read of a page.
#[derive(Default)]
pub struct Read {
    /// Text, alternative texts and names, numbers of list items; a space between elements.
    pub text: String,
    /// Text alone, without numbers that are raised.
    pub running: String,
    /// Where links lead.
    pub links: Vec<String>,
    pub ids: Vec<String>,
    /// Elements with their attributes, in their order.
    pub tags: Vec<(String, Vec<(String, String)>)>,
    /// What has no place in a copy, and what the parser found wrong.
    pub wrong: Vec<String>,
    open: Vec<String>,
    numbers: Vec<u64>,
}

struct Sink(RefCell<Read>);

/// Reads a page.
pub fn read(html: &str) -> Read {
    let tokenizer = Tokenizer::new(Sink(RefCell::default()), TokenizerOpts { exact_errors: true, ..TokenizerOpts::default() });
    let input = BufferQueue::default();
    input.push_back(html.into());
    let _ = tokenizer.feed(&input);
    tokenizer.end();
    let mut read = tokenizer.sink.0.into_inner();
    if !read.open.is_empty() {
        read.wrong.push(format!("never closed: {:?}", read.open));
    }
    let links = read.tags.iter().flat_map(|(_, attributes)| attributes).filter(|(name, _)| name == "href");
    for (_, to) in links {
        if let Some(name) = to.strip_prefix('#')
            && !read.ids.iter().any(|id| id == name)
        {
            read.wrong.push(format!("a link to nothing: {to}"));
        }
    }
    let mut ids = read.ids.clone();
    ids.sort();
    if let Some(twice) = ids.windows(2).find(|pair| pair[0] == pair[1]) {
        read.wrong.push(format!("two are called {:?}", twice[0]));
    }
    read
}

impl TokenSink for Sink {
    type Handle = ();

    fn process_token(&self, token: Token, _line: u64) -> TokenSinkResult<()> {
        let mut read = self.0.borrow_mut();
        match token {
            Token::TagToken(tag) => return read.tag(&tag),
            Token::CharacterTokens(text) if read.open.last().is_none_or(|open| open != "style") => {
                read.text.push_str(&text);
                if !read.open.iter().any(|open| open == "sup") {
                    read.running.push_str(&text);
                }
            }
            Token::ParseError(error) => read.wrong.push(error.into_owned()),
            Token::NullCharacterToken => read.wrong.push("U+0000".into()),
            _ => {}
        }
        TokenSinkResult::Continue
    }
}

impl Read {
    fn tag(&mut self, tag: &Tag) -> TokenSinkResult<()> {
        // The tokens are small letters; SVG's own capitals come back as the tree is built (13.2.6.1).
        let known =
            |lists: [&[&str]; 2], name: &str| lists.iter().any(|list| list.iter().any(|own| own.eq_ignore_ascii_case(name)));
        let name = tag.name.to_string();
        if tag.kind == TagKind::EndTag {
            if self.open.pop().as_ref() != Some(&name) {
                self.wrong.push(format!("</{name}> closes another"));
            }
            if name == "ol" {
                self.numbers.pop();
            }
            if matches!(
                &*name,
                "p" | "li" | "td" | "th" | "dt" | "div" | "h1" | "h2" | "h3" | "text" | "figcaption" | "label" | "span" | "a"
            ) {
                self.text.push(' ');
            }
            return TokenSinkResult::Continue;
        }
        if !known([page::ELEMENTS, colour::ELEMENTS], &name) {
            self.wrong.push(format!("<{name}>"));
        }
        let attribute = |wanted: &str| tag.attrs.iter().find(|own| &*own.name.local == wanted).map(|own| own.value.to_string());
        for own in &tag.attrs {
            let (key, value) = (own.name.local.to_string(), own.value.to_string());
            if !known([page::ATTRIBUTES, colour::ATTRIBUTES], &key) {
                self.wrong.push(format!("<{name} {key}>"));
            }
            match (&*name, &*key) {
                ("a", "href") => {
                    if !["#", "http://", "https://", "mailto:"].iter().any(|begins| value.starts_with(begins)) {
                        self.wrong.push(format!("a link to {value}"));
                    }
                    self.links.push(value);
                }
                ("use", "href") if value.starts_with('#') => {}
                (_, "src" | "href")
                    if value.starts_with("data:image/jpeg;base64,") || value.starts_with("data:image/png;base64,") => {}
                (_, "src" | "href") => self.wrong.push(format!("<{name}> asks for {value}")),
                (_, "id") => self.ids.push(value),
                (_, "alt" | "aria-label") => {
                    self.text.push(' ');
                    self.text.push_str(&value);
                    self.text.push(' ');
                }
                (_, _) if value.contains("url(") && !value.starts_with("url(#") => self.wrong.push(format!("{key}={value}")),
                _ => {}
            }
        }
        match &*name {
            "ol" => self.numbers.push(attribute("start").and_then(|start| start.parse().ok()).unwrap_or(1)),
            "li" => {
                let own = attribute("value").and_then(|value| value.parse().ok());
                if let Some(next) = self.numbers.last_mut() {
                    let number = own.unwrap_or(*next);
                    *next = number.saturating_add(1);
                    self.text.push_str(&format!(" {number} "));
                }
            }
            "br" => self.text.push(' '),
            _ => {}
        }
        let attributes = tag.attrs.iter().map(|own| (own.name.local.to_string(), own.value.to_string())).collect();
        self.tags.push((name.clone(), attributes));
        if !tag.self_closing && !matches!(&*name, "br" | "hr" | "img" | "input" | "meta") {
            self.open.push(name.clone());
        }
        match &*name {
            "style" => TokenSinkResult::RawData(RawKind::Rawtext),
            "title" => TokenSinkResult::RawData(RawKind::Rcdata),
            _ => TokenSinkResult::Continue,
        }
    }
}
