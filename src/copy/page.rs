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
    "data-document",
    "data-revision",
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

/// What a page is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Node {
    Text(String),
    Element(Element),
}

/// An element: its name and the names of its attributes stand in the lists above, or in those of drawings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Element {
    pub name: &'static str,
    pub attributes: Vec<(&'static str, String)>,
    pub inside: Vec<Node>,
}

impl Element {
    /// The value of an attribute; nothing where it has none of that name.
    pub fn get(&self, name: &str) -> &str {
        self.attributes.iter().find(|(known, _)| *known == name).map_or("", |(_, value)| value.as_str())
    }

    pub fn is(&self, class: &str) -> bool {
        self.get("class").split(' ').any(|known| known == class)
    }

    pub fn elements(&self) -> impl Iterator<Item = &Element> {
        self.inside.iter().filter_map(|node| match node {
            Node::Element(element) => Some(element),
            Node::Text(_) => None,
        })
    }
}

/// A page that grows at its end: a tree, from which the HTML and the PDF are written, so that both say the same in the same order.
#[derive(Default)]
pub struct Page {
    nodes: Vec<Node>,
    /// Elements that are not closed yet.
    open: Vec<Element>,
}

/// Attributes of an element: names from the list, values as they are.
pub type Attributes<'a> = &'a [(&'static str, &'a str)];

impl Page {
    /// Begins an element. One without an end is whole by that.
    pub fn open(&mut self, name: &'static str, attributes: Attributes) {
        let attributes = attributes.iter().map(|(name, value)| (*name, (*value).to_owned())).collect();
        let element = Element { name, attributes, inside: Vec::new() };
        if VOID.contains(&name) || LEAVES.contains(&name) {
            self.put(Node::Element(element));
        } else {
            self.open.push(element);
        }
    }

    /// Ends the element that was begun last.
    pub fn close(&mut self) {
        if let Some(element) = self.open.pop() {
            self.put(Node::Element(element));
        }
    }

    pub fn text(&mut self, text: &str) {
        let inside = self.open.last_mut().map_or(&mut self.nodes, |element| &mut element.inside);
        match inside.last_mut() {
            Some(Node::Text(before)) => before.push_str(text),
            _ => inside.push(Node::Text(text.to_owned())),
        }
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
        self.element("style", &[], sheet);
    }

    /// What was written apart, whole.
    pub fn join(&mut self, other: Page) {
        other.finish().into_iter().for_each(|node| self.put(node));
    }

    /// How many elements are open.
    pub fn depth(&self) -> usize {
        self.open.len()
    }

    fn put(&mut self, node: Node) {
        self.open.last_mut().map_or(&mut self.nodes, |element| &mut element.inside).push(node);
    }

    /// The whole page; what is open is closed.
    pub fn finish(mut self) -> Vec<Node> {
        while !self.open.is_empty() {
            self.close();
        }
        self.nodes
    }
}

/// The page as a browser reads it.
pub fn html(nodes: &[Node]) -> String {
    let mut html = super::BEGINNING.to_owned();
    html.push('\n');
    nodes.iter().for_each(|node| write(node, false, &mut html));
    html.push('\n');
    html
}

fn write(node: &Node, kept: bool, html: &mut String) {
    let element = match node {
        Node::Text(text) => return escape(text, html),
        Node::Element(element) => element,
    };
    let name = element.name;
    if LINES.contains(&name) && !html.ends_with('\n') && !kept {
        html.push('\n');
    }
    html.push('<');
    html.push_str(name);
    for (name, value) in &element.attributes {
        html.push(' ');
        html.push_str(name);
        html.push_str("=\"");
        escape(value, html);
        html.push('"');
    }
    if LEAVES.contains(&name) {
        html.push('/');
    }
    html.push('>');
    for inner in &element.inside {
        match inner {
            // The sheet stands as it is: in it nothing is escaped (WHATWG HTML, 13.1.2, raw text).
            Node::Text(sheet) if name == "style" => html.push_str(sheet),
            inner => write(inner, kept || name == "pre", html),
        }
    }
    if !VOID.contains(&name) && !LEAVES.contains(&name) {
        let _ = write!(html, "</{name}>");
    }
}

/// An element by itself, as a drawing is written for a reader of SVG.
#[cfg(feature = "pdf")]
pub fn written(element: &Element) -> String {
    let mut text = String::new();
    write(&Node::Element(element.clone()), true, &mut text);
    text
}

/// The words of elements, without pictures.
#[cfg(feature = "pdf")]
pub fn plain(nodes: &[Node]) -> String {
    let words = |node: &Node| match node {
        Node::Text(text) => text.clone(),
        Node::Element(element) if element.name == "br" => " ".to_owned(),
        Node::Element(element) => plain(&element.inside),
    };
    nodes.iter().map(words).collect()
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
        let html = html(&page.finish());
        let wanted = "<!DOCTYPE html><!--copy-->\n<p aria-label=\"&quot;&gt;&lt;script&gt;alert(&#39;&amp;&#39;)&lt;/script&gt;\">&lt;/p&gt;&lt;!-- ]]&gt; &lt;img src=x onerror=y&gt;\n</p>\n";
        assert_eq!(html, wanted);
    }
}
