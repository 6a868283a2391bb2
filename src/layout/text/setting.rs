//! How a run of text is to be set.

use crate::layout::context::Context;
use crate::layout::style::Align;
use crate::lengths::Dots;
use crate::manual::source::Span;
use crate::type_setting::Type;

/// How a run of inlines is to be set.
#[derive(Clone, Debug)]
pub struct Setting {
    pub kind: &'static str,
    pub look: Type,
    pub width: Dots,
    pub align: Position,
    /// Reverse type.
    pub white: bool,
    pub justified: bool,
    pub hyphenate: bool,
    /// Lines as even as their number allows: no word alone on the last line of a heading or a caption.
    pub balanced: bool,
    /// Figures all take the same width, so that they stand under each other.
    pub tabular: bool,
    /// Distance of two baselines, in % of what the style gives running text.
    pub leading: i32,
    /// Of the block, relative.
    pub span: Span,
}

/// Where a line stands in its measure. Start and end follow the direction of the language.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Position {
    #[default]
    Start,
    Centre,
    End,
}

impl Setting {
    /// Running text of the style.
    pub fn body(context: &Context, width: Dots, span: Span) -> Setting {
        Setting {
            kind: "paragraph",
            look: context.body(),
            width,
            align: Position::Start,
            white: false,
            justified: context.style.type_.justified,
            hyphenate: context.style.type_.hyphenate,
            balanced: false,
            tabular: false,
            leading: 100,
            span,
        }
    }

    /// Small type: captions, notes, legends, cells.
    pub fn small(context: &Context, kind: &'static str, width: Dots, span: Span) -> Setting {
        let balanced = kind == "caption";
        Setting { kind, look: context.small(), justified: false, balanced, ..Setting::body(context, width, span) }
    }

    /// Headings and labels: balanced, never justified, hyphenated only where a word fits no line.
    pub fn label(kind: &'static str, look: Type, width: Dots, span: Span) -> Setting {
        Setting {
            kind,
            look,
            width,
            align: Position::Start,
            white: false,
            justified: false,
            hyphenate: false,
            balanced: true,
            tabular: false,
            leading: 92,
            span,
        }
    }

    /// Whether lines stand so near to each other that accents could meet descenders.
    pub(super) fn is_tight(&self) -> bool {
        self.leading < 100
    }
}

impl From<Align> for Position {
    fn from(align: Align) -> Position {
        match align {
            Align::Left => Position::Start,
            Align::Centre => Position::Centre,
        }
    }
}
