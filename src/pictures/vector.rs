//! Drawings: SVG to a tree by usvg, and the tree to linear light at any size by resvg.
//!
//! Never reads a second file, never asks a network, never takes a face that was not handed in; and refuses a drawing that
//! would grow out of bounds before it is built.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{self, fontdb, roxmltree};

use super::choice::{Paints, is_middle};
use super::colour::{self, Outlines};
use super::error::{Error, one_line};
use super::load::Remark;
use super::tone::{LINEAR, Light, Window, luma};
use crate::geometry::Rect;

/// Largest drawing read, in bytes.
const TEXT_LIMIT: usize = 8 << 20;
/// Most elements, every `use` counted as what it stands for.
const ELEMENT_LIMIT: u64 = 100_000;
/// Deepest nesting.
const DEPTH_LIMIT: usize = 200;
/// Most filter effects, which cost time by the dot.
const EFFECT_LIMIT: usize = 40;
/// Most pixels of an embedded picture.
const EMBEDDED_LIMIT: u64 = 16_000_000;
/// Longest side, in units of the drawing.
const SIDE_LIMIT: f32 = 100_000.0;
/// How many times as far as the drawing is long anything in it may reach, strokes included: beyond, the coordinates of the renderer are no
/// longer exact enough for it to stay within its canvas.
const REACH_LIMIT: f32 = 10_000.0;
/// Largest number in the geometry. An arc is cut into the more curves the larger it is, before anything asks how far it reaches: one of
/// 10^46 units takes minutes and gigabytes.
const NUMBER_LIMIT: f64 = 1e8;
/// How much finer than the dots a drawing is rendered, each way; the first for which so many dots are few enough.
const FINENESS: [(u32, u64); 3] = [(4, 1_000_000), (2, 4_000_000), (1, 16_000_000)];

/// Samples a dot, each way, at which so many dots are rendered; `None` for too many.
pub fn fineness(dots: u64) -> Option<u32> {
    FINENESS.iter().find(|(_, most)| dots <= *most).map(|(fine, _)| *fine)
}

/// The faces that drawings may use, in the order of preference.
pub struct Faces {
    files: &'static [&'static [u8]],
    database: OnceLock<Arc<fontdb::Database>>,
}

/// A rendered drawing: `fine` samples a dot, each way.
#[derive(Debug)]
pub struct Sample {
    pub light: Light,
    pub fine: u32,
}

/// A drawing, ready to be rendered at any size.
#[derive(Debug)]
pub struct Drawing {
    tree: usvg::Tree,
    /// The part of the plane that is shown, in units of the drawing.
    shown: Rect<f32>,
    /// Proportions in whole numbers: its size in CSS pixels, times ten until the longer side is at least 1000.
    pub width: u32,
    pub height: u32,
    /// Its height in CSS pixels, rounded up.
    pub written_height: u32,
    pub remarks: Vec<Remark>,
    pub paints: Paints,
}

impl Faces {
    pub fn new(files: &'static [&'static [u8]]) -> Faces {
        Faces { files, database: OnceLock::new() }
    }

    /// Generic names are bound to the first face of that nature: monospaced, hand-lettered (told by its name), any other.
    fn database(&self) -> Arc<fontdb::Database> {
        let load = || {
            let mut database = fontdb::Database::new();
            for file in self.files {
                database.load_font_source(fontdb::Source::Binary(Arc::new(*file)));
            }
            let named = |pick: &dyn Fn(&fontdb::FaceInfo, &str) -> bool| {
                let matching = database.faces().find_map(|face| {
                    let name = &face.families.first()?.0;
                    pick(face, name).then(|| name.clone())
                });
                matching.or_else(|| database.faces().find_map(|face| Some(face.families.first()?.0.clone())))
            };
            let hand = |name: &str| ["comic", "hand", "letter"].iter().any(|word| name.to_lowercase().contains(word));
            let mono = named(&|face, _| face.monospaced);
            let lettering = named(&|face, name| !face.monospaced && hand(name));
            let sans = named(&|face, name| !face.monospaced && !hand(name));
            if let Some(sans) = sans {
                database.set_sans_serif_family(&sans);
                database.set_serif_family(sans);
            }
            if let Some(mono) = mono {
                database.set_monospace_family(mono);
            }
            if let Some(lettering) = lettering {
                database.set_cursive_family(&lettering);
                database.set_fantasy_family(lettering);
            }
            Arc::new(database)
        };
        Arc::clone(self.database.get_or_init(load))
    }
}

