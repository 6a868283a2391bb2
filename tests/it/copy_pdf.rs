//! The lasting copy as PDF. What it holds is read by poppler and qpdf, general-purpose readers of PDF; that everybody can read it is
//! checked by crate `krilla` as it is written (ISO 14289-1, PDF/UA-1).

#[cfg(not(feature = "pdf"))]
#[test]
fn a_program_without_pdf_says_how_to_get_one_with_it() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("a.md"), "# T\n\nx\n").expect("written");
    let output = crate::copy::made(&["a.md", "-o", "a.pdf"], folder.path());
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("cargo install --locked --path . --features pdf"), "{said}");
    assert!(!folder.path().join("a.pdf").exists());
}

#[cfg(feature = "pdf")]
mod with {
    use std::collections::BTreeSet;
    use std::fs;
    use std::path::{Path, PathBuf};
    use std::process::Command;

    use stripling::copy::pdf::{self, FINE, Sheet, as_designed};
    use stripling::copy::words_for_units;
    use stripling::manual::{self, Folder, Template};
    use stripling::pictures::PictureSet;
    use stripling::strip::map::Map;
    use stripling::type_setting::{FONT_FILES, Faces};

    use crate::copy::{HOSTILE, all, copy_into, made, name_of, said, words};
    use crate::manuals::press;

