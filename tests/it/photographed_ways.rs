//! Photographs of ways strips as every pretend printer prints them: what `makeready --photo` says of each number must be true, or it must
//! say that it is not sure.
//!
//! The truth is what came out of the pretend printer, dot by dot, compared with the picture on the screen; the photographs come from the
//! renderer of `photographed.rs`, with fingers, shadows and reflections besides.

use std::collections::BTreeMap;
use std::fs;
use std::sync::{LazyLock, Mutex};
use std::time::Duration;

use rayon::prelude::*;
use stripling::bitmap::{Bitmap, Ink as Paint};
use stripling::makeready::answers::Answers;
use stripling::makeready::photograph::trials::{self, Doubt, Fault, Verdict};
use stripling::makeready::photograph::{Picture, Refusal, sheet::Sheet};
use stripling::makeready::ways;
use stripling::printer::Profile;
use stripling::printer::pretend::{FAULTS, Pretend};

use crate::makeready::{program, row_of};
use crate::photographed::{Dice, Ink, Truth, Veil, photographed};

/// What a pretend printer printed.
struct Printed {
    fault: &'static str,
    paper: Bitmap,
    /// Numbers that came out right.
    right: Vec<u32>,
}

fn base(fault: &str) -> Profile {
    Profile::named(if fault == "dots-420" { "58mm" } else { "80mm" }).expect("built in")
}

/// Every pretend printer's strip; what is no printer prints none.
static STRIPS: LazyLock<Vec<Printed>> = LazyLock::new(|| {
    let faults: Vec<&str> = FAULTS.iter().map(|(name, _)| *name).filter(|name| !["echo", "flood"].contains(name)).collect();
    // They wait more than they work: all at once.
    std::thread::scope(|scope| {
        let all: Vec<_> = faults.into_iter().map(|fault| scope.spawn(move || printed(fault))).collect();
        all.into_iter().map(|one| one.join().expect("printed")).collect()
    })
});

fn printed(fault: &'static str) -> Printed {
    let base = base(fault);
    let (trials, [head, foot]) = (ways::trials(&base), ways::frames(&base));
    let mut pretend = Pretend::new(fault).expect("known");
    let pictures = trials.iter().flat_map(|trial| trial.chunks.clone());
    for chunk in head.chunks.into_iter().chain(pictures).chain(foot.chunks) {
        pretend.take(&chunk);
        // As `makeready` waits after each.
        std::thread::sleep(Duration::from_millis(12));
    }
    pretend.take(&[0x0A; 8]);
    let pieces = pretend.paper();
    let mut paper = Bitmap::new(pieces[0].width(), pieces.iter().map(Bitmap::height).sum());
    let mut y = 0;
    for piece in &pieces {
        paper.put(piece, 0, y, Paint::Black);
        y += piece.height() as i32;
    }
    let right = trials.iter().filter(|trial| row_of(&paper, &trial.picture).is_some()).map(|trial| trial.number).collect();
    Printed { fault, paper, right }
}

/// A photograph of a whole strip or a part of it, and which printer's.
fn random(seed: u64) -> (usize, Truth) {
    let mut dice = Dice(seed.wrapping_mul(104_729) + 5);
    let strip = (dice.next() * STRIPS.len() as f64) as usize;
    let truth = Truth::random(seed + 1_000_000);
    let length = f64::from(STRIPS[strip].paper.height()) * truth.pitch[1];
    let part = dice.next() < 0.6;
    let fills = if part { dice.between(1.2, 3.5) } else { dice.between(0.75, 0.97) };
    let looks = if part { dice.between(-0.5, 0.5) * length } else { 0.0 };
    let mut veils = Vec::new();
    let at = |dice: &mut Dice| [dice.between(-0.4, 0.4), dice.between(-0.4, 0.4)];
    if dice.next() < 0.3 {
        veils.push(Veil::Finger { at: at(&mut dice), radius: dice.between(0.01, 0.08) });
    }
    if dice.next() < 0.25 {
        let (angle, away) = (dice.between(0.0, 6.3), dice.between(-0.3, 0.3));
        veils.push(Veil::Shadow { angle, away, left: dice.between(0.3, 0.8) });
    }
    if dice.next() < 0.2 {
        veils.push(Veil::Glare { at: at(&mut dice), radius: dice.between(0.02, 0.15), light: dice.between(0.1, 0.6) });
    }
    // Long paper curls as high as short paper does, and so less sharply.
    let curl = truth.curl * (length / 130.0).max(1.0);
    let pixels = [2048, 3264, 4000, 4000][(dice.next() * 4.0) as usize];
    let dead = truth.dead.into_iter().filter(|_| dice.next() < 0.3).collect();
    (strip, Truth { fills, looks, touches: looks, veils, curl, pixels, dead, weak: Vec::new(), ..truth })
}