/// Reads an SVG drawing.
///
/// # Errors
/// When it is not UTF-8 or not well-formed, has no size, or is too large, too deep or too costly.
pub fn read(bytes: &[u8], address: &str, faces: &Faces) -> Result<Drawing, Error> {
    let refused = |reason: String| Error::Drawing { address: address.into(), reason: one_line(&reason) };
    if bytes.len() > TEXT_LIMIT {
        return Err(refused(format!("it is larger than {} MiB", TEXT_LIMIT >> 20)));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| refused(format!("it is not UTF-8 at byte {}", error.valid_up_to())))?;
    let options = roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: ELEMENT_LIMIT as u32 * 2, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(text, options).map_err(|error| refused(error.to_string()))?;
    check(&document).map_err(refused)?;
    let outside = AtomicBool::new(refers_outside(&document));
    let database = if text.contains("<text") || text.contains(":text") { faces.database() } else { Arc::default() };
    let (other_face, unfit) = (AtomicBool::new(false), AtomicBool::new(false));
    let tree = {
        let by_default = usvg::FontResolver::default_font_selector();
        let (other_face, outside, unfit) = (&other_face, &outside, &unfit);
        let options = usvg::Options {
            font_family: "sans-serif".into(),
            image_href_resolver: usvg::ImageHrefResolver {
                resolve_data: Box::new(move |_, data, _| {
                    let kind = embedded(data);
                    unfit.fetch_or(kind.is_none(), Ordering::Relaxed);
                    kind
                }),
                resolve_string: Box::new(move |_, _| {
                    outside.store(true, Ordering::Relaxed);
                    None
                }),
            },
            font_resolver: usvg::FontResolver {
                select_font: Box::new(move |font, database| {
                    other_face.fetch_or(wants_other_face(font, database), Ordering::Relaxed);
                    by_default(font, database).or_else(|| database.faces().next().map(|face| face.id))
                }),
                select_fallback: usvg::FontResolver::default_fallback_selector(),
            },
            fontdb: database,
            ..usvg::Options::default()
        };
        usvg::Tree::from_xmltree(&document, &options).map_err(|error| refused(error.to_string()))?
    };
    if unfit.load(Ordering::Relaxed) {
        return Err(refused("a picture embedded in it is broken, too large, or itself a drawing".into()));
    }
    let shown = shown(&document, &tree);
    let longest = shown.width.max(shown.height);
    if longest.is_nan() || longest > SIDE_LIMIT {
        return Err(refused(format!("it is more than {SIDE_LIMIT} units long")));
    }
    if reaches(tree.root(), longest * REACH_LIMIT) {
        return Err(refused(format!("something in it reaches more than {REACH_LIMIT} times as far as the drawing is long")));
    }
    let mut scale = 1.0;
    while longest * scale < 1000.0 && scale < 1e6 {
        scale *= 10.0;
    }
    let whole = |side: f32| (libm::roundf(side * scale) as u32).max(1);
    let named = |name: &str| document.descendants().any(|node| node.tag_name().name() == name);
    let mut remarks = Vec::new();
    if outside.load(Ordering::Relaxed) {
        remarks.push(Remark::OutsideReference);
    }
    if other_face.load(Ordering::Relaxed) {
        remarks.push(Remark::OtherFace);
    }
    Ok(Drawing {
        shown,
        width: whole(shown.width),
        height: whole(shown.height),
        written_height: libm::ceilf(shown.height) as u32,
        remarks,
        paints: if named("image") {
            Paints::Pixels
        } else if named("linearGradient") || named("radialGradient") {
            Paints::Gradient
        } else if is_ink_and_paper(tree.root()) {
            Paints::InkAndPaper
        } else {
            Paints::Tones
        },
        tree,
    })
}

