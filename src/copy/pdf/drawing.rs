//! Drawings of the page as vectors of the PDF: `usvg` reads what the page holds, what it says is drawn here.

use std::sync::Arc;

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Rect, Size, Transform};
use krilla::image::Image;
use krilla::mask::{Mask, MaskType};
use krilla::num::NormalizedF32;
use krilla::paint::{
    Fill, FillRule, LineCap, LineJoin, LinearGradient, Paint, Pattern, RadialGradient, SpreadMethod, Stop, Stroke, StrokeDash,
};
use krilla::surface::Surface;
use resvg::tiny_skia::{self, PathSegment};
use resvg::usvg;

/// Groups inside one another; deeper ones are left out. A reader need not keep more than 28 states (ISO 32000-1, annex C).
const DEEPEST: usize = 20;

/// What the style sheet of the page says of drawings, in the colours of paper.
const SHEET: &str = "\
.strokes path,.strokes line,.strokes circle{fill:none;stroke:#111;stroke-linecap:round;stroke-linejoin:round}\
.strokes .thin{stroke-width:2}.strokes .thick{stroke-width:4}.strokes .arrow{fill:#fff;stroke-width:3}\
.strokes .ring{fill:#fff;stroke-width:2}\
.edge *{fill:#111;stroke:#111;stroke-width:14;stroke-linejoin:round}.fill *{fill:#fff}\
.whisper .edge *{stroke-dasharray:20 14;fill:none}.reverse .fill *{fill:#111}.reverse .edge *{stroke:#fff}\
.ground{fill:none;stroke:#999;stroke-width:5}.dots{stroke-width:12;stroke-linecap:round}";

/// A drawing, read.
#[derive(Clone)]
pub struct Drawing(Arc<usvg::Tree>);

impl Drawing {
    /// From the text of an `svg` element; `more` rules besides those of all drawings.
    pub fn read(svg: &str, more: &str) -> Option<Drawing> {
        let options = usvg::Options { style_sheet: Some(format!("{SHEET}{more}")), ..usvg::Options::default() };
        usvg::Tree::from_str(svg, &options).ok().map(|tree| Drawing(Arc::new(tree)))
    }

    /// Draws it into a rectangle that has its proportions, or leaves room at two sides.
    pub fn draw(&self, surface: &mut Surface, [x, y, width, height]: [f32; 4]) {
        let size = self.0.size();
        let scale = (width / size.width()).min(height / size.height());
        let left = x + (width - size.width() * scale) / 2.0;
        let top = y + (height - size.height() * scale) / 2.0;
        surface.push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, left, top));
        if let Some(frame) = Rect::from_xywh(0.0, 0.0, size.width(), size.height()) {
            let mut path = PathBuilder::new();
            path.push_rect(frame);
            if let Some(path) = path.finish() {
                surface.push_clip_path(&path, &FillRule::NonZero);
                group(surface, self.0.root(), 0);
                surface.pop();
            }
        }
        surface.pop();
    }
}

fn group(surface: &mut Surface, drawn: &usvg::Group, deep: usize) {
    if deep > DEEPEST {
        return;
    }
    let mut pushed = 0;
    let transform = drawn.transform();
    if !transform.is_identity() {
        surface.push_transform(&matrix(transform));
        pushed += 1;
    }
    if drawn.opacity().get() < 1.0 {
        surface.push_opacity(share(drawn.opacity().get()));
        pushed += 1;
    }
    if let Some(clip) = drawn.clip_path() {
        for clip in std::iter::successors(Some(clip), |clip| clip.clip_path()) {
            let mut path = PathBuilder::new();
            outline(clip.root(), clip.transform(), &mut path);
            match path.finish() {
                Some(path) => surface.push_clip_path(&path, &FillRule::NonZero),
                // Nothing is shown through an empty hole.
                None => surface.push_opacity(NormalizedF32::ZERO),
            }
            pushed += 1;
        }
    }
    if let Some(mask) = drawn.mask() {
        let kind = match mask.kind() {
            usvg::MaskType::Luminance => MaskType::Luminosity,
            usvg::MaskType::Alpha => MaskType::Alpha,
        };
        let mut stream = surface.stream_builder();
        let mut inner = stream.surface();
        group(&mut inner, mask.root(), deep + 1);
        inner.finish();
        let stream = stream.finish();
        surface.push_mask(Mask::new(stream, kind));
        pushed += 1;
    }
    for node in drawn.children() {
        match node {
            usvg::Node::Group(inner) => group(surface, inner, deep + 1),
            usvg::Node::Path(drawn) => path(surface, drawn, deep),
            usvg::Node::Image(drawn) => image(surface, drawn),
            usvg::Node::Text(drawn) => group(surface, drawn.flattened(), deep + 1),
        }
    }
    (0..pushed).for_each(|_| surface.pop());
}

