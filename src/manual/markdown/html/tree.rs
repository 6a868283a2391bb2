//! The tree that html5ever builds: an arena of nodes that hold no text of their own, only marks that lead to [`Piece`]s.
//!
//! [`Piece`]: super::tokens::Piece

use std::borrow::Cow;
use std::cell::{Cell, RefCell};

use html5ever::interface::{ElemName, ElementFlags, NodeOrText, QuirksMode, TreeSink};
use html5ever::tendril::StrTendril;
use html5ever::{Attribute, LocalName, Namespace, QualName, ns};

/// The place of a node in the arena.
pub(super) type Handle = usize;

const DOCUMENT: Handle = 0;

#[derive(Debug)]
enum What {
    Document,
    /// `piece` is what its start tag came from.
    Element {
        name: QualName,
        piece: Option<usize>,
    },
    Text(String),
}

#[derive(Debug)]
struct Node {
    what: What,
    parent: Option<Handle>,
    before: Option<Handle>,
    after: Option<Handle>,
    first: Option<Handle>,
    last: Option<Handle>,
    depth: usize,
}

#[derive(Debug)]
pub(super) struct Tree {
    nodes: RefCell<Vec<Node>>,
    /// How deep that stands which was put in last.
    depth: Cell<usize>,
}

/// What a node is, to one who walks the tree.
pub(super) enum Seen {
    /// Its name, and the piece its start tag came from; one that the parser made up has none.
    Element(LocalName, Option<usize>),
    /// White space and marks.
    Text(String),
}

impl Tree {
    pub fn new() -> Tree {
        let tree = Tree { nodes: RefCell::new(Vec::new()), depth: Cell::new(0) };
        tree.add(What::Document);
        tree
    }

    fn add(&self, what: What) -> Handle {
        let mut nodes = self.nodes.borrow_mut();
        nodes.push(Node { what, parent: None, before: None, after: None, first: None, last: None, depth: 0 });
        nodes.len() - 1
    }

    /// How deep in one another elements stand where the next one will be put.
    pub fn depth(&self) -> usize {
        self.depth.get()
    }

    pub fn children(&self, of: Handle) -> Vec<Handle> {
        let nodes = self.nodes.borrow();
        std::iter::successors(nodes[of].first, |at| nodes[*at].after).collect()
    }

    pub fn seen(&self, at: Handle) -> Seen {
        match &self.nodes.borrow()[at].what {
            What::Document => Seen::Element(LocalName::from("div"), None),
            What::Element { name, piece } => Seen::Element(name.local.clone(), *piece),
            What::Text(text) => Seen::Text(text.clone()),
        }
    }

    /// An element for the parser to stand in: a fragment of a page's body.
    pub fn context(&self) -> Handle {
        self.add(What::Element { name: QualName::new(None, ns!(html), LocalName::from("div")), piece: None })
    }

    fn unlink(&self, at: Handle) {
        let mut nodes = self.nodes.borrow_mut();
        let (parent, before, after) = (nodes[at].parent.take(), nodes[at].before.take(), nodes[at].after.take());
        match (before, parent) {
            (Some(before), _) => nodes[before].after = after,
            (None, Some(parent)) => nodes[parent].first = after,
            (None, None) => {}
        }
        match (after, parent) {
            (Some(after), _) => nodes[after].before = before,
            (None, Some(parent)) => nodes[parent].last = before,
            (None, None) => {}
        }
    }

    /// Puts a node that stands nowhere under `parent`, before `next` or at the end.
    fn link(&self, at: Handle, parent: Handle, next: Option<Handle>) {
        let mut nodes = self.nodes.borrow_mut();
        let before = match next {
            Some(next) => nodes[next].before.replace(at),
            None => nodes[parent].last.replace(at),
        };
        match before {
            Some(before) => nodes[before].after = Some(at),
            None => nodes[parent].first = Some(at),
        }
        let depth = nodes[parent].depth + 1;
        let node = &mut nodes[at];
        (node.parent, node.before, node.after, node.depth) = (Some(parent), before, next, depth);
        self.depth.set(depth);
    }