#[derive(Debug, Default)]
struct Score {
    refused: Option<String>,
    known: usize,
    /// Not sure, for it is in no photograph, and though it is in one.
    unseen: usize,
    doubted: usize,
    worst: f64,
    missing: usize,
    wrong: Vec<String>,
}

fn judged(seed: u64) -> Score {
    let (strip, truth) = random(seed);
    let strip = &STRIPS[strip];
    let jpeg = photographed(&Ink::printed(&strip.paper, &truth), &truth);
    if let Ok(folder) = std::env::var("STRIPLING_KEEP_PHOTOGRAPHS") {
        fs::write(format!("{folder}/ways-{seed}-{}.jpg", strip.fault), &jpeg).expect("kept");
    }
    let base = base(strip.fault);
    let (all, frames) = (ways::trials(&base), ways::frames(&base));
    let began = std::time::Instant::now();
    let picture = Picture::read(&jpeg);
    assert!(picture.is_ok());
    let read = trials::read(&[picture], &all, &frames);
    let tells = std::env::var("STRIPLING_TELL").is_ok();
    let (seen, verdicts) = match read {
        Ok(read) => read,
        Err(refusal) => return Score { refused: Some(refusal.to_string()), ..Score::default() },
    };
    if tells {
        println!("{seed} {}: read in {:?}, right are {:?}", strip.fault, began.elapsed(), strip.right);
        match &seen[0] {
            Ok(_) => trials::told(&verdicts, &all).iter().for_each(|line| println!("  {line}")),
            Err(refusal) => println!("  {refusal}"),
        }
    }
    let mut score = Score { refused: seen[0].as_ref().err().map(Refusal::to_string), ..Score::default() };
    if score.refused.is_some() {
        assert!(verdicts.values().all(|verdict| *verdict == Verdict::Unsure(Doubt::Unseen)));
        return score;
    }
    for (number, verdict) in &verdicts {
        let is = strip.right.contains(number);
        match verdict {
            Verdict::Right { worst } if is => {
                score.known += 1;
                score.worst = score.worst.max(*worst);
            }
            Verdict::Wrong(fault) if !is => {
                score.known += 1;
                score.missing += usize::from(*fault == Fault::Missing);
            }
            Verdict::Unsure(Doubt::Unseen) => score.unseen += 1,
            Verdict::Unsure(_) => score.doubted += 1,
            _ => score.wrong.push(format!("{number}: {verdict:?}")),
        }
    }
    score
}

fn play(seeds: std::ops::Range<u64>) {
    // Before workers want them: one that waits for them would be missed by those that make them.
    LazyLock::force(&STRIPS);
    let count = (seeds.end - seeds.start) as usize;
    let all: Mutex<BTreeMap<u64, Score>> = Mutex::default();
    seeds.into_par_iter().for_each(|seed| {
        let score = judged(seed);
        all.lock().expect("no one panicked").insert(seed, score);
    });
    let all = all.into_inner().expect("no one panicked");
    let mut refusals: BTreeMap<String, usize> = BTreeMap::new();
    for words in all.values().filter_map(|score| score.refused.as_ref()) {
        *refusals.entry(words.split(',').next().unwrap_or_default().chars().take(40).collect()).or_default() += 1;
    }
    let sum = |part: fn(&Score) -> usize| all.values().map(part).sum::<usize>();
    let worst = all.values().map(|score| score.worst).fold(0.0, f64::max);
    println!(
        "{count} photographs: {} numbers told, {} of them missing pictures, {} in none, {} not sure; the worst of the right ones off by {worst:.3}; refused {refusals:?}",
        sum(|score| score.known),
        sum(|score| score.missing),
        sum(|score| score.unseen),
        sum(|score| score.doubted)
    );
    let wrong: Vec<String> = all
        .iter()
        .filter(|(_, score)| !score.wrong.is_empty())
        .map(|(seed, score)| {
            let (strip, truth) = random(*seed);
            format!("{seed}: {:?}, {}, {truth:?}", score.wrong, STRIPS[strip].fault)
        })
        .collect();
    assert!(wrong.is_empty(), "confident and wrong:\n{}", wrong.join("\n"));
    // To be unsure of everything is no reading: of what is in a photograph most is told.
    assert!(sum(|score| score.known) > sum(|score| score.doubted), "too little was told");
}

