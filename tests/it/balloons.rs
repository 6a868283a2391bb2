//! What is promised of balloons, counted on painted dots: kinds, lengths, languages, panels, papers and drawings at random.
//!
//! Where an outline runs is told by the marks that draw it; letters, outlines, tails and the drawing are painted apart from each other by
//! the program's painter, and everything about them is counted here, by arithmetic written apart from the program's.

use std::collections::HashSet;
use std::sync::Arc;

use proptest::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::layout::{Galley, Layout, Mark, PlacedBox};
use stripling::prepress::Made;
use stripling::strip;
use stripling::type_setting::Faces;
use stripling::units::Resolution;

use crate::manuals::{self, Written};

/// Drawings without a horizon: things, windows, ears, a face with a frame of its own.
const DRAWINGS: [(&str, &str); 4] = [
    (
        "cup.svg",
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><g fill="none" stroke="black" stroke-width="3"><path d="M30 55h40v25a10 10 0 0 1-10 10H40a10 10 0 0 1-10-10z"/><path d="M70 62h8a7 7 0 0 1 0 14h-8"/></g></svg>"#,
    ),
    (
        "room.svg",
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 150"><g fill="none" stroke="black" stroke-width="2"><rect x="120" y="14" width="60" height="52"/><path d="M150 14v52M120 40h60"/><path d="M40 118c0-30 20-44 40-44 18 0 34 12 38 32l10 12z"/><path d="M52 96l-8-8M62 86l-6-10M74 79l-3-11M88 77l1-11"/><circle cx="112" cy="104" r="3" fill="black"/></g></svg>"#,
    ),
    (
        "ears.svg",
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 110"><g fill="none" stroke="black" stroke-width="1.6"><path d="M20 110c0-34 6-52 30-52s30 18 30 52"/><path d="M28 62c-10-14-14-30-6-36 8 0 14 14 16 28M72 62c10-14 14-30 6-36-8 0-14 14-16 28"/><circle cx="40" cy="82" r="4" fill="black"/></g></svg>"#,
    ),
    (
        "signs.svg",
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 100"><g stroke="black" stroke-width="2" fill="none"><path d="M10 10l16 28H-6z" transform="translate(8 0)"/><circle cx="80" cy="30" r="14"/><rect x="120" y="60" width="26" height="26"/><path d="M20 70q20-20 40 0t40 0"/></g></svg>"#,
    ),
];

/// Language, and what is said in it, from a word to a paragraph.
const SAID: [(&str, [&str; 6]); 5] = [
    (
        "de",
        [
            "Ja.",
            "EIN MONSTER!!",
            "GEBURTSTAGSÜBERRASCHUNG!",
            "Das Wolkenkuckucksheim ist heute leider geschlossen.",
            "Die Überprüfung der Geburtstagsüberraschung beginnt morgen früh, gleich nach dem Donaudampfschifffahrtsfest.",
            "Ich denke an alle Krümel, die dort noch liegen.",
        ],
    ),
    (
        "en",
        [
            "Tea?",
            "Me too.",
            "UNBELIEVABLE!",
            "Wait until the tea is dark, then lift the bag.",
            "Characteristically, the bird counts to a hundred and twenty before it lifts the bag out of the mug again.",
            "Where is my slipper?",
        ],
    ),
    (
        "fr",
        [
            "Oui !",
            "Du thé ?",
            "INCROYABLEMENT CHAUD !",
            "Attends que le thé soit bien foncé, puis retire le sachet.",
            "Anticonstitutionnellement parlant, cet oiseau n'a jamais rien renversé sur la table de la cuisine.",
            "Où est ma pantoufle ?",
        ],
    ),
    (
        "fi",
        [
            "Ei.",
            "Teetä?",
            "KÄSITTÄMÄTÖNTÄ!",
            "Odota, kunnes tee on tummaa, ja nosta pussi sitten.",
            "Lentokonesuihkuturbiinimoottoriapumekaanikko ei osaa keittää teetä ilman haikaraa, ikävä kyllä.",
            "Missä tohvelini on?",
        ],
    ),
    (
        "pl",
        [
            "Tak.",
            "Herbaty?",
            "NIEPRAWDOPODOBNE!",
            "Poczekaj, aż herbata będzie ciemna, a potem wyjmij torebkę.",
            "Konstantynopolitańczykowianeczka nigdy nie rozlała herbaty na stół, a ptak liczy do stu dwudziestu.",
            "Gdzie jest mój kapeć?",
        ],
    ),
];

