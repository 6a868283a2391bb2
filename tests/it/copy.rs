//! The lasting copy: the words of the strip, nothing from outside, nothing of a unit, the same bytes.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use stripling::copy::{self, words_for_units};
use stripling::manual::{self, Folder, Template};
use stripling::pictures::PictureSet;
use stripling::strip::map::Map;
use stripling::type_setting::FONT_FILES;

use crate::copied::{Read, read};
use crate::desk::browser::installed;
use crate::manuals::{demos, press};

pub fn made(arguments: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_stripling")).arg("copy").args(arguments).current_dir(folder).output().expect("the program")
}

pub fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A copy of a manual's text, from standard output, which must go well.
fn copied(text: &str) -> (String, Read) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.md"), text).expect("written");
    let output = made(&["a.md", "-o", "-"], folder.path());
    let html = String::from_utf8(output.stdout.clone()).expect("text");
    let read = read(&html);
    assert_eq!(read.wrong, [] as [&str; 0], "{html}");
    (html, read)
}

/// The file with paths of more manuals, one a line: what is true of ours is tried by hand on guides of other people.
const GUIDES: &str = "STRIPLING_GUIDES";

/// Every manual that comes with the program, Heron in its languages, and those that [`GUIDES`] names.
pub fn all() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all: Vec<PathBuf> = demos().into_iter().map(|demo| demo.manual).collect();
    for entry in fs::read_dir(root.join("tests/tongues")).expect("the languages") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|ending| ending == "md") {
            all.push(path);
        }
    }
    all.push(root.join("manuals/handbook/handbook.md"));
    all.sort();
    if let Some(guides) = std::env::var_os(GUIDES) {
        all.extend(fs::read_to_string(guides).expect("a list of manuals").lines().map(PathBuf::from));
    }
    all
}

/// A name for what is made of a manual, that no other has.
pub fn name_of(manual: &Path) -> String {
    manual.with_extension("").display().to_string().replace(['/', ' '], "_")
}

/// A copy of a manual as a file: ours are whole; in others frames stand for what cannot be used.
pub fn copy_into(file: &Path, manual: &Path) {
    let home = manual.parent().expect("a folder");
    let output = made(&["-q", manual.to_str().expect("a name"), "-o", file.to_str().expect("a name")], home);
    let framed = output.status.code() == Some(1) && std::env::var_os(GUIDES).is_some();
    assert!(output.status.success() || framed, "{}: {}", manual.display(), said(&output));
}

/// Words as a reader tells them apart: what only joins, parts or turns them is no part of them, nor are the capitals of a strip's style.
pub fn words(text: &str) -> impl Iterator<Item = String> + '_ {
    let unseen = |letter: &char| !matches!(letter, '\u{200b}' | '\u{200c}' | '\u{ad}' | '\u{2060}' | '\u{2066}'..='\u{2069}');
    let plain = |letter: char| if letter == '\u{2011}' { '-' } else { letter };
    text.split_whitespace()
        .map(move |word| word.chars().filter(unseen).map(plain).collect::<String>().to_lowercase())
        .filter(|word| !word.is_empty())
}