fn path(surface: &mut Surface, drawn: &usvg::Path, deep: usize) {
    let mut builder = PathBuilder::new();
    segments(drawn.data(), &mut builder);
    let Some(outline) = builder.finish().filter(|_| drawn.is_visible()) else { return };
    let fill = drawn.fill().map(|fill| {
        let paint = paint(surface, fill.paint(), deep);
        let rule = match fill.rule() {
            usvg::FillRule::NonZero => FillRule::NonZero,
            usvg::FillRule::EvenOdd => FillRule::EvenOdd,
        };
        Fill { paint, opacity: share(fill.opacity().get()), rule }
    });
    let stroke = drawn.stroke().map(|stroke| Stroke {
        paint: paint(surface, stroke.paint(), deep),
        width: stroke.width().get(),
        miter_limit: stroke.miterlimit().get(),
        line_cap: match stroke.linecap() {
            usvg::LineCap::Butt => LineCap::Butt,
            usvg::LineCap::Round => LineCap::Round,
            usvg::LineCap::Square => LineCap::Square,
        },
        line_join: match stroke.linejoin() {
            usvg::LineJoin::Miter | usvg::LineJoin::MiterClip => LineJoin::Miter,
            usvg::LineJoin::Round => LineJoin::Round,
            usvg::LineJoin::Bevel => LineJoin::Bevel,
        },
        opacity: share(stroke.opacity().get()),
        dash: stroke.dasharray().map(|dashes| StrokeDash { array: dashes.to_vec(), offset: stroke.dashoffset() }),
    });
    let mut once = |fill: Option<Fill>, stroke: Option<Stroke>| {
        if fill.is_some() || stroke.is_some() {
            surface.set_fill(fill);
            surface.set_stroke(stroke);
            surface.draw_path(&outline);
        }
    };
    match drawn.paint_order() {
        usvg::PaintOrder::FillAndStroke => once(fill, stroke),
        usvg::PaintOrder::StrokeAndFill => {
            once(None, stroke);
            once(fill, None);
        }
    }
}

fn image(surface: &mut Surface, drawn: &usvg::Image) {
    let pixels = match drawn.kind() {
        usvg::ImageKind::JPEG(bytes) => pixels(bytes.to_vec(), "jpeg"),
        usvg::ImageKind::PNG(bytes) => pixels(bytes.to_vec(), "png"),
        _ => None,
    };
    let size = Size::from_wh(drawn.size().width(), drawn.size().height());
    if let (Some(pixels), Some(size), true) = (pixels, size, drawn.is_visible()) {
        surface.draw_image(pixels, size);
    }
}

/// Pixels as they were encoded for the page.
pub fn pixels(bytes: Vec<u8>, kind: &str) -> Option<Image> {
    match kind {
        "png" => Image::from_png(bytes.into(), false).ok(),
        _ => Image::from_jpeg(bytes.into(), false).ok(),
    }
}

fn paint(surface: &mut Surface, drawn: &usvg::Paint, deep: usize) -> Paint {
    match drawn {
        usvg::Paint::Color(colour) => rgb::Color::new(colour.red, colour.green, colour.blue).into(),
        usvg::Paint::LinearGradient(linear) => LinearGradient {
            x1: linear.x1(),
            y1: linear.y1(),
            x2: linear.x2(),
            y2: linear.y2(),
            transform: matrix(linear.transform()),
            spread_method: spread(linear.spread_method()),
            stops: stops(linear.stops()),
            anti_alias: false,
        }
        .into(),
        usvg::Paint::RadialGradient(radial) => RadialGradient {
            cx: radial.cx(),
            cy: radial.cy(),
            cr: radial.r().get(),
            fx: radial.fx(),
            fy: radial.fy(),
            fr: radial.fr().get(),
            transform: matrix(radial.transform()),
            spread_method: spread(radial.spread_method()),
            stops: stops(radial.stops()),
            anti_alias: false,
        }
        .into(),
        usvg::Paint::Pattern(pattern) => {
            let rect = pattern.rect();
            let mut stream = surface.stream_builder();
            let mut inner = stream.surface();
            group(&mut inner, pattern.root(), deep + 1);
            inner.finish();
            let transform = pattern.transform().pre_concat(tiny_skia::Transform::from_translate(rect.x(), rect.y()));
            Pattern { stream: stream.finish(), transform: matrix(transform), width: rect.width(), height: rect.height() }.into()
        }
    }
}