const KINDS: [&str; 4] = ["speech", "thought", "shout", "whisper"];

/// White that is kept, dots.
const CLEAR: i32 = 4;

/// Specks of a drawing that the program passes over.
const DUST: usize = 6;

#[derive(Clone, Debug)]
struct Said {
    text: &'static str,
    kind: usize,
    at: [i32; 2],
    tail: [i32; 2],
}

#[derive(Clone, Debug)]
struct Case {
    language: &'static str,
    said: Vec<Said>,
    drawing: Option<usize>,
    columns: u8,
    height: Option<u8>,
    printer: &'static str,
}

fn case() -> impl Strategy<Value = Case> {
    let balloon = (0..6usize, 0..4usize, [3..97i32, 3..70i32], [20..80i32, 40..95i32]);
    let papers = prop::sample::select(vec!["58mm", "80mm", "80mm", "112mm", "80mm-180"]);
    let panel = (prop::option::weighted(0.8, 0..DRAWINGS.len()), 1..3u8, prop::option::weighted(0.2, 30..70u8), papers);
    (0..SAID.len(), prop::collection::vec(balloon, 1..4), panel).prop_map(
        |(language, many, (drawing, columns, height, printer))| {
            let (language, texts) = SAID[language];
            let said = many.into_iter().map(|(text, kind, at, tail)| Said { text: texts[text], kind, at, tail }).collect();
            Case { language, said, drawing, columns, height, printer }
        },
    )
}

fn made(case: &Case) -> Made {
    let mut text = format!("+++\nlanguage = \"{}\"\n+++\n```comic\ncolumns = {}\n[[panel]]\n", case.language, case.columns);
    if let Some(drawing) = case.drawing {
        text += &format!("picture = \"{}\"\nalt = \"Shown\"\n", DRAWINGS[drawing].0);
    }
    if let Some(height) = case.height {
        text += &format!("height = \"{height} mm\"\n");
    }
    for Said { text: words, kind, at, tail } in &case.said {
        let kind = KINDS[*kind];
        text += &format!("[[panel.balloon]]\ntext = \"{words}\"\nkind = \"{kind}\"\nat = {at:?}\ntail = {tail:?}\n");
    }
    // A second panel, or the first would fill the row.
    text += "[[panel]]\n```\n";
    let written = DRAWINGS.iter().fold(Written::new(text), |written, (name, svg)| written.with(name, svg));
    manuals::drafted(&manuals::press_in_style(&written.manual, case.printer, "plain"))
}

/// The strip with some of its marks only.
fn painted(layout: &Layout, resolution: Resolution, keep: impl Fn(&Mark) -> bool) -> Bitmap {
    let mut layout = layout.clone();
    for placed in &mut layout.placed {
        let mut chunks = placed.galley.chunks.clone();
        chunks.iter_mut().for_each(|chunk| chunk.marks.retain(&keep));
        placed.galley = Arc::new(Galley { chunks, ..Galley::default() });
    }
    layout.marks.clear();
    strip::paint(&layout, &Faces::new(resolution)).bitmap
}

/// The outlines of all balloons in the order they are written, tails included, in dots of the strip.
fn outlines(layout: &Layout) -> Vec<Vec<[f64; 2]>> {
    let mut found = Vec::new();
    for placed in &layout.placed {
        for mark in &placed.galley.chunks[placed.chunk].marks {
            // Strokes of a line are black, and have few points.
            if let Mark::Polygon { points, black: false } = mark
                && points.len() > 8
            {
                let at = |p: &[i32; 2]| {
                    [f64::from(p[0]) / 16.0 + f64::from(placed.x.0), f64::from(p[1]) / 16.0 + f64::from(placed.y.0)]
                };
                found.push(points.iter().map(at).collect());
            }
        }
    }
    found
}