#[test]
fn every_word_of_a_strip_stands_in_its_copy_and_nothing_from_outside() {
    let made_here = tempfile::tempdir().expect("a folder");
    let mut amiss: Vec<String> = Vec::new();
    for manual in all() {
        let name = manual.display().to_string();
        let folder = manual.parent().expect("a folder");
        let file = made_here.path().join("copy.html");
        copy_into(&file, &manual);
        let page = read(&fs::read_to_string(&file).expect("text"));
        assert_eq!(page.wrong, [] as [&str; 0], "{name}");
        let known: BTreeSet<String> = words(&page.text).collect();
        // Words that stand against others without a space between them, as keys in a list do, are found in the text itself.
        let whole: String = words(&page.text).chain(words(&page.running)).collect();
        // Manuals for units without an answer to "no unit" have none on the strip.
        let units = folder.join("units.csv");
        let press = press(&manual, None, Some(units.as_path()).filter(|units| units.exists()));
        let (strip, own) = match press.draft(None, 1) {
            Ok(strip) => (strip, Vec::new()),
            Err(_) => {
                let (unit, number) = press.chosen(None).expect("units")[0];
                let values = unit.into_iter().flat_map(|unit| unit.values.clone()).collect();
                (press.draft(unit, number).expect("a strip"), values)
            }
        };
        let map = Map::new(&strip.layout, &strip.source);
        let mut missing: Vec<String> = Vec::new();
        for boxed in map.boxes.iter().filter(|boxed| boxed.kind != "continued") {
            let of_a_unit = |word: &str| own.iter().any(|value: &String| value.contains(word) || word.contains(value.as_str()));
            // How often a key is pressed is drawn beside it; the copy has the picture with its words, "Press MODE twice".
            let times = |word: &str| boxed.kind == "reading" && word == "2×";
            for word in words(&boxed.text).filter(|word| !of_a_unit(word) && !times(word)) {
                // At a line's end a word is parted.
                let parted = boxed.kind == "line" && whole.contains(word.trim_end_matches('-'));
                // Where a strip sets a table's rows as records, each value has the head of its column before it, with a colon.
                let head = word.strip_suffix(':').is_some_and(|head| known.contains(head) || whole.contains(head));
                if !known.contains(&word) && !whole.contains(&word) && !parted && !head {
                    missing.push(format!("{word} ({}, line {})", boxed.kind, boxed.line));
                }
            }
        }
        missing.dedup();
        amiss.extend((!missing.is_empty()).then(|| format!("{name}: {missing:?}")));
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}

#[test]
fn a_copy_is_the_same_bytes_every_time_and_herons_is_small() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/heron");
    let one = made(&["heron.md", "-o", "-"], &folder);
    let other = Command::new(env!("CARGO_BIN_EXE_stripling"))
        .args(["copy", "heron.md", "-o", "-"])
        .env("RAYON_NUM_THREADS", "1")
        .env("SOURCE_DATE_EPOCH", "0")
        .current_dir(&folder)
        .output()
        .expect("the program");
    assert_eq!(one.stdout, other.stdout);
    assert!(one.stdout.len() <= 400_000, "{} bytes", one.stdout.len());
    // With the table of units or without it, the copy is that of all units.
    let units = made(&["heron.md", "--units", "units.csv", "-o", "-"], &folder);
    assert_eq!(one.stdout, units.stdout);
}

#[test]
fn every_copy_is_the_same_bytes_on_one_thread_and_on_many_and_wherever_it_is_made() {
    let elsewhere = tempfile::tempdir().expect("a folder");
    for manual in all() {
        let make = |threads: &str, home: &Path| {
            let mut program = Command::new(env!("CARGO_BIN_EXE_stripling"));
            program.args(["copy", "-o", "-"]).arg(&manual).env("RAYON_NUM_THREADS", threads).current_dir(home);
            program.output().expect("the program").stdout
        };
        let one = make("1", manual.parent().expect("a folder"));
        assert!(!one.is_empty() && one == make("7", elsewhere.path()), "{}", manual.display());
    }
}

/// A grey picture of so many pixels in a row and rows, light and dark in turn.
fn grey(width: u32, height: u32) -> image::GrayImage {
    image::GrayImage::from_fn(width, height, |x, y| image::Luma([(x / 97 * 31 + y / 89 * 17) as u8]))
}

/// The pixels of the one picture that a page holds.
fn embedded(page: &Read) -> (usize, image::DynamicImage) {
    let sources = page.tags.iter().filter(|(name, _)| name == "img").flat_map(|(_, all)| all).filter(|(name, _)| name == "src");
    let [(_, source)] = sources.collect::<Vec<_>>()[..] else { panic!("not one picture") };
    let (_, data) = source.split_once(";base64,").expect("data");
    let bytes = STANDARD.decode(data).expect("base64");
    (bytes.len(), image::load_from_memory(&bytes).expect("a picture"))
}

#[test]
fn a_picture_of_100_megapixels_is_one_of_1600_pixels() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.md"), "# T\n\n![Squares](large.png)\n").expect("written");
    fs::write(folder.path().join("b.md"), "# T\n\n![Squares](large.jpg)\n").expect("written");
    let large = grey(12_500, 8_000);
    large.save(folder.path().join("large.png")).expect("written");
    large.save(folder.path().join("large.jpg")).expect("written");
    let mut forms = vec!["a.html", "b.html"];
    if cfg!(feature = "pdf") {
        forms.extend(["a.pdf", "b.pdf"]);
    }
    for form in forms {
        // Far less than the picture takes in colour (issue 24: bad input is within bounds).
        let line = "ulimit -v 1500000; exec \"$0\" \"$@\"";
        let output = Command::new("bash")
            .args(["-c", line, env!("CARGO_BIN_EXE_stripling"), "copy", &format!("{}.md", &form[..1]), "-o", form])
            .env("RAYON_NUM_THREADS", "2")
            .current_dir(folder.path())
            .output()
            .expect("the program");
        assert!(output.status.success(), "{form}: {}", said(&output));
        let bytes = fs::read(folder.path().join(form)).expect("written");
        assert!(bytes.len() < 1_000_000, "{form}: {} bytes", bytes.len());
        if form.ends_with("html") {
            let (size, picture) = embedded(&read(&String::from_utf8(bytes).expect("text")));
            assert_eq!((picture.width(), picture.height()), (1600, 1024), "{form}: {size} bytes");
        }
    }
}