/// Few; the rest is played by `tests/run`, and more by `STRIPLING_PHOTOGRAPHS=200`, in parts by `STRIPLING_FIRST`.
#[test]
fn ways_are_told_from_photographs_or_left_a_question() {
    play(0..2);
}

#[test]
#[ignore = "takes minutes: tests/run"]
fn ways_are_told_from_photographs_with_random_truths_or_left_a_question() {
    let number = |name: &str| std::env::var(name).ok().and_then(|number| number.parse::<u64>().ok());
    match number("STRIPLING_SEED") {
        Some(seed) => {
            let score = judged(seed);
            assert!(score.wrong.is_empty(), "{score:?}");
        }
        None => {
            let first = number("STRIPLING_FIRST").unwrap_or(0);
            play(first..first + number("STRIPLING_PHOTOGRAPHS").unwrap_or(6));
        }
    }
}

/// Held straight, in even light, in two overlapping halves.
fn fair(strip: &Printed) -> Vec<Vec<u8>> {
    let truth = Truth::random(7);
    let length = f64::from(strip.paper.height()) * 0.125;
    let fair = |looks: f64| Truth {
        pixels: 2400,
        radius: 0.6,
        dead: Vec::new(),
        weak: Vec::new(),
        pitch: [0.125, 0.125],
        tilt: [0.06, -0.05],
        roll: 0.03,
        focal: 0.8,
        fills: 1.6 * (length / 340.0).max(1.0),
        looks,
        curl: 4000.0,
        touches: 0.0,
        blur: 0.7,
        exposure: 0.7,
        table: 0.15,
        ..truth.clone()
    };
    let parts = (length / 170.0).ceil() as i32;
    let ink = Ink::printed(&strip.paper, &fair(0.0));
    let middle = |part: i32| (f64::from(part) + 0.5) / f64::from(parts) * length - length / 2.0;
    (0..parts).map(|part| photographed(&ink, &fair(middle(part)))).collect()
}

/// A pretend printer's strip in good photographs; more of them are played by `tests/run`.
#[test]
fn good_photographs_tell_every_number() {
    well_told(&|fault| fault == "half-units");
}

#[test]
#[ignore = "takes minutes: tests/run"]
fn good_photographs_tell_every_number_of_pretend_printers_that_differ_most() {
    // `STRIPLING_PHOTOGRAPHS` plays those of every one.
    let all = std::env::var("STRIPLING_PHOTOGRAPHS").is_ok();
    let most = ["only-columns", "lowest-first", "small-buffer"];
    well_told(&|fault| all || most.contains(&fault));
}

/// Nothing is told wrong, and of most numbers something is told: fewest where dots come out scrambled, for then a picture differs little.
fn well_told(wanted: &(dyn Fn(&str) -> bool + Sync)) {
    STRIPS.par_iter().filter(|strip| wanted(strip.fault)).for_each(|strip| {
        let base = base(strip.fault);
        let (all, frames) = (ways::trials(&base), ways::frames(&base));
        let pictures: Vec<_> = fair(strip).iter().map(|jpeg| Picture::read(jpeg)).collect();
        assert!(pictures.iter().flatten().all(trials::shows_ways), "{}", strip.fault);
        let (seen, verdicts) = trials::read(&pictures, &all, &frames).expect("paper");
        let told = trials::told(&verdicts, &all).join("\n");
        assert!(
            seen.iter().all(Result::is_ok),
            "{}: {:?}",
            strip.fault,
            seen.iter().filter_map(|seen| seen.as_ref().err()).next()
        );
        let (right, unsure) = (trials::numbers(&verdicts, true), trials::numbers(&verdicts, false));
        assert!(right.iter().all(|number| strip.right.contains(number)), "{}:\n{told}", strip.fault);
        assert!(strip.right.iter().all(|number| right.contains(number) || unsure.contains(number)), "{}:\n{told}", strip.fault);
        println!("{}: right {right:?}, not sure {unsure:?}", strip.fault);
        assert!(unsure.len() <= 6, "{}: {unsure:?}\n{told}", strip.fault);
    });
}

