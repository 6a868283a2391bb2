//! Pictures as a screen shows them: pixels in colour, and outlines as a small plain tree that is sharp at any size.
//!
//! Of a drawing nothing is handed on but what stands in the lists below, so that whoever writes it down need not know where it came from.

use std::collections::BTreeMap;

use crate::geometry::Point;
use crate::language::Wording;
use resvg::usvg::{Indent, WriteOptions, roxmltree};

/// How a picture is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look<'a> {
    /// Most pixels across.
    pub most: u32,
    /// Most bytes of outlines.
    pub largest: usize,
    /// Of the words that a signal shows.
    pub wording: Wording<'a>,
}

/// A picture, or the shown part of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum InColour {
    Pixels(Pixels),
    Outlines(Outlines),
}

/// Upright pixels of sRGB on white.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pixels {
    pub width: u32,
    pub height: u32,
    pub rgb: Vec<[u8; 3]>,
    /// It has few tones and sharp edges, and is no photograph.
    pub drawing: bool,
    /// What its numbers mean, when they are not of sRGB: the profile of the file (ICC.1).
    pub profile: Option<Vec<u8>>,
}

/// A drawing. Its parts refer to one another by numbers (`#0`, `url(#12)`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outlines {
    /// What is shown, in units of the drawing: left, top, width, height.
    pub shown: [String; 4],
    /// Its proportions in whole numbers.
    pub width: u32,
    pub height: u32,
    pub parts: Vec<Element>,
}

impl Outlines {
    /// About how many bytes it is written in.
    pub fn length(&self) -> usize {
        fn all(parts: &[Element]) -> usize {
            let own = |part: &Element| part.attributes.iter().map(|(name, value)| name.len() + value.len() + 4).sum::<usize>();
            parts.iter().map(|part| part.name.len() * 2 + 5 + own(part) + all(&part.inside)).sum()
        }
        all(&self.parts)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Element {
    pub name: &'static str,
    pub attributes: Vec<(&'static str, String)>,
    pub inside: Vec<Element>,
}

impl Element {
    /// Its attributes but for its name.
    fn rest(&self) -> Vec<&(&'static str, String)> {
        self.attributes.iter().filter(|(name, _)| *name != "id").collect()
    }

    fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(known, _)| *known == name).map(|(_, value)| value.as_str())
    }
}

/// Elements of a plain drawing.
pub const ELEMENTS: &[&str] = &["clipPath", "defs", "g", "linearGradient", "mask", "path", "pattern", "radialGradient", "stop"];

/// Their attributes: those that a renderer of flat outlines needs.
pub const ATTRIBUTES: &[&str] = &[
    "clip-path",
    "clip-rule",
    "cx",
    "cy",
    "d",
    "fill",
    "fill-opacity",
    "fill-rule",
    "fx",
    "fy",
    "gradientTransform",
    "gradientUnits",
    "height",
    "id",
    "mask",
    "mask-type",
    "maskUnits",
    "offset",
    "opacity",
    "paint-order",
    "patternContentUnits",
    "patternTransform",
    "patternUnits",
    "r",
    "shape-rendering",
    "spreadMethod",
    "stop-color",
    "stop-opacity",
    "stroke",
    "stroke-dasharray",
    "stroke-dashoffset",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
    "stroke-opacity",
    "stroke-width",
    "transform",
    "visibility",
    "width",
    "x",
    "x1",
    "x2",
    "y",
    "y1",
    "y2",
];

/// A curve goes on smoothly where its first control is so near to where that would be, in steps each way.
const SMOOTH: i64 = 1;

/// Attributes that an element takes over from what it stands in, and what they are where nobody says.
const INHERITED: Usual =
    [("fill", "#000"), ("stroke", "none"), ("stroke-width", "1"), ("stroke-linecap", "butt"), ("stroke-linejoin", "miter")];
/// The same where most lines of a drawing have round ends and corners.
const ROUND: Usual =
    [("fill", "#000"), ("stroke", "none"), ("stroke-width", "1"), ("stroke-linecap", "round"), ("stroke-linejoin", "round")];

type Usual = [(&'static str, &'static str); 5];

/// How a drawing is written, before what is not wanted is left out.
pub(super) fn writing() -> WriteOptions {
    WriteOptions { indent: Indent::None, ..WriteOptions::default() }
}

/// The plain tree of a drawing written down, `None` when it holds what has no place in one: pixels, effects, blending. `longest` is its
/// longer side in its own units, of which `steps` are told apart.
pub(super) fn plain(written: &str, longest: f64, steps: f64) -> Option<Vec<Element>> {
    let document = roxmltree::Document::parse(written).ok()?;
    let mut ids = BTreeMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            let next = ids.len();
            ids.entry(id).or_insert(next);
        }
    }
    let strokes = document.descendants().filter(|node| node.attribute("stroke").is_some_and(|stroke| stroke != "none"));
    let (round, all) = strokes.fold((0, 0), |(round, all), node| {
        let is_round = ["stroke-linecap", "stroke-linejoin"].iter().all(|name| node.attribute(*name) == Some("round"));
        (round + usize::from(is_round), all + 1)
    });
    let round = round * 2 > all;
    let walk = Walk { ids, finest: longest / steps, usual: if round { ROUND } else { INHERITED } };
    let mut parts = walk.inside(document.root_element(), 1.0)?;
    if round {
        let attributes = ROUND[3..].iter().map(|(name, value)| (*name, (*value).to_owned())).collect();
        parts = vec![Element { name: "g", attributes, inside: parts }];
    }
    let mut cuts = Vec::new();
    alike(&mut parts, &mut cuts);
    let same: BTreeMap<String, String> = cuts
        .iter()
        .enumerate()
        .filter_map(|(n, cut)| {
            let first = cuts[..n].iter().find(|first| first.inside == cut.inside && first.rest() == cut.rest())?;
            Some((format!("url(#{})", cut.attribute("id")?), format!("url(#{})", first.attribute("id")?)))
        })
        .collect();
    if !same.is_empty() {
        meant(&mut parts, &same);
    }
    Some(parts)
}