#[test]
fn nothing_names_a_unit() {
    let head = "+++\ntitle = \"T\"\nlanguage = \"de\"\n+++\n";
    let (html, page) = copied(&format!(
        "{head}Nummer {{{{ unit.serial }}}}, gedruckt {{{{ run.date | date }}}}.\n\n{{% if unit %}}eigen{{% else %}}alle{{% endif %}}\n\n```barcode\nkind = \"code128\"\ndata = \"{{{{ unit.serial }}}}\"\n```\n"
    ));
    assert!(page.text.contains("Nummer siehe Ihren Streifen, gedruckt siehe Ihren Streifen."), "{html}");
    assert!(page.text.contains("alle") && !page.text.contains("eigen"), "{html}");
    assert!(!html.contains("Code 128"), "a code of nobody's: {html}");
    let (_, page) =
        copied("+++\ntitle = \"T\"\n[copy]\nunit = \"on the label\"\n+++\n{{ unit.serial | upper }}, {{ unit.serial }}\n");
    assert!(page.text.contains("ON THE LABEL, on the label"), "{}", page.text);
    // A field that no unit has is a slip, when it is known which there are.
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.md"), "+++\n+++\n# T\n\n{{ unit.serail }}\n").expect("written");
    fs::write(folder.path().join("u.csv"), "serial\nA-1\n").expect("written");
    let refused = made(&["a.md", "--units", "u.csv", "-o", "-"], folder.path());
    assert_eq!(refused.status.code(), Some(3));
    assert!(said(&refused).contains("unit.serial"), "{}", said(&refused));
}

#[test]
fn a_box_to_write_in_is_drawn_over_its_label() {
    let (html, page) = copied("# T\n\n```write-in\nheight = \"30 mm\"\nlabel = \"Tested by {{ unit.who }} <b>\"\n```\n");
    assert!(page.text.contains("Tested by ") && page.text.contains("<b>"), "{html}");
    let is_box = |(name, all): &(String, Vec<(String, String)>)| {
        name == "p" && all.iter().any(|(name, value)| name == "class" && value == "write-in")
    };
    assert_eq!(page.tags.iter().filter(|tag| is_box(tag)).count(), 1, "{html}");
}

#[test]
fn what_another_file_brings_in_its_language_is_said_to_be_in_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).expect("written");
    write("a.md", "+++\ntitle = \"T\"\nlanguage = \"en\"\n+++\n# T\n\nTea.\n\n{% include \"he.md\" %}\n");
    write("he.md", "+++\nlanguage = \"he\"\n+++\nתה.\n");
    let output = made(&["a.md", "-o", "-"], folder.path());
    let page = read(&String::from_utf8(output.stdout.clone()).expect("text"));
    assert_eq!(page.wrong, [] as [&str; 0]);
    let said_of = |wanted: &str| {
        page.tags.iter().filter(|(_, all)| all.iter().any(|(name, value)| name == "lang" && value == wanted)).count()
    };
    assert_eq!((said_of("en"), said_of("he")), (1, 1), "{}", said(&output));
}

#[test]
fn among_words_from_the_right_what_is_foreign_keeps_its_order() {
    let text = "+++\ntitle = \"ה\"\nlanguage = \"he\"\n[product]\naddress = \"4 Sluice Lane\"\ncontact = \"https://example.com/a/\"\n+++\n# ה\n\nעד 95 °C, `-A 1`.\n\n```\n--b\n```\n";
    let (html, _) = copied(text);
    // U+2068, U+2069: isolates (UAX #9); by itself a number that a line begins with stands on the right of Latin words.
    for isolated in ["4 Sluice Lane", "https://example.com/a/", "95 °C", "-A 1"] {
        assert!(html.contains(&format!("\u{2068}{isolated}\u{2069}")), "{isolated}: {html}");
    }
    assert!(html.contains("<pre dir=\"ltr\">"), "{html}");
    let (html, _) = copied(&text.replace("\"he\"", "\"en\""));
    assert!(!html.contains('\u{2068}'), "{html}");
}

