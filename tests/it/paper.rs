//! Proof = paper: what a proof shows is, dot for dot, what the bytes put on paper, on every printer and in every way.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};

use rayon::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::printer::profile::DEFAULT;
use stripling::printer::{self, Cut, Profile, Raster, Thrift};
use stripling::strip::{Strip, png as picture};

use crate::manuals::{self, Demo, PRINTERS, demos};

const WAYS: [Raster; 3] = [Raster::Rows, Raster::Graphics, Raster::Columns];

/// Every dot of a PNG as a reader that is not ours sees it, with its width, height, depth and dots a metre.
fn seen_in_png(bytes: &[u8]) -> (Bitmap, png::BitDepth, Option<(u32, u32)>) {
    let mut decoder = png::Decoder::new(std::io::Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::IDENTITY);
    let mut reader = decoder.read_info().expect("a PNG");
    let mut rows = vec![0; reader.output_buffer_size().expect("a size")];
    reader.next_frame(&mut rows).expect("a whole picture");
    let info = reader.info();
    assert_eq!(info.color_type, png::ColorType::Grayscale);
    assert_eq!(rows.len(), info.width.div_ceil(8) as usize * info.height as usize, "as many bits as the depth says");
    // In PNG 1 is white.
    let bitmap = Bitmap::from_rows(info.width, info.height, rows.iter().map(|byte| !byte).collect());
    let dims = info.pixel_dims.filter(|dims| dims.unit == png::Unit::Meter);
    (bitmap, info.bit_depth, dims.map(|dims| (dims.xppu, dims.yppu)))
}

fn same(one: &Bitmap, other: &Bitmap, what: &str) {
    assert_eq!((one.width(), one.height()), (other.width(), other.height()), "{what}");
    if let Some(row) = (0..one.height()).find(|&y| one.row(y) != other.row(y)) {
        panic!("{what}: row {row} differs");
    }
}

fn on_paper(strip: &Strip, profile: &Profile, what: &str) {
    let strip = &printer::as_told(strip.clone(), profile);
    let bytes = printer::encode(strip, profile);
    assert!(!printer::encode::spells_real_time(&bytes), "{what}: a printer would act on a dot");
    let seen = printer::decode(&bytes, profile);
    assert_eq!(seen.errors, [], "{what}");
    same(&seen.bitmap, &strip.bitmap, what);
    let mut cuts = strip.cuts.clone();
    cuts.push(strip.bitmap.height());
    let cuts = if profile.cut == Cut::None { Vec::new() } else { cuts };
    assert_eq!(seen.cuts, cuts, "{what}");
}

/// A variable of the environment and its value; none takes it away.
type Setting = (&'static str, Option<&'static str>);

#[test]
fn every_demo_on_every_printer_in_every_way_is_its_proof() {
    let demos = demos();
    let product: Vec<(&Demo, (&str, u32))> = demos.iter().flat_map(|demo| PRINTERS.map(|printer| (demo, printer))).collect();
    product.par_iter().for_each(|&(demo, (name, dots))| {
        let what = format!("{} on {name}", demo.name);
        let press = manuals::press(&demo.manual, Some(name), demo.units.as_deref());
        let strip = manuals::first(&press).strip;
        assert!(strip.bitmap.black() > 10_000, "{what} is nearly blank");
        let (proof, depth, per_metre) = seen_in_png(&picture::write(&strip.bitmap, strip.resolution));
        // 8 dots/mm exactly is 203.2 dpi (arithmetic, CHECKS.md); 180 dpi is 7086.6 dots a metre (arithmetic).
        let expected = if name == "80mm-180" { 7087 } else { 8000 };
        assert_eq!((proof.width(), depth, per_metre), (dots, png::BitDepth::One, Some((expected, expected))), "{what}");
        same(&proof, &strip.bitmap, &what);
        assert_eq!(printer::as_told(strip.clone(), &press.profile), strip, "{what}: the proof is what is told");
        plainly(&strip, &press.profile, &what);
        for raster in WAYS {
            for thrift in [Thrift::None, Thrift::Stripes] {
                let profile = Profile { raster, thrift, ..press.profile.clone() };
                on_paper(&strip, &profile, &format!("{what}, {raster:?}, {thrift:?}"));
            }
        }
    });
}

/// FORMAT.md, "What an unknown printer is sent": with a generic printer `ESC @`, one way of raster in bands of full width, feeds,
/// the cut; nothing else.
fn plainly(strip: &Strip, profile: &Profile, what: &str) {
    let bytes = printer::encode(strip, profile);
    let seen = printer::decode(&bytes, profile);
    let count = |name: &str| seen.commands.get(name).copied().unwrap_or(0);
    let cuts = if profile.cut == Cut::None { 0 } else { strip.cuts.len() as u64 + 1 };
    assert_eq!((count("ESC @"), count("GS V")), (1, cuts), "{what}");
    assert_eq!(
        count("ESC @") + count("GS V") + count("GS v 0"),
        seen.commands.values().sum::<u64>(),
        "{what}: {:?}",
        seen.commands
    );
    // All that is no dot is a head of eight bytes a band, `ESC @` and four bytes a cut; the tear bar's rows are dots too.
    let rows = u64::from(strip.bitmap.height()) + if cuts == 0 { u64::from(profile.gap_rows()) } else { 0 };
    assert_eq!(bytes.len() as u64, 2 + rows * profile.stride() as u64 + 8 * count("GS v 0") + 4 * cuts, "{what}");
}