/// What is shown of a drawing: its own size where it says one; else, each way, all that is painted, strokes and their ends included.
fn shown(document: &roxmltree::Document, tree: &usvg::Tree) -> Rect<f32> {
    let root = document.root_element();
    let says = |name: &str| root.attribute(name).is_some_and(|value| !value.trim().is_empty() && !value.trim().ends_with('%'));
    let view_box = root.attribute("viewBox").is_some_and(|value| {
        let numbers: Vec<f32> = value.split([' ', ',', '\t', '\n', '\r']).filter_map(|part| part.parse().ok()).collect();
        matches!(numbers[..], [_, _, width, height] if width > 0.0 && height > 0.0)
    });
    let size = tree.size();
    let mut shown = Rect::new(0.0, 0.0, size.width(), size.height());
    if view_box || (says("width") && says("height")) {
        return shown;
    }
    let painted = tree.root().abs_layer_bounding_box();
    if !says("width") && painted.width() > 0.0 {
        (shown.x, shown.width) = (painted.x(), painted.width());
    }
    if !says("height") && painted.height() > 0.0 {
        (shown.y, shown.height) = (painted.y(), painted.height());
    }
    shown
}

/// Whether all in the group is painted opaquely, as dark as ink or as light as paper. No recursion: a drawing may be deep.
fn is_ink_and_paper(root: &usvg::Group) -> bool {
    let plain_paint = |paint: &usvg::Paint, opacity: usvg::Opacity| match paint {
        usvg::Paint::Color(color) => {
            let [r, g, b] = [color.red, color.green, color.blue].map(|value| LINEAR[usize::from(value)]);
            opacity == usvg::Opacity::ONE && !is_middle(luma(r, g, b))
        }
        _ => false,
    };
    let mut groups = vec![root];
    while let Some(group) = groups.pop() {
        let mixes = group.opacity() != usvg::Opacity::ONE
            || group.blend_mode() != usvg::BlendMode::Normal
            || group.mask().is_some()
            || !group.filters().is_empty();
        if mixes {
            return false;
        }
        for node in group.children() {
            let plain = match node {
                usvg::Node::Group(inner) => {
                    groups.push(inner);
                    true
                }
                usvg::Node::Path(path) => {
                    path.fill().is_none_or(|fill| plain_paint(fill.paint(), fill.opacity()))
                        && path.stroke().is_none_or(|stroke| plain_paint(stroke.paint(), stroke.opacity()))
                }
                usvg::Node::Text(text) => {
                    groups.push(text.flattened());
                    true
                }
                usvg::Node::Image(_) => false,
            };
            if !plain {
                return false;
            }
        }
    }
    true
}

/// Whether anything that is drawn, in patterns, masks and clips too, lies farther out than `most`.
fn reaches(group: &usvg::Group, most: f32) -> bool {
    group.children().iter().any(|node| {
        let bounds = node.abs_stroke_bounding_box();
        let within = [bounds.left(), bounds.top(), bounds.right(), bounds.bottom()].iter().all(|edge| edge.abs() <= most);
        let mut inside = matches!(node, usvg::Node::Group(group) if reaches(group, most));
        node.subroots(|root| inside = inside || reaches(root, most));
        !within || inside
    })
}

/// An embedded picture of pixels, when its size is fit to be decoded.
fn embedded(data: Arc<Vec<u8>>) -> Option<usvg::ImageKind> {
    let format = image::guess_format(&data).ok()?;
    let (width, height) =
        image::ImageReader::with_format(std::io::Cursor::new(data.as_slice()), format).into_dimensions().ok()?;
    if u64::from(width) * u64::from(height) > EMBEDDED_LIMIT {
        return None;
    }
    match format {
        image::ImageFormat::Png => Some(usvg::ImageKind::PNG(data)),
        image::ImageFormat::Jpeg => Some(usvg::ImageKind::JPEG(data)),
        image::ImageFormat::Gif => Some(usvg::ImageKind::GIF(data)),
        image::ImageFormat::WebP => Some(usvg::ImageKind::WEBP(data)),
        _ => None,
    }
}