#[test]
fn hostile_text_comes_out_as_text() {
    let head = "+++\ntitle = \"</title><script>alert(1)</script>\"\ndocument = \"\\\"><img src=x>\"\nlanguage = \"en\\\" onload=\\\"x\"\n[product]\ncontact = \"javascript:alert(1)\"\n+++\n";
    let body = "[a](javascript:alert(1)) [b](JAVASCRIPT:x) [c](data:text/html,x) <https://example.com/\"onclick=x> `</script>`\n\n\
        &lt;/style&gt;&lt;script&gt;\n\n![</svg><script>](sign:pinch)\n\n```figure\npicture = \"sign:pinch\"\nalt = \"\\\"><b onmouseover=x>\"\ncaption = \"</figcaption><script>x</script>\"\n```\n\n```qr\njavascript:alert(1)\n```\n";
    let (html, page) = copied(&format!("{head}{body}"));
    assert!(!html.contains("<script") && !html.contains("<b "), "{html}");
    assert!(page.links.iter().all(|link| link.starts_with('#') || link.starts_with("https://example.com")), "{:?}", page.links);
    assert!(page.text.contains("</title><script>alert(1)</script>") && page.text.contains("</style><script>"), "{}", page.text);
}

#[test]
fn what_cannot_be_used_is_a_frame_and_an_error() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "# T\n\n![A lid](lid.png)\n\n![x](sign:nosuch) in a line\n\n```figure\nmodel = \"none.stl\"\nalt = \"m\"\n```\n";
    fs::write(folder.path().join("a.md"), text).expect("written");
    let output = made(&["a.md", "-o", "a.html"], folder.path());
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    for named in ["lid.png", "nosuch", "none.stl"] {
        assert!(said(&output).contains(named), "{}", said(&output));
    }
    let page = read(&fs::read_to_string(folder.path().join("a.html")).expect("written all the same"));
    assert_eq!(page.wrong, [] as [&str; 0]);
    for word in ["lid.png", "none.stl", "A lid"] {
        assert!(page.text.contains(word), "{word}: {}", page.text);
    }
    // An earlier copy may be written over, a page of the writer's own may not, nor the manual.
    assert_eq!(made(&["a.md", "-o", "a.html"], folder.path()).status.code(), Some(1));
    fs::write(folder.path().join("own.html"), "<!DOCTYPE html>\n<html><p>Mine.</p>").expect("written");
    for own in ["own.html", "a.md"] {
        let refused = made(&["a.md", "-o", own], folder.path());
        assert_eq!(refused.status.code(), Some(2), "{}", said(&refused));
    }
}

#[test]
fn links_lead_where_they_lead() {
    let text = "# T\n\n## One\n\n[two](#two) [web](https://example.com/a) [mail](mailto:a@example.com) <b@example.com> [file](x.md) [^n]\n\n## Two\n\nx\n\n[^n]: Note.\n";
    let (html, page) = copied(text);
    for link in ["#two", "https://example.com/a", "mailto:a@example.com", "mailto:b@example.com", "#text"] {
        assert!(page.links.iter().any(|known| known == link), "{link}: {:?}", page.links);
    }
    assert!(!html.contains("x.md"), "{html}");
    // Fewer than four sections need no list of them.
    assert!(!html.contains("<nav"), "{html}");
    let (html, page) = copied(&(1..=2000).map(|n| format!("## Part {n}\n\nx\n\n")).collect::<String>());
    assert!(html.contains("<nav"));
    assert_eq!(page.links.iter().filter(|link| link.starts_with("#part-")).count(), 2000);
}

#[test]
fn headings_go_down_one_level_at_a_time_and_there_is_one_title() {
    let (_, page) = copied("#### Deep\n\n# T\n\n# Another\n\n#### Deep\n\n> ## In a quote\n\n## S\n\n##### Deeper\n");
    let levels: Vec<u8> = page.tags.iter().filter_map(|(name, _)| name.strip_prefix('h')?.parse().ok()).collect();
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1, "{levels:?}");
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
}

/// The copies of all manuals in a folder.
fn pages(folder: &Path) -> Vec<PathBuf> {
    let make = |manual: PathBuf| {
        let page = folder.join(format!("{}.html", name_of(&manual)));
        copy_into(&page, &manual);
        page
    };
    let mut pages: Vec<PathBuf> = all().into_iter().map(make).collect();
    fs::write(folder.join("hard.md"), hard()).expect("written");
    grey(600, 400).save(folder.join("grey.png")).expect("written");
    assert_eq!(made(&["-q", "hard.md", "-o", "hard.html"], folder).status.code(), Some(1));
    pages.push(folder.join("hard.html"));
    pages
}

