//! The pictures of the handbook that show what keys of a style look like: made by the program, kept beside the handbook as dots.

use std::fs;
use std::path::Path;

use stripling::bitmap::{Bitmap, Ink};
use stripling::layout::Style;
use stripling::strip::png;

use crate::manuals::{self, Written};

const LAMP: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="24 6 72 62"><g fill="none" stroke="black" stroke-width="3"><path d="M40 8h40l14 28H26z"/><path d="M60 36v22M40 62h40a8 6 0 0 0-40 0z"/><circle cx="60" cy="41" r="5"/></g></svg>"#;

/// Rows between two parts of a picture.
const GAP: u32 = 18;

/// A picture's name and its parts: what a style changes, and what is set in it.
type Look = (&'static str, &'static [(&'static str, &'static str)]);

const LOOKS: [Look; 16] = [
    (
        "family",
        &[
            ("[type]\nfamily = \"sans\"\n", "family “sans”: *tea* and **hot** tea\n"),
            ("[type]\nfamily = \"mono\"\n", "family “mono”: *tea* and **hot** tea\n"),
            ("[type]\nfamily = \"lettering\"\n", "family “lettering”: *tea* and **hot** tea\n"),
        ],
    ),
    (
        "setting",
        &[
            ("[type]\njustified = true\n", "justified: both edges of these lines are straight, as in a book\n"),
            ("[type]\nleading = 170\n", "leading 170: two lines of type far from each other\n"),
            ("[type]\nhyphenate = false\n", "hyphenate false: characteristically undivided\n"),
        ],
    ),
    (
        "title",
        &[
            ("[type]\ntitle = 14\nsubtitle = 9\n[title]\nalign = \"left\"\n", "+++\nsubtitle = \"left\"\n+++\n# Title\n"),
            ("[type]\ntitle = 14\nsubtitle = 9\n[title]\nalign = \"centre\"\n", "+++\nsubtitle = \"centre\"\n+++\n# Title\n"),
            ("[section]\ncapitals = true\n", "## capitals\n"),
        ],
    ),
    (
        "step",
        &[
            ("[step]\nbadge = \"disc\"\n", "1. disc\n"),
            ("[step]\nbadge = \"box\"\n", "1. box\n"),
            ("[step]\nbadge = \"burst\"\n", "1. burst\n"),
            ("[step]\nbadge = \"disc\"\nsize = 9\n", "1. disc, size 9\n"),
        ],
    ),
    (
        "safety",
        &[
            ("[safety]\nsign = 8\n", "> [!CAUTION]\n> ![hot](sign:hot-surface) sign 8\n"),
            ("[safety]\nsign = 14\n[line]\nsafety = 1\n", "> [!CAUTION]\n> ![hot](sign:hot-surface) sign 14, heavy line\n"),
        ],
    ),
    (
        "figure",
        &[
            ("[figure]\nlargest = 40\nnumber = true\n", "![lamp](lamp.svg \"largest 40, number\")\n"),
            ("[figure]\nlargest = 20\nnumber = false\nalign = \"left\"\n", "![lamp](lamp.svg \"largest 20, left\")\n"),
        ],
    ),
    (
        "border",
        &[
            (
                "[comic]\nborder = 0\n",
                "```comic\n[[panel]]\nground = \"hatch\"\naspect = \"4:1\"\n[[panel.balloon]]\ntext = \"border 0\"\nat = [50, 50]\n```\n",
            ),
            (
                "[comic]\nborder = 1\n",
                "```comic\n[[panel]]\nground = \"dots\"\naspect = \"4:1\"\n[[panel.balloon]]\ntext = \"border 1\"\nat = [50, 50]\n```\n",
            ),
        ],
    ),
    (
        "rule",
        &[
            ("[rule]\nlook = \"line\"\n", "line\n\n---\n\nline\n"),
            ("[rule]\nlook = \"dots\"\n", "dots\n\n---\n\ndots\n"),
            ("[rule]\nlook = \"ornament\"\n", "ornament\n\n---\n\nornament\n"),
        ],
    ),
    (
        "bullet",
        &[
            ("[list]\nbullet = \"turns\"\n", "- turns\n  - by\n    - depth\n"),
            ("[list]\nbullet = \"disc\"\n", "- disc\n"),
            ("[list]\nbullet = \"ring\"\n", "- ring\n"),
            ("[list]\nbullet = \"square\"\n", "- square\n"),
            ("[list]\nbullet = \"dash\"\n", "- dash\n"),
        ],
    ),
    (
        "section",
        &[
            ("[section]\nlook = \"bar\"\n", "## bar\n"),
            ("[section]\nlook = \"reverse\"\n", "## reverse\n"),
            ("[section]\nlook = \"rule\"\n", "## rule\n"),
            ("[section]\nlook = \"plain\"\n", "## plain\n"),
        ],
    ),
    (
        "subsection",
        &[
            ("[subsection]\nlook = \"bar\"\n", "### bar\n"),
            ("[subsection]\nlook = \"reverse\"\n", "### reverse\n"),
            ("[subsection]\nlook = \"rule\"\n", "### rule\n"),
            ("[subsection]\nlook = \"plain\"\n", "### plain\n"),
        ],
    ),
    (
        "aside",
        &[
            ("[aside]\nlook = \"bar\"\n", "> bar: a word aside, over two lines\n"),
            ("[aside]\nlook = \"band\"\n", "> band: a word aside, over two lines\n"),
            ("[aside]\nlook = \"frame\"\n", "> frame: a word aside\n"),
        ],
    ),
    (
        "aside-ground",
        &[
            ("[aside]\nlook = \"tone\"\n", "> tone: a word aside, over two lines\n"),
            ("[aside]\nlook = \"reverse\"\n", "> reverse: white on black\n"),
        ],
    ),
    (
        "caption",
        &[
            ("[figure]\ncaption = \"below\"\nnumber = false\nlargest = 60\n", "![lamp](lamp.svg \"below\")\n"),
            (
                "[figure]\ncaption = \"above\"\nnumber = false\nlargest = 60\nalign = \"left\"\n",
                "![lamp](lamp.svg \"above, left\")\n",
            ),
        ],
    ),
    (
        "fold",
        &[(
            "[fold]\nnumber = true\n[space]\nbottom = 4\nside = 19\n",
            "+++\nfold = \"14 mm\"\n+++\nOne\n\n```fold\n```\n\nTwo\n",
        )],
    ),
    (
        "panels",
        &[(
            "[comic]\nnumber = true\n",
            "```comic\ncolumns = 2\n[[panel]]\npicture = \"lamp.svg\"\nalt = \"lamp\"\n[[panel]]\nground = \"rays\"\naspect = \"12:7\"\n[[panel.balloon]]\ntext = \"CLICK\"\nkind = \"sound\"\nat = [50, 8]\nsize = 200\ncross = true\n```\n",
        )],
    ),
];