/// Whether the family asked for first is neither generic nor one we have.
fn wants_other_face(font: &usvg::Font, database: &fontdb::Database) -> bool {
    let has = |name: &str| database.faces().any(|face| face.families.iter().any(|(known, _)| known.eq_ignore_ascii_case(name)));
    matches!(font.families().first(), Some(usvg::FontFamily::Named(name)) if !has(name))
}

/// Depth, effects, and the number of elements once every `use` is drawn out. No recursion: the depth is what is checked.
fn check(document: &roxmltree::Document) -> Result<(), String> {
    let mut depth = 0usize;
    let mut effects = 0;
    let mut by_id = BTreeMap::new();
    let mut order: Vec<roxmltree::Node> = Vec::new();
    let mut next = Some(document.root_element());
    while let Some(node) = next {
        if node.is_element() {
            order.push(node);
            if let Some(id) = node.attribute("id") {
                by_id.entry(id).or_insert(node.id().get_usize());
            }
            effects += usize::from(node.tag_name().name().starts_with("fe"));
            if let Some(attribute) = node.attributes().find(|attribute| is_geometry(attribute) && is_vast(attribute.value())) {
                return Err(format!("`{}` holds a number beyond {NUMBER_LIMIT}", attribute.name()));
            }
        }
        if let Some(child) = node.first_child() {
            depth += 1;
            if depth > DEPTH_LIMIT {
                return Err(format!("its elements are nested more than {DEPTH_LIMIT} deep"));
            }
            next = Some(child);
            continue;
        }
        let mut up = Some(node);
        next = None;
        while let Some(at) = up {
            if let Some(sibling) = at.next_sibling() {
                next = Some(sibling);
                break;
            }
            depth = depth.saturating_sub(1);
            up = at.parent();
        }
    }
    if effects > EFFECT_LIMIT {
        return Err(format!("it has more than {EFFECT_LIMIT} filter effects"));
    }
    drawn_out(document, &order, &by_id)
}

/// Whether an attribute says where things stand and how large they are: all but names, texts, addresses and paints, and what drawing
/// programs note in namespaces of their own.
fn is_geometry(attribute: &roxmltree::Attribute) -> bool {
    const OTHERS: [&str; 13] =
        ["id", "class", "href", "lang", "version", "fill", "stroke", "color", "font-family", "in", "in2", "result", "type"];
    let name = attribute.name();
    attribute.namespace().is_none() && !OTHERS.contains(&name) && !name.starts_with("data-") && !name.starts_with("aria-")
}

