//! A figure's model from another side, small, and the line that says which.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::bitmap::Bitmap;
use crate::desk::Turned;
use crate::geometry::Point;
use crate::manual::document::ModelFigure;
use crate::manual::document::{Document, Kind};
use crate::manual::models::View;
use crate::manual::source::{Source, Span};
use crate::models::draw::Pens;
use crate::models::strokes::{Pen, SUBDOTS};
use crate::models::{Models, Picture};

/// The space that the model is turned in, dots.
const SPACE: u32 = 384;
/// Widths of lines, dots.
const PENS: Pens = Pens { thick: 4.0, thin: 2.0, gap: 2.0 };

/// Lines of a file, from 1.
pub(super) struct Lines {
    file: String,
    first: u32,
    last: u32,
}

impl Lines {
    pub(super) fn hold(&self, file: &str, line: u32) -> bool {
        self.file == file && (self.first..=self.last).contains(&line)
    }
}

/// The lines that a stretch of the source stands on.
pub(super) fn lines(source: &Source, span: Span) -> Lines {
    let (first, last) = (source.locate(span.start), source.locate(span.end.saturating_sub(1).max(span.start)));
    Lines { file: first.file, first: first.line, last: last.line.max(first.line) }
}

/// The figure whose box names this file and line, seen from where `turn` and `tilt` say, in degrees, or from where the manual says;
/// `None` where no model stands.
///
/// # Errors
/// In words, when the model cannot be used.
pub fn turned(
    document: &Document,
    source: &Source,
    models: &Models,
    (file, line): (&str, u32),
    at: Option<[f64; 2]>,
) -> Option<Result<Turned, String>> {
    let mut found: Option<ModelFigure> = None;
    document.walk(&mut |span, block| {
        if let Kind::Model(figure) = &block.kind
            && found.is_none()
            && lines(source, span).hold(file, line)
        {
            found = Some((**figure).clone());
        }
    });
    let mut figure = found?;
    if let Some([turn, tilt]) = at {
        let thousandths = |degrees: f64, most: f64| (degrees.clamp(-most, most) * 1000.0).round() as i32;
        figure.view = View { turn: thousandths(turn, 360.0), tilt: thousandths(tilt, 90.0) };
    }
    Some(draw(models, &figure))
}

fn draw(models: &Models, figure: &ModelFigure) -> Result<Turned, String> {
    let picture = Picture::open(models, figure).map_err(|trouble| trouble.error.to_string())?;
    let drawing = picture.draw(SPACE, SPACE, &PENS);
    // Always in the middle of the same space, so that it does not jump while it is turned.
    let mut bitmap = Bitmap::new(SPACE, SPACE);
    let middle = Point::new(drawing.width, drawing.height).map(|side| (SPACE.saturating_sub(side) / 2) as i32 * SUBDOTS);
    for stroke in &drawing.strokes {
        let points: Vec<Point<i32>> = stroke.points.iter().map(|point| *point + middle).collect();
        let dots = if stroke.pen == Pen::Thick { PENS.thick } else { PENS.thin };
        bitmap.stroke(&points, (dots * f64::from(SUBDOTS)) as i32, true);
    }
    let degrees = |thousandths: i32| f64::from(thousandths) / 1000.0;
    let [turn, tilt] = [figure.view.turn, figure.view.tilt].map(degrees);
    Ok(Turned {
        turn,
        tilt,
        words: format!("view = {{ turn = {turn}, tilt = {tilt} }}"),
        width: SPACE,
        height: SPACE,
        rows: STANDARD.encode(bitmap.data()),
    })
}
