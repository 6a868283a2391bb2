//! Texts that nobody would write: a gesture on them is refused in words, or changes its block alone and can be taken back.

use proptest::prelude::*;

use super::*;

fn texts() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "\n",
        "\n\n",
        "\r\n",
        "```figure\n",
        "```comic\n",
        "~~~ figure\n",
        "```\n",
        "~~~\n",
        "picture = \"a.png\"\n",
        "alt = 'A'\n",
        "callouts = [\n",
        "{ at = [1, 2], label = \"A\" }",
        ",\n",
        "]\n",
        "# remark\n",
        "[[callouts]]\n",
        "at = [1, 2]\n",
        "label = \"\"\"\nA\"\"\"\n",
        "[[panel]]\n",
        "[[panel.balloon]]\n",
        "text = \"Hi\"\n",
        "balloon = [{ text = \"a\", at = [5, 5] }]\n",
        "crop = [0, 0, 50, 50] # c\n",
        "model = \"a.stl\"\n",
        "view = \"front\"\n",
        "1. ",
        "- ",
        "> ",
        "   ",
        "\t",
        "![A](a.png)",
        "![](b c.png \"T\")",
        "![a][r]",
        "\n[r]: x.png\n",
        "<img src=a.png>",
        "<p><img src=\"a.png\" alt=''></p>\n",
        "<figure>",
        "</figure>",
        "# H\n",
        "| a | b |\n|---|---|\n",
        "words ",
        "{{ x }}",
        "{% if a %}\n",
        "+++\n",
        "---\n",
        "a = 1\n",
        "é",
        "\\",
        "*",
        "[",
        "](",
        ")",
    ]);
    prop::collection::vec(piece, 1..24).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    #[test]
    fn whatever_a_text_is_a_gesture_changes_its_block_alone(text in texts(), line in 1u32..24, change in interleaved::gestures()) {
        let Ok(block) = at_line(&text, line) else { return Ok(()) };
        let Ok(edited) = apply(&text, &block, &change) else { return Ok(()) };
        let range = block.range();
        prop_assert_eq!(&edited.text[..edited.range.start], &text[..range.start]);
        prop_assert_eq!(&edited.text[edited.range.end..], &text[range.end..]);
        let now = at_line(&edited.text, edited.line()).expect("the block stands where it stood");
        prop_assert!(read(&edited.text, &now).is_ok());
        let mut history = History::default();
        history.keep(&text, range, &edited);
        let (undone, _) = history.turn(Way::Undo, &edited.text).expect("undone at once");
        prop_assert_eq!(undone.text, text);
    }
}