/// Even-odd rule.
fn holds(outline: &[[f64; 2]], at: [f64; 2]) -> bool {
    let mut inside = false;
    for (n, p) in outline.iter().enumerate() {
        let q = outline[(n + 1) % outline.len()];
        if (p[1] > at[1]) != (q[1] > at[1]) {
            inside ^= at[0] < p[0] + (q[0] - p[0]) * (at[1] - p[1]) / (q[1] - p[1]);
        }
    }
    inside
}

/// Dots, as a sheet the size of the strip; and how many there are above and to the left of each corner.
struct Dots {
    width: i32,
    height: i32,
    on: Vec<bool>,
    sums: Vec<u32>,
}

impl Dots {
    fn new(width: i32, height: i32, is_on: impl Fn([i32; 2]) -> bool) -> Dots {
        let on: Vec<bool> = (0..height).flat_map(|y| (0..width).map(move |x| [x, y])).map(is_on).collect();
        let across = width as usize + 1;
        let mut sums = vec![0u32; across * (height as usize + 1)];
        for y in 0..height as usize {
            let mut along = 0;
            for x in 0..width as usize {
                along += u32::from(on[y * width as usize + x]);
                sums[(y + 1) * across + x + 1] = sums[y * across + x + 1] + along;
            }
        }
        Dots { width, height, on, sums }
    }

    fn has(&self, [x, y]: [i32; 2]) -> bool {
        (0..self.width).contains(&x) && (0..self.height).contains(&y) && self.on[(y * self.width + x) as usize]
    }

    fn all(&self) -> impl Iterator<Item = [i32; 2]> + '_ {
        (0..self.on.len()).filter(|&at| self.on[at]).map(|at| [at as i32 % self.width, at as i32 / self.width])
    }

    /// In a rectangle, its edges included.
    fn count(&self, from: [i32; 2], to: [i32; 2]) -> u32 {
        let [left, right] = [from[0], to[0] + 1].map(|x| x.clamp(0, self.width) as usize);
        let [top, bottom] = [from[1], to[1] + 1].map(|y| y.clamp(0, self.height) as usize);
        let at = |x: usize, y: usize| self.sums[y * (self.width as usize + 1) + x];
        at(right, bottom) + at(left, top) - at(left, bottom) - at(right, top)
    }
}

/// A balloon with all that is drawn of it.
struct Seen {
    outline: Vec<[f64; 2]>,
    /// Of the balloon without its tail: left, top, right, bottom.
    body: [i32; 4],
    /// Dots of its outline and its line, tail included.
    dots: Dots,
    speaker: [i32; 2],
}

fn seen(outline: Vec<[f64; 2]>, placed: &PlacedBox, speaker: [i32; 2], strip: [i32; 2]) -> Seen {
    let body = [placed.x.0, placed.y.0, placed.x.0 + placed.width.0, placed.y.0 + placed.height.0];
    let mut dots = HashSet::new();
    for (n, p) in outline.iter().enumerate() {
        // The line is three dots thick.
        let q = outline[(n + 1) % outline.len()];
        let steps = ((q[0] - p[0]).hypot(q[1] - p[1]) * 3.0) as i32 + 1;
        for step in 0..=steps {
            let at = [0, 1].map(|axis| p[axis] + (q[axis] - p[axis]) * f64::from(step) / f64::from(steps));
            for y in (at[1] - 2.0).floor() as i32..=(at[1] + 2.0) as i32 {
                for x in (at[0] - 2.0).floor() as i32..=(at[0] + 2.0) as i32 {
                    if (f64::from(x) + 0.5 - at[0]).hypot(f64::from(y) + 0.5 - at[1]) <= 1.5 {
                        dots.insert([x, y]);
                    }
                }
            }
        }
    }
    let least = [0, 1].map(|axis| dots.iter().map(|dot| dot[axis]).min().unwrap_or(0));
    let most = [0, 1].map(|axis| dots.iter().map(|dot| dot[axis]).max().unwrap_or(0));
    let within = |at: [i32; 2]| (0..2).all(|axis| (least[axis]..=most[axis]).contains(&at[axis]));
    let covers = |at: [i32; 2]| dots.contains(&at) || holds(&outline, [f64::from(at[0]) + 0.5, f64::from(at[1]) + 0.5]);
    let dots = Dots::new(strip[0], strip[1], |at| within(at) && covers(at));
    Seen { outline, body, dots, speaker }
}