/// As a screen or a scanner shows dots: two pixels a dot, light paper.
fn flat(bitmap: &Bitmap) -> Vec<u8> {
    let at = |x: u32, y: u32| if bitmap.get((x / 2) as i32 - 30, (y / 2) as i32 - 30) { 40 } else { 230 };
    let picture = image::GrayImage::from_fn(bitmap.width() * 2 + 120, bitmap.height() * 2 + 120, |x, y| image::Luma([at(x, y)]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).expect("a PNG");
    bytes.into_inner()
}

fn sound() -> &'static Printed {
    STRIPS.iter().find(|strip| strip.fault == "sound").expect("printed")
}

#[test]
fn what_is_no_photograph_of_one_ways_strip_is_refused_in_words() {
    let base = base("sound");
    let (all, frames) = (ways::trials(&base), ways::frames(&base));
    let read = |bytes: &[u8]| trials::read(&[Picture::read(bytes)], &all, &frames);
    let refused = |bytes: &[u8]| match read(bytes) {
        Ok((seen, _)) => seen[0].as_ref().err().map(Refusal::to_string).expect("refused"),
        Err(refusal) => refusal.to_string(),
    };
    // The picture on the screen shows what no printer prints, and is no strip.
    assert!(refused(&flat(&ways::sheet(&all))).contains("the picture on the screen, not paper"));
    assert!(refused(b"no picture").contains("JPEG or PNG"));
    assert!(refused(&flat(&Bitmap::new(576, 600))).contains("were found, and two are needed"));
    // Two strips side by side, and this one beside the one with the squares.
    let (one, squares) = (&sound().paper, Sheet::of(&base).expect("wide enough").bitmap);
    let beside = |other: &Bitmap| {
        let mut both = Bitmap::new(one.width() * 2 + 40, one.height());
        both.put(one, 0, 0, Paint::Black);
        both.put(other, one.width() as i32 + 40, 0, Paint::Black);
        flat(&both)
    };
    assert!(refused(&beside(one)).contains("one strip alone"));
    assert!(refused(&beside(&squares)).contains("squares of two strips"));
    // The lower half put above the upper one.
    let half = one.height() as i32 / 2;
    let mut turned = Bitmap::new(one.width(), one.height() + 100);
    turned.put(&one.part(0, half, one.width(), one.height() - half as u32), 0, 0, Paint::Black);
    turned.put(&one.part(0, 0, one.width(), half as u32), 0, one.height() as i32 - half + 100, Paint::Black);
    assert!(refused(&flat(&turned)).contains("do not stand in their order"));
    // Of another strip nothing is said as of this one.
    assert!(!trials::shows_ways(&Picture::read(&flat(&squares)).expect("a picture")));
    assert!(trials::shows_ways(&Picture::read(&flat(one)).expect("a picture")));
    // The strip itself, as a scanner sees it, tells all.
    let (_, verdicts) = read(&flat(one)).expect("paper");
    assert_eq!((trials::numbers(&verdicts, true), trials::numbers(&verdicts, false)), (sound().right.clone(), vec![]));
}

