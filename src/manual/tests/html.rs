//! HTML in a guide: every tag of the table, as its sister in Markdown.

use super::super::document::Width;
use super::*;

fn drawn(text: &str) -> String {
    sketch(&document(text).blocks)
}

/// The same document as `markdown`, but for where things stand.
#[track_caller]
fn same(html: &str, markdown: &str) {
    assert_eq!(drawn(html), drawn(markdown), "{html}");
}

#[test]
fn blocks_of_html_are_as_their_sisters() {
    same("<h1 align=center>A</h1>\n\n<h2>B</h2><p>one<p>two\n", "# A\n\n## B\n\none\n\ntwo\n");
    same("<ul><li>a<li>b</ul>", "- a\n- b");
    same("<ol start=3><li><p>a</p><li><p>b</p></ol>", "3. a\n\n4. b");
    same("<blockquote><p>x</p></blockquote>", "> x");
    same("<dl><dt>On<dd>lit</dl>", "On\n: lit");
    same("<pre>\na  b\n  c &lt;\n</pre>", "```\na  b\n  c <\n```");
    same("a\n\n<hr>\n\nb", "a\n\n---\n\nb");
    same("<div>a<div>b</div>c</div>", "a\n\nb\n\nc");
}

#[test]
fn tags_in_a_sentence_are_as_their_sisters() {
    same("x <b>y</b> <i>z</i> <del>w</del> <code>k</code>", "x **y** *z* ~~w~~ `k`");
    same("a<br>b", "a\\\nb");
    same("<a href=\"https://a.example\">b</a>", "[b](https://a.example)");
    assert_eq!(drawn("H<sub>2</sub>O, 10<sup>-3</sup>"), "p(H_{2}O, 10^{-3})");
    assert_eq!(drawn("a <span>b</span><small>c</small>"), "p(a bc)");
}

#[test]
fn what_stands_unclosed_closes_as_browsers_close_it() {
    same("<p>one <b>two\n\n<p>three", "one **two**\n\n**three**");
    same("<table><tr><th>a<th>b<tr><td>1<td>2</table>", "|a|b|\n|-|-|\n|1|2|");
    same("- <kbd>A\n- b", "- `A`\n- b");
}

#[test]
fn markdown_stands_inside_html() {
    same(
        "<details>\n<summary>More <b>of</b> it</summary>\n\n## Inside\n\n- one\n- `two`\n\n</details>\n\nafter",
        "### More **of** it\n\n## Inside\n\n- one\n- `two`\n\nafter",
    );
    same("<table><tr><th>a</th><th>b</th></tr><tr><td>\n\n**1**\n\n</td><td>2</td></tr></table>", "|a|b|\n|-|-|\n|**1**|2|");
    same("<div>\n\n```\n<b>\n```\n\n</div>", "```\n<b>\n```");
}

#[test]
fn pictures_of_html_are_pictures() {
    let blocks = document("<p align=center><img src=\"a%20b.png\" alt=\"A  cup\" title=\"Cup\" width=\"450\"></p>").blocks;
    let [Block { kind: Kind::Figure(figure), .. }] = blocks.as_slice() else { panic!("{blocks:?}") };
    assert_eq!((figure.picture.as_str(), figure.alt.as_str(), figure.width), ("a b.png", "A cup", Some(Width::Page(500))));
    assert_eq!(super::super::document::plain_text(&figure.caption), "Cup");
    same("<figure><img src=x.png alt=x><figcaption>A <i>cap</i></figcaption></figure>", "![x](x.png \"A cap\")");
    same("<figure>\n\n![x](x.png)\n\n<figcaption>C</figcaption></figure>", "![x](x.png \"C\")");
    same("<picture><source srcset=dark.png><img src=x.png alt=x></picture>", "![x](x.png)");
    same("<a href=\"https://a.example\"><img src=x.png alt=x></a>", "![x](x.png)");
    same("[![x](x.png)](https://a.example)", "![x](x.png)");
}

#[test]
fn a_list_behind_a_picture_gives_its_width() {
    for (list, width) in [
        ("{width=50%}", Some(500)),
        ("{ .right width=\"450\" }", Some(500)),
        ("{: width='30%' }", Some(300)),
        ("{ loading=lazy }", None),
        ("{max-width=50%}", None),
        ("{width=auto}", None),
    ] {
        let blocks = document(&format!("![a](b.png){list}")).blocks;
        let [Block { kind: Kind::Figure(figure), .. }] = blocks.as_slice() else { panic!("{list} {blocks:?}") };
        assert_eq!(figure.width, width.map(Width::Page), "{list}");
        let manual = document(&format!("+++\ntitle = \"x\"\n+++\n![a](b.png){list}")).blocks;
        assert_eq!(sketch(&manual), sketch(&blocks), "{list}");
    }
    same("![a](b.png){a}", "![a](b.png)\\{a}");
    same("*![a](b.png){width=50%}* c", "*![a](b.png)* c");
}

