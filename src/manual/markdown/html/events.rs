//! The tree played to the reader of Markdown: every element becomes the event that its sister in Markdown would have been.

use std::ops::Range;

use html5ever::LocalName;
use pulldown_cmark::{Alignment, CodeBlockKind, CowStr, Event, LinkType, Tag, TagEnd};

use super::super::{Frame, LeafKind, Reading};
use super::measures;
use super::tokens::{Events, MARK, MARK_END, Piece, Woven};
use super::tree::{Handle, Seen, Tree};
use crate::manual::Error;
use crate::manual::document::{InlineKind, Kind, Picture};
use crate::manual::source::Span;

/// Plays a tree: all of it, or of a whole `page` what is the guide; gives the places of what was left out of it. `base` is added to
/// every place of an event.
///
/// # Errors
/// When a fenced block of ours cannot be understood.
pub(super) fn play(woven: &Woven, events: &Events, base: usize, reading: &mut Reading, page: bool) -> Result<Vec<Span>, Error> {
    let mut player = Player {
        reading,
        tree: &woven.tree,
        pieces: &woven.pieces,
        events,
        base,
        marks: Vec::new(),
        have: 0,
        gap: Gap::None,
        fresh: true,
        flat: 0,
        at: base as u32,
        caption: None,
        level: 1,
        left_out: page.then(Vec::new),
    };
    let from = if page { player.guide() } else { 0 };
    player.children(from)?;
    player.end_leaf();
    Ok(player.left_out.unwrap_or_default())
}

/// White space between words that is not set yet: it counts only when words follow.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Gap {
    None,
    Space,
    Soft,
    Break,
}

#[derive(Clone)]
enum Mark<'e> {
    Tag(Tag<'e>, Span),
    Key(Span),
}

pub(super) struct Player<'p, 'r, 's, 'e> {
    pub reading: &'r mut Reading<'s>,
    pub tree: &'p Tree,
    pub pieces: &'p [Piece],
    pub events: &'p Events<'e>,
    base: usize,
    /// Marks that hold here, and how many of them the open run of inlines has opened: a block between them ends the run.
    marks: Vec<Mark<'e>>,
    have: usize,
    gap: Gap,
    /// Nothing stands in the open run yet.
    fresh: bool,
    /// Inside what holds no blocks (a cell, a heading): blocks are lines there.
    pub flat: u32,
    /// Where the last words ended.
    at: u32,
    /// Of the figure that is played: the caption of its picture.
    caption: Option<String>,
    /// Of the last heading.
    level: u8,
    /// Of a whole page: what is no part of its guide.
    pub left_out: Option<Vec<Span>>,
}