fn is_near(a: [i32; 2], b: [i32; 2], dots: f64) -> bool {
    f64::from(a[0] - b[0]).hypot(f64::from(a[1] - b[1])) < dots
}

/// Dots of the drawing that stand under what is drawn of a balloon, or nearer to it than the white that is kept.
fn touched(ink: &Dots, dots: &Dots) -> usize {
    let steps: Vec<[i32; 2]> = (-CLEAR..=CLEAR)
        .flat_map(|dy| (-CLEAR..=CLEAR).map(move |dx| [dx, dy]))
        .filter(|step| is_near(*step, [0, 0], f64::from(CLEAR)))
        .collect();
    let near = |p: &[i32; 2]| {
        let around = [p.map(|side| side - CLEAR), p.map(|side| side + CLEAR)];
        dots.count(around[0], around[1]) > 0 && steps.iter().any(|[dx, dy]| dots.has([p[0] + dx, p[1] + dy]))
    };
    ink.all().filter(near).count()
}

/// Whether a rectangle so large could stand somewhere on the stage with white around it, off the drawing, off the other balloons and
/// their tails, where it is read in order, and with a tail that has room: looked for apart from the program, and more strictly.
fn has_free_place(all: &[Seen], n: usize, ink: &Dots, stage: [i32; 4], wanted: Option<([i32; 2], i32)>, figure: i32) -> bool {
    let [left, top, right, bottom] = all[n].body;
    let (a, b) = ((right - left + 1) / 2 + CLEAR + 7, (bottom - top + 1) / 2 + CLEAR + 7);
    let boxed = |seen: &Seen, [x, y]: [i32; 2]| {
        let [left, top, right, bottom] = seen.body;
        (left..right).contains(&x) && (top..bottom).contains(&y)
    };
    let taken = |at: [i32; 2]| all.iter().enumerate().any(|(m, seen)| m != n && (boxed(seen, at) || seen.dots.has(at)));
    let others = Dots::new(ink.width, ink.height, taken);
    let clean = |from: [i32; 2], to: [i32; 2], dots: &Dots| dots.count(from, to) == 0;
    let speaker = all[n].speaker;
    for y in (stage[1] + b..=stage[3] - b).step_by(6) {
        for x in (stage[0] + a..=stage[2] - a).step_by(6) {
            if wanted.is_some_and(|(at, most)| !is_near(at, [x, y], f64::from(most))) {
                continue;
            }
            let read_later = all[..n].iter().all(|before| y + b - CLEAR - 7 >= (before.body[1] + before.body[3]) / 2 + 2);
            let speakers = all.iter().all(|seen| (seen.speaker[0] - x).abs() > a + 8 || (seen.speaker[1] - y).abs() > b + 8);
            if !read_later
                || !speakers
                || !clean([x - a, y - b], [x + a, y + b], ink)
                || !clean([x - a, y - b], [x + a, y + b], &others)
            {
                continue;
            }
            // A broad way to who speaks.
            let long = f64::from(speaker[0] - x).hypot(f64::from(speaker[1] - y));
            let wide = 20 + (long * 0.09) as i32;
            let steps = (long / 6.0) as i32 + 1;
            let way = |step: i32| [x + (speaker[0] - x) * step / steps, y + (speaker[1] - y) * step / steps];
            let free = (0..=steps).map(way).all(|at| {
                let by_drawing = wanted.is_none()
                    || is_near(at, speaker, f64::from(figure - wide))
                    || clean(at.map(|side| side - wide), at.map(|side| side + wide), ink);
                by_drawing && clean(at.map(|side| side - wide), at.map(|side| side + wide), &others)
            });
            if free {
                return true;
            }
        }
    }
    false
}