/// What stands in a column of 34 mm, without the white above and below.
fn part(style: &str, text: &str) -> Bitmap {
    let written = Written::new(text).with("lamp.svg", LAMP);
    let mut press = manuals::press_in_style(&written.manual, "80mm", "plain");
    let (column, own) = if style.contains("[space]") { ("", style) } else { ("[space]\nside = 19\n", style) };
    press.style = Style::read(&format!("{own}{column}")).expect("a style");
    let bitmap = manuals::drafted(&press).strip.bitmap;
    let rows: Vec<u32> = (0..bitmap.height()).filter(|&y| !bitmap.row_is_blank(y)).collect();
    let (first, last) = (rows[0], rows[rows.len() - 1]);
    bitmap.part(152, first as i32, 272, last - first + 1)
}

fn picture(parts: &[(&str, &str)]) -> Bitmap {
    let parts: Vec<Bitmap> = parts.iter().map(|(style, text)| part(style, text)).collect();
    let height = parts.iter().map(|part| part.height() + GAP).sum::<u32>() - GAP + 16;
    let mut whole = Bitmap::new(272, height);
    let mut y = 8;
    for part in parts {
        whole.put(&part, 0, y, Ink::Black);
        y += (part.height() + GAP) as i32;
    }
    whole
}

#[test]
fn the_handbook_shows_what_each_look_of_a_style_is() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/handbook");
    let text = fs::read_to_string(folder.join("handbook.md")).expect("the handbook");
    let paper = stripling::printer::Profile::named("80mm").expect("a printer").resolution;
    for (name, parts) in LOOKS {
        let (file, made) = (format!("look-{name}.png"), png::write(&picture(parts), paper));
        let kept = folder.join(&file);
        if std::env::var_os("STRIPLING_ACCEPT_GOLDEN").is_some_and(|value| value == "1") {
            fs::write(&kept, &made).expect("written");
        }
        assert!(text.contains(&format!("\"{file}\"")), "{file} is not in the handbook");
        assert!(
            fs::read(&kept).ok() == Some(made),
            "{file} is otherwise: look at it, then accept it with STRIPLING_ACCEPT_GOLDEN=1"
        );
    }
}