#[test]
fn a_link_to_a_heading_that_is_not_there_is_said() {
    let text = "# Über uns!\n\n## A `b` (c)\n\n## A `b` (c)\n\n<a name=\"x-1\"></a>\n\n## E {#own}\n\n";
    let all = "[1](#über-uns) [2](#a-b-c) [3](#a-b-c-1) [4](#x-1) [5](#own) [6](#) [7](#top) [8](#%C3%BCber-uns)";
    assert_eq!(remarks(&format!("{text}{all}")), [""; 0]);
    assert_eq!(remarks(&format!("{text}[9](#gone) <a href='#lost'>l</a>")), ["11:1 link-to-nowhere", "11:12 link-to-nowhere"]);
}

#[test]
fn a_finding_on_a_tag_names_its_line_and_column() {
    assert_eq!(remarks("<p>\n  <b>x</b> <img src=\"a.png\">\n</p>"), ["2:12 missing-alt"]);
    assert_eq!(remarks("> - text\n>   <img\n>   src=a.png> <foo>y"), ["2:5 missing-alt", "3:16 html-dropped"]);
    assert_eq!(remarks("a &amp; ü <nobr>b</nobr> &nope; <img src=x>"), ["1:11 html-dropped", "1:33 missing-alt"]);
}

#[test]
fn tables_take_cells_over_several_columns() {
    same(
        "<table><tr><th>a</th><th>b</th></tr><tr><td rowspan=2>1</td><td>2</td></tr><tr><td>3</td></tr></table>",
        "|a|b|\n|-|-|\n|1|2|\n||3|",
    );
    assert_eq!(
        drawn("<table><tr><th>a<th>b<tr><td colspan=99999>all<tr><td>1<td>2</table>"),
        format!("{} {} {}", drawn("|a|b|\n|-|-|"), "p(all)", drawn("| | |\n|-|-|\n|1|2|"))
    );
    // A page laid out by a table: what stands in the cells, one after the other.
    same("<table><tr><td>\n\n## A\n\n- b\n\n</td><td>c</td></tr></table>", "## A\n\n- b\n\nc");
}

#[test]
fn cells_beyond_the_head_are_cells_with_their_marks() {
    let table = "|a|b|\n|-|-|\n|1|2|[c](https://a.example) *d* `e` ||\n";
    assert_eq!(remarks(table), ["3:6 extra-cell"]);
    let said = drawn(table);
    assert!(said.contains("_d_") && said.contains("<e>") && said.contains("https://a.example") && !said.contains("]("), "{said}");
    // An empty one more is nothing.
    assert_eq!(remarks("|a|b|\n|-|-|\n|1|2||\n"), [""; 0]);
}

#[test]
fn what_is_nothing_on_paper_says_nothing() {
    assert_eq!(drawn("a\n\n<script>\nlet b = \"<p>\";\n\nc\n</script>\n\n<style>p { }</style>\n\n<!-- d -->\n\ne"), "p(a) p(e)");
    assert_eq!(drawn("a\n\n<!-- strip: off -->\n\n- b\n\n<p>c\n\n<!-- strip: on -->\n\nd"), "p(a) p(d)");
    assert_eq!(drawn("- a\n\n  <!-- strip: off -->\n- b\n\n<!--strip:on-->\n\nc"), "bullets[p(a)] p(c)");
}

#[test]
fn films_are_an_address() {
    let said = document("<iframe src=\"https://v.example/1\"><p>no</iframe>\n\nafter").text();
    assert_eq!(said.split_whitespace().collect::<Vec<_>>(), ["Video:", "after", "https://v.example/1"]);
    let said = document("<video controls><source src=\"https://v.example/2\">old</video>").text();
    assert_eq!(said.split_whitespace().collect::<Vec<_>>(), ["Video:", "https://v.example/2"]);
}

#[test]
fn hostile_html_is_read_or_refused_in_time() {
    let deep = |open: &str| format!("x\n\n{}\n\ny", open.repeat(100_000));
    for text in [
        deep("<div>"),
        deep("<b>"),
        deep("<p><b>"),
        deep("<ul><li>"),
        deep("<table><tr><td>"),
        deep("<a href=x>"),
        deep("</b></p>"),
        format!("<table>{}</table>", "<tr><td>a<td>b<td>c<td>d".repeat(2_500)),
        format!("<table>{}</table>", "<tr><td colspan=99999>a<td rowspan=99999>b".repeat(2_500)),
        format!("<img src=x alt=\"{}\">", "a".repeat(7 << 20)),
        "<table>x".repeat(20_000),
        "<b><p>x".repeat(5_000) + &"</b>".repeat(5_000),
    ] {
        let said = document(&text).text();
        assert!(text.len() < 1000 || said.len() < text.len() * 4);
    }
}

