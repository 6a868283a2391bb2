//! The structure of the PDF: a tree beside the pages that says what is a heading, a list, a table, and in which order all is read.

use krilla::tagging::{Identifier, Node as Child, TagGroup, TagKind, TagTree};

/// Content of one element. What is only to be seen belongs to none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Leaf(usize);

impl Leaf {
    pub const NONE: Leaf = Leaf(usize::MAX);
}

enum Part {
    Group(usize),
    Leaf(usize),
}

struct Group {
    kind: TagKind,
    parts: Vec<Part>,
}

/// The tree under way.
#[derive(Default)]
pub struct Tags {
    groups: Vec<Group>,
    /// Top of the tree.
    roots: Vec<usize>,
    /// Those that are not closed.
    open: Vec<usize>,
    /// What was drawn of each leaf, in the order of the pages.
    leaves: Vec<Vec<Identifier>>,
}

impl Tags {
    pub fn open(&mut self, kind: impl Into<TagKind>) {
        let group = self.groups.len();
        self.groups.push(Group { kind: kind.into(), parts: Vec::new() });
        match self.open.last() {
            Some(&above) => self.groups[above].parts.push(Part::Group(group)),
            None => self.roots.push(group),
        }
        self.open.push(group);
    }

    pub fn close(&mut self) {
        self.open.pop();
    }

    /// Room for content of the element that was opened last.
    pub fn leaf(&mut self) -> Leaf {
        let leaf = self.leaves.len();
        self.leaves.push(Vec::new());
        match self.open.last() {
            Some(&group) => self.groups[group].parts.push(Part::Leaf(leaf)),
            None => {
                self.open(krilla::tagging::Tag::P);
                self.close();
                if let Some(&group) = self.roots.last() {
                    self.groups[group].parts.push(Part::Leaf(leaf));
                }
            }
        }
        Leaf(leaf)
    }

    /// What was drawn of it.
    pub fn drawn(&mut self, leaf: Leaf, identifier: Identifier) {
        if let Some(drawn) = self.leaves.get_mut(leaf.0) {
            drawn.push(identifier);
        }
    }

    /// The whole tree. What nothing was drawn of is left out.
    pub fn tree(self, language: String) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(language));
        for &root in &self.roots {
            if let Some(group) = self.group(root) {
                tree.push(group);
            }
        }
        tree
    }

    fn group(&self, at: usize) -> Option<TagGroup> {
        let Group { kind, parts } = &self.groups[at];
        let mut children: Vec<Child> = Vec::new();
        for part in parts {
            match part {
                Part::Group(inner) => children.extend(self.group(*inner).map(Child::from)),
                Part::Leaf(leaf) => children.extend(self.leaves[*leaf].iter().map(|&identifier| Child::from(identifier))),
            }
        }
        (!children.is_empty()).then(|| TagGroup::with_children(kind.clone(), children))
    }
}
