//! Markdown's events and the tags between them, woven into one tree, as a browser sees a page that Markdown was turned into.
//!
//! html5ever reads every tag and builds the tree. What is not a tag of HTML (a word, a picture of Markdown, a block of code) goes
//! through it as a mark that stands for a [`Piece`], so that each piece keeps its place in the source.

use std::cell::{Cell, RefCell};
use std::ops::Range;

use html5ever::LocalName;
use html5ever::buffer_queue::BufferQueue;
use html5ever::tendril::StrTendril;
use html5ever::tokenizer::states::RawKind;
use html5ever::tokenizer::{Tag as HtmlTag, TagKind, Token, TokenSink, TokenSinkResult, Tokenizer, TokenizerOpts};
use html5ever::tree_builder::{TreeBuilder, TreeBuilderOpts, TreeSink};
use pulldown_cmark::{CowStr, Event, Tag, TagEnd};

use super::tags::{Sort, is_void};
use super::tree::{Handle, Tree, piece_attribute};
use crate::manual::source::{Level, Remark, Span};

/// Elements inside one another that are kept; what is deeper is set as if it stood at this depth.
const DEEPEST: usize = 200;

/// A mark in a text node: this, the number of a piece, [`MARK_END`].
pub(super) const MARK: char = '\u{F0000}';
pub(super) const MARK_END: char = '\u{F0001}';

/// What the tree is made of.
#[derive(Debug)]
pub(super) enum Piece {
    /// Events of Markdown that stand as they are: a picture, a key, a block of code, the start of a container.
    Events(Range<usize>),
    Text {
        text: String,
        span: Span,
    },
    /// A start tag of HTML.
    Tag {
        attributes: Vec<(LocalName, String)>,
        span: Span,
    },
}

pub(super) type Events<'e> = [(Event<'e>, Range<usize>)];

pub(super) struct Woven {
    pub tree: Tree,
    pub pieces: Vec<Piece>,
    pub remarks: Vec<Remark>,
    /// Where the writer's end tags of headings end, ascending.
    pub heading_ends: Vec<usize>,
}

/// `base` is added to every place of an event; `sort` says what a tag is.
pub(super) fn weave(events: &Events, base: usize, sort: fn(&str) -> Sort) -> Woven {
    let tree = Tree::new();
    let context = tree.context();
    let builder = TreeBuilder::new_for_fragment(tree, context, None, TreeBuilderOpts::default());
    let loom = Loom {
        builder,
        sort,
        pieces: RefCell::default(),
        remarks: RefCell::default(),
        heading_ends: RefCell::default(),
        queue: BufferQueue::default(),
        at: Cell::new(0),
        length: Cell::new(0),
        from: Cell::new(0),
        skipping: Cell::new(false),
        off: Cell::new(false),
        deep: Cell::new(false),
    };
    loom.all(events, base);
    let Loom { builder, pieces, remarks, heading_ends, .. } = loom;
    let (pieces, remarks, heading_ends) = (pieces.into_inner(), remarks.into_inner(), heading_ends.into_inner());
    Woven { tree: builder.sink.finish(), pieces, remarks, heading_ends }
}

struct Loom {
    builder: TreeBuilder<Handle, Tree>,
    sort: fn(&str) -> Sort,
    pieces: RefCell<Vec<Piece>>,
    remarks: RefCell<Vec<Remark>>,
    heading_ends: RefCell<Vec<usize>>,
    /// What of HTML is not read yet.
    queue: BufferQueue,
    /// Where the HTML that is being read begins in the source, and how long it is.
    at: Cell<usize>,
    length: Cell<usize>,
    /// Where the next token begins in the source.
    from: Cell<usize>,
    /// Inside a script or a style sheet.
    skipping: Cell<bool>,
    /// Between `<!-- strip: off -->` and `<!-- strip: on -->`.
    off: Cell<bool>,
    deep: Cell<bool>,
}

