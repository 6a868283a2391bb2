//! A picture of HTML: one `img`, alone or with what only frames it.

use std::cell::RefCell;
use std::ops::Range;

use html5ever::buffer_queue::BufferQueue;
use html5ever::tendril::StrTendril;
use html5ever::tokenizer::{TagKind, Token, TokenSink, TokenSinkResult, Tokenizer, TokenizerOpts};

use super::loose::{self, Loose};
use super::{Refused, holds_field};
use crate::manual;

/// What may stand around a picture and says nothing of its own.
const FRAMES: [&str; 6] = ["p", "div", "center", "figure", "picture", "figcaption"];

/// The least share of its column that a picture of a page is given: what a page shows small is still to be seen on paper (35 mm of 72).
const LEAST: i32 = 490;

#[derive(Default)]
struct Tokens(RefCell<Vec<Token>>);

impl TokenSink for Tokens {
    type Handle = ();

    fn process_token(&self, token: Token, _: u64) -> TokenSinkResult<()> {
        self.0.borrow_mut().push(token);
        TokenSinkResult::Continue
    }
}

/// The picture in some HTML; nothing where there is none.
///
/// # Errors
/// When there is more than a picture and its frame, or it is made from a field.
pub(super) fn picture(text: &str, range: Range<usize>) -> Option<Result<Loose, Refused>> {
    let html = text.get(range.clone()).unwrap_or_default();
    let tokens = Tokenizer::new(Tokens::default(), TokenizerOpts::default());
    let queue = BufferQueue::default();
    queue.push_back(StrTendril::from(html));
    let _ = tokens.feed(&queue);
    tokens.end();
    let tokens = tokens.sink.0.take();
    let mut found: Vec<Loose> = Vec::new();
    let (mut caption, mut in_caption, mut more) = (String::new(), false, false);
    let (trimmed, beside) = loose::standing(text, range.start..range.start + html.trim_end().len());
    for token in &tokens {
        match token {
            Token::TagToken(tag) if &*tag.name == "img" => {
                let said = |name: &str| {
                    let mut all = tag.attrs.iter().filter(|attribute| &*attribute.name.local == name);
                    all.next().map(|attribute| attribute.value.to_string()).unwrap_or_default()
                };
                let share = manual::page_share(&said("width")).filter(|share| *share < 1000);
                found.push(Loose {
                    range: trimmed.clone(),
                    picture: said("src"),
                    alt: said("alt").split_whitespace().collect::<Vec<_>>().join(" "),
                    caption: said("title").trim().to_owned(),
                    width: share.map(|share| format!("{}%", share.max(LEAST) / 10)),
                    fixed: None,
                });
            }
            Token::TagToken(tag) if FRAMES.contains(&&*tag.name) => {
                if &*tag.name == "figcaption" {
                    in_caption = tag.kind == TagKind::StartTag;
                }
            }
            Token::CharacterTokens(words) if in_caption => caption.push_str(words),
            Token::CharacterTokens(words) => more |= !words.trim().is_empty(),
            Token::EOFToken | Token::ParseError(_) => {}
            _ => more = true,
        }
    }
    let many = found.len() > 1;
    let mut one = found.into_iter().next()?;
    if holds_field(html) {
        return Some(Err(super::from_field()));
    }
    if !caption.trim().is_empty() {
        one.caption = caption.split_whitespace().collect::<Vec<_>>().join(" ");
    }
    if many {
        one.fixed = Some("this picture stands in a row with others");
    } else if more {
        one.fixed = Some("this picture stands in HTML that says more than the picture does");
    } else {
        one.fixed = beside;
    }
    Some(Ok(one))
}