    fn insert(&self, child: NodeOrText<Handle>, parent: Handle, next: Option<Handle>) {
        match child {
            NodeOrText::AppendNode(node) => {
                self.unlink(node);
                self.link(node, parent, next);
            }
            NodeOrText::AppendText(text) => {
                let mut nodes = self.nodes.borrow_mut();
                let before = match next {
                    Some(next) => nodes[next].before,
                    None => nodes[parent].last,
                };
                if let Some(Node { what: What::Text(held), .. }) = before.and_then(|before| nodes.get_mut(before)) {
                    held.push_str(&text);
                    self.depth.set(nodes[parent].depth);
                    return;
                }
                drop(nodes);
                let node = self.add(What::Text(text.to_string()));
                self.link(node, parent, next);
                self.depth.set(self.nodes.borrow()[parent].depth);
            }
        }
    }

    fn parent(&self, of: Handle) -> Option<Handle> {
        self.nodes.borrow()[of].parent
    }
}

#[derive(Debug)]
pub(super) struct Name(QualName);

impl ElemName for Name {
    fn ns(&self) -> &Namespace {
        &self.0.ns
    }

    fn local_name(&self) -> &LocalName {
        &self.0.local
    }
}

/// The attribute in which a start tag says what piece it came from.
pub(super) fn piece_attribute(piece: usize) -> Attribute {
    let name = QualName::new(None, ns!(), LocalName::from("piece"));
    Attribute { name, value: StrTendril::from(piece.to_string()) }
}

impl TreeSink for Tree {
    type Handle = Handle;
    type Output = Tree;
    type ElemName<'a> = Name;

    fn finish(self) -> Tree {
        self
    }

    fn parse_error(&self, _: Cow<'static, str>) {}

    fn get_document(&self) -> Handle {
        DOCUMENT
    }

    fn elem_name<'a>(&'a self, target: &'a Handle) -> Name {
        Name(match &self.nodes.borrow()[*target].what {
            What::Element { name, .. } => name.clone(),
            _ => QualName::new(None, ns!(), LocalName::from("")),
        })
    }

    fn create_element(&self, name: QualName, attributes: Vec<Attribute>, _: ElementFlags) -> Handle {
        let piece = attributes.first().and_then(|attribute| attribute.value.parse().ok());
        self.add(What::Element { name, piece })
    }

    fn create_comment(&self, _: StrTendril) -> Handle {
        self.add(What::Text(String::new()))
    }

    fn create_pi(&self, _: StrTendril, _: StrTendril) -> Handle {
        self.add(What::Text(String::new()))
    }

    fn append(&self, parent: &Handle, child: NodeOrText<Handle>) {
        self.insert(child, *parent, None);
    }

    fn append_based_on_parent_node(&self, element: &Handle, previous: &Handle, child: NodeOrText<Handle>) {
        match self.parent(*element) {
            Some(_) => self.append_before_sibling(element, child),
            None => self.append(previous, child),
        }
    }

    fn append_doctype_to_document(&self, _: StrTendril, _: StrTendril, _: StrTendril) {}

    fn get_template_contents(&self, target: &Handle) -> Handle {
        *target
    }

    fn same_node(&self, one: &Handle, other: &Handle) -> bool {
        one == other
    }

    fn set_quirks_mode(&self, _: QuirksMode) {}

    fn append_before_sibling(&self, sibling: &Handle, child: NodeOrText<Handle>) {
        if let Some(parent) = self.parent(*sibling) {
            self.insert(child, parent, Some(*sibling));
        }
    }

    fn add_attrs_if_missing(&self, _: &Handle, _: Vec<Attribute>) {}

    fn remove_from_parent(&self, target: &Handle) {
        self.unlink(*target);
    }

    fn reparent_children(&self, node: &Handle, parent: &Handle) {
        for child in self.children(*node) {
            self.unlink(child);
            self.link(child, *parent, None);
        }
    }
}