impl Loom {
    fn all(&self, events: &Events, base: usize) {
        // Whether the start of each open container was put in, so that its end is put in too, or left out too.
        let mut open = Vec::new();
        let mut in_head = false;
        let mut block: Option<Tokenizer<Mouth>> = None;
        let mut n = 0;
        while let Some((event, range)) = events.get(n) {
            let range = range.start + base..range.end + base;
            let first = n;
            n += 1;
            match event {
                Event::Start(Tag::HtmlBlock) => block = Some(self.tokenizer(range.start)),
                Event::End(TagEnd::HtmlBlock) => {
                    block.take().iter().for_each(Tokenizer::end);
                    self.skipping.set(false);
                }
                Event::Html(text) => match &block {
                    Some(tokenizer) => self.feed(tokenizer, text, &range),
                    None => self.feed_alone(text, &range),
                },
                Event::InlineHtml(text) => self.feed_alone(text, &range),
                Event::Start(tag @ (Tag::Image { .. } | Tag::CodeBlock(_) | Tag::MetadataBlock(_))) => {
                    n = after(events, first);
                    match tag {
                        _ if self.off.get() => {}
                        Tag::Image { .. } => self.mark(Piece::Events(first..n)),
                        _ => {
                            self.start("pre", Piece::Events(first..n));
                            self.end("pre");
                        }
                    }
                }
                Event::Start(tag) => {
                    in_head = match tag {
                        Tag::TableHead => true,
                        Tag::TableRow => false,
                        _ => in_head,
                    };
                    let put_in = !self.off.get() && self.room(&range);
                    open.push(put_in);
                    if put_in {
                        if matches!(tag, Tag::TableHead) {
                            self.made_up("thead");
                        }
                        self.start(name_of(tag, in_head), Piece::Events(first..n));
                    }
                }
                Event::End(tag) => {
                    self.skipping.set(false);
                    if open.pop() == Some(true) {
                        end_names(*tag, in_head).iter().for_each(|name| self.end(name));
                    }
                }
                _ if self.off.get() => {}
                Event::Rule => self.start("hr", Piece::Events(first..n)),
                Event::SoftBreak => self.characters("\n"),
                Event::Text(text) => self.text(text, Some(text), &range),
                _ => self.mark(Piece::Events(first..n)),
            }
        }
        block.iter().for_each(Tokenizer::end);
        let _ = self.take(Token::EOFToken);
    }

