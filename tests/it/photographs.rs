//! Open photographs, screened, held against what other libraries find in them. `tests/photographs/eye.py` fetches, prints on pretend paper and looks.

use std::path::Path;
use std::process::Command;

use stripling::lengths::{Dots, Paper, Resolution};
use stripling::manual::document::{Screen, Tone, Treatment};
use stripling::manual::folder::Folder;
use stripling::pictures::{PictureSet, Request, cut_out};
use stripling::strip::png;

/// Per picture: its name, and the numbers of a line.
fn asked(what: &str, folder: &Path) -> String {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/photographs/eye.py");
    let answer = Command::new("python3").arg(script).arg(what).arg(folder).output().expect("python3");
    assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
    String::from_utf8(answer.stdout).expect("UTF-8")
}

/// What an eye sees at 300 mm of nine photographs after 14 % dot gain, against Pillow's own error diffusion of the same picture, of its sRGB values and
/// of its light; and Canny's edges (scikit-image) within two dots of the drawing's ink, in each of them.
#[test]
#[ignore = "needs scikit-image and Pillow: tests/run"]
fn open_photographs_are_seen_better_than_plain_error_diffusion_and_drawn_along_their_edges() {
    let folder = tempfile::tempdir().unwrap();
    asked("make", folder.path());
    let pictures = PictureSet::open(Folder::open(folder.path()).unwrap(), &[]);
    let paper = Paper { width: Dots(384), resolution: Resolution::EIGHT, dot_gain: 140.into() };
    for file in std::fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().path()) {
        let name = file.file_name().unwrap().to_str().unwrap().to_owned();
        let Some(stem) = name.strip_suffix(".png").filter(|stem| !stem.contains('.')) else { continue };
        let info = pictures.look(&name).unwrap();
        let as_is = Treatment { tone: Tone::AsIs, ..Treatment::default() };
        for (called, screen, treatment) in [
            ("photo", Screen::Photo, as_is),
            ("flat", Screen::Photo, Treatment::default()),
            ("halftone", Screen::Halftone, as_is),
            ("line", Screen::Line, as_is),
            ("drawing", Screen::Drawing, Treatment::default()),
        ] {
            let (width, height) = (Dots(info.width as i32), Dots(info.height as i32));
            let request = Request { crop: None, width, height, screen: Some(screen), treatment, paper };
            let screened = pictures.screen(&name, &request).unwrap();
            std::fs::write(folder.path().join(format!("{stem}.{called}.png")), png::write(&screened.bitmap, paper.resolution))
                .unwrap();
        }
    }
    let told = asked("seen", folder.path());
    println!("{told}");
    let (mut better, mut than_light, mut edges) = (Vec::new(), Vec::new(), Vec::new());
    for line in told.lines() {
        let words: Vec<&str> = line.split(' ').collect();
        let number = |at: usize| words[at].parse::<f64>().expect(line);
        match words[..] {
            ["seen", _, "photo", ..] => {
                better.push(number(3) - number(4));
                than_light.push(number(3) - number(5));
            }
            ["edges", name, ..] => {
                // Ink everywhere would be near every edge.
                assert!(number(3) < 0.4, "{name} is {} black", number(3));
                edges.push(number(2));
            }
            _ => {}
        }
    }
    assert_eq!((better.len(), edges.len()), (9, 9));
    let mean = |numbers: &[f64]| numbers.iter().sum::<f64>() / numbers.len() as f64;
    let least = |numbers: &[f64]| numbers.iter().copied().fold(f64::INFINITY, f64::min);
    println!(
        "photo better by {:.1} dB, at least {:.1}, than of sRGB values, by {:.1} dB, at least {:.2}, than of light; edges drawn {:.3}, at least {:.3}",
        mean(&better),
        least(&better),
        mean(&than_light),
        least(&than_light),
        mean(&edges),
        least(&edges)
    );
    assert!(least(&better) >= 0.0 && mean(&better) >= 2.0, "{better:?}");
    assert!(least(&than_light) >= 0.0 && mean(&than_light) >= 1.0, "{than_light:?}");
    assert!(least(&edges) >= 0.8, "{edges:?}");
}

/// Coins of one photograph with the masks that scikit-image's watershed finds, a round photograph, a silhouette on three grounds: intersection over
/// union at least 0.9 in the mean; those that are declined are counted.
#[test]
#[ignore = "needs scikit-image and Pillow: tests/run"]
fn things_of_open_pictures_are_told_from_their_ground() {
    let folder = tempfile::tempdir().unwrap();
    asked("make", folder.path());
    let (mut unions, mut declined) = (Vec::new(), Vec::new());
    for file in std::fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().path()) {
        let name = file.file_name().unwrap().to_str().unwrap().to_owned();
        let Some(stem) = name.strip_suffix(".thing.png") else { continue };
        let picture = image::open(&file).unwrap().to_rgb8();
        let mask = image::open(folder.path().join(format!("{stem}.mask.png"))).unwrap().to_luma8();
        let colour: Vec<[u8; 3]> = picture.pixels().map(|pixel| pixel.0).collect();
        let Ok(thing) = cut_out::cut_out(&colour, picture.width() as usize) else {
            declined.push(stem.to_owned());
            continue;
        };
        let pairs = || thing.iter().zip(mask.as_raw()).map(|(&is, &shown)| (is, shown > 127));
        let count = |both: fn((bool, bool)) -> bool| pairs().filter(|&pair| both(pair)).count() as f64;
        unions.push(count(|(is, shown)| is && shown) / count(|(is, shown)| is || shown));
    }
    let mean = unions.iter().sum::<f64>() / unions.len() as f64;
    println!("{} things, intersection over union {mean:.3} in the mean; declined {declined:?}", unions.len());
    assert!(unions.len() >= 8 && declined.len() <= 2, "{} declined: {declined:?}", declined.len());
    assert!(mean >= 0.9 && unions.iter().all(|&one| one > 0.8), "{unions:?}");
}

/// Photographs of a room, a face, a man before a town, a saucer that leaves the picture, a motorcycle among shelves, a rocket between masts of wire: half a
/// thing would be cut off, so they are kept.
#[test]
#[ignore = "needs scikit-image and Pillow: tests/run"]
fn open_pictures_in_which_no_thing_stands_alone_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    asked("crowd", folder.path());
    let mut kept = Vec::new();
    for file in std::fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().path()) {
        let picture = image::open(&file).unwrap().to_rgb8();
        let colour: Vec<[u8; 3]> = picture.pixels().map(|pixel| pixel.0).collect();
        kept.push((file, cut_out::cut_out(&colour, picture.width() as usize).is_err()));
    }
    assert!(kept.len() == 6 && kept.iter().all(|(_, kept)| *kept), "{kept:?}");
}
