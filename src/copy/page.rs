//! HTML as it is written: names from two lists, and everything that comes from outside escaped in one place.

use std::fmt::Write as _;

/// Every element that a copy holds; those of drawings are [`crate::pictures::colour::ELEMENTS`] besides.
pub const ELEMENTS: &[&str] = &[
    "a",
    "aside",
    "b",
    "body",
    "br",
    "circle",
    "code",
    "dd",
    "div",
    "dl",
    "dt",
    "em",
    "figcaption",
    "figure",
    "footer",
    "g",
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "head",
    "header",
    "hr",
    "html",
    "image",
    "img",
    "input",
    "kbd",
    "label",
    "li",
    "line",
    "link",
    "main",
    "meta",
    "nav",
    "ol",
    "p",
    "path",
    "polygon",
    "pre",
    "rect",
    "s",
    "section",
    "span",
    "strong",
    "style",
    "sub",
    "sup",
    "svg",
    "symbol",
    "table",
    "tbody",
    "td",
    "text",
    "th",
    "thead",
    "title",
    "tr",
    "tspan",
    "ul",
    "use",
];

/// Every attribute that a copy holds; those of drawings are [`crate::pictures::colour::ATTRIBUTES`] besides.
pub const ATTRIBUTES: &[&str] = &[
    "alt",
    "aria-hidden",
    "aria-label",
    "aria-labelledby",
    "charset",
    "checked",
    "class",
    "content",
    "cx",
    "cy",
    "d",
    "decoding",
    "dir",
    "dy",
    "fill",
    "focusable",
    "font-size",
    "height",
    "href",
    "http-equiv",
    "id",
    "lang",
    "loading",
    "name",
    "points",
    "preserveAspectRatio",
    "r",
    "rel",
    "role",
    "rx",
    "scope",
    "src",
    "start",
    "stroke",
    "stroke-width",
    "tabindex",
    "text-anchor",
    "transform",
    "type",
    "value",
    "viewBox",
    "width",
    "x",
    "x1",
    "x2",
    "y",
    "y1",
    "y2",
];

/// Elements without an end.
const VOID: &[&str] = &["br", "hr", "img", "input", "link", "meta"];
/// Elements of drawings that hold nothing.
const LEAVES: &[&str] = &["circle", "image", "line", "path", "polygon", "rect", "stop", "use"];
/// Elements that begin on a line of their own, so that the file can be read.
const LINES: &[&str] = &[
    "aside", "body", "div", "dl", "dt", "figure", "footer", "h1", "h2", "h3", "h4", "h5", "h6", "head", "header", "hr", "li",
    "main", "meta", "nav", "ol", "p", "pre", "section", "style", "table", "title", "tr", "ul",
];

/// A page that grows at its end.
#[derive(Default)]
pub struct Page {
    html: String,
    /// Elements that are not closed yet.
    open: Vec<&'static str>,
}

/// Attributes of an element: names from the list, values as they are.
pub type Attributes<'a> = &'a [(&'static str, &'a str)];

impl Page {
    /// Begins an element. One without an end is whole by that.
    pub fn open(&mut self, name: &'static str, attributes: Attributes) {
        if LINES.contains(&name) && !self.html.ends_with('\n') && !self.html.is_empty() && !self.open.contains(&"pre") {
            self.html.push('\n');
        }
        self.html.push('<');
        self.html.push_str(name);
        for (name, value) in attributes {
            self.html.push(' ');
            self.html.push_str(name);
            self.html.push_str("=\"");
            escape(value, &mut self.html);
            self.html.push('"');
        }
        if LEAVES.contains(&name) {
            self.html.push('/');
        }
        self.html.push('>');
        if !VOID.contains(&name) && !LEAVES.contains(&name) {
            self.open.push(name);
        }
    }

    /// Ends the element that was begun last.
    pub fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            let _ = write!(self.html, "</{name}>");
        }
    }

    pub fn text(&mut self, text: &str) {
        escape(text, &mut self.html);
    }

    /// An element that holds nothing but text.
    pub fn element(&mut self, name: &'static str, attributes: Attributes, text: &str) {
        self.open(name, attributes);
        if !VOID.contains(&name) && !LEAVES.contains(&name) {
            self.text(text);
            self.close();
        }
    }

    /// The style sheet, which is the program's own and no text from outside.
    pub fn style(&mut self, sheet: &str) {
        debug_assert!(!sheet.contains('<'));
        self.open("style", &[]);
        self.html.push_str(sheet);
        self.close();
    }

    /// What the program itself begins a page with.
    pub fn doctype(&mut self) {
        self.html.push_str(super::BEGINNING);
        self.html.push('\n');
    }

    /// What was written apart, whole.
    pub fn join(&mut self, other: Page) {
        self.html.push('\n');
        self.html.push_str(&other.finish());
    }

    /// How many elements are open.
    pub fn depth(&self) -> usize {
        self.open.len()
    }

    /// The whole page; what is open is closed.
    pub fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.html.push('\n');
        self.html
    }
}

/// Text that means nothing but itself, between tags and in quotes. Characters that HTML does not allow are left out (WHATWG HTML, 13.2.3.5:
/// control characters but white space, and noncharacters).
fn escape(text: &str, out: &mut String) {
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(character),
            other if other.is_control() || crate::names::is_noncharacter(other) => {}
            other => out.push(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_from_outside_becomes_markup() {
        let mut page = Page::default();
        page.open("p", &[("aria-label", "\"><script>alert('&')</script>\u{0}\u{FFFE}\u{85}")]);
        page.text("</p><!-- ]]> <img src=x onerror=y>\r\n\u{1b}");
        let html = page.finish();
        let wanted = "<p aria-label=\"&quot;&gt;&lt;script&gt;alert(&#39;&amp;&#39;)&lt;/script&gt;\">&lt;/p&gt;&lt;!-- ]]&gt; &lt;img src=x onerror=y&gt;\n</p>\n";
        assert_eq!(html, wanted);
    }
}