    fn heron() -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/heron")
    }

    /// The PDF of a manual's text, and what was said, by the exit code that is wanted.
    fn written(text: &str, more: &[&str], code: i32) -> (Vec<u8>, String) {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("a.md"), text).expect("written");
        let output = made(&[&["a.md", "-o", "a.pdf"], more].concat(), folder.path());
        assert_eq!(output.status.code(), Some(code), "{}", said(&output));
        (fs::read(folder.path().join("a.pdf")).unwrap_or_default(), said(&output))
    }

    fn holds(pdf: &[u8], what: &str) -> bool {
        pdf.windows(what.len()).any(|part| part == what.as_bytes())
    }

    /// What one of poppler's programs says of a file, without a complaint.
    fn heard(program: &str, arguments: &[&str], file: &Path) -> String {
        let to_standard_output = (program == "pdftotext").then_some("-");
        let output = Command::new(program).args(arguments).arg(file).args(to_standard_output).output().expect(program);
        // Poppler 22 says of every `/Suspects false` that it is no boolean (Catalog::getMarkInfo); it is what ISO 14289-1, 7.1 asks for.
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let amiss = said.lines().find(|line| *line != "Syntax Error: Suspects object is wrong type (boolean)");
        assert_eq!(amiss, None, "{program}, {}", file.display());
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    #[test]
    fn the_same_bytes_whatever_the_clock_the_threads_and_the_folder_and_herons_is_small() {
        let folder = tempfile::tempdir().expect("a folder");
        let make = |name: &str, home: &Path, threads: &str, clock: &str| {
            let target = folder.path().join(name);
            let status = Command::new(env!("CARGO_BIN_EXE_stripling"))
                .args(["copy", "-q"])
                .arg(heron().join("heron.md"))
                .arg("-o")
                .arg(&target)
                .env("RAYON_NUM_THREADS", threads)
                .env("SOURCE_DATE_EPOCH", clock)
                .current_dir(home)
                .status();
            assert!(status.expect("the program").success());
            fs::read(target).expect("written")
        };
        let one = make("a.pdf", &heron(), "2", "1795564800");
        assert_eq!(one, make("b.pdf", folder.path(), "1", "0"));
        // The lasting copy's own measure (issue 24).
        assert!(one.len() <= 600_000, "{} bytes", one.len());
        // An earlier copy is written over, another's PDF is not.
        assert_eq!(one, make("a.pdf", &heron(), "2", "0"));
        fs::write(folder.path().join("own.pdf"), "%PDF-1.7\nmine").expect("written");
        let own = folder.path().join("own.pdf");
        assert_eq!(made(&["heron.md", "-o", own.to_str().expect("a name")], &heron()).status.code(), Some(2));
    }

    #[test]
    fn the_sheet_is_the_regions_or_the_one_that_is_asked_for() {
        // ISO 216: 210 mm by 297 mm; 8.5 in by 11 in; in points.
        let (a4, letter) = ("/MediaBox[0 0 595.28 841.89]", "/MediaBox[0 0 612 792]");
        let text = |tag: &str| format!("+++\ntitle = \"T\"\nlanguage = \"{tag}\"\n+++\n# T\n\nx\n");
        for (tag, more, sheet) in [
            ("en", &[][..], a4),
            ("en-US", &[], letter),
            ("en-US", &["--paper", "a4"], a4),
            ("de", &["--paper", "letter"], letter),
        ] {
            let (pdf, _) = written(&text(tag), more, 0);
            assert!(holds(&pdf, sheet), "{tag} {more:?}");
        }
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("a.md"), "# T\n").expect("written");
        assert_eq!(made(&["a.md", "-o", "a.html", "--paper", "a4"], folder.path()).status.code(), Some(2));
    }

    #[test]
    fn what_cannot_be_used_is_a_frame_and_only_the_web_and_people_are_linked_to() {
        let head = "+++\ntitle = \"(T) \\\\ </title>\"\ndurable_copy = \"https://example.com/a(b)\"\n+++\n";
        let (pdf, said) = written(
            &format!(
                "{head}![A lid](lid.png)\n\n[a](javascript:alert(1)) [b](data:text/html,x) <b@example.com> [f](file:///etc/passwd)\n"
            ),
            &[],
            1,
        );
        assert!(said.contains("lid.png"), "{said}");
        assert!(holds(&pdf, "/URI(mailto:b@example.com)"), "{}", String::from_utf8_lossy(&pdf));
        assert!(holds(&pdf, "/URI(https://example.com/a\\(b\\))") || holds(&pdf, "/URI(https://example.com/a(b))"));
        for refused in ["javascript:", "data:text", "file:", "/JavaScript", "/JS", "/Launch", "/EmbeddedFile"] {
            assert!(!holds(&pdf, refused), "{refused}");
        }
    }

    #[test]
    fn whatever_is_written_into_a_manual_there_is_a_pdf_of_it_or_words() {
        let mut pages = 0;
        let odd =
            "\u{FEFF}\u{E000}\u{10FFFF}\u{378}\u{1F600}\u{202E}\u{0}\u{AD}\u{A0}\u{3000} ا\u{301}\u{301}\u{301} ﷽ 🏳️‍🌈 \u{FFFC}";
        let more = [odd, &"x".repeat(3000), &"> ".repeat(60), &"| a ".repeat(60), "\n\n```\n\t\u{1b}[0m\n\n```\n"];
        for manual in all() {
            let text = fs::read_to_string(&manual).expect("a manual");
            if text.len() > 3_000 {
                continue;
            }
            let home = Folder::open(manual.parent().expect("a folder")).expect("a folder");
            for (n, hostile) in HOSTILE.iter().chain(&more).enumerate().step_by(4) {
                let mut at = text.len() * (n * 5 + 2) / 110;
                while !text.is_char_boundary(at) {
                    at -= 1;
                }
                let with = format!("{}{hostile}{}", &text[..at], &text[at..]);
                let Ok(template) = Template::of_bytes(&home, "a.md", with.as_bytes()) else { continue };
                let Ok(source) = template.fill_for_all(None, words_for_units) else { continue };
                let Ok(document) = manual::parse(&source) else { continue };
                // Pictures are another matter and take their time.
                let pictures = PictureSet::open(Folder::of_files([("a.md", with.as_bytes())]), FONT_FILES);
                let made = pdf::pdf(&document, &pictures, as_designed(Faces::new(FINE)), "a", Sheet::A4);
                match made {
                    Ok(made) => assert!(made.bytes.starts_with(b"%PDF-1.7"), "{}", manual.display()),
                    Err(why) => panic!("{}: {hostile:?} at {at}: {why}", manual.display()),
                }
                pages += 1;
            }
        }
        assert!(pages > 40, "{pages} copies");
    }

    #[test]
    fn two_thousand_sections_are_as_many_bookmarks_and_lines_of_contents() {
        let text: String = (1..=2000).map(|n| format!("## Part {n}\n\nx\n\n")).collect();
        let (pdf, _) = written(&format!("# T\n\n{text}"), &[], 0);
        let count = |what: &str| pdf.windows(what.len()).filter(|part| *part == what.as_bytes()).count();
        assert_eq!(count("/Title(Part "), 2000);
        // Each line of the contents leads to its section.
        assert_eq!(count("/Subtype/Link"), 2000);
    }

    /// Letters only, small: what is between them is the setting's.
    fn letters(text: &str) -> String {
        text.chars().filter(|letter| letter.is_alphabetic()).flat_map(char::to_lowercase).collect()
    }

    #[test]
    #[ignore = "needs pdfinfo, pdftotext, qpdf: tests/run"]
    fn readers_find_every_word_in_its_order_and_nothing_amiss() {
        let folder = tempfile::tempdir().expect("a folder");
        let (mut copies, mut amiss) = (0, Vec::new());
        for manual in all() {
            let name = name_of(&manual);
            let home = manual.parent().expect("a folder");
            let file = folder.path().join(format!("{name}.pdf"));
            copy_into(&file, &manual);
            copies += 1;

            let checked = Command::new("qpdf").arg("--check").arg(&file).output().expect("qpdf");
            assert!(checked.status.success() && checked.stderr.is_empty(), "{name}: {checked:?}");
            let facts = heard("pdfinfo", &[], &file);
            let fact = |wanted: &str| facts.lines().any(|line| line.split_whitespace().collect::<Vec<_>>().join(" ") == wanted);
            assert!(
                fact("Tagged: yes") && fact("Suspects: no") && fact("JavaScript: no") && fact("PDF version: 1.7"),
                "{name}: {facts}"
            );
            let bytes = fs::read(&file).expect("written");
            assert!(holds(&bytes, "/DisplayDocTitle true") && holds(&bytes, "/Outlines") && holds(&bytes, "/Lang("), "{name}");
            // Every face is inside, and no more of it than is used.
            let faces = heard("pdffonts", &[], &file);
            assert!(faces.lines().skip(2).all(|line| line.contains("yes yes yes")), "{name}: {faces}");

            // Manuals for units without an answer to "no unit" have none on the strip.
            let press = press(&manual, None, Some(home.join("units.csv").as_path()).filter(|units| units.exists()));
            let Ok(strip) = press.draft(None, 1) else { continue };
            let map = Map::new(&strip.layout, &strip.source);
            // Of what runs from right to left poppler gives the words of a line in the order of the page, so only they are looked for.
            let rtl = strip.document.header.tongue.is_rtl();
            let text = heard("pdftotext", &["-raw"], &file).replace("\u{ad}\n", "").replace('\u{ad}', "");
            let known: BTreeSet<Vec<char>> = words(&text).map(|word| sorted(&word)).collect();
            // As drawn, without what stands at the foot of every page.
            let foot = text.lines().rev().find(|line| line.contains(" \u{b7} ")).map(letters).filter(|foot| !foot.is_empty());
            let order = letters(&text);
            let order = foot.map_or(order.clone(), |foot| order.replace(&foot, ""));
            let mut missing = Vec::new();
            let mut at = 0;
            for line in map.boxes.iter().filter(|boxed| boxed.kind == "line") {
                let wanted = letters(&line.text);
                // A panel's caption stands over its picture here and is mapped after it there.
                let from = order.char_indices().rev().map(|(place, _)| place).find(|place| place + 240 <= at).unwrap_or(0);
                match order[from..].find(&wanted) {
                    Some(place) => at = at.max(from + place),
                    None if rtl => {
                        let there = |word: &String| known.contains(&sorted(word));
                        missing.extend(words(&line.text).filter(|word| !letters(word).is_empty() && !there(word)));
                    }
                    None => missing.push(format!("{:?}, line {}", line.text, line.line)),
                }
            }
            amiss.extend((!missing.is_empty()).then(|| format!("{name}: {missing:?}")));
            // In the structure too: headings, lists, tables with heads, figures and links stand in it.
            let structure = heard("pdfinfo", &["-struct"], &file);
            for (wanted, there) in [
                ("H1", true),
                ("L ", map.boxes.iter().any(|boxed| matches!(boxed.kind, "procedure" | "bullets"))),
                ("TH", map.boxes.iter().any(|boxed| boxed.kind == "table") && name.ends_with("_heron")),
                ("Figure", map.boxes.iter().any(|boxed| boxed.kind == "figure")),
            ] {
                assert!(
                    !there || structure.lines().any(|line| line.trim_start().starts_with(wanted)),
                    "{name}: {wanted} {structure}"
                );
            }
        }
        assert!(amiss.is_empty(), "{}", amiss.join("\n"));
        assert!(copies > 25, "{copies} copies");
    }

    #[test]
    #[ignore = "needs pdftotext, qpdf: tests/run"]
    fn hostile_text_comes_out_as_text() {
        let hostile =
            "</script><script>alert(1)</script> ) Tj ET endstream endobj %%EOF /JS (app.alert(1)) \\) <</S/JavaScript>>";
        let folder = tempfile::tempdir().expect("a folder");
        let head = "+++\ntitle = \"T) /JS\"\ndocument = \"D) %%EOF\"\n+++\n";
        fs::write(folder.path().join("a.md"), format!("{head}`{hostile}`\n\n[x](javascript:alert)\n")).expect("written");
        assert!(made(&["a.md", "-o", "a.pdf"], folder.path()).status.success());
        let file = folder.path().join("a.pdf");
        let text: String = heard("pdftotext", &["-raw"], &file).split_whitespace().collect();
        assert!(text.contains(&hostile.split_whitespace().collect::<String>()), "{text}");
        assert!(heard("pdfinfo", &["-js"], &file).is_empty());
        assert!(heard("pdfinfo", &["-url"], &file).lines().count() <= 1);
        let checked = Command::new("qpdf").arg("--check").arg(&file).output().expect("qpdf");
        assert!(checked.status.success() && checked.stderr.is_empty(), "{checked:?}");
    }

    /// Every word with its page and where it stands there, points: left, top.
    fn places(pdf: &Path) -> Vec<(String, usize, [f32; 2])> {
        let (mut page, mut places) = (0, Vec::new());
        for line in heard("pdftotext", &["-bbox"], pdf).lines() {
            page += usize::from(line.contains("<page "));
            let side = |name: &str| line.split_once(&format!("{name}=\""))?.1.split('"').next()?.parse().ok();
            if let (Some(x), Some(y), Some((_, word))) =
                (side("xMin"), side("yMin"), line.trim_end_matches("</word>").rsplit_once('>'))
            {
                places.push((word.to_owned(), page, [x, y]));
            }
        }
        places
    }

    #[test]
    #[ignore = "needs pdftotext: tests/run"]
    fn words_stand_with_what_they_lead_to() {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(
            folder.path().join("a.svg"),
            "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 30 20'><path d='M1 1h28v18H1Z'/></svg>",
        )
        .expect("written");
        let followers = [
            "```figure\npicture = \"a.svg\"\nalt = \"A lid\"\ncaption = \"First of it.\"\n```",
            "```\nFirst of code\nsecond\nthird\n```",
            "- First of a list\n- second\n- third",
            "1. First of steps.\n2. Second.",
            "| First | of |\n|---|---|\n| a | table |",
        ];
        for (n, follower) in followers.iter().enumerate() {
            for filler in (0..46).step_by(3) {
                let lines: String = (0..filler).map(|n| format!("Line {n}.\n\n")).collect();
                let after = "More.\n\n".repeat(70);
                fs::write(folder.path().join("a.md"), format!("# T\n\n{lines}Leader.\n\n{follower}\n\n{after}"))
                    .expect("written");
                assert!(made(&["a.md", "-q", "-o", "a.pdf"], folder.path()).status.success());
                let places = places(&folder.path().join("a.pdf"));
                let of = |wanted: &str| {
                    places.iter().find(|(word, ..)| word == wanted).unwrap_or_else(|| panic!("{wanted}: {places:?}"))
                };
                let ((_, page, [x, y]), (_, page_of_it, [x_of_it, y_of_it])) = (of("Leader."), of("First"));
                let beside = (x - x_of_it).abs() > 60.0;
                assert!(page == page_of_it && !beside && y < y_of_it, "{n}, after {filler}: {x} {y}, {x_of_it} {y_of_it}");
            }
        }
    }

    #[test]
    #[ignore = "needs pdftotext: tests/run"]
    fn the_words_of_all_steps_begin_below_one_another() {
        let folder = tempfile::tempdir().expect("a folder");
        let steps: String = (1..=12).map(|n| format!("{n}. Begin\n")).collect();
        fs::write(folder.path().join("a.md"), format!("# T\n\n{steps}")).expect("written");
        assert!(made(&["a.md", "-q", "-o", "a.pdf"], folder.path()).status.success());
        let places = places(&folder.path().join("a.pdf"));
        // In either column: they begin 261.6 points apart.
        let side = |x: f32| (if x > 298.0 { x - 261.64 } else { x }).round() as i32;
        let sides: BTreeSet<i32> = places.iter().filter(|(word, ..)| word == "Begin").map(|(.., [x, _])| side(*x)).collect();
        assert_eq!(sides.len(), 1, "{places:?}");
    }

    #[test]
    #[ignore = "needs pdftotext: tests/run"]
    fn a_word_that_has_room_in_its_column_is_not_parted() {
        let folder = tempfile::tempdir().expect("a folder");
        let address = "https://example.com/a/drawer/of/capacitors/of/every/size";
        let tables = format!(
            "# T\n\n| Reference | What it is for | Photo |\n|---|---|---|\n| C1 | {} | |\n\n\
             | **Magenta** | Sold | Price |\n|---|---|---|\n| {0} | [Reedbed]({address}) | 9.90 |\n",
            "a drawer of capacitors, one of every size that was ever sold ".repeat(3)
        );
        fs::write(folder.path().join("a.md"), tables).expect("written");
        assert!(made(&["a.md", "-q", "-o", "a.pdf"], folder.path()).status.success());
        let places = places(&folder.path().join("a.pdf"));
        for word in ["Reference", "Photo", "Magenta"] {
            assert!(places.iter().any(|(known, ..)| known == word), "{word}: {places:?}");
        }
        // The number of a note stands on the line of its word.
        let sold = places.iter().find(|(word, ..)| word.starts_with("Reedbed")).unwrap_or_else(|| panic!("{places:?}"));
        let number = |(word, _, [_, y]): &&(String, usize, [f32; 2])| word == "1" && (y - sold.2[1]).abs() < 6.0;
        assert!(sold.0 == "Reedbed1" || places.iter().any(|place| number(&place)), "{places:?}");
    }

    #[test]
    #[ignore = "needs pdftotext: tests/run"]
    fn among_words_from_the_right_what_is_foreign_keeps_its_order() {
        let folder = tempfile::tempdir().expect("a folder");
        let text = "+++\ntitle = \"ה\"\nlanguage = \"he\"\ndocument = \"3 Tea\"\n[product]\naddress = \"4 Sluice Lane\"\n+++\n# ה\n\nעד 95 °C בערב.\n";
        fs::write(folder.path().join("a.md"), text).expect("written");
        assert!(made(&["a.md", "-q", "-o", "a.pdf"], folder.path()).status.success());
        // Nor is a mark of direction found in what is read.
        let text = heard("pdftotext", &["-raw"], &folder.path().join("a.pdf"));
        assert!(!text.contains(['\u{2068}', '\u{2069}', '\u{fffd}']), "{text:?}");
        let places = places(&folder.path().join("a.pdf"));
        let left =
            |wanted: &str| places.iter().filter(|(word, ..)| word.contains(wanted)).map(|(.., [x, _])| *x).collect::<Vec<_>>();
        for [one, other] in [["4", "Sluice"], ["3", "Tea"], ["9", "C"]] {
            let (one, other) = (left(one), left(other));
            assert!(!one.is_empty() && one.len() == other.len(), "{places:?}");
            assert!(one.iter().zip(&other).all(|(one, other)| one < other), "{one:?} {other:?}: {places:?}");
        }
    }

    #[test]
    #[ignore = "needs pdfimages: tests/run"]
    fn pictures_side_by_side_are_all_as_large() {
        let folder = tempfile::tempdir().expect("a folder");
        image::GrayImage::from_fn(640, 400, |x, y| image::Luma([(x * y % 251) as u8]))
            .save(folder.path().join("a.png"))
            .expect("written");
        for count in [2, 4, 5, 7] {
            fs::write(folder.path().join("a.md"), format!("# T\n\n{}\n", "![A lid](a.png) ".repeat(count))).expect("written");
            assert!(made(&["a.md", "-q", "-o", "a.pdf"], folder.path()).status.success());
            let output = Command::new("pdfimages").arg("-list").arg(folder.path().join("a.pdf")).output().expect("pdfimages");
            let list = String::from_utf8_lossy(&output.stdout).into_owned();
            let fine: Vec<&str> = list.lines().skip(2).filter_map(|line| line.split_whitespace().nth(12)).collect();
            assert_eq!(fine.len(), count, "{list}");
            assert!(fine.iter().all(|one| one == &fine[0]), "{list}");
        }
    }

    #[test]
    #[ignore = "needs pdftotext: tests/run"]
    fn no_row_of_a_table_and_no_line_of_code_stands_alone() {
        let folder = tempfile::tempdir().expect("a folder");
        for filler in 0..24 {
            let lines: String = (0..filler * 2).map(|n| format!("Line {n}.\n\n")).collect();
            let rows: String = (1..=30).map(|n| format!("| row{n} | x |\n")).collect();
            let code: String = (1..=30).map(|n| format!("code{n}\n")).collect();
            let text = format!("# T\n\n{lines}| A | B |\n|---|---|\n{rows}\n```\n{code}```\n\n{}", "More.\n\n".repeat(40));
            fs::write(folder.path().join("a.md"), text).expect("written");
            assert!(made(&["a.md", "-q", "-o", "a.pdf"], folder.path()).status.success());
            let places = places(&folder.path().join("a.pdf"));
            let column = |wanted: &str| {
                let (_, page, [x, _]) = places.iter().find(|(word, ..)| word == wanted).unwrap_or_else(|| panic!("{wanted}"));
                (*page, *x as i32)
            };
            for [one, other] in [["row1", "row2"], ["row29", "row30"], ["code1", "code3"], ["code28", "code30"]] {
                assert_eq!(column(one), column(other), "{one}, after {filler}");
            }
        }
    }

    /// The letters of a word, whatever their order: poppler turns those that one glyph shows (lam and alef maqsura, say).
    fn sorted(word: &str) -> Vec<char> {
        let mut letters: Vec<char> = letters(word).chars().collect();
        letters.sort_unstable();
        letters
    }
}
