//! The manual as a tree of blocks: what it says, with no trace of Markdown and no idea of dots.
//!
//! Invariants: every block and inline carries its span ([`Span`]: absolute for top-level blocks, relative within); numbers
//! that depend on neighbours (steps, notes, figures) are already resolved, so a block can be laid out knowing only itself.

use std::collections::BTreeMap;

use super::models::{Explode, Named, PartCallout, Stage, View};
use super::source::{Remark, Span};
pub use super::walk::plain_text;
use crate::geometry::{Point, Rect};
use crate::language::{Language, OwnWords, SignalWord, Wording};
use crate::lengths::Mm;

#[derive(Clone, Debug)]
pub struct Document {
    pub header: Header,
    pub blocks: Vec<Block>,
    /// Stretches in a language of their own, ascending; one inside another is the one that holds.
    pub tongues: Vec<(Span, Language)>,
    /// What reading noticed, in the order of the source.
    pub remarks: Vec<Remark>,
}

impl Document {
    /// The language of what stands at a byte of the source.
    pub fn tongue_at(&self, at: u32) -> Language {
        tongue_at(&self.tongues, self.header.tongue, at)
    }
}

/// The language of the innermost stretch that holds a byte, else the manual's.
pub(super) fn tongue_at(tongues: &[(Span, Language)], usual: Language, at: u32) -> Language {
    tongues.iter().rev().find(|(span, _)| (span.start..span.end).contains(&at)).map_or(usual, |(_, language)| *language)
}

/// The TOML header. A key that the writer left out is `None` or empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Header {
    pub title: Option<String>,
    pub subtitle: Option<String>,
    /// Document number.
    pub document: Option<String>,
    pub revision: Option<String>,
    /// ISO 8601 date, `2026-11-20`.
    pub issued: Option<String>,
    /// The BCP 47 tag as written; [`Header::tongue`] is what the program knows of it.
    pub language: Option<String>,
    pub tongue: Language,
    /// `[words]`: fixed words of the writer's own.
    pub own_words: OwnWords,
    /// `paper`, or `[paper] width`.
    pub paper: Option<String>,
    /// `[paper] phenol_free`: what the maker knows of the paper.
    pub phenol_free: Option<bool>,
    /// Pitch of the zigzag fold.
    pub fold: Option<Mm>,
    pub style: Option<String>,
    pub durable_copy: Option<String>,
    /// Tags of the languages whose manuals go into the same box.
    pub translations: Vec<String>,
    pub product: Product,
    /// `[units] key`: the column whose value names a unit.
    pub unit_key: Option<String>,
    /// `[copy] unit`: what the lasting copy says in place of a unit's values.
    pub copy_unit: Option<String>,
    /// `[box] size = [length, width, height]` in mm: the room inside the box.
    pub box_size: Option<[Mm; 3]>,
    /// `[preflight] allow`: rules the writer has decided about, each with the reason.
    pub allow: Vec<Allowed>,
    /// `[faces]`: language or script tag to a font file in the manual's folder.
    pub faces: BTreeMap<String, String>,
    /// Where each key stands (`"product.maker"` for keys in a table), absolute.
    pub spans: BTreeMap<String, Span>,
}

impl Header {
    /// The manual's language, as the writer has it spoken.
    pub fn wording(&self) -> Wording<'_> {
        Wording::new(self.tongue, &self.own_words)
    }
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Product {
    pub maker: Option<String>,
    pub address: Option<String>,
    /// Electronic address: e-mail or web.
    pub contact: Option<String>,
    pub model: Option<String>,
    /// What it is for, in a sentence.
    pub purpose: Option<String>,
    pub hazards: Vec<String>,
    pub supply: Option<Supply>,
    pub markets: Vec<String>,
    pub radio: Option<bool>,
    /// States, by tag, in which its radio may not be used everywhere or only with a licence.
    pub restricted: Vec<String>,
    pub battery: Option<Battery>,
    pub charging: Option<Charging>,
    pub emissions: Option<Emissions>,
    /// It holds software and can be joined to a network or another device.
    pub software: Option<bool>,
    pub toy: Option<bool>,
    /// Who answers for it in the EU: name and address in one text, as the next three.
    pub eu_responsible: Option<String>,
    pub importer: Option<String>,
    pub uk_importer: Option<String>,
    /// Who answers for its emissions in the US.
    pub us_responsible: Option<String>,
}

