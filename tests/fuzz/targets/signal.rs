//! An address of a lamp, key or display: refused in one line with a hint, or drawn twice with the same shapes, all of them inside the room
//! that the drawing takes.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::language::Language;
use stripling::lengths::Dots;
use stripling::pictures::signals::{self, Form, Hand, Lettering, Setting};

struct Even(i32);

impl Lettering for Even {
    fn width(&self, text: &str, _: Hand) -> Dots {
        Dots(text.chars().count() as i32 * self.0)
    }

    fn cap(&self, _: Hand) -> Dots {
        Dots(self.0)
    }
}

fuzz_target!(|address: &str| match signals::read(address) {
    Ok(signal) => {
        assert!(signals::is_signal(address) && !signal.words().is_empty());
        for (form, letters) in [(Form::Icon, Even(9)), (Form::Large, Even(31))] {
            let setting =
                Setting { lettering: &letters, form, line: Dots(2), room: Dots(300), wording: Language::English.wording() };
            let scene = signal.scene(&setting);
            assert_eq!(scene, signal.scene(&setting));
            assert!(scene.is_whole(), "{address}: {scene:?}");
        }
        assert!(signals::svg(address, Language::Arabic.wording()).is_ok_and(|svg| svg.ends_with("</svg>")));
    }
    Err(error) => {
        let (words, hint) = (error.to_string(), error.hint().unwrap_or_default());
        assert!(
            !words.contains('\n') && !hint.is_empty() && !hint.contains('\n') && words.chars().count() < 400,
            "{words}: {hint}"
        );
    }
});