    fn tokenizer(&self, from: usize) -> Tokenizer<Mouth<'_>> {
        self.from.set(from);
        Tokenizer::new(Mouth(self), TokenizerOpts { discard_bom: false, ..TokenizerOpts::default() })
    }

    fn feed(&self, tokenizer: &Tokenizer<Mouth>, text: &CowStr, range: &Range<usize>) {
        self.at.set(range.start);
        self.length.set(text.len());
        self.queue.push_back(StrTendril::from(&**text));
        // Scripts and encodings, for which a browser would stop, are nothing here.
        while !matches!(tokenizer.feed(&self.queue), html5ever::TokenizerResult::Done) {}
        self.from.set(self.from.get().max(range.end.min(self.at.get() + self.length.get())));
    }

    /// A tag inside a paragraph: whole by itself.
    fn feed_alone(&self, text: &CowStr, range: &Range<usize>) {
        let tokenizer = self.tokenizer(range.start);
        self.feed(&tokenizer, text, range);
        tokenizer.end();
    }

    /// How much of what was fed the tokenizer has not taken yet, in bytes.
    fn left(&self) -> usize {
        let mut held = Vec::new();
        while let Some(chunk) = self.queue.pop_front() {
            held.push(chunk);
        }
        let left = held.iter().map(|chunk| chunk.len()).sum();
        held.into_iter().for_each(|chunk| self.queue.push_back(chunk));
        left
    }

    fn take(&self, token: Token) -> TokenSinkResult<Handle> {
        self.builder.process_token(token, 1)
    }

    fn piece(&self, piece: Piece) -> usize {
        let mut pieces = self.pieces.borrow_mut();
        pieces.push(piece);
        pieces.len() - 1
    }

    fn start(&self, name: &str, piece: Piece) {
        let piece = self.piece(piece);
        let _ = self.take(Token::TagToken(HtmlTag {
            kind: TagKind::StartTag,
            name: LocalName::from(name),
            self_closing: false,
            attrs: vec![piece_attribute(piece)],
            had_duplicate_attributes: false,
        }));
    }

    fn made_up(&self, name: &str) {
        self.tag(TagKind::StartTag, name);
    }

    fn end(&self, name: &str) {
        self.tag(TagKind::EndTag, name);
    }

    fn tag(&self, kind: TagKind, name: &str) {
        let name = LocalName::from(name);
        let _ = self.take(Token::TagToken(HtmlTag {
            kind,
            name,
            self_closing: false,
            attrs: Vec::new(),
            had_duplicate_attributes: false,
        }));
    }

    fn characters(&self, text: &str) {
        if !text.is_empty() {
            let _ = self.take(Token::CharacterTokens(StrTendril::from(text)));
        }
    }

    fn mark(&self, piece: Piece) {
        if !self.skipping.get() {
            let piece = self.piece(piece);
            self.characters(&format!("{MARK}{piece}{MARK_END}"));
        }
    }

    /// White space around words goes through as it is: what it means depends on where it stands. `same` is the text as it stands
    /// in the source, when it does.
    fn text(&self, text: &str, same: Option<&str>, range: &Range<usize>) {
        if self.skipping.get() {
            return;
        }
        let core = text.trim_matches(is_white);
        if core.is_empty() {
            return self.characters(text);
        }
        let before = text.len() - text.trim_start_matches(is_white).len();
        let after = before + core.len();
        self.characters(&text[..before]);
        let span = match same.is_some() && range.len() == text.len() {
            true => Span::new(range.start + before, range.start + after),
            false => Span::new(range.start, range.end),
        };
        self.mark(Piece::Text { text: core.to_owned(), span });
        self.characters(&text[after..]);
    }

    /// Whether another element may be opened.
    fn room(&self, range: &Range<usize>) -> bool {
        let room = self.builder.sink.depth() < DEEPEST;
        if !room && !self.deep.replace(true) {
            self.remarks.borrow_mut().push(Remark {
                rule: "nested-too-deep",
                level: Level::Warning,
                message: format!("things stand more than {DEEPEST} deep in one another here"),
                hint: Some(format!("they are set as if they were {DEEPEST} deep; nobody reads that on a strip")),
                span: Span::new(range.start, range.end),
            });
        }
        room
    }

    fn html_tag(&self, tag: HtmlTag, range: Range<usize>) -> TokenSinkResult<Handle> {
        let (sort, start) = ((self.sort)(&tag.name), tag.kind == TagKind::StartTag);
        if self.off.get() {
            let raw = start && (sort == Sort::Nothing || &*tag.name == "iframe");
            return if raw { TokenSinkResult::RawData(RawKind::Rawtext) } else { TokenSinkResult::Continue };
        }
        match (sort, start) {
            (Sort::Nothing, true) => {
                self.skipping.set(true);
                if &*tag.name == "svg" && !tag.attrs.iter().any(|attribute| &*attribute.name.local == "aria-hidden") {
                    self.remarks.borrow_mut().push(super::drawing_dropped(Span::new(range.start, range.end)));
                }
                return TokenSinkResult::RawData(RawKind::Rawtext);
            }
            (Sort::Nothing, false) => self.skipping.set(false),
            (Sort::Silent, _) | (Sort::Unknown, false) => {}
            (Sort::Unknown, true) => {
                let span = Span::new(range.start, range.end);
                self.remarks.borrow_mut().push(super::html_dropped(&tag.name, span));
            }
            (Sort::Known, true) if !is_void(&tag.name) && !self.room(&range) => {}
            (Sort::Known, true) => {
                let span = Span::new(range.start, range.end);
                let attributes = tag.attrs.iter().map(|attribute| (attribute.name.local.clone(), attribute.value.to_string()));
                let piece = self.piece(Piece::Tag { attributes: attributes.collect(), span });
                // A frame holds text that is no markup. The tree gets what holds nothing, and so cannot be left open in it.
                let frame = &*tag.name == "iframe";
                let name = if frame { LocalName::from("embed") } else { tag.name };
                let _ = self.take(Token::TagToken(HtmlTag { name, attrs: vec![piece_attribute(piece)], ..tag }));
                if frame {
                    self.skipping.set(true);
                    return TokenSinkResult::RawData(RawKind::Rawtext);
                }
            }
            (Sort::Known, false) if &*tag.name == "iframe" => self.skipping.set(false),
            (Sort::Known, false) => {
                if matches!(&*tag.name, "h1" | "h2" | "h3" | "h4" | "h5" | "h6") {
                    self.heading_ends.borrow_mut().push(range.end);
                }
                let _ = self.take(Token::TagToken(HtmlTag { attrs: Vec::new(), ..tag }));
            }
        }
        TokenSinkResult::Continue
    }

    fn comment(&self, text: &str) {
        let words: String = text.chars().filter(|character| !character.is_whitespace()).collect();
        match &*words.to_ascii_lowercase() {
            "strip:off" => self.off.set(true),
            "strip:on" => self.off.set(false),
            _ => {}
        }
    }
}

