//! Fixed words of the lasting copy, in every language. From memory.

use super::Language;

impl Language {
    /// What heads a list of the sections.
    pub fn contents(self) -> &'static str {
        self.words_of_the_copy()[0]
    }

    /// A link that leads past the list of the sections.
    pub fn skip(self) -> &'static str {
        self.words_of_the_copy()[1]
    }

    /// Where a unit's own value is found: on the strip that lay in its box.
    pub fn see_your_strip(self) -> &'static str {
        self.words_of_the_copy()[2]
    }

    fn words_of_the_copy(self) -> [&'static str; 3] {
        match self {
            Language::English => ["Contents", "Skip to the text", "see your strip"],
            Language::German => ["Inhalt", "Zum Text springen", "siehe Ihren Streifen"],
            Language::French => ["Sommaire", "Aller au texte", "voir votre bande"],
            Language::Spanish => ["Contenido", "Ir al texto", "véase su tira"],
            Language::Italian => ["Indice", "Vai al testo", "vedi la tua striscia"],
            Language::Dutch => ["Inhoud", "Naar de tekst", "zie uw strook"],
            Language::Portuguese | Language::BrazilianPortuguese => ["Índice", "Ir para o texto", "ver a sua tira"],
            Language::Polish => ["Spis treści", "Przejdź do tekstu", "patrz pasek z pudełka"],
            Language::Czech => ["Obsah", "Přejít k textu", "viz váš pásek"],
            Language::Swedish => ["Innehåll", "Hoppa till texten", "se din remsa"],
            Language::Danish => ["Indhold", "Gå til teksten", "se din strimmel"],
            Language::Finnish => ["Sisällys", "Siirry tekstiin", "katso liuskastasi"],
            Language::NorwegianBokmal => ["Innhold", "Gå til teksten", "se din strimmel"],
            Language::Hungarian => ["Tartalom", "Ugrás a szövegre", "lásd a papírcsíkon"],
            Language::Greek => ["Περιεχόμενα", "Μετάβαση στο κείμενο", "δείτε την ταινία σας"],
            Language::Russian => ["Содержание", "Перейти к тексту", "см. вашу ленту"],
            Language::Ukrainian => ["Зміст", "Перейти до тексту", "див. вашу стрічку"],
            Language::Turkish => ["İçindekiler", "Metne geç", "şeridinize bakın"],
            Language::Japanese => ["目次", "本文へ移動", "同梱の用紙を参照"],
            Language::SimplifiedChinese => ["目录", "跳到正文", "见随附纸条"],
            Language::Korean => ["차례", "본문으로 이동", "동봉된 용지 참조"],
            Language::Arabic => ["المحتويات", "الانتقال إلى النص", "انظر الشريط المرفق"],
            Language::Hebrew => ["תוכן", "דילוג לטקסט", "ראו את הסרט שבאריזה"],
        }
    }
}
