//! What a copy says of itself, and how that is read again: which document it is, and in which state.

use std::cell::RefCell;

use html5ever::buffer_queue::BufferQueue;
use html5ever::tokenizer::states::RawKind;
use html5ever::tokenizer::{Tag, TagKind, Token, TokenSink, TokenSinkResult, Tokenizer, TokenizerOpts};
use percent_encoding::{NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};

/// What a page says of the manual that it is a copy of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stated {
    /// It is a copy that the program made: it says all it knows.
    pub ours: bool,
    pub document: Option<String>,
    pub revision: Option<String>,
    /// Its words, white between them one space.
    pub text: String,
}

/// Attributes of the line that names a copy, in HTML.
pub const DOCUMENT: &str = "data-document";
pub const REVISION: &str = "data-revision";

/// What stands among a PDF's keywords: letters and digits as they are, all else in percents.
pub fn keyword(name: &str, value: &str) -> String {
    format!("{name}={}", utf8_percent_encode(value, NON_ALPHANUMERIC))
}

/// What a file says that came from an address; `None` where it is no page, or a PDF of somebody else's.
pub fn stated(bytes: &[u8]) -> Option<Stated> {
    if bytes.starts_with(b"%PDF-") {
        return super::is_pdf_of_ours(bytes).then(|| of_pdf(bytes));
    }
    if bytes.contains(&0) {
        return None;
    }
    Some(of_page(&String::from_utf8_lossy(bytes)))
}

fn of_pdf(bytes: &[u8]) -> Stated {
    let value = |name: &str| {
        let wanted = format!("{name}=");
        let from = bytes.windows(wanted.len()).position(|part| part == wanted.as_bytes())? + wanted.len();
        let end = |byte: &u8| !byte.is_ascii_alphanumeric() && *byte != b'%';
        let long = bytes[from..].iter().position(end)?;
        let written = std::str::from_utf8(&bytes[from..from + long]).ok()?;
        Some(percent_decode_str(written).decode_utf8_lossy().into_owned())
    };
    Stated { ours: true, document: value("document"), revision: value("revision"), text: String::new() }
}

fn of_page(html: &str) -> Stated {
    let tokenizer = Tokenizer::new(Sink::default(), TokenizerOpts::default());
    let input = BufferQueue::default();
    input.push_back(html.into());
    let _ = tokenizer.feed(&input);
    tokenizer.end();
    let mut stated = tokenizer.sink.0.into_inner();
    stated.ours = html.starts_with(super::BEGINNING);
    stated.text = stated.text.split_whitespace().collect::<Vec<_>>().join(" ");
    stated
}

#[derive(Default)]
struct Sink(RefCell<Stated>);

impl TokenSink for Sink {
    type Handle = ();

    fn process_token(&self, token: Token, _: u64) -> TokenSinkResult<()> {
        let mut stated = self.0.borrow_mut();
        match token {
            Token::TagToken(Tag { kind: TagKind::StartTag, name, attrs, .. }) => {
                for attribute in attrs {
                    match &*attribute.name.local {
                        DOCUMENT => stated.document = Some(attribute.value.to_string()),
                        REVISION => stated.revision = Some(attribute.value.to_string()),
                        _ => {}
                    }
                }
                stated.text.push(' ');
                // What stands in these is no text of the page (WHATWG HTML, 13.2.6.2).
                match &*name {
                    "script" => return TokenSinkResult::RawData(RawKind::ScriptData),
                    "style" => return TokenSinkResult::RawData(RawKind::Rawtext),
                    "textarea" | "title" => return TokenSinkResult::RawData(RawKind::Rcdata),
                    _ => {}
                }
            }
            Token::CharacterTokens(text) => stated.text.push_str(&text),
            _ => {}
        }
        TokenSinkResult::Continue
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_page_says_is_read_and_what_is_none_is_not() {
        let page = stated(b"<!DOCTYPE html><!--copy--><p data-document=\"HRN &amp; QS\" data-revision='C'>HRN\n QS</p>").unwrap();
        assert_eq!((page.ours, page.document.as_deref(), page.revision.as_deref()), (true, Some("HRN & QS"), Some("C")));
        assert_eq!(page.text, "HRN QS");
        let other = stated(b"<title>Heron</title><p>HRN-<b>QS</b>").unwrap();
        assert!(!other.ours && other.document.is_none() && other.text.contains("Heron"));
        assert_eq!(stated(b"\x89PNG\r\n\x1a\n\0"), None);
        assert_eq!(stated(b"%PDF-1.4\n/Creator(somebody)"), None);
        let pdf = format!(
            "%PDF-1.7\n/Creator({})/Keywords({}, {})",
            crate::copy::MAKER,
            keyword("document", "H(1) ü"),
            keyword("revision", "C")
        );
        let pdf = stated(pdf.as_bytes()).unwrap();
        assert_eq!((pdf.ours, pdf.document.as_deref(), pdf.revision.as_deref()), (true, Some("H(1) ü"), Some("C")));
    }
}