/// One dot row too many, a letter in a picture, a picture that lies under a blot: nothing of it is called right.
#[test]
fn what_differs_a_little_is_not_right() {
    let base = base("sound");
    let (all, frames) = (ways::trials(&base), ways::frames(&base));
    let at = |number: usize| row_of(&sound().paper, &all[number - 1].picture).expect("on paper") as i32;
    let told = |spoil: &dyn Fn(&mut Bitmap)| {
        let mut paper = sound().paper.clone();
        spoil(&mut paper);
        trials::read(&[Picture::read(&flat(&paper))], &all, &frames).expect("paper").1
    };
    let right = |verdicts: &trials::Verdicts, number: u32| matches!(verdicts[&number], Verdict::Right { .. });
    // A letter of 12 by 24 dots, strokes of two (as heads of eight dots to the mm print; common practice).
    let letter = told(&|paper| {
        for (x, y, wide, high) in [(150, 4, 2, 20), (158, 4, 2, 20), (150, 4, 10, 2), (150, 13, 10, 2)] {
            paper.fill(x, at(2) + y, wide, high, true);
        }
    });
    assert!(!right(&letter, 2) && right(&letter, 1) && right(&letter, 3), "{letter:?}");
    // A white line of three rows through all of it, as a feed between bands makes it.
    let seam = told(&|paper| {
        let below = paper.part(0, at(3) + 24, paper.width(), paper.height() - at(3) as u32 - 24);
        let blank = Bitmap::new(paper.width(), 3);
        paper.put(&blank, 0, at(3) + 24, Paint::Replace);
        paper.put(&below, 0, at(3) + 27, Paint::Replace);
    });
    assert!(!right(&seam, 3) && right(&seam, 2) && right(&seam, 4), "{seam:?}");
    // The rows of 11 that go as slices are not there.
    let sliced = told(&|paper| paper.fill(0, at(11) + 56, 300, 8, false));
    assert!(matches!(sliced[&11], Verdict::Wrong(Fault::Differs(_))) && right(&sliced, 10), "{sliced:?}");
    // Its saw is not there.
    let toothless = told(&|paper| paper.fill(56 + 112, at(2), 16, 48, false));
    assert!(matches!(toothless[&2], Verdict::Wrong(Fault::Differs(_))), "{toothless:?}");
}

/// The program itself: photographs fill the file, and what they could not tell is asked.
#[test]
fn photographs_of_ways_fill_the_file_and_leave_the_rest_a_question() {
    let strip = STRIPS.iter().find(|strip| strip.fault == "no-esc-dollar").expect("printed");
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let jpegs = fair(strip);
    for (number, jpeg) in jpegs.iter().enumerate() {
        fs::write(here.join(format!("{number}.jpg")), jpeg).expect("written");
    }
    assert_eq!(jpegs.len(), 3, "three parts");
    fs::write(here.join("a.toml"), "paper = 80\n").expect("written");
    let (code, said) = program(here, &["makeready", "--answers", "a.toml", "--photo", "0.jpg"], None);
    assert_eq!(code, 0, "{said}");
    assert!(
        said.contains(" 1 (GS v 0, all rows at full width): right") && said.contains("17 (") && said.contains("not sure"),
        "{said}"
    );
    let kept = || Answers::read(&fs::read_to_string(here.join("bench.answers.toml")).expect("kept"), "kept").expect("answers").0;
    let half = kept();
    let unsure = half.unsure.clone();
    assert!(unsure.contains(&17) && !unsure.contains(&1), "{said}");
    assert!(here.join("bench.photo-1.png").exists());
    let file = || fs::read_to_string(here.join("bench.toml")).expect("written");
    assert!(file().contains("# seen in the photograph: 1 came out right") && file().contains("Still open: right"), "{}", file());
    // The others tell the rest.
    let (code, said) = program(here, &["makeready", "--answers", "a.toml", "--photo", "1.jpg", "2.jpg"], None);
    assert_eq!(code, 0, "{said}");
    assert_eq!((kept().right.as_deref(), kept().unsure), (Some(&strip.right[..]), vec![]), "{said}");
    assert!(!file().contains("Still open: right") && file().contains("thrift = \"bands\""), "{}", file());
    // A person answers the rest instead; what is said is by whom it is known.
    for name in ["bench.answers.toml", "bench.toml"] {
        fs::remove_file(here.join(name)).expect("there");
    }
    let rest: Vec<String> = strip.right.iter().filter(|number| unsure.contains(number)).map(u32::to_string).collect();
    let typed = format!("80\n0.jpg\n{}\nq\n", rest.join(" "));
    let (code, said) = program(here, &["makeready", "--to", "rehearse:out?fault=no-esc-dollar"], Some(&typed));
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("The photograph could not tell these"), "{said}");
    assert_eq!(kept().right.as_deref(), Some(&strip.right[..]), "{said}");
    assert!(file().contains("# seen in the photograph and by you"), "{}", file());
    // Nothing that is no strip changes anything.
    let before = file();
    fs::write(here.join("grey.png"), flat(&Bitmap::new(300, 300))).expect("written");
    let (code, said) = program(here, &["makeready", "--photo", "grey.png"], None);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(code == 3 && words.contains("squares were found") && words.contains("no photograph could be read"), "{said}");
    assert_eq!(file(), before);
}