fn stops(stops: &[usvg::Stop]) -> Vec<Stop> {
    let stop = |stop: &usvg::Stop| Stop {
        offset: share(stop.offset().get()),
        color: rgb::Color::new(stop.color().red, stop.color().green, stop.color().blue).into(),
        opacity: share(stop.opacity().get()),
    };
    stops.iter().map(stop).collect()
}

fn spread(method: usvg::SpreadMethod) -> SpreadMethod {
    match method {
        usvg::SpreadMethod::Pad => SpreadMethod::Pad,
        usvg::SpreadMethod::Reflect => SpreadMethod::Reflect,
        usvg::SpreadMethod::Repeat => SpreadMethod::Repeat,
    }
}

fn share(value: f32) -> NormalizedF32 {
    NormalizedF32::new(value.clamp(0.0, 1.0)).unwrap_or(NormalizedF32::ONE)
}

fn matrix(t: tiny_skia::Transform) -> Transform {
    Transform::from_row(t.sx, t.ky, t.kx, t.sy, t.tx, t.ty)
}

/// All outlines of a group as one.
fn outline(drawn: &usvg::Group, transform: tiny_skia::Transform, path: &mut PathBuilder) {
    let transform = transform.pre_concat(drawn.transform());
    for node in drawn.children() {
        match node {
            usvg::Node::Group(inner) => outline(inner, transform, path),
            usvg::Node::Path(drawn) => {
                if let Some(data) = drawn.data().clone().transform(transform) {
                    segments(&data, path);
                }
            }
            _ => {}
        }
    }
}

fn segments(data: &tiny_skia::Path, path: &mut PathBuilder) {
    for segment in data.segments() {
        match segment {
            PathSegment::MoveTo(to) => path.move_to(to.x, to.y),
            PathSegment::LineTo(to) => path.line_to(to.x, to.y),
            PathSegment::QuadTo(by, to) => path.quad_to(by.x, by.y, to.x, to.y),
            PathSegment::CubicTo(by, and, to) => path.cubic_to(by.x, by.y, and.x, and.y, to.x, to.y),
            PathSegment::Close => path.close(),
        }
    }
}

/// A circle, of four curves (their controls at 0.5523 of the radius: common practice).
pub fn circle([x, y]: [f32; 2], radius: f32) -> Option<Path> {
    let bend = radius * 0.552_3;
    let mut path = PathBuilder::new();
    path.move_to(x + radius, y);
    path.cubic_to(x + radius, y + bend, x + bend, y + radius, x, y + radius);
    path.cubic_to(x - bend, y + radius, x - radius, y + bend, x - radius, y);
    path.cubic_to(x - radius, y - bend, x - bend, y - radius, x, y - radius);
    path.cubic_to(x + bend, y - radius, x + radius, y - bend, x + radius, y);
    path.close();
    path.finish()
}

/// A rectangle with round corners.
pub fn rounded([x, y, width, height]: [f32; 4], radius: f32) -> Option<Path> {
    let radius = radius.min(width / 2.0).min(height / 2.0);
    let bend = radius * (1.0 - 0.552_3);
    let (right, low) = (x + width, y + height);
    let mut path = PathBuilder::new();
    path.move_to(x + radius, y);
    path.line_to(right - radius, y);
    path.cubic_to(right - bend, y, right, y + bend, right, y + radius);
    path.line_to(right, low - radius);
    path.cubic_to(right, low - bend, right - bend, low, right - radius, low);
    path.line_to(x + radius, low);
    path.cubic_to(x + bend, low, x, low - bend, x, low - radius);
    path.line_to(x, y + radius);
    path.cubic_to(x, y + bend, x + bend, y, x + radius, y);
    path.close();
    path.finish()
}

pub fn line([x1, y1]: [f32; 2], [x2, y2]: [f32; 2]) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.move_to(x1, y1);
    path.line_to(x2, y2);
    path.finish()
}

/// A box to tick, on its baseline, and its tick.
pub fn tick(ticked: bool, size: f32) -> [Option<Path>; 2] {
    let side = size * 0.95;
    let mut path = PathBuilder::new();
    path.move_to(side * 0.28, -side * 0.38);
    path.line_to(side * 0.48, -side * 0.12);
    path.line_to(side * 0.86, -side * 0.74);
    [rounded([0.4, -side + 1.2, side, side], 1.6), path.finish().filter(|_| ticked)]
}
