//! What there is to look at: the manual, its layout, its strip, the paper, and how each picture came out.

use crate::layout::{Layout, PlacedBox};
use crate::lengths::{Mm, Paper};
use crate::manual::document::{Document, Screen};
use crate::manual::source::{Source, Span};
use crate::strip::Strip;

/// Everything that preflight looks at. Plain facts: no file is opened and no clock is read to judge them.
#[derive(Clone, Copy)]
pub struct Evidence<'a> {
    pub document: &'a Document,
    pub source: &'a Source,
    pub layout: &'a Layout,
    /// [`Layout::boxes`], made once by whoever needs them too.
    pub boxes: &'a [PlacedBox],
    pub paper: Paper,
    pub strip: &'a Strip,
    /// One for every picture as it was set; see [`super::pictures::facts`].
    pub pictures: &'a [PictureFacts],
    /// Names of the picture files in the manual's folder, relative to it.
    pub folder: &'a [String],
    pub stock: Stock,
    /// Which unit the strip is for, when the manual has units.
    pub unit: Option<&'a str>,
    /// Tag of the language of the manual that is compared with this one.
    pub beside: Option<&'a str>,
}

/// The paper in the printer and what its head bears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stock {
    /// Width of the paper, margins included.
    pub width: Mm,
    pub thickness: Mm,
    /// How much is on one roll; unknown when `None`.
    pub roll: Option<Mm>,
    /// The stretch over which the head feels black.
    pub stretch: Mm,
    /// Most black, in percent, that such a stretch may hold.
    pub duty: u32,
    /// Whether the paper is free of phenols; `None` where nobody has said.
    pub phenol_free: Option<bool>,
}

/// How a picture came out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PictureFacts {
    pub address: String,
    /// Absolute, of the block or inline that shows it.
    pub span: Span,
    pub screen: Screen,
    /// Whether the picture has tones, whatever screen it was given.
    pub photograph: bool,
    /// Dots for each pixel of the file, in percent; 0 for outlines.
    pub scale_percent: u32,
    /// Thousandths of the picture in which the ink runs together.
    pub clogged: u32,
    /// Thousandths of the picture that come out as bare paper though it is not white there.
    pub washed_out: u32,
}