/// The same of photographs that another program rendered: Pillow, NumPy and scikit-image.
#[test]
#[ignore = "needs Pillow, NumPy and scikit-image: tests/run"]
fn ways_in_photographs_rendered_by_another_program_are_told() {
    let script = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/photographs/squares.py");
    for (fault, seed) in [("half-units", "3"), ("mirrored", "4")] {
        let strip = STRIPS.iter().find(|strip| strip.fault == fault).expect("printed");
        let folder = tempfile::tempdir().expect("a folder");
        let png = stripling::strip::png::write(&strip.paper, stripling::lengths::Resolution::EIGHT);
        fs::write(folder.path().join("ways.png"), png).expect("written");
        let mut python = std::process::Command::new("python3");
        let made = python.arg(&script).args(["ways.png", "strip.jpg", seed, "plain"]).current_dir(folder.path()).output();
        let made = made.expect("python3");
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let base = base(fault);
        let (all, frames) = (ways::trials(&base), ways::frames(&base));
        let jpeg = fs::read(folder.path().join("strip.jpg")).expect("a photograph");
        let (seen, verdicts) = trials::read(&[Picture::read(&jpeg)], &all, &frames).expect("paper");
        let told = trials::told(&verdicts, &all).join("\n");
        assert!(seen[0].is_ok(), "{fault}: {:?}", seen[0].as_ref().err());
        let (right, unsure) = (trials::numbers(&verdicts, true), trials::numbers(&verdicts, false));
        println!("{fault}: right {right:?}, not sure {unsure:?}");
        assert!(right.iter().all(|number| strip.right.contains(number)), "{fault}: {told}");
        assert!(strip.right.iter().all(|number| right.contains(number) || unsure.contains(number)), "{fault}: {told}");
        assert!(unsure.len() <= 3, "{fault}: {told}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(24))]

    /// Any blots and any pieces cut out of a strip: where a hundred dots are other than they should be, nothing is called right.
    #[test]
    fn nothing_that_a_blot_covers_is_called_right(x in 60i32..240, y in 0i32..30, wide in 12i32..60, high in 12i32..40, number in 1usize..4, ink: bool) {
        let base = base("sound");
        let (all, frames) = (ways::trials(&base), ways::frames(&base));
        let foot = row_of(&sound().paper, &all[3].picture).expect("on paper");
        let whole = sound().paper.part(0, 0, 320, foot);
        let mut paper = whole.clone();
        let top = row_of(&paper, &all[number - 1].picture).expect("on paper") as i32;
        paper.fill(x, top + y, wide, high.min(48 - y), ink);
        // What lies within a dot of ink may be ink that spread.
        let near = |x: i32, y: i32| (0..9).any(|at| whole.get(x + at % 3 - 1, y + at / 3 - 1));
        let changed = (0..whole.height() as i32)
            .flat_map(|y| (0..320).map(move |x| (x, y)))
            .filter(|&(x, y)| if ink { paper.get(x, y) && !near(x, y) } else { paper.get(x, y) != whole.get(x, y) })
            .count();
        let (_, verdicts) = trials::read(&[Picture::read(&flat(&paper))], &all, &frames).expect("paper");
        if changed > 100 {
            let called_right = matches!(verdicts[&(number as u32)], Verdict::Right { .. });
            proptest::prop_assert!(!called_right, "{changed} dots: {:?}", verdicts[&(number as u32)]);
        }
    }
}