#[test]
fn badges_are_left_out_and_counted_once() {
    let row = "[![a](https://b.example/a.svg)](https://c.example) [![d](https://b.example/d?x=1.png)](https://c.example)";
    let text = format!("# T\n\n{row}\n\n<p><a href=x><img src=\"https://b.example/e.svg\" height=20></a></p>\n\nText\n");
    let read = document(&text);
    assert_eq!(sketch(&read.blocks), "title(T) p(Text)");
    let told: Vec<&str> = read.remarks.iter().map(|remark| remark.message.as_str()).collect();
    assert_eq!(told, ["3 badges are left out"]);
    // Among words only what calls itself one.
    for (text, left) in [
        ("# Heron [![tests](https://b.example/ci/badge.svg)](https://c.example)\n", "title(Heron)"),
        ("Tests<br>\n[![d](https://b.example/badge/?version=latest)](https://c.example)\n", "p(Tests)"),
        (
            "See [![d](https://b.example/wiring.svg)](https://c.example) first.\n",
            "p(See !https://b.example/wiring.svg \"d\"! first.)",
        ),
    ] {
        assert_eq!(sketch(&document(text).blocks), left);
    }
    // A film's still, a drawing that stands alone, a picture that is large: none is a badge.
    for kept in [
        "[![a](https://b.example/a.jpg)](https://c.example)",
        "![a](https://b.example/a.svg)",
        "[![a](https://b.example/a.png)](https://c.example)",
        "<a href=x><img alt=a src=\"https://b.example/a.svg\" height=200></a>",
        "[![a](a.svg)](https://c.example)",
    ] {
        assert_eq!(document(kept).blocks.len(), 1, "{kept}");
    }
}

#[test]
fn a_link_to_a_file_is_its_text() {
    assert_eq!(drawn("See [parts](docs/parts.csv) and [up](#top)."), "p(See {parts} and {up}.)");
    assert_eq!(
        remarks("See [parts](docs/parts.csv), [up](#top), [w](https://a.example), [m](mailto:a@b.example)."),
        ["1:5 link-to-file"]
    );
}

/// A page as a site generator writes it: indented, with what leads about the site around the guide.
#[test]
fn of_a_whole_page_the_guide_is_read() {
    let page = "<!DOCTYPE html>\n<html lang=\"de\">\n  <head>\n    <meta charset=\"utf-8\">\n    <title>Heron \u{2014} Reedbed</title>\n    <style>p { color: red }</style>\n  </head>\n\n  <body>\n\n    <nav><ul><li><a href=\"/\">Home</a></ul></nav>\n    <div role=\"navigation\">Up</div>\n\n    <button>Menu</button>\n    <main>\n\n      <h1>Heron<a class=\"headerlink\" href=\"#heron\">\u{b6}</a></h1>\n\n      <p>Dips a *tea* bag.</p>\n\n        <p hidden>no</p>\n        <ol><li>Fill it.</li></ol>\n\n    </main>\n\n    <p>Made by a generator.</p>\n  </body>\n</html>\n";
    let read = document(page);
    assert_eq!(sketch(&read.blocks), drawn("# Heron\n\nDips a \\*tea\\* bag.\n\n1. Fill it.\n"));
    assert_eq!((read.header.language.as_deref(), read.header.title), (Some("de"), None));
    assert_eq!(remarks("<html><body><nav>a</nav><div role=search>b</div><p>c"), ["1:13 page-furniture"]);
}

#[test]
fn a_page_without_a_heading_is_called_by_its_title() {
    let read = document("<!doctype html><title>Bench &amp; lamp</title><p>One.<p>Two.");
    assert_eq!((sketch(&read.blocks), read.header.title.as_deref()), (drawn("One.\n\nTwo."), Some("Bench & lamp")));
}

/// `div.admonition` with its `p.admonition-title` is what docutils writes (its HTML writer, `visit_admonition`: from memory).
#[test]
fn a_box_of_a_page_that_warns_is_a_safety_message() {
    same(
        "<html><div class=\"admonition warning\"><p class=\"admonition-title\">Warning</p><p>It gets hot.</p></div>",
        "> **Warning**\n>\n> It gets hot.",
    );
    same("<html><svg><text>x</text></svg><p>a</p><article><p>b</article>", "b");
    assert_eq!(remarks("<html><p>a<svg width=9></svg><svg aria-hidden=true></svg>"), ["1:11 html-dropped"]);
}