/// Takes out all that cuts others out, at any depth, to be compared.
fn alike(parts: &mut [Element], cuts: &mut Vec<Element>) {
    for part in parts {
        alike(&mut part.inside, cuts);
        cuts.extend(part.inside.iter().filter(|inner| inner.name == "clipPath").cloned());
    }
}

/// What cuts out the same as one before it is left out, and that one is meant where it was called.
fn meant(parts: &mut Vec<Element>, same: &BTreeMap<String, String>) {
    parts.retain(|part| {
        part.name != "clipPath" || !part.attribute("id").is_some_and(|id| same.contains_key(&format!("url(#{id})")))
    });
    for part in parts {
        for (_, value) in &mut part.attributes {
            if let Some(first) = same.get(value) {
                value.clone_from(first);
            }
        }
        meant(&mut part.inside, same);
    }
}

struct Walk<'d> {
    ids: BTreeMap<&'d str, usize>,
    /// Units of the drawing in which a point need not be exact.
    finest: f64,
    usual: Usual,
}

impl Walk<'_> {
    fn inside(&self, node: roxmltree::Node, scale: f64) -> Option<Vec<Element>> {
        let inside: Option<Vec<Element>> =
            node.children().filter(|child| child.is_element()).map(|child| self.element(child, scale)).collect();
        // What cuts others out holds shapes and nothing around them.
        if node.tag_name().name() == "clipPath" { inside } else { inside.map(|inside| together(inside, &self.usual)) }
    }

    /// `scale` is how many times as large as the drawing's own units those of the element are.
    fn element(&self, node: roxmltree::Node, scale: f64) -> Option<Element> {
        let name = known(ELEMENTS, node.tag_name().name())?;
        let scale = scale * node.attribute("transform").map_or(1.0, stretch);
        let mut attributes: Vec<(&'static str, String)> = Vec::new();
        for attribute in node.attributes() {
            // Letters are outlines by now; what is invisible stays so.
            let name = known(ATTRIBUTES, attribute.name())?;
            match (name, attribute.value()) {
                ("d", data) => attributes.push(("d", data.to_owned())),
                ("id", own) => attributes.push(("id", self.ids.get(own)?.to_string())),
                (_, value) => attributes.push((name, short(&self.referring(value)?))),
            }
        }
        if name == "path" {
            self.in_steps(&mut attributes, scale);
        }
        Some(Element { name, attributes, inside: self.inside(node, scale)? })
    }

    /// The path in whole steps as fine as need be: the path is drawn so many times as large and made smaller again. Paints that are fixed to
    /// the drawing's units cannot be, nor is it worth it for a short path.
    fn in_steps(&self, attributes: &mut Vec<(&'static str, String)>, scale: f64) {
        let Some(at) = attributes.iter().position(|(name, _)| *name == "d") else { return };
        let (step, places) = step(self.finest / scale);
        let fixed = |(name, value): &(&str, String)| *name == "stroke-dasharray" || value.contains("url(");
        if places == 0 || attributes.iter().any(fixed) {
            attributes[at].1 = path(&attributes[at].1, 10f64.powi(-(places as i32)), places);
            return;
        }
        attributes[at].1 = path(&attributes[at].1, step, 0);
        for (name, value) in attributes.iter_mut() {
            if matches!(*name, "stroke-width" | "stroke-dashoffset")
                && let Ok(width) = value.parse::<f64>()
            {
                *value = (libm::round(width / step * 100.0) / 100.0).to_string();
            }
        }
        if attributes.iter().any(|(name, value)| *name == "stroke" && value != "none")
            && !attributes.iter().any(|(name, _)| *name == "stroke-width")
        {
            attributes.push(("stroke-width", (libm::round(100.0 / step) / 100.0).to_string()));
        }
        let smaller = format!("scale({step})");
        match attributes.iter_mut().find(|(name, _)| *name == "transform") {
            Some((_, transform)) => *transform = format!("{transform} {smaller}"),
            None => attributes.push(("transform", smaller)),
        }
    }

    /// With the number of what it refers to; `None` when that is not there.
    fn referring(&self, value: &str) -> Option<String> {
        let Some((before, rest)) = value.split_once("url(#") else { return Some(value.to_owned()) };
        let (id, after) = rest.split_once(')')?;
        Some(format!("{before}url(#{}){after}", self.ids.get(id)?))
    }
}

fn known(list: &[&'static str], name: &str) -> Option<&'static str> {
    list.iter().find(|known| **known == name).copied()
}

/// Paths that follow one another and are drawn under the same transform, together: what most of them have is said once.
fn together(elements: Vec<Element>, usual: &Usual) -> Vec<Element> {
    let mut out: Vec<Element> = Vec::new();
    let mut run: Vec<Element> = Vec::new();
    for element in elements {
        let plain = element.name == "path" && element.inside.is_empty();
        if run.first().is_some_and(|first| !plain || first.attribute("transform") != element.attribute("transform")) {
            out.extend(grouped(std::mem::take(&mut run), usual));
        }
        if plain { run.push(element) } else { out.push(element) }
    }
    out.extend(grouped(run, usual));
    out
}

fn grouped(mut run: Vec<Element>, usual: &Usual) -> Vec<Element> {
    let mut common: Vec<(&'static str, String)> = Vec::new();
    let stroked: Vec<bool> = run.iter().map(|path| path.attribute("stroke").is_some_and(|stroke| stroke != "none")).collect();
    for (name, usual) in *usual {
        // Of a path without a stroke it makes no difference how that would be drawn.
        let says = |path: &Element, stroked: bool| {
            let counts = stroked || !name.starts_with("stroke-");
            counts.then(|| path.attribute(name).unwrap_or(usual).to_owned())
        };
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        let all = run.iter().zip(&stroked).filter_map(|(path, &stroked)| says(path, stroked));
        all.for_each(|value| *counts.entry(value).or_default() += 1);
        let most = counts.into_iter().max_by_key(|(value, count)| (*count, value == usual)).map(|(value, _)| value);
        let most = most.filter(|_| run.len() > 1).unwrap_or_else(|| usual.to_owned());
        for (path, &stroked) in run.iter_mut().zip(&stroked) {
            let own = says(path, stroked);
            path.attributes.retain(|(known, _)| *known != name);
            path.attributes.extend(own.filter(|own| *own != most).map(|own| (name, own)));
        }
        if most != usual {
            common.push((name, most));
        }
    }
    if run.len() > 1
        && let Some(transform) = run[0].attribute("transform").map(str::to_owned)
    {
        run.iter_mut().for_each(|path| path.attributes.retain(|(name, _)| *name != "transform"));
        common.push(("transform", transform));
    }
    if common.is_empty() { run } else { vec![Element { name: "g", attributes: common, inside: run }] }
}

/// A colour in three figures where it can be.
fn short(value: &str) -> String {
    let digits = value.strip_prefix('#').map(str::as_bytes);
    match digits {
        Some(&[a, b, c, d, e, f]) if a == b && c == d && e == f => ['#', a.into(), c.into(), e.into()].iter().collect(),
        _ => value.to_owned(),
    }
}

/// By how much a transform enlarges, at most.
fn stretch(transform: &str) -> f64 {
    let numbers = transform.trim_start_matches("matrix(").trim_end_matches(')');
    let numbers: Vec<f64> = numbers.split([' ', ',']).filter_map(|number| number.parse().ok()).collect();
    let &[a, b, c, d, ..] = numbers.as_slice() else { return 1.0 };
    libm::hypot(a, b).max(libm::hypot(c, d)).max(1e-6)
}

/// The largest number of one figure that is no larger, and its places behind the point; steps of more than 1 are 1.
fn step(most: f64) -> (f64, usize) {
    for places in 0..6 {
        let unit = 10f64.powi(places as i32);
        // A step that is a little finer than need be costs less than one with two figures.
        let figures = (most * unit + 1e-9).floor().min(if places == 0 { 1.0 } else { 9.0 });
        if figures >= 1.0 {
            return (figures / unit, places);
        }
    }
    (1e-6, 6)
}

/// A path in steps of such a length, each point counted from the one before; `places` are the figures behind the point of what is written,
/// in which a step is one of the last.
fn path(data: &str, step: f64, places: usize) -> String {
    let whole = |text: &str| libm::round(text.parse::<f64>().unwrap_or(0.0).clamp(-1e9, 1e9) / step) as i64;
    let mut out = Written { text: String::with_capacity(data.len() / 2), places, last: None };
    let (mut at, mut start) = (Point::default(), Point::default());
    // Where the curve before would have its first control go on to.
    let mut smooth: Option<Point<i64>> = None;
    let mut tokens = data.split_ascii_whitespace();
    while let Some(command) = tokens.next() {
        let pairs = match command {
            "M" | "L" => 1,
            "Q" => 2,
            "C" => 3,
            _ => {
                out.command('z');
                (at, smooth) = (start, None);
                continue;
            }
        };
        let mut points = [Point::default(); 3];
        for point in &mut points[..pairs] {
            *point = Point::from([0, 1].map(|_| whole(tokens.next().unwrap_or("0"))));
        }
        let end = points[pairs - 1];
        let by = |to: Point<i64>| to - at;
        match command {
            "M" => {
                out.command('m');
                out.pair(by(end));
                start = end;
            }
            // A line of no length is a dot with round ends where it is all there is.
            "L" if end == at && out.last != Some('m') => {}
            "L" => out.line(by(end)),
            "Q" => {
                out.command('q');
                points[..2].iter().for_each(|&point| out.pair(by(point)));
            }
            _ => {
                let near = |point: Point<i64>| (point - points[0]).to_array().iter().all(|side| side.abs() <= SMOOTH);
                let goes_on = smooth.is_some_and(near);
                out.command(if goes_on { 's' } else { 'c' });
                points[usize::from(goes_on)..].iter().for_each(|&point| out.pair(by(point)));
            }
        }
        smooth = (pairs == 3).then(|| end * 2 - points[1]);
        at = end;
    }
    out.text
}

/// Numbers one after the other, with as little between them as keeps them apart.
struct Written {
    text: String,
    places: usize,
    last: Option<char>,
}

impl Written {
    fn command(&mut self, command: char) {
        // A command that is repeated need not be said again; after the beginning of a path lines are meant.
        if self.last != Some(command) || matches!(command, 'm' | 'z') {
            self.text.push(command);
        }
        self.last = Some(command);
    }

    fn pair(&mut self, by: Point<i64>) {
        self.number(by.x);
        self.number(by.y);
    }

    fn line(&mut self, by: Point<i64>) {
        match by {
            Point { x, y: 0 } if x != 0 => {
                self.command('h');
                self.number(x);
            }
            Point { x: 0, y } if y != 0 => {
                self.command('v');
                self.number(y);
            }
            by => {
                self.command('l');
                self.pair(by);
            }
        }
    }

    fn number(&mut self, value: i64) {
        let after_number = self.text.ends_with(|letter: char| letter.is_ascii_digit());
        if value >= 0 && after_number {
            self.text.push(' ');
        }
        let unit = 10i64.pow(self.places as u32);
        let (whole, rest) = (value.abs() / unit, value.abs() % unit);
        if value < 0 {
            self.text.push('-');
        }
        if whole > 0 || rest == 0 {
            self.text.push_str(&whole.to_string());
        }
        if rest > 0 {
            let figures = format!("{rest:0width$}", width = self.places);
            self.text.push('.');
            self.text.push_str(figures.trim_end_matches('0'));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_written_short_and_leads_to_the_same_points() {
        assert_eq!(path("M 10 20 L 30 20 L 30 25.25 L 10 20 Z", 0.1, 1), "m10 20h20v5.3l-20-5.3z");
        assert_eq!(path("M 0.5 0 C 1 1 2 2 3 4 C 4 3 5 5 6 6", 0.01, 2), "m.5 0c.5 1 1.5 2 2.5 4 1-1 2 1 3 2");
        assert_eq!(path("M 0.5 0 C 1 1 2 2 3 3 C 4 4 5 5 6 6", 0.5, 0), "m1 0c1 2 3 4 5 6s4 4 6 6");
        // A dot: a line of no length with round ends.
        assert_eq!(path("M 5 5 L 5 5", 1.0, 0), "m5 5l0 0");
        // After the end of a figure the next one counts from where it began.
        assert_eq!(path("M 1 1 L 4 1 Z M 2 2 L 3 2", 1.0, 0), "m1 1h3zm1 1h1");
    }

    #[test]
    fn what_is_no_plain_outline_is_told_apart() {
        let written = |inside: &str| format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{inside}</svg>");
        let parts = plain(
            &written("<g id=\"a\"\"><path fill=\"url(#b)\" d=\"M 0 0 L 9 9\"/></g>".replace("\"\"", "\"").as_str()),
            100.0,
            100.0,
        );
        assert_eq!(parts, None, "a reference to nothing");
        let parts =
            plain(&written("<g id=\"a\"><path id=\"b\" clip-path=\"url(#a)\" d=\"M 0 0 L 9 9\"/></g>"), 100.0, 100.0).unwrap();
        assert_eq!(parts[0].attributes, [("id", "0".to_owned())]);
        assert_eq!(parts[0].inside[0].attributes[1], ("clip-path", "url(#0)".to_owned()));
        for strange in ["<image/>", "<filter/>", "<g style=\"mix-blend-mode:multiply\"/>", "<script/>", "<path onclick=\"a\"/>"] {
            assert_eq!(plain(&written(strange), 100.0, 100.0), None, "{strange}");
        }
    }

    /// The plain tree as a file again.
    fn as_file(outlines: &Outlines) -> String {
        fn write(parts: &[Element], out: &mut String) {
            for part in parts {
                let attributes: Vec<String> =
                    part.attributes.iter().map(|(name, value)| format!(" {name}=\"{value}\"")).collect();
                out.push_str(&format!("<{}{}>", part.name, attributes.concat()));
                write(&part.inside, out);
                out.push_str(&format!("</{}>", part.name));
            }
        }
        let mut inside = String::new();
        write(&outlines.parts, &mut inside);
        let [.., width, height] = &outlines.shown;
        let view = outlines.shown.join(" ");
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"{view}\">{inside}</svg>"
        )
    }

    #[test]
    fn a_plain_tree_looks_as_its_drawing_did() {
        use crate::pictures::tone::Window;
        use crate::pictures::vector::{Faces, read};
        let heron = concat!(env!("CARGO_MANIFEST_DIR"), "/manuals/heron");
        let mut files: Vec<(String, Vec<u8>)> = std::fs::read_dir(heron)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "svg"))
            .map(|path| (path.display().to_string(), std::fs::read(path).unwrap()))
            .collect();
        files.extend(crate::pictures::signs::names().map(|name| {
            let svg = crate::pictures::signs::find(name).unwrap().svg;
            (name.to_owned(), svg.as_bytes().to_vec())
        }));
        let made = r##"<svg xmlns="http://www.w3.org/2000/svg" width="8" height="6" viewBox="0 0 80 60"><defs><linearGradient id="g"><stop offset="0" stop-color="#fff"/><stop offset="1" stop-color="#112233"/></linearGradient><clipPath id="c"><circle cx="20" cy="20" r="15"/></clipPath><clipPath id="d"><circle cx="20" cy="20" r="15"/></clipPath></defs><rect width="80" height="60" fill="url(#g)"/><g transform="rotate(20) scale(2)"><path clip-path="url(#d)" d="M5 5C20 0 30 30 30 30S9 9 5 5z" fill="red" stroke="#00f" stroke-width=".5"/></g><path d="M5 50H70" stroke="#000" stroke-width="4" stroke-dasharray="6 3"/><path d="M5 40H70" stroke="green" stroke-linecap="round"/></svg>"##;
        files.push(("made".into(), made.as_bytes().to_vec()));
        assert!(files.len() > 25);
        for (name, bytes) in files {
            let faces = Faces::new(&[]);
            let drawing = read(&bytes, &name, &faces).unwrap();
            let whole = Window::whole(drawing.width, drawing.height);
            let outlines = drawing.outlines(whole, 1000.0, usize::MAX).unwrap_or_else(|| panic!("{name} is no plain drawing"));
            let again = read(as_file(&outlines).as_bytes(), &name, &faces).unwrap();
            let (width, height) = (400, 400 * drawing.height / drawing.width);
            let before = drawing.colour(whole, width, height, &name).unwrap();
            let after = again.colour(Window::whole(again.width, again.height), width, height, &name).unwrap();
            let differs = |(a, b): (&[u8; 3], &[u8; 3])| a.iter().zip(b).any(|(a, b)| a.abs_diff(*b) > 100);
            let differing = before.iter().zip(&after).filter(|pair| differs(*pair)).count();
            // Steps of a thousandth move an edge by less than half a dot here.
            assert!(differing * 1000 < before.len(), "{name}: {differing} of {} dots", before.len());
        }
    }
}
