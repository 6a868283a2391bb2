//! Willem van Schaik's PNG test pictures, fetched by tests/fetch/pngsuite: every good one is read as Pillow reads it, every broken one
//! is refused in one message with its place.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use stripling::pictures::load::{self, Need};
use stripling::pictures::tone::to_linear;

use crate::bad_input::framed;
use crate::manuals::Written;

fn suite() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pngsuite");
    assert!(folder.join("basn0g01.png").exists(), "the pictures are not here: bash tests/fetch/pngsuite");
    folder
}

/// Linear light to the nearest of 256 sRGB values.
fn nearest(light: u16, steps: &[u16; 256]) -> usize {
    let above = steps.partition_point(|&step| step < light).min(255);
    let below = above.saturating_sub(1);
    if light.abs_diff(steps[below]) <= light.abs_diff(steps[above]) { below } else { above }
}

#[test]
#[ignore = "needs the PNG test pictures and Pillow: tests/run"]
fn every_good_png_is_read_as_pillow_reads_it() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/pictures/greys.py");
    let told = Command::new("python3").arg(script).arg(suite()).output().expect("python3");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let steps: [u16; 256] = std::array::from_fn(|step| to_linear(step as f64 / 255.0));
    let (mut read, mut wrong) = (0, Vec::new());
    // By the suite's own naming, those that begin with x are broken.
    for line in String::from_utf8(told.stdout).expect("text").lines().filter(|line| !line.starts_with('x')) {
        let fields: Vec<&str> = line.split(' ').collect();
        let [name, width, height, greys] = fields.as_slice() else { panic!("{line:.80}") };
        let bytes = fs::read(suite().join(name)).expect(name);
        let light = load::head(&bytes, name)
            .and_then(|head| load::decode(&bytes, name, &head, &Need::ALL))
            .unwrap_or_else(|error| panic!("{name}: {error}"))
            .light;
        assert_eq!((light.width.to_string(), light.height.to_string()), (width.to_string(), height.to_string()), "{name}");
        let wanted =
            greys.as_bytes().as_chunks::<2>().0.iter().map(|pair| usize::from_str_radix(str::from_utf8(pair).expect("text"), 16));
        let seen = light.light.iter().map(|&light| nearest(light, &steps));
        // One step for rounding at another place, and one for the eight bits of 16-bit colours that Pillow cuts.
        let far = seen.zip(wanted).map(|(seen, wanted)| seen.abs_diff(wanted.expect("hexadecimal"))).max().unwrap_or(0);
        if far > 2 {
            wrong.push(format!("{name}: {far} steps"));
        }
        read += 1;
    }
    assert!(wrong.is_empty(), "greys other than Pillow's:\n{}", wrong.join("\n"));
    assert_eq!(read, 161, "pictures were read");
}

#[test]
#[ignore = "needs the PNG test pictures: tests/run"]
fn every_broken_png_is_refused_with_its_place() {
    let mut broken = 0;
    for entry in fs::read_dir(suite()).expect("a folder") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().and_then(|name| name.to_str()).expect("a name").to_string();
        if !name.starts_with('x') {
            continue;
        }
        let manual = Written::new(format!("# A\n\nB\n\n![c]({name})\n")).with(&name, fs::read(&path).expect("read"));
        framed(&manual, "manual.md:5:1", &name);
        broken += 1;
    }
    assert_eq!(broken, 14);
}