/// What broke the pages of other people's guides: an address that nothing parts, said twice; more columns than there is room for; pictures
/// side by side and in lists.
fn hard() -> String {
    let far = format!("https://example.com/{}.jpg", "0a1b2c3d".repeat(12));
    let row = "![A lid](grey.png) ".repeat(7);
    let head = "| Part | Amount | Price at home | Sold at home by | Price abroad | Sold abroad by | Price elsewhere | Sold elsewhere by |";
    let cells = "| Hexagon screws | 24 | 9.90 | Reedbed Works | 12.90 | Reedbed Overseas | 15.90 | Reedbed Elsewhere |";
    format!(
        "# Hard\n\n![Bird](grey.png)\n\n![{far}]({far})\n\n{row}\n\n- The lid.\n  ![A lid](grey.png)\n- The box. {row}\n\n{head}\n|{}\n{cells}\n",
        "---|".repeat(8)
    )
}

#[test]
#[ignore = "needs chromium, node: tests/run"]
fn axe_is_silent_about_copies_and_they_ask_for_nothing() {
    // WCAG 2.2 as far as axe-core can tell (CHECKS.md, "The lasting copy").
    let scripts = installed();
    let folder = tempfile::tempdir().expect("a folder");
    let pages = pages(folder.path());
    let status = Command::new("node").arg(scripts.join("copy.mjs")).args(pages).status().expect("node");
    assert!(status.success(), "a check of tests/desk/copy.mjs failed");
}

#[test]
#[ignore = "needs java, node: tests/run"]
fn the_nu_validator_is_silent_about_copies() {
    let jar = installed().join("node_modules/vnu-jar/build/dist/vnu.jar");
    let folder = tempfile::tempdir().expect("a folder");
    let pages = pages(folder.path());
    assert!(pages.len() > 25, "{} pages", pages.len());
    // No error by the Nu validator (CHECKS.md, "The lasting copy"). It also warns of lists that are said to be lists: without marks some
    // readers' programs would take them for none.
    let output = Command::new("java")
        .arg("-jar")
        .arg(jar)
        .arg("--errors-only")
        .args(&pages)
        .env("JAVA_TOOL_OPTIONS", "-Dfile.encoding=UTF-8 -Dsun.jnu.encoding=UTF-8")
        .output()
        .expect("java");
    let found: String = said(&output).lines().filter(|line| !line.starts_with("Picked up ")).collect::<Vec<_>>().join("\n");
    assert!(output.status.success() && found.is_empty(), "{found}");
}

/// What the fuzz target `copy` looks for: hostile words that are put in at many places of manuals.
pub const HOSTILE: [&str; 14] = [
    "</p></main>",
    "<script>",
    "\"'><img src=x>",
    "&#0;&#x1F;&lt;",
    "\u{FFFE}\u{0}\u{85}",
    "[a](javascript:x \"t\")",
    "> > - 1. # ",
    "\n\n# H\n\n",
    "`",
    "|",
    "{{ unit.x }}",
    "![a](https://example.com/a.png)",
    "[^1]\n\n[^1]: > a\n",
    "<table><td><ol><li value=7><a href=#x>",
];

#[test]
fn whatever_is_written_into_a_manual_its_copy_holds_nothing_strange() {
    let mut pages = 0;
    for manual in all() {
        let text = fs::read_to_string(&manual).expect("a manual");
        if text.len() > 20_000 {
            continue;
        }
        let home = Folder::open(manual.parent().expect("a folder")).expect("a folder");
        for (n, hostile) in HOSTILE.iter().enumerate() {
            let mut at = text.len() * (n * 5 + 2) / 80;
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            let with = format!("{}{hostile}{}", &text[..at], &text[at..]);
            let Ok(template) = Template::of_bytes(&home, "a.md", with.as_bytes()) else { continue };
            let Ok(source) = template.fill_for_all(None, words_for_units) else { continue };
            let Ok(document) = manual::parse(&source) else { continue };
            // Pictures are another matter and take their time.
            let pictures = PictureSet::open(Folder::of_files([("a.md", with.as_bytes())]), FONT_FILES);
            let page = read(&copy::html(&document, &pictures, "a").html);
            assert_eq!(page.wrong, [] as [&str; 0], "{}: {hostile:?} at {at}", manual.display());
            pages += 1;
        }
    }
    assert!(pages > 150, "{pages} pages");
}