/// How many bytes a demo is on the default printer, of how many of dots, and how often each command stands in them.
fn on_the_wire(name: &str, thrift: Thrift) -> (Strip, usize, BTreeMap<String, u64>) {
    let demo = demos().into_iter().find(|demo| demo.name == name).expect("a demo");
    let press = manuals::press(&demo.manual, Some(DEFAULT), demo.units.as_deref());
    let strip = manuals::first(&press).strip;
    let profile = Profile { thrift, ..press.profile.clone() };
    let bytes = printer::encode(&strip, &profile);
    let seen = printer::decode(&bytes, &profile);
    same(&seen.bitmap, &strip.bitmap, name);
    (strip, bytes.len(), seen.commands)
}

/// Issue 8: bytes on the wire at most 40 % of the raw raster for Heron.
#[test]
fn heron_goes_over_the_wire_in_two_fifths_of_its_raster() {
    let (strip, bytes, _) = on_the_wire("heron", Thrift::Stripes);
    let raw = strip.bitmap.data().len();
    assert!(bytes * 100 <= raw * 40, "{bytes} of {raw} bytes");
}

#[test]
fn without_stripes_only_real_time_pairs_ask_for_one() {
    for name in ["heron", "tick"] {
        let (strip, bytes, commands) = on_the_wire(name, Thrift::Bands);
        let pairs = (0..strip.bitmap.height()).filter(|&y| printer::encode::spells_real_time(strip.bitmap.row(y))).count() as u64;
        let stripes = commands.get("LF").copied().unwrap_or(0);
        assert!(stripes <= pairs, "{name}: {stripes} stripes for {pairs} rows that hold a pair");
        assert_eq!(commands.get("ESC $"), None, "{name}");
        // The right of a band is left out all the same.
        assert!(bytes * 10 <= strip.bitmap.data().len() * 6, "{name}: {bytes} bytes");
    }
}

#[test]
fn a_folded_and_cut_strip_is_its_proof() {
    let text = "+++\ntitle = \"Cuts\"\nfold = \"40 mm\"\n+++\n# Cuts\n\nOne.\n\n```cut\n```\n\nTwo.\n\n```fold\n```\n\nThree.\n\n```cut\n```\n\nFour.\n";
    let written = manuals::Written::new(text);
    for (name, _) in PRINTERS {
        let press = manuals::press(&written.manual, Some(name), None);
        let strip = manuals::first(&press).strip;
        // Without a cutter a line with scissors stands where the cuts would be.
        let cuts = if press.profile.cut == Cut::None { 0 } else { 2 };
        assert_eq!((strip.panels.len(), strip.cuts.len()), (4, cuts), "{name}");
        for raster in WAYS {
            on_paper(&strip, &Profile { raster, ..press.profile.clone() }, &format!("{name}, {raster:?}"));
        }
    }
}

fn made_by_the_program(arguments: &[&str], folder: &Path, environment: &[(&str, Option<&str>)]) -> Vec<u8> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).current_dir(folder).stdin(Stdio::null());
    for (name, value) in environment {
        match value {
            Some(value) => command.env(name, value),
            None => command.env_remove(name),
        };
    }
    let output = command.output().expect("the program runs");
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

#[test]
fn the_same_bytes_in_every_run_locale_folder_and_number_of_threads() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let demo = demos().into_iter().find(|demo| demo.name == "heron").expect("Heron");
    let (manual, units) = (demo.manual.to_str().expect("UTF-8"), demo.units.expect("units"));
    let units = units.to_str().expect("UTF-8");
    // A strip carries no date, but a manual may print {{ run.date }}: the clock is no part of this test.
    let day = ("SOURCE_DATE_EPOCH", Some("1795564800"));
    let kinds: [Vec<&str>; 3] = [
        vec!["encode", manual, "-o", "-"],
        vec!["proof", manual, "-o", "-"],
        vec!["encode", manual, "--units", units, "--unit", "3", "-o", "-"],
    ];
    let elsewhere = tempfile::tempdir().expect("a folder");
    let ways: Vec<(&Path, Vec<Setting>)> = vec![
        (root, vec![day, ("RAYON_NUM_THREADS", Some("1"))]),
        (root, vec![day, ("RAYON_NUM_THREADS", Some("2")), ("LC_ALL", Some("C"))]),
        (elsewhere.path(), vec![day, ("RAYON_NUM_THREADS", Some("7")), ("LC_ALL", Some("de_DE.UTF-8"))]),
        (
            elsewhere.path(),
            vec![day, ("LC_ALL", Some("tr_TR.UTF-8")), ("LANG", Some("tr_TR.UTF-8")), ("TZ", Some("Asia/Kathmandu"))],
        ),
        (Path::new("/"), vec![day, ("HOME", None), ("TERM", Some("dumb")), ("USER", None)]),
    ];
    for arguments in &kinds {
        let plain = made_by_the_program(arguments, root, &[day]);
        assert!(plain.len() > 10_000);
        ways.par_iter().for_each(|(folder, environment)| {
            let other = made_by_the_program(arguments, folder, environment);
            assert!(other == plain, "{arguments:?} in {} with {environment:?}", folder.display());
        });
    }
    // A path from where one stands is the same manual.
    let there = made_by_the_program(&["encode", "heron.md", "-o", "-"], &root.join("manuals/heron"), &[day]);
    assert!(there == made_by_the_program(&kinds[0], root, &[day]));
}