impl<'e> Player<'_, '_, '_, 'e> {
    pub fn children(&mut self, of: Handle) -> Result<(), Error> {
        self.tree.children(of).into_iter().try_for_each(|child| self.node(child))
    }

    pub fn node(&mut self, node: Handle) -> Result<(), Error> {
        match self.tree.seen(node) {
            Seen::Text(text) => self.text(&text),
            Seen::Element(name, piece) => self.element(node, &name, piece),
        }
    }

    fn text(&mut self, text: &str) -> Result<(), Error> {
        let mut rest = text;
        while let Some((white, marked)) = rest.split_once(MARK) {
            self.white(white);
            let (number, after) = marked.split_once(MARK_END).unwrap_or((marked, ""));
            if let Some(piece) = number.parse().ok().and_then(|number: usize| self.pieces.get(number)) {
                self.piece(piece)?;
            }
            rest = after;
        }
        self.white(rest);
        Ok(())
    }

    fn white(&mut self, white: &str) {
        match white {
            "" => {}
            _ if white.contains('\n') => self.leave(Gap::Soft),
            _ => self.leave(Gap::Space),
        }
    }

    fn leave(&mut self, gap: Gap) {
        if !self.fresh {
            self.gap = self.gap.max(gap);
        }
    }

    fn range(&self, range: &Range<usize>) -> Range<usize> {
        range.start + self.base..range.end + self.base
    }

    fn piece(&mut self, piece: &Piece) -> Result<(), Error> {
        match piece {
            Piece::Text { text, span } => {
                self.words(text, *span);
                Ok(())
            }
            Piece::Events(which) => self.replay(which.clone()),
            Piece::Tag { .. } => Ok(()),
        }
    }

    pub fn words(&mut self, text: &str, span: Span) {
        self.inline(span);
        self.reading.leaf_at(&whole(span)).text(text, span);
    }

    /// Events of Markdown that stand in a line.
    fn replay(&mut self, which: Range<usize>) -> Result<(), Error> {
        let Some((first, range)) = self.events.get(which.start) else { return Ok(()) };
        let span = Span::new(range.start + self.base, range.end + self.base);
        match first {
            Event::HardBreak => {
                self.leave(Gap::Break);
                return Ok(());
            }
            Event::TaskListMarker(_) => {}
            _ => self.inline(span),
        }
        for (event, range) in &self.events[which] {
            let mut event = event.clone();
            if let Event::Start(Tag::Image { title, .. }) = &mut event
                && let Some(caption) = self.caption.take()
                && title.trim().is_empty()
            {
                *title = CowStr::from(caption);
            }
            self.reading.take(event, self.range(range))?;
        }
        Ok(())
    }

    /// Makes ready for something in a line: the white space before it, the marks that hold for it.
    fn inline(&mut self, span: Span) {
        if self.reading.leaf.is_none() {
            self.forget();
        }
        let before = Span { start: self.at.min(span.start), end: self.at.min(span.start) };
        let range = whole(span);
        let event = match self.gap {
            _ if self.fresh => None,
            Gap::None => None,
            Gap::Space => Some(Event::Text(CowStr::Borrowed(" "))),
            Gap::Soft => Some(Event::SoftBreak),
            Gap::Break => Some(Event::HardBreak),
        };
        let leaf = self.reading.leaf_at(&range);
        if let Some(event) = event {
            leaf.take(event, before);
        }
        for mark in self.marks.iter().skip(self.have) {
            match mark {
                Mark::Tag(tag, span) => leaf.open(tag.clone(), *span),
                Mark::Key(span) => leaf.open_key(*span),
            }
        }
        self.have = self.marks.len();
        self.gap = Gap::None;
        self.fresh = false;
        self.at = span.end;
    }

    fn forget(&mut self) {
        self.have = 0;
        self.fresh = true;
        self.gap = Gap::None;
    }

    pub fn end_leaf(&mut self) {
        self.reading.end_leaf();
        self.forget();
    }

    fn start_leaf(&mut self, kind: LeafKind, range: &Range<usize>) {
        self.end_leaf();
        self.reading.start_leaf(kind, range);
    }

    /// A block begins or ends here.
    pub fn edge(&mut self) {
        match (self.flat, &self.reading.leaf) {
            (0, _) | (_, None) => self.end_leaf(),
            _ => self.leave(Gap::Break),
        }
    }

    /// Plays a run of inlines that holds no blocks.
    pub fn run(&mut self, kind: LeafKind, node: Handle, range: &Range<usize>) -> Result<(), Error> {
        self.start_leaf(kind, range);
        self.flat += 1;
        let marks = std::mem::take(&mut self.marks);
        let played = self.children(node);
        self.marks = marks;
        self.flat -= 1;
        self.end_leaf();
        played
    }

    fn marked(&mut self, mark: Mark<'e>, node: Handle) -> Result<(), Error> {
        self.marks.push(mark);
        let played = self.children(node);
        self.marks.pop();
        if self.have > self.marks.len() {
            self.have = self.marks.len();
            self.reading.close_mark();
        }
        played
    }

    /// The start that Markdown wrote, or the one that its sister in HTML stands for.
    fn tag(&self, piece: Option<usize>, sister: Tag<'e>) -> Tag<'e> {
        match piece.and_then(|piece| self.pieces.get(piece)) {
            Some(Piece::Events(which)) => match self.events.get(which.start) {
                Some((Event::Start(tag), _)) => tag.clone(),
                _ => sister,
            },
            _ => sister,
        }
    }

    pub fn attribute(&self, piece: Option<usize>, name: &str) -> Option<&str> {
        match self.pieces.get(piece?)? {
            Piece::Tag { attributes, .. } => {
                attributes.iter().find(|(known, _)| &**known == name).map(|(_, value)| value.as_str())
            }
            _ => None,
        }
    }

    pub fn is_markdown(&self, piece: Option<usize>) -> bool {
        matches!(piece.and_then(|piece| self.pieces.get(piece)), Some(Piece::Events(_)))
    }

    /// From its start tag to the last thing in it; of Markdown, what Markdown says.
    pub fn extent(&self, node: Handle, piece: Option<usize>) -> Range<usize> {
        match piece.and_then(|piece| self.pieces.get(piece)) {
            Some(Piece::Events(which)) => self.events.get(which.start).map(|(_, range)| self.range(range)).unwrap_or_default(),
            Some(Piece::Tag { span, .. }) => span.start as usize..self.end(node).max(span.end) as usize,
            _ => {
                let at = self.first(node).unwrap_or(self.at);
                at as usize..self.end(node).max(at) as usize
            }
        }
    }

    fn piece_span(&self, piece: usize) -> Option<Span> {
        match self.pieces.get(piece)? {
            Piece::Events(which) => {
                self.events.get(which.start).map(|(_, range)| Span::new(range.start + self.base, range.end + self.base))
            }
            Piece::Text { span, .. } | Piece::Tag { span, .. } => Some(*span),
        }
    }

    /// The pieces in a node itself.
    fn own(&self, node: Handle) -> Vec<usize> {
        match self.tree.seen(node) {
            Seen::Element(_, piece) => piece.into_iter().collect(),
            Seen::Text(text) => text.split(MARK).filter_map(|mark| mark.split(MARK_END).next()?.parse().ok()).collect(),
        }
    }

    /// Where the last thing in it ends. Looks down its last children only: what comes last stands last.
    fn end(&self, node: Handle) -> u32 {
        let mut end = 0;
        let mut at = Some(node);
        while let Some(node) = at {
            end = self.own(node).into_iter().filter_map(|piece| self.piece_span(piece)).map(|span| span.end).fold(end, u32::max);
            // White space at the end has no place of its own.
            at = self.tree.children(node).into_iter().rev().find(|child| match self.tree.seen(*child) {
                Seen::Text(text) => text.contains(MARK),
                Seen::Element(..) => true,
            });
        }
        end
    }

    fn first(&self, node: Handle) -> Option<u32> {
        self.tree
            .children(node)
            .into_iter()
            .find_map(|child| self.own(child).first().and_then(|piece| self.piece_span(*piece)).map(|span| span.start))
    }

    fn element(&mut self, node: Handle, name: &LocalName, piece: Option<usize>) -> Result<(), Error> {
        let range = self.extent(node, piece);
        let span = Span::new(range.start, range.end);
        if self.leaves_out(name, piece, span) {
            return Ok(());
        }
        match &**name {
            "strong" | "b" => self.marked(Mark::Tag(Tag::Strong, span), node),
            "em" | "i" | "u" | "var" => self.marked(Mark::Tag(Tag::Emphasis, span), node),
            "s" | "del" | "strike" => self.marked(Mark::Tag(Tag::Strikethrough, span), node),
            "sub" => self.marked(Mark::Tag(Tag::Subscript, span), node),
            "sup" => self.marked(Mark::Tag(Tag::Superscript, span), node),
            "kbd" | "code" | "samp" | "tt" => self.marked(Mark::Key(span), node),
            "a" => match (self.is_markdown(piece), self.attribute(piece, "href")) {
                (true, _) => {
                    let tag = self.tag(piece, Tag::Strong);
                    self.marked(Mark::Tag(tag, span), node)
                }
                (false, Some(address)) if self.is_permalink(node, address) => Ok(()),
                (false, Some(address)) => {
                    let address = CowStr::from(address.to_owned());
                    let none = CowStr::Borrowed("");
                    let link = Tag::Link { link_type: LinkType::Inline, dest_url: address, title: none.clone(), id: none };
                    self.marked(Mark::Tag(link, span), node)
                }
                (false, None) => self.children(node),
            },
            "br" => {
                if self.gap == Gap::Break && self.flat == 0 && !self.fresh {
                    self.end_leaf();
                }
                self.leave(Gap::Break);
                Ok(())
            }
            "img" => {
                self.img(piece, span);
                Ok(())
            }
            "p" if self.is_of(piece, "admonition-title") => self.line(node, Tag::Strong, &range),
            "p" => {
                self.edge();
                if self.flat == 0 {
                    self.start_leaf(LeafKind::Paragraph { implied: false }, &range);
                }
                self.children(node)?;
                self.edge();
                Ok(())
            }
            "h1" | "h2" | "h3" | "h4" | "h5" | "h6" if self.flat > 0 => {
                self.edge();
                self.marked(Mark::Tag(Tag::Strong, span), node)?;
                self.edge();
                Ok(())
            }
            "h1" | "h2" | "h3" | "h4" | "h5" | "h6" => {
                self.level = name.as_bytes()[1] - b'0';
                self.run(LeafKind::Heading(self.level), node, &range)
            }
            "summary" if self.flat == 0 => {
                let level = (self.level + 1).clamp(3, 6);
                self.run(LeafKind::Heading(level), node, &range)
            }
            "ul" | "ol" => self.list(node, name, piece, &range),
            "blockquote" if self.flat == 0 => {
                let tag = self.tag(piece, Tag::BlockQuote(None));
                self.contained(tag, TagEnd::BlockQuote(None), node, &range)
            }
            "div" | "aside" if self.flat == 0 && self.is_of(piece, "admonition") => {
                self.contained(Tag::BlockQuote(None), TagEnd::BlockQuote(None), node, &range)
            }
            "dl" if self.flat == 0 => self.contained(Tag::DefinitionList, TagEnd::DefinitionList, node, &range),
            "dt" if self.in_definitions() => self.run(LeafKind::Term, node, &range),
            "dd" if self.in_definitions() => {
                self.contained(Tag::DefinitionListDefinition, TagEnd::DefinitionListDefinition, node, &range)
            }
            "div" if self.is_markdown(piece) && self.flat == 0 => {
                let tag = self.tag(piece, Tag::Paragraph);
                let end = tag.to_end();
                self.contained(tag, end, node, &range)
            }
            "hr" => {
                self.edge();
                if self.flat == 0 {
                    self.reading.take(Event::Rule, range)?;
                }
                Ok(())
            }
            "pre" => self.pre(node, piece, span),
            "table" => self.table(node, piece, &range),
            "figure" => self.figure(node),
            "video" | "audio" | "embed" | "iframe" => {
                self.film(node, piece, span);
                Ok(())
            }
            "input" => {
                if self.attribute(piece, "type").is_some_and(|kind| kind.eq_ignore_ascii_case("checkbox")) {
                    let ticked = self.attribute(piece, "checked").is_some();
                    self.reading.take(Event::TaskListMarker(ticked), range)?;
                }
                Ok(())
            }
            "col" | "colgroup" | "source" => Ok(()),
            "span" | "small" | "ins" | "picture" => self.children(node),
            // A division of the page, or a part of something that is not there.
            _ => {
                self.edge();
                self.children(node)?;
                self.edge();
                Ok(())
            }
        }
    }

    fn in_definitions(&self) -> bool {
        self.flat == 0 && matches!(self.reading.frames.last(), Some((Frame::Definitions { .. }, _)))
    }

    fn contained(&mut self, tag: Tag, end: TagEnd, node: Handle, range: &Range<usize>) -> Result<(), Error> {
        self.end_leaf();
        self.reading.start(tag, range.clone());
        let marks = std::mem::take(&mut self.marks);
        let played = self.children(node);
        self.marks = marks;
        self.end_leaf();
        self.reading.end(end, range.clone());
        played
    }

    /// What stands in a list beside its items belongs to the item before it: a list in a list, as many write it.
    fn list(&mut self, node: Handle, name: &str, piece: Option<usize>, range: &Range<usize>) -> Result<(), Error> {
        self.edge();
        let start = self.attribute(piece, "start").and_then(|start| start.trim().parse().ok()).unwrap_or(1);
        let tag = self.tag(piece, Tag::List((name == "ol").then_some(start)));
        if self.flat > 0 {
            return self.flat_list(node, &tag);
        }
        let end = tag.to_end();
        self.reading.start(tag, range.clone());
        let mut item: Option<Range<usize>> = None;
        for child in self.tree.children(node) {
            match self.tree.seen(child) {
                Seen::Element(name, piece) if &*name == "li" => {
                    self.end_item(item.take());
                    let range = self.extent(child, piece);
                    self.reading.start(Tag::Item, range.clone());
                    item = Some(range);
                    self.children(child)?;
                }
                Seen::Text(text) if !text.contains(MARK) => {}
                Seen::Element(_, piece) => {
                    item = Some(item.unwrap_or_else(|| {
                        let range = self.extent(child, piece);
                        self.reading.start(Tag::Item, range.clone());
                        range
                    }));
                    self.node(child)?;
                }
                Seen::Text(_) => {
                    item = Some(item.unwrap_or_else(|| {
                        self.reading.start(Tag::Item, range.clone());
                        range.clone()
                    }));
                    self.node(child)?;
                }
            }
        }
        self.end_item(item);
        self.reading.end(end, range.clone());
        Ok(())
    }

    fn end_item(&mut self, item: Option<Range<usize>>) {
        self.end_leaf();
        if let Some(range) = item {
            self.reading.end(TagEnd::Item, range);
        }
    }

    /// A list where no blocks can stand: a line for each item.
    fn flat_list(&mut self, node: Handle, tag: &Tag) -> Result<(), Error> {
        let mut number = match tag {
            Tag::List(start) => *start,
            _ => None,
        };
        for child in self.tree.children(node) {
            if let Seen::Element(name, piece) = self.tree.seen(child)
                && &*name == "li"
            {
                self.edge();
                let at = self.extent(child, piece).start;
                let sign = number.map_or("•\u{a0}".to_owned(), |number| format!("{number}.\u{a0}"));
                number = number.map(|number| number.saturating_add(1));
                self.words(&sign, Span::new(at, at));
                self.children(child)?;
                self.edge();
            } else {
                self.node(child)?;
            }
        }
        Ok(())
    }

    /// Code. Of Markdown it may be a fence of ours.
    fn pre(&mut self, node: Handle, piece: Option<usize>, span: Span) -> Result<(), Error> {
        self.edge();
        if let Some(Piece::Events(which)) = piece.and_then(|piece| self.pieces.get(piece))
            && let Some((Event::Start(Tag::CodeBlock(kind)), _)) = self.events.get(which.start)
        {
            if self.flat == 0 {
                self.end_leaf();
                for (event, range) in &self.events[which.clone()] {
                    self.reading.take(event.clone(), self.range(range))?;
                }
            } else if !matches!(kind, CodeBlockKind::Fenced(info) if !info.is_empty()) {
                for (event, range) in &self.events[which.clone()] {
                    if let Event::Text(text) = event {
                        self.words(text, Span::new(range.start + self.base, range.end + self.base));
                    }
                }
            }
            return Ok(());
        }
        let text = self.said(node);
        let text = text.trim_end_matches('\n').to_owned();
        match self.flat {
            _ if text.trim().is_empty() => {}
            0 => self.reading.push(Kind::Code { text }, span),
            _ => self.words(&text, span),
        }
        self.edge();
        Ok(())
    }

    /// The words in a node, white space as it stands.
    pub fn said(&self, node: Handle) -> String {
        let mut said = String::new();
        self.say(node, &mut said);
        said
    }

    fn say(&self, node: Handle, said: &mut String) {
        match self.tree.seen(node) {
            Seen::Text(text) => {
                let mut rest = text.as_str();
                while let Some((white, marked)) = rest.split_once(MARK) {
                    said.push_str(white);
                    let (number, after) = marked.split_once(MARK_END).unwrap_or((marked, ""));
                    match number.parse().ok().and_then(|number: usize| self.pieces.get(number)) {
                        Some(Piece::Text { text, .. }) => said.push_str(text),
                        Some(Piece::Events(which)) => {
                            for (event, _) in &self.events[which.clone()] {
                                match event {
                                    Event::Text(text) | Event::Code(text) => said.push_str(text),
                                    Event::SoftBreak | Event::HardBreak => said.push(' '),
                                    _ => {}
                                }
                            }
                        }
                        _ => {}
                    }
                    rest = after;
                }
                said.push_str(rest);
            }
            Seen::Element(name, _) => {
                if &*name == "br" {
                    said.push('\n');
                }
                self.tree.children(node).into_iter().for_each(|child| self.say(child, said));
            }
        }
    }

    fn img(&mut self, piece: Option<usize>, span: Span) {
        let Some(address) = self.attribute(piece, "src").map(str::trim).filter(|address| !address.is_empty()) else { return };
        let told = |name: &str| self.attribute(piece, name).unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ");
        let style = self.attribute(piece, "style").unwrap_or_default();
        let measure = |name: &str| self.attribute(piece, name).or_else(|| measures::of_style(style, name));
        let mut picture = Picture {
            address: super::super::inlines::path_of(address),
            alt: told("alt"),
            title: told("title"),
            width: measure("width").and_then(measures::share),
            height: measure("height").and_then(measures::pixels),
            linked: false,
        };
        if picture.title.is_empty()
            && let Some(caption) = self.caption.take()
        {
            picture.title = caption;
        }
        self.inline(span);
        self.reading.leaf_at(&whole(span)).picture(picture, span);
    }

    /// A picture and its caption; of several pictures, or of none, the caption is a line below.
    fn figure(&mut self, node: Handle) -> Result<(), Error> {
        self.edge();
        let caption = self.find(node, "figcaption");
        match caption {
            Some(caption) if self.flat == 0 && self.count_pictures(node) == 1 => {
                let said = self.said(caption).split_whitespace().collect::<Vec<_>>().join(" ");
                self.caption = Some(said).filter(|said| !said.is_empty());
                for child in self.tree.children(node) {
                    if child != caption {
                        self.node(child)?;
                    }
                }
                self.caption = None;
            }
            _ => self.children(node)?,
        }
        self.edge();
        Ok(())
    }

    /// The first child of that name.
    pub fn find(&self, node: Handle, name: &str) -> Option<Handle> {
        self.tree
            .children(node)
            .into_iter()
            .find(|child| matches!(self.tree.seen(*child), Seen::Element(known, _) if &*known == name))
    }

    fn count_pictures(&self, node: Handle) -> usize {
        match self.tree.seen(node) {
            Seen::Element(name, _) if &*name == "img" => 1,
            Seen::Element(..) => self.tree.children(node).into_iter().map(|child| self.count_pictures(child)).sum(),
            Seen::Text(_) => self
                .own(node)
                .into_iter()
                .filter_map(|piece| self.pieces.get(piece))
                .filter(|piece| {
                    matches!(piece, Piece::Events(which)
                        if matches!(self.events.get(which.start), Some((Event::Start(Tag::Image { .. }), _))))
                })
                .count(),
        }
    }

    /// What moves cannot be printed: where it is to be seen is.
    fn film(&mut self, node: Handle, piece: Option<usize>, span: Span) {
        let own = self.attribute(piece, "src").map(str::to_owned);
        let inner = || {
            let Seen::Element(_, source) = self.tree.seen(self.find(node, "source")?) else { return None };
            self.attribute(source, "src").map(str::to_owned)
        };
        let Some(address) = own.or_else(inner).filter(|address| !address.trim().is_empty()) else { return };
        self.edge();
        let note = self.reading.notes.link(address.trim(), span);
        self.inline(span);
        let link = InlineKind::Link {
            text: vec![super::super::Inline { span, kind: InlineKind::Text("Video:".to_owned()) }],
            note: Some(note),
            address: address.trim().to_owned(),
        };
        self.reading.leaf_at(&whole(span)).push(link, span);
        self.edge();
    }

    /// A cell of a table.
    pub fn cell(&mut self, node: Option<Handle>, range: &Range<usize>, strong: bool) -> Result<(), Error> {
        self.start_leaf(LeafKind::Cell, range);
        self.flat += 1;
        let outer = std::mem::take(&mut self.marks);
        if strong {
            self.marks.push(Mark::Tag(Tag::Strong, Span::new(range.start, range.end)));
        }
        let played = node.map_or(Ok(()), |node| self.children(node));
        self.marks = outer;
        self.flat -= 1;
        self.end_leaf();
        played
    }

    /// Words in a paragraph of their own, in bold type or italics.
    pub fn line(&mut self, node: Handle, mark: Tag<'e>, range: &Range<usize>) -> Result<(), Error> {
        self.edge();
        self.marked(Mark::Tag(mark, Span::new(range.start, range.end)), node)?;
        self.edge();
        Ok(())
    }

    pub fn alignments(&self, piece: Option<usize>) -> Option<Vec<Alignment>> {
        match self.tag(piece, Tag::Paragraph) {
            Tag::Table(align) => Some(align),
            _ => None,
        }
    }
}

fn whole(span: Span) -> Range<usize> {
    span.start as usize..span.end as usize
}