fn check(case: &Case) -> Result<(), TestCaseError> {
    let made = made(case);
    let resolution = made.layout.resolution;
    let boxes = made.layout.boxes();
    let of = |kind: &str| boxes.iter().filter(|placed| placed.kind == kind).collect::<Vec<_>>();
    let balloons = of("balloon");
    prop_assert_eq!(balloons.len(), case.said.len());
    // Where tails run under balloons these are painted again within their lines: the outlines come first.
    let mut shapes = outlines(&made.layout);
    prop_assert!(shapes.len() == balloons.len() || shapes.len() == balloons.len() * 2);
    shapes.truncate(balloons.len());
    let size = [made.layout.width.0, made.layout.height.0];
    let panel = of("panel")[0];
    let frame = 3;
    let stage = [panel.x.0 + frame, panel.y.0 + frame, panel.x.0 + panel.width.0 - frame, panel.y.0 + panel.height.0 - frame];
    let picture = of("picture").first().map(|picture| [picture.x.0, picture.y.0, picture.width.0, picture.height.0]);

    // Letters: every dot inside its outline, and neither on nor beside a black dot of anything else.
    let letters = painted(&made.layout, resolution, |mark| matches!(mark, Mark::Text { .. }));
    let drawn = painted(&made.layout, resolution, |mark| !matches!(mark, Mark::Text { .. }));
    // The strip as it is told to a printer may have moved a dot: see `printer::as_told`.
    let whole = painted(&made.layout, resolution, |_| true);
    let mut counted = 0;
    for y in 0..letters.height() as i32 {
        for x in (0..letters.width() as i32).filter(|&x| letters.get(x, y)) {
            counted += 1;
            prop_assert!(whole.get(x, y), "a dot of lettering is not on the strip");
            let at = [f64::from(x) + 0.5, f64::from(y) + 0.5];
            prop_assert!(shapes.iter().any(|shape| holds(shape, at)), "lettering at {x}, {y} is outside of every outline");
            let beside = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)];
            prop_assert!(!beside.iter().any(|(dx, dy)| drawn.get(x + dx, y + dy)), "lettering at {x}, {y} touches a line");
        }
    }
    prop_assert!(counted > 40, "{counted} dots of lettering");

    // Words: whole, or parted with a hyphen.
    prop_assert!(!made.remarks().any(|remark| remark.rule == "broken-word"), "torn");
    for (said, balloon) in case.said.iter().zip(&balloons) {
        let within = |line: &&&PlacedBox| {
            line.y >= balloon.y
                && line.y + line.height <= balloon.y + balloon.height
                && line.x >= balloon.x
                && line.x + line.width <= balloon.x + balloon.width
        };
        let lines: Vec<String> = of("line").iter().filter(within).map(|line| line.text.trim().to_string()).collect();
        prop_assert!(!lines.is_empty());
        let whole: String = lines.iter().map(|line| line.strip_suffix('-').map_or(format!("{line} "), str::to_string)).collect();
        prop_assert_eq!(whole.trim(), said.text, "{:?}", lines);
    }

    // Outlines and tails, apart from each other and from the drawing.
    let on_stage = |at: [i32; 2]| match picture {
        Some([x, y, width, height]) => [x + at[0] * width / 100, y + at[1] * height / 100],
        None => {
            let [left, _, right, bottom] = stage;
            // The stage of a panel without a picture is three fifths as high as wide, or what was asked; it stands at the foot.
            let asked = case
                .height
                .map(|mm| i32::from(mm) * 10_000 / (25_400_000 / resolution.type_dots(stripling::units::Pt::new(72.0)).0.max(1)));
            let high = asked.map_or((right - left) * 3 / 5, |high| high - frame * 2);
            [left + at[0] * (right - left) / 100, bottom - high + at[1] * high / 100]
        }
    };
    let all: Vec<Seen> = shapes
        .into_iter()
        .zip(&balloons)
        .zip(&case.said)
        .map(|((shape, placed), said)| seen(shape, placed, on_stage(said.tail), size))
        .collect();
    let crowded = made.remarks().any(|remark| remark.rule == "balloons-crowded");
    for (n, one) in all.iter().enumerate() {
        prop_assert!(one.outline.len() > 8);
        for other in &all[n + 1..] {
            // Tails to one mouth meet there.
            let mouth = is_near(one.speaker, other.speaker, 31.0);
            let away = |dot: [i32; 2]| !(mouth && (is_near(dot, one.speaker, 36.0) || is_near(dot, other.speaker, 36.0)));
            let theirs = Dots::new(size[0], size[1], |dot| away(dot) && other.dots.has(dot));
            let mine = Dots::new(size[0], size[1], |dot| away(dot) && one.dots.has(dot));
            prop_assert!(crowded || touched(&theirs, &mine) == 0, "two balloons or their tails are nearer than {CLEAR} dots");
        }
    }
    if picture.is_none() {
        return Ok(());
    }
    let shown = painted(&made.layout, resolution, |mark| matches!(mark, Mark::Picture { .. }));
    let ink = Dots::new(size[0], size[1], |[x, y]| shown.get(x, y));
    prop_assert!(ink.all().count() > 200, "the drawing is there");
    for (n, one) in all.iter().enumerate() {
        let told =
            made.remarks().any(|remark| remark.rule == "balloon-over-drawing" && remark.message.contains(case.said[n].text));
        let [left, top, right, bottom] = one.body;
        // The corners of its box are the tail's, not the balloon's.
        let in_body = |[x, y]: [i32; 2]| {
            let part = |at: i32, from: i32, to: i32| (f64::from(at * 2 + 1 - from - to) / f64::from(to - from)).abs().powf(2.5);
            part(x, left, right) + part(y, top, bottom) <= 1.0
        };
        let body = Dots::new(size[0], size[1], |dot| in_body(dot) && one.dots.has(dot));
        let figure = (stage[2] - stage[0]) / 5;
        // A tail counts where it has left the balloon and not yet come to who speaks.
        let on_its_way = |dot: [i32; 2]| !in_body(dot) && !is_near(dot, one.speaker, f64::from(figure + 24));
        let tail = Dots::new(size[0], size[1], |dot| on_its_way(dot) && one.dots.has(dot));
        let (on_body, on_tail) = (touched(&ink, &body), touched(&ink, &tail));
        prop_assert!(told || on_body <= DUST, "{on_body} dots of the drawing are at the balloon {n}, and nothing says so");
        prop_assert!(told || on_tail <= DUST, "{on_tail} dots of the drawing are at the tail {n}, and nothing says so");
        if on_body > DUST {
            prop_assert!(
                !has_free_place(&all, n, &ink, stage, None, figure),
                "balloon {n} hides {on_body} dots though there is a free place"
            );
        }
        if on_tail > DUST && on_body <= DUST {
            let wanted = Some((on_stage(case.said[n].at), (stage[2] - stage[0]) / 3));
            prop_assert!(
                !has_free_place(&all, n, &ink, stage, wanted, figure),
                "the tail of {n} runs over {on_tail} dots though there is a free way"
            );
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: std::env::var("STRIPLING_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(24),
        failure_persistence: None,
        max_shrink_iters: 12,
        ..ProptestConfig::default()
    })]

    #[test]
    fn lettering_is_inside_and_outlines_and_tails_are_clear(case in case()) {
        check(&case)?;
    }
}