/// Whether a number larger than any drawing needs stands in it. What follows a `#` is a colour or a name.
fn is_vast(value: &str) -> bool {
    let bytes = value.as_bytes();
    let mut at = 0;
    let digits = |from: usize| bytes[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    while at < bytes.len() {
        match bytes[at] {
            b'#' => at += bytes[at..].iter().take_while(|byte| !b" ;,)'\"".contains(byte)).count(),
            b'0'..=b'9' | b'.' => {
                let begin = at;
                let whole = digits(at);
                at += whole;
                let mut power = 0;
                if bytes.get(at) == Some(&b'.') {
                    at += 1 + digits(at + 1);
                }
                if matches!(bytes.get(at), Some(b'e' | b'E')) {
                    let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
                    power = if at + 1 + sign <= bytes.len() { digits(at + 1 + sign) } else { 0 };
                    if power > 0 {
                        at += 1 + sign + power;
                    }
                }
                // With eight digits and no power it is less than 10^8; most numbers need not be read.
                if (whole > 8 || power > 0) && value[begin..at].parse().is_ok_and(|number: f64| number > NUMBER_LIMIT) {
                    return true;
                }
            }
            _ => at += 1,
        }
    }
    false
}

/// Bounds the number of elements with every reference drawn out. The count of an element is 1, its children's, and its target's;
/// counts are raised round by round until they stand still, and a cycle never does.
fn drawn_out(document: &roxmltree::Document, order: &[roxmltree::Node], by_id: &BTreeMap<&str, usize>) -> Result<(), String> {
    let targets: Vec<BTreeSet<usize>> = order.iter().map(|node| targets(node, by_id)).collect();
    let most = order.iter().map(|node| node.id().get_usize()).max().unwrap_or(0);
    let mut counts = vec![0u64; most + 1];
    for _round in 0..24 {
        let mut still = true;
        for (node, targets) in order.iter().zip(&targets).rev() {
            let inner: u64 = node.children().filter(|child| child.is_element()).map(|child| counts[child.id().get_usize()]).sum();
            let outer: u64 = targets.iter().map(|&id| counts[id]).sum();
            let count = (1 + inner + outer).min(ELEMENT_LIMIT * 2);
            let at = &mut counts[node.id().get_usize()];
            still &= *at == count;
            *at = count;
        }
        if counts[document.root_element().id().get_usize()] > ELEMENT_LIMIT {
            return Err(format!("it draws more than {ELEMENT_LIMIT} elements, or refers to itself"));
        }
        if still {
            return Ok(());
        }
    }
    Err("its references lead through more than 24 others, or in a circle".into())
}

/// What an element refers to inside of the drawing, by number of the node.
fn targets(node: &roxmltree::Node, by_id: &BTreeMap<&str, usize>) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    for attribute in node.attributes() {
        let value = attribute.value();
        if attribute.name() == "href" {
            found.extend(value.strip_prefix('#').and_then(|id| by_id.get(id)));
        }
        for part in value.split("url(").skip(1) {
            let id = part.trim_start_matches(['\'', '"', ' ', '#']).split([')', '\'', '"', ' ']).next().unwrap_or("");
            found.extend(by_id.get(id));
        }
    }
    found
}

/// Whether an attribute points to something that is neither inside the drawing nor embedded.
fn refers_outside(document: &roxmltree::Document) -> bool {
    let leads_out = |address: &str| {
        let address = address.trim();
        !address.is_empty() && !address.starts_with('#') && !address.starts_with("data:")
    };
    document.descendants().filter(|node| node.is_element() && node.tag_name().name() != "a").any(|node| {
        node.attributes().any(|attribute| {
            let value = attribute.value();
            (attribute.name() == "href" && leads_out(value))
                || value.split("url(").skip(1).any(|part| leads_out(part.trim_start_matches(['\'', '"', ' '])))
        })
    })
}

impl Drawing {
    /// The shown part on white, as many samples as `fine` says for each of the `width` x `height` dots.
    ///
    /// # Errors
    /// When it is more than 16 million dots.
    pub fn render(&self, window: Window, width: u32, height: u32, address: &str) -> Result<Sample, Error> {
        self.sampled(window, width, height, address, None)
    }

    /// A drawing of black on white, one sample a dot: how much of the dot is left white. What a dot's edge covers is all that its grey
    /// can mean here, so the grey is a share of light and not a tone of sRGB.
    ///
    /// # Errors
    /// As [`Drawing::render`].
    pub fn coverage(&self, window: Window, width: u32, height: u32, address: &str) -> Result<Sample, Error> {
        self.sampled(window, width, height, address, Some(1))
    }