/// What battery a product has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Battery {
    /// Ordinary cells.
    Cells,
    /// A button or coin cell.
    ButtonCell,
    Rechargeable,
}

impl Battery {
    pub const ALL: [Battery; 3] = [Battery::Cells, Battery::ButtonCell, Battery::Rechargeable];

    /// As the header spells it.
    pub fn name(self) -> &'static str {
        match self {
            Battery::Cells => "cells",
            Battery::ButtonCell => "button-cell",
            Battery::Rechargeable => "rechargeable",
        }
    }
}

/// How a product is charged, as the rules of the common charger ask.
#[derive(Clone, Debug, PartialEq)]
pub enum Charging {
    /// It is none of the kinds with the common charger.
    Other,
    Common {
        least_watts: Option<f64>,
        most_watts: Option<f64>,
        usb_pd: Option<bool>,
    },
}

/// Class of the electromagnetic emissions of a product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Emissions {
    A,
    B,
    /// Its law exempts it, or nothing in it oscillates.
    Exempt,
}

impl Emissions {
    pub const ALL: [Emissions; 3] = [Emissions::A, Emissions::B, Emissions::Exempt];

    /// As the header spells it.
    pub fn name(self) -> &'static str {
        match self {
            Emissions::A => "A",
            Emissions::B => "B",
            Emissions::Exempt => "exempt",
        }
    }
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Supply {
    pub volts: Option<f64>,
    pub amps: Option<f64>,
    /// `dc` or `ac`.
    pub kind: Option<String>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Allowed {
    pub rule: String,
    pub reason: Option<String>,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Block {
    pub span: Span,
    pub kind: Kind,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// The first `#`.
    Title(Vec<Inline>),
    /// `level` 2 and up; 2 is a section, 3 a sub-section.
    Heading {
        level: u8,
        text: Vec<Inline>,
    },
    Paragraph(Vec<Inline>),
    /// An ordered list: a procedure. Each item's number is resolved.
    Procedure {
        steps: Vec<Step>,
    },
    /// An unordered list; `tick` on its items makes boxes to tick.
    Bullets {
        items: Vec<Item>,
    },
    Safety(Safety),
    Aside(Vec<Block>),
    Figure(Figure),
    /// Pictures of one paragraph with nothing between them: side by side where each stays legible.
    Row(Vec<Figure>),
    /// A figure drawn from models of parts.
    Model(Box<ModelFigure>),
    Comic(Comic),
    Code {
        text: String,
    },
    Table(Table),
    Definitions(Vec<Definition>),
    /// Notes of the section that ends here: addresses of links, footnotes.
    Notes(Vec<Note>),
    Qr {
        data: String,
    },
    Barcode {
        symbology: Symbology,
        data: String,
    },
    /// A ruled box that is left empty for a hand, a stamp or a signature.
    WriteIn {
        height: Mm,
        /// What is to be written in it; stands under it.
        label: String,
    },
    Rule,
    Fold,
    Cut,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Step {
    pub span: Span,
    pub number: u64,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Item {
    pub span: Span,
    /// `Some(true)` is a box already ticked.
    pub tick: Option<bool>,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Safety {
    pub word: SignalWord,
    /// The signal word as the writer wrote it, without the stars.
    pub label: String,
    pub label_span: Span,
    /// Name of the sign (`hot-surface`) when the message begins with a `sign:` picture, or holds one.
    pub sign: Option<String>,
    /// What the writer says the sign shows.
    pub sign_alt: String,
    /// The rest of the message, signal word and sign taken off.
    pub blocks: Vec<Block>,
}

/// A picture as running text calls it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Picture {
    /// Path inside the manual's folder, or `sign:NAME`.
    pub address: String,
    pub alt: String,
    /// Its caption where it becomes a figure; empty when it has none.
    pub title: String,
    /// Of the page's width, when the writer said how wide.
    pub width: Option<Permille>,
    /// In pixels of a page, when the writer said how high.
    pub height: Option<u32>,
    /// It was a link: on a page one could click on it.
    pub linked: bool,
}

impl Picture {
    /// Drawn in dots by its name: it stands in a line at the height of the type.
    pub fn is_drawn_by_name(&self) -> bool {
        is_drawn_by_name(&self.address)
    }

    /// The figure it is where it stands by itself, without a number.
    pub fn into_figure(self, span: Span) -> Figure {
        let caption = match self.title.trim().is_empty() {
            true => Vec::new(),
            false => vec![Inline { span, kind: InlineKind::Text(self.title) }],
        };
        Figure {
            picture: self.address,
            picture_span: span,
            alt: self.alt,
            caption,
            width: self.width.map(Width::Page),
            ..Figure::default()
        }
    }
}

/// Whether an address names a drawing of the program's own.
pub fn is_drawn_by_name(address: &str) -> bool {
    ["sign:", "light:", "key:", "display:"].iter().any(|scheme| address.starts_with(scheme))
}

/// Percentages of a picture, in thousandths of its side: `23.5` % is 235.
pub type Permille = i32;

#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Figure {
    /// Path inside the manual's folder, or `sign:NAME`.
    pub picture: String,
    pub picture_span: Span,
    pub alt: String,
    pub caption: Vec<Inline>,
    /// Number of the figure in the manual, from 1, when it has a caption.
    pub number: Option<u32>,
    pub width: Option<Width>,
    pub crop: Option<Rect<Permille>>,
    pub screen: Option<Screen>,
    pub treatment: Treatment,
    pub numbers: Numbers,
    pub callouts: Vec<Callout>,
}

/// What is done to a photograph before it is screened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Treatment {
    pub tone: Tone,
    pub background: Background,
    pub pen: Pen,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Tone {
    /// Uneven light is evened, an even ground lifted to paper, dark pictures are lightened.
    #[default]
    Flat,
    /// The picture's own tones.
    AsIs,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Background {
    #[default]
    Keep,
    /// The thing alone, what surrounds it left out.
    White,
}

/// How [`Screen::Drawing`] draws; what is not said is the style's to say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Pen {
    /// How faint an edge is still drawn, 0 to 100.
    pub strength: Option<u8>,
    /// Width of a line, in tenths of a dot.
    pub line: Option<u8>,
    /// The most of the picture that becomes solid black, in percent.
    pub black: Option<u8>,
}

impl Pen {
    /// This one, and where it says nothing the other.
    pub fn or(self, other: Pen) -> Pen {
        Pen { strength: self.strength.or(other.strength), line: self.line.or(other.line), black: self.black.or(other.black) }
    }
}

/// A figure drawn from models of the parts of a thing.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ModelFigure {
    /// Paths inside the manual's folder.
    pub models: Vec<Named>,
    pub alt: String,
    pub caption: Vec<Inline>,
    /// Number of the figure in the manual, from 1, when it has a caption.
    pub number: Option<u32>,
    pub width: Option<Width>,
    pub view: View,
    pub hide: Vec<Named>,
    pub ghost: Vec<Named>,
    /// Parts whose holes, hollows and undersides are hatched.
    pub hatch: Vec<Named>,
    pub explode: Explode,
    pub callouts: Vec<PartCallout>,
    /// Item numbers and a parts list.
    pub parts: bool,
    /// One step of putting together.
    pub stage: Option<Stage>,
}

impl ModelFigure {
    /// Every word of the writer in it, with its place.
    pub fn named_mut(&mut self) -> Vec<&mut Named> {
        let mut all: Vec<&mut Named> = Vec::new();
        all.extend(&mut self.models);
        all.extend(&mut self.hide);
        all.extend(&mut self.ghost);
        all.extend(&mut self.hatch);
        if let Explode::ByHand(moves) = &mut self.explode {
            all.extend(moves.iter_mut().map(|(named, _)| named));
        }
        all.extend(self.callouts.iter_mut().map(|callout| &mut callout.part));
        for step in self.stage.iter_mut().flat_map(|stage| &mut stage.steps) {
            all.extend(&mut step.add);
            all.extend(&mut step.zoom);
        }
        all
    }
}

/// In which order callouts are numbered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Numbers {
    /// As they stand on the picture: clockwise from the top left, or along a line.
    #[default]
    Placed,
    /// As they were written.
    Written,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Width {
    Length(Mm),
    /// Of the column.
    Share(Permille),
    /// Of a web page's width, as a guide for a screen says it: a wish, for what is seen there may be too small on paper.
    Page(Permille),
}

/// How a picture becomes one bit deep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Screen {
    /// Error diffusion.
    Photo,
    /// Clustered dots at 45 degrees.
    Halftone,
    /// Thin lines kept: adaptive threshold.
    Line,
    /// Plain threshold.
    Ink,
    /// An ink drawing made of a photograph: lines where edges are, solid black where it is dark.
    Drawing,
    /// The picture's own dots: nothing scaled, nothing screened, a dot for a pixel.
    None,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Callout {
    pub span: Span,
    /// x, y of the picture as written (before cropping).
    pub at: Point<Permille>,
    pub label: String,
}

impl Callout {
    /// Whether it points beside the picture. Reading says so.
    pub fn is_beside(&self) -> bool {
        self.at.to_array().iter().any(|side| !(0..=1000).contains(side))
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Comic {
    /// 1 or 2
    pub columns: u8,
    pub panels: Vec<ComicPanel>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ComicPanel {
    pub span: Span,
    pub picture: Option<String>,
    pub picture_span: Span,
    pub alt: String,
    pub caption: Option<String>,
    pub caption_span: Span,
    /// Columns it takes, 1 or 2.
    pub columns: u8,
    /// With its frame and caption; none is as high as its picture needs.
    pub height: Option<PanelHeight>,
    pub fit: Fit,
    pub ground: Ground,
    pub screen: Option<Screen>,
    pub balloons: Vec<Balloon>,
}

/// How high a panel is to be, with its frame and caption.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PanelHeight {
    Length(Mm),
    /// Of its width: so many parts of that for so many of the height.
    Aspect([u8; 2]),
}

/// How a picture fills a panel of another shape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Fit {
    /// All of it is shown.
    #[default]
    Whole,
    /// It is cropped at its sides, or at its top and foot, to the panel's height and its row's.
    Cover,
}

/// What is drawn behind a panel that has no picture.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Ground {
    #[default]
    Plain,
    Dots,
    Rays,
    Hatch,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Balloon {
    pub span: Span,
    /// What it says, without markup.
    pub text: String,
    pub text_span: Span,
    /// The same with stress, keys, signs, and the letterer's own ends of lines.
    pub words: Vec<Inline>,
    /// Centre of the balloon.
    pub at: Point<Permille>,
    /// What speaks.
    pub tail: Option<Point<Permille>>,
    pub kind: BalloonKind,
    /// White lettering on black.
    pub reverse: bool,
    /// How free lettering is drawn; of sounds only.
    pub sound: Sound,
}

/// Free lettering.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sound {
    /// In percent of what is said.
    pub size: u16,
    /// How far its line rises to its end, in percent of its length; negative where it falls.
    pub rise: i8,
    /// White letters with a black line around them.
    pub outline: bool,
    /// It may cross the frame of its panel.
    pub cross: bool,
}

impl Default for Sound {
    fn default() -> Sound {
        Sound { size: 170, rise: 8, outline: false, cross: false }
    }
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum BalloonKind {
    #[default]
    Speech,
    Thought,
    Shout,
    Whisper,
    Sound,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Symbology {
    Code128,
    Ean13,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Table {
    pub align: Vec<Align>,
    pub head: Vec<Cell>,
    pub rows: Vec<Vec<Cell>>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Align {
    #[default]
    None,
    Left,
    Centre,
    Right,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Cell {
    pub span: Span,
    pub text: Vec<Inline>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Definition {
    pub span: Span,
    pub term: Vec<Inline>,
    pub meanings: Vec<Vec<Block>>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Note {
    pub span: Span,
    pub number: u32,
    pub body: NoteBody,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum NoteBody {
    /// The address of a link.
    Address(String),
    Footnote(Vec<Block>),
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Inline {
    pub span: Span,
    pub kind: InlineKind,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum InlineKind {
    Text(String),
    Strong(Vec<Inline>),
    Emphasis(Vec<Inline>),
    Strike(Vec<Inline>),
    /// Small and low, as in a formula of chemistry.
    Subscript(Vec<Inline>),
    /// Small and high, as an exponent.
    Superscript(Vec<Inline>),
    /// `code` or `<kbd>`: a key or a display reading.
    Key(String),
    /// A picture in a sentence or a cell. Whether it is an icon on the line or a figure of its own, its pixels decide.
    Picture(Picture),
    /// Text of a link; its address is the note of that number (`None` when the text is the address itself).
    Link {
        text: Vec<Inline>,
        note: Option<u32>,
        /// As written, for where it can be followed: `https:`, `mailto:`, `#heading`; whatever else is not told apart. Empty for files.
        address: String,
    },
    /// Call of a note by number.
    NoteCall(u32),
    SoftBreak,
    HardBreak,
}
