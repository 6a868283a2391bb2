//! What of a whole page of HTML is the guide, and what is there to lead about a site.

use html5ever::LocalName;

use super::events::Player;
use super::tags::{self, Sort};
use super::tree::{Handle, Seen};
use crate::manual::source::{Level, Remark, Span};

/// As [`tags::sort`], for a page that a browser shows: what is worked and not read is nothing on paper.
pub(super) fn sort(name: &str) -> Sort {
    match name {
        "button" | "canvas" | "datalist" | "dialog" | "noscript" | "select" | "svg" | "template" | "textarea" | "title" => {
            Sort::Nothing
        }
        _ => tags::sort(name),
    }
}

/// Roles of what is no part of a page's content (WAI-ARIA 1.2, landmark and widget roles).
const FURNITURE: [&str; 8] = ["banner", "complementary", "contentinfo", "dialog", "menu", "navigation", "search", "toolbar"];

/// What a link to the heading that it stands in is written as.
const PERMALINKS: [&str; 5] = ["¶", "#", "§", "🔗", "\u{F0C1}"];

/// What is said of the parts that were left out of a page, by their places.
pub(super) fn remark(left_out: &[Span]) -> Option<Remark> {
    let parts = match left_out.len() {
        1 => "one part of the page that leads".to_owned(),
        count => format!("{count} parts of the page that lead"),
    };
    left_out.first().map(|&span| Remark {
        rule: "page-furniture",
        level: Level::Advice,
        message: format!("{parts} about its site: left out"),
        hint: Some("what belongs to the guide goes outside of <nav> and of what has such a role".into()),
        span,
    })
}

impl Player<'_, '_, '_, '_> {
    /// Where the guide stands on a page: its `main`, its only `article`, or all of it.
    pub(super) fn guide(&self) -> Handle {
        let main = self.all(0, &|name, role| name == "main" || role == Some("main")).first().copied().unwrap_or(0);
        match self.all(main, &|name, role| name == "article" || role == Some("article"))[..] {
            [article] => article,
            _ => main,
        }
    }

    /// The outermost elements below a node that are what is asked for, but for those that are hidden.
    fn all(&self, below: Handle, is: &dyn Fn(&str, Option<&str>) -> bool) -> Vec<Handle> {
        let mut found = Vec::new();
        for child in self.tree.children(below) {
            let Seen::Element(name, piece) = self.tree.seen(child) else { continue };
            match self.attribute(piece, "hidden") {
                Some(_) => {}
                None if is(&name, self.attribute(piece, "role")) => found.push(child),
                None => found.extend(self.all(child, is)),
            }
        }
        found
    }

    /// Whether an element of a page is not part of what is read. What is left out is remembered.
    pub(super) fn leaves_out(&mut self, name: &LocalName, piece: Option<usize>, span: Span) -> bool {
        if self.left_out.is_none() {
            return false;
        }
        let hidden = self.attribute(piece, "hidden").is_some() || self.attribute(piece, "aria-hidden") == Some("true");
        let furniture = &**name == "nav" || self.attribute(piece, "role").is_some_and(|role| FURNITURE.contains(&role));
        if furniture
            && !hidden
            && let Some(left_out) = &mut self.left_out
        {
            left_out.push(span);
        }
        hidden || furniture
    }

    /// Whether a link is only the handle by which a heading's address is taken.
    pub(super) fn is_permalink(&self, node: Handle, address: &str) -> bool {
        address.starts_with('#') && PERMALINKS.contains(&self.said(node).trim())
    }

    /// Whether an element is of a class: the boxes of docutils and what follows it are told by theirs.
    pub(super) fn is_of(&self, piece: Option<usize>, class: &str) -> bool {
        self.attribute(piece, "class").is_some_and(|classes| classes.split_whitespace().any(|known| known == class))
    }
}
