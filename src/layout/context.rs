//! What a block is set with: faces, pictures, style, paper, language. Lengths of the style become dots here.

use super::style::{Size, Space, Style};
use crate::language::{Language, OwnWords, Wording};
use crate::lengths::{Dots, Mm, Paper, Pt};
use crate::pictures::PictureSet;
use crate::type_setting::{Faces, Family, Type};

/// Paper that prints less than this is narrow: the style's `narrow` share holds.
const NARROW: Mm = Mm::from_micrometres(60_000);

/// A column narrower than this is not indented any further.
const LEAST_COLUMN: Mm = Mm::from_micrometres(24_000);

pub struct Context<'a> {
    pub faces: &'a Faces,
    pub pictures: &'a PictureSet,
    pub style: &'a Style,
    pub paper: Paper,
    pub language: Language,
    /// The writer's fixed words.
    pub own_words: &'a OwnWords,
    /// Room for one block in a panel, when the strip is folded.
    pub panel_room: Option<Dots>,
    /// How large pictures without a width of their own are drawn, in percent: less than 100 where that fills a panel.
    pub shrink: u8,
}

impl<'a> Context<'a> {
    /// The language, as the writer has it spoken.
    pub fn wording(&self) -> Wording<'a> {
        Wording::new(self.language, self.own_words)
    }

    pub fn dots(&self, space: Space) -> Dots {
        self.paper.resolution.dots(space.0)
    }

    /// A line of the style; at least one dot unless it is set to nothing.
    pub fn line(&self, space: Space) -> Dots {
        if space.0 == Mm::default() { Dots(0) } else { self.dots(space).max(Dots(1)) }
    }

    pub fn is_narrow(&self) -> bool {
        self.paper.resolution.mm(self.paper.width) < NARROW
    }

    /// A size of the style on this paper.
    pub fn size(&self, size: Size) -> Pt {
        let scaled = if self.is_narrow() { size.0.percent(i32::from(self.style.type_.narrow)) } else { size.0 };
        scaled.max(self.style.type_.minimum.0)
    }

    /// Distance of two baselines.
    pub fn pitch(&self, size: Pt) -> Dots {
        self.paper.resolution.type_dots(size.percent(i32::from(self.style.type_.leading)))
    }

    pub fn body(&self) -> Type {
        Type { family: self.style.type_.family.into(), bold: false, italic: false, size: self.size(self.style.type_.body) }
    }

    pub fn small(&self) -> Type {
        Type { size: self.size(self.style.type_.small), ..self.body() }
    }

    pub fn heading(&self, size: Size) -> Type {
        let family = if self.faces.has_title() { Family::Title } else { self.style.type_.heading_family.into() };
        Type { family, bold: true, italic: false, size: self.size(size) }
    }

    pub fn code(&self) -> Type {
        Type { family: Family::Mono, bold: false, italic: false, size: self.size(self.style.type_.code) }
    }

    /// How far text inside a column of this width may be indented: less and less, so that deep lists stay readable.
    pub fn indent(&self, wanted: Dots, column: Dots) -> Dots {
        let spare = column - self.paper.resolution.dots(LEAST_COLUMN);
        wanted.min((spare / 3).max(Dots(0))).max(self.paper.resolution.dots(Mm::from_micrometres(1_250)).min(wanted))
    }

    /// Width of the column that blocks are set to.
    pub fn column(&self) -> Dots {
        self.paper.width - self.dots(self.style.space.side) * 2
    }
}