    /// The shown part as a plain tree; its longer side is told apart into `steps`. `None` when it is more than outlines, or more than
    /// `most` bytes of them.
    pub fn outlines(&self, window: Window, steps: f64, most: usize) -> Option<Outlines> {
        let written = self.tree.to_string(&colour::writing());
        let Rect { x: left, y: top, width: shown_w, height: shown_h } = self.shown.map(f64::from);
        let parts = colour::plain(&written, shown_w.max(shown_h), steps)?;
        let (unit_x, unit_y) = (shown_w / f64::from(self.width), shown_h / f64::from(self.height));
        let shown = [left + window.left * unit_x, top + window.top * unit_y, window.width * unit_x, window.height * unit_y];
        let outlines = Outlines {
            shown: shown.map(|side| (libm::round(side * 1000.0) / 1000.0).to_string()),
            width: libm::ceil(window.width) as u32,
            height: libm::ceil(window.height) as u32,
            parts,
        };
        (outlines.length() <= most).then_some(outlines)
    }

    /// The shown part in pixels of sRGB on white.
    ///
    /// # Errors
    /// As [`Drawing::render`].
    pub fn colour(&self, window: Window, width: u32, height: u32, address: &str) -> Result<Vec<[u8; 3]>, Error> {
        let canvas = self.painted(window, width, height, address)?;
        Ok(canvas.data().as_chunks::<4>().0.iter().map(|&[r, g, b, _]| [r, g, b]).collect())
    }

    fn sampled(&self, window: Window, width: u32, height: u32, address: &str, fixed: Option<u32>) -> Result<Sample, Error> {
        let room = || Error::Room { address: address.into(), width: width as i32, height: height as i32 };
        let dots = u64::from(width) * u64::from(height);
        let fine = fineness(dots).map(|fine| fixed.unwrap_or(fine)).ok_or_else(room)?;
        let (across, down) = (width * fine, height * fine);
        let canvas = self.painted(window, across, down, address)?;
        let lut = &*LINEAR;
        let byte = |value: u8| if fixed.is_some() { u16::from(value) * 257 } else { lut[usize::from(value)] };
        // The luma of a grey is that grey.
        let light = |&[r, g, b, _]: &[u8; 4]| if r == g && g == b { byte(r) } else { luma(byte(r), byte(g), byte(b)) };
        let light = canvas.data().as_chunks::<4>().0.iter().map(light).collect();
        Ok(Sample { light: Light { width: across, height: down, light }, fine })
    }

    fn painted(&self, window: Window, across: u32, down: u32, address: &str) -> Result<Pixmap, Error> {
        let room = || Error::Room { address: address.into(), width: across as i32, height: down as i32 };
        let mut canvas = Pixmap::new(across, down).ok_or_else(room)?;
        canvas.fill(resvg::tiny_skia::Color::WHITE);
        let Rect { x: left, y: top, width: shown_w, height: shown_h } = self.shown.map(f64::from);
        // The window is in units of the whole proportions.
        let unit_x = shown_w / f64::from(self.width);
        let unit_y = shown_h / f64::from(self.height);
        let scale_x = (f64::from(across) / (window.width * unit_x)) as f32;
        let scale_y = (f64::from(down) / (window.height * unit_y)) as f32;
        let shift = Transform::from_translate(-(left + window.left * unit_x) as f32, -(top + window.top * unit_y) as f32);
        resvg::render(&self.tree, shift.post_scale(scale_x, scale_y), &mut canvas.as_mut());
        Ok(canvas)
    }
}

#[cfg(test)]
mod tests {
    use super::is_vast;

    #[test]
    fn numbers_are_found_as_they_are_written_in_paths_and_styles() {
        for plain in [
            "M40 8h40l14 28H26z",
            "#1e9999 url(#a99999999999)",
            "1e8",
            "a1.5.5-3e-99",
            "",
            "99999999.9",
            "1e",
            "1e+",
            ".",
            "1.e3",
        ] {
            assert!(!is_vast(plain), "{plain}");
        }
        for vast in [
            "A9 9 0 0 11111111111 303",
            "stroke-width:1e11",
            "scale(-2E+9)",
            "1.e9",
            "0,999999999",
            "M1e5e1e9",
            "fill:#000;x:1e9",
        ] {
            assert!(is_vast(vast), "{vast}");
        }
    }
}