/// What the tokenizer speaks into.
struct Mouth<'l>(&'l Loom);

impl TokenSink for Mouth<'_> {
    type Handle = Handle;

    fn process_token(&self, token: Token, _: u64) -> TokenSinkResult<Handle> {
        let loom = self.0;
        // An error may be said in the middle of a token.
        if matches!(token, Token::ParseError(_)) {
            return TokenSinkResult::Continue;
        }
        let end = loom.at.get() + (loom.length.get() - loom.left().min(loom.length.get()));
        let range = loom.from.replace(end)..end;
        match token {
            Token::TagToken(tag) => return loom.html_tag(tag, range),
            Token::CommentToken(text) => loom.comment(&text),
            Token::CharacterTokens(text) if !loom.off.get() => loom.text(&text, None, &range),
            _ => {}
        }
        TokenSinkResult::Continue
    }

    /// So that character data is text, as it was meant, and no comment.
    fn adjusted_current_node_present_but_not_in_html_namespace(&self) -> bool {
        true
    }
}

pub(super) fn is_white(character: char) -> bool {
    matches!(character, ' ' | '\t' | '\n' | '\r' | '\u{c}')
}

/// The first event after the end of the element that starts at `first`.
fn after(events: &Events, first: usize) -> usize {
    let mut depth = 0usize;
    for (n, (event, _)) in events.iter().enumerate().skip(first) {
        match event {
            Event::Start(_) => depth += 1,
            Event::End(_) => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth == 0 {
            return n + 1;
        }
    }
    events.len()
}

fn name_of(tag: &Tag, in_head: bool) -> &'static str {
    match tag {
        Tag::Paragraph => "p",
        Tag::Heading { level, .. } => ["h1", "h2", "h3", "h4", "h5", "h6"][(*level as usize).clamp(1, 6) - 1],
        Tag::BlockQuote(_) => "blockquote",
        Tag::List(None) => "ul",
        Tag::List(Some(_)) => "ol",
        Tag::Item => "li",
        Tag::DefinitionList => "dl",
        Tag::DefinitionListTitle => "dt",
        Tag::DefinitionListDefinition => "dd",
        Tag::Table(_) => "table",
        Tag::TableHead | Tag::TableRow => "tr",
        Tag::TableCell if in_head => "th",
        Tag::TableCell => "td",
        Tag::Emphasis => "em",
        Tag::Strong => "strong",
        Tag::Strikethrough => "s",
        Tag::Superscript => "sup",
        Tag::Subscript => "sub",
        Tag::Link { .. } => "a",
        _ => "div",
    }
}

fn end_names(tag: TagEnd, in_head: bool) -> &'static [&'static str] {
    match tag {
        TagEnd::Paragraph => &["p"],
        TagEnd::Heading(level) => {
            const NAMES: [&[&str]; 6] = [&["h1"], &["h2"], &["h3"], &["h4"], &["h5"], &["h6"]];
            NAMES[(level as usize).clamp(1, 6) - 1]
        }
        TagEnd::BlockQuote(_) => &["blockquote"],
        TagEnd::List(false) => &["ul"],
        TagEnd::List(true) => &["ol"],
        TagEnd::Item => &["li"],
        TagEnd::DefinitionList => &["dl"],
        TagEnd::DefinitionListTitle => &["dt"],
        TagEnd::DefinitionListDefinition => &["dd"],
        TagEnd::Table => &["table"],
        TagEnd::TableHead => &["tr", "thead"],
        TagEnd::TableRow => &["tr"],
        TagEnd::TableCell if in_head => &["th"],
        TagEnd::TableCell => &["td"],
        TagEnd::Emphasis => &["em"],
        TagEnd::Strong => &["strong"],
        TagEnd::Strikethrough => &["s"],
        TagEnd::Superscript => &["sup"],
        TagEnd::Subscript => &["sub"],
        TagEnd::Link => &["a"],
        _ => &["div"],
    }
}
