//! The words themselves, one table a language.
//!
//! Signal words of en de fr es it nl pt sv da pl are CHECKS.md's (memory); those of the other languages are from memory too, and so
//! are all names of colours. The first spelling of each grade is the one the program uses; the others are understood.

pub(super) struct Words {
    pub step: &'static str,
    pub fig: &'static str,
    pub notes: &'static str,
    pub page: &'static str,
    pub revision: &'static str,
    pub issued: &'static str,
    pub document: &'static str,
    pub made_by: &'static str,
    pub lasting_copy: &'static str,
    pub continued: &'static str,
    pub quotes: (&'static str, &'static str),
    /// Of lamps: red, yellow, green, blue, white.
    pub colours: [&'static str; 5],
    /// Danger, warning, caution, notice.
    pub signal: [&'static [&'static str]; 4],
}

pub(super) static ENGLISH: Words = Words {
    step: "Step",
    fig: "Fig.",
    notes: "Notes",
    page: "Page",
    revision: "Revision",
    issued: "Issued",
    document: "Document",
    made_by: "Made by",
    lasting_copy: "Lasting copy at",
    continued: "continued",
    quotes: ("“", "”"),
    colours: ["red", "yellow", "green", "blue", "white"],
    signal: [&["DANGER"], &["WARNING"], &["CAUTION"], &["NOTICE"]],
};

pub(super) static GERMAN: Words = Words {
    step: "Schritt",
    fig: "Abb.",
    notes: "Anmerkungen",
    page: "Seite",
    revision: "Revision",
    issued: "Ausgabe",
    document: "Dokument",
    made_by: "Hergestellt von",
    lasting_copy: "Dauerhafte Fassung unter",
    continued: "Fortsetzung",
    quotes: ("„", "“"),
    colours: ["rot", "gelb", "grün", "blau", "weiß"],
    signal: [&["GEFAHR"], &["WARNUNG"], &["VORSICHT"], &["HINWEIS"]],
};

pub(super) static FRENCH: Words = Words {
    step: "Étape",
    fig: "Fig.",
    notes: "Notes",
    page: "Page",
    revision: "Révision",
    issued: "Publié le",
    document: "Document",
    made_by: "Fabriqué par",
    lasting_copy: "Version durable sur",
    continued: "suite",
    quotes: ("«", "»"),
    colours: ["rouge", "jaune", "vert", "bleu", "blanc"],
    signal: [&["DANGER"], &["AVERTISSEMENT"], &["ATTENTION"], &["AVIS"]],
};

pub(super) static SPANISH: Words = Words {
    step: "Paso",
    fig: "Fig.",
    notes: "Notas",
    page: "Página",
    revision: "Revisión",
    issued: "Fecha",
    document: "Documento",
    made_by: "Fabricado por",
    lasting_copy: "Copia duradera en",
    continued: "continuación",
    quotes: ("«", "»"),
    colours: ["rojo", "amarillo", "verde", "azul", "blanco"],
    signal: [&["PELIGRO"], &["ADVERTENCIA"], &["PRECAUCIÓN"], &["AVISO"]],
};

pub(super) static ITALIAN: Words = Words {
    step: "Passo",
    fig: "Fig.",
    notes: "Note",
    page: "Pagina",
    revision: "Revisione",
    issued: "Data",
    document: "Documento",
    made_by: "Prodotto da",
    lasting_copy: "Copia durevole su",
    continued: "segue",
    quotes: ("«", "»"),
    colours: ["rosso", "giallo", "verde", "blu", "bianco"],
    signal: [&["PERICOLO"], &["AVVERTENZA"], &["ATTENZIONE"], &["AVVISO"]],
};

pub(super) static DUTCH: Words = Words {
    step: "Stap",
    fig: "Afb.",
    notes: "Noten",
    page: "Pagina",
    revision: "Revisie",
    issued: "Uitgave",
    document: "Document",
    made_by: "Gemaakt door",
    lasting_copy: "Blijvende versie op",
    continued: "vervolg",
    quotes: ("‘", "’"),
    colours: ["rood", "geel", "groen", "blauw", "wit"],
    signal: [&["GEVAAR"], &["WAARSCHUWING"], &["VOORZICHTIG"], &["LET OP"]],
};

pub(super) static PORTUGUESE: Words = Words {
    step: "Passo",
    fig: "Fig.",
    notes: "Notas",
    page: "Página",
    revision: "Revisão",
    issued: "Data",
    document: "Documento",
    made_by: "Fabricado por",
    lasting_copy: "Cópia duradoura em",
    continued: "continuação",
    quotes: ("“", "”"),
    colours: ["vermelho", "amarelo", "verde", "azul", "branco"],
    signal: [&["PERIGO"], &["AVISO"], &["CUIDADO"], &["NOTA"]],
};

pub(super) static POLISH: Words = Words {
    step: "Krok",
    fig: "Rys.",
    notes: "Przypisy",
    page: "Strona",
    revision: "Wersja",
    issued: "Wydano",
    document: "Dokument",
    made_by: "Producent:",
    lasting_copy: "Trwała kopia pod adresem",
    continued: "ciąg dalszy",
    quotes: ("„", "”"),
    colours: ["czerwony", "żółty", "zielony", "niebieski", "biały"],
    signal: [&["NIEBEZPIECZEŃSTWO"], &["OSTRZEŻENIE"], &["UWAGA"], &["NOTYFIKACJA"]],
};

pub(super) static CZECH: Words = Words {
    step: "Krok",
    fig: "Obr.",
    notes: "Poznámky",
    page: "Strana",
    revision: "Revize",
    issued: "Vydáno",
    document: "Dokument",
    made_by: "Výrobce:",
    lasting_copy: "Trvalá kopie na adrese",
    continued: "pokračování",
    quotes: ("„", "“"),
    colours: ["červená", "žlutá", "zelená", "modrá", "bílá"],
    signal: [&["NEBEZPEČÍ"], &["VAROVÁNÍ", "VÝSTRAHA"], &["UPOZORNĚNÍ", "POZOR"], &["OZNÁMENÍ"]],
};

pub(super) static SWEDISH: Words = Words {
    step: "Steg",
    fig: "Fig.",
    notes: "Noter",
    page: "Sida",
    revision: "Utgåva",
    issued: "Utgiven",
    document: "Dokument",
    made_by: "Tillverkad av",
    lasting_copy: "Beständig kopia på",
    continued: "fortsättning",
    quotes: ("”", "”"),
    colours: ["röd", "gul", "grön", "blå", "vit"],
    signal: [&["FARA"], &["VARNING"], &["FÖRSIKTIGHET", "FÖRSIKTIGT"], &["OBS", "OBSERVERA"]],
};

pub(super) static DANISH: Words = Words {
    step: "Trin",
    fig: "Fig.",
    notes: "Noter",
    page: "Side",
    revision: "Udgave",
    issued: "Udgivet",
    document: "Dokument",
    made_by: "Fremstillet af",
    lasting_copy: "Holdbar kopi på",
    continued: "fortsat",
    quotes: ("»", "«"),
    colours: ["rød", "gul", "grøn", "blå", "hvid"],
    signal: [&["FARE"], &["ADVARSEL"], &["FORSIGTIG"], &["BEMÆRK", "OBS"]],
};

pub(super) static FINNISH: Words = Words {
    step: "Vaihe",
    fig: "Kuva",
    notes: "Viitteet",
    page: "Sivu",
    revision: "Versio",
    issued: "Julkaistu",
    document: "Asiakirja",
    made_by: "Valmistaja:",
    lasting_copy: "Pysyvä versio osoitteessa",
    continued: "jatkuu",
    quotes: ("”", "”"),
    colours: ["punainen", "keltainen", "vihreä", "sininen", "valkoinen"],
    signal: [&["VAARA"], &["VAROITUS"], &["HUOMIO"], &["HUOMAUTUS", "ILMOITUS"]],
};

pub(super) static NORWEGIAN_BOKMAL: Words = Words {
    step: "Trinn",
    fig: "Fig.",
    notes: "Noter",
    page: "Side",
    revision: "Revisjon",
    issued: "Utgitt",
    document: "Dokument",
    made_by: "Produsert av",
    lasting_copy: "Varig kopi på",
    continued: "fortsetter",
    quotes: ("«", "»"),
    colours: ["rød", "gul", "grønn", "blå", "hvit"],
    signal: [&["FARE"], &["ADVARSEL"], &["FORSIKTIG"], &["MERK"]],
};

pub(super) static HUNGARIAN: Words = Words {
    step: "Lépés",
    fig: "ábra",
    notes: "Jegyzetek",
    page: "Oldal",
    revision: "Változat",
    issued: "Kiadva",
    document: "Dokumentum",
    made_by: "Gyártó:",
    lasting_copy: "Tartós másolat:",
    continued: "folytatás",
    quotes: ("„", "”"),
    colours: ["piros", "sárga", "zöld", "kék", "fehér"],
    signal: [&["VESZÉLY"], &["FIGYELMEZTETÉS"], &["VIGYÁZAT"], &["MEGJEGYZÉS", "ÉRTESÍTÉS"]],
};

pub(super) static GREEK: Words = Words {
    step: "Βήμα",
    fig: "Εικ.",
    notes: "Σημειώσεις",
    page: "Σελίδα",
    revision: "Αναθεώρηση",
    issued: "Ημερομηνία έκδοσης",
    document: "Έγγραφο",
    made_by: "Κατασκευαστής:",
    lasting_copy: "Μόνιμο αντίγραφο στη διεύθυνση",
    continued: "συνέχεια",
    quotes: ("«", "»"),
    colours: ["κόκκινο", "κίτρινο", "πράσινο", "μπλε", "λευκό"],
    signal: [&["ΚΙΝΔΥΝΟΣ"], &["ΠΡΟΕΙΔΟΠΟΙΗΣΗ"], &["ΠΡΟΣΟΧΗ"], &["ΕΙΔΟΠΟΙΗΣΗ", "ΣΗΜΕΙΩΣΗ"]],
};

pub(super) static RUSSIAN: Words = Words {
    step: "Шаг",
    fig: "Рис.",
    notes: "Примечания",
    page: "Страница",
    revision: "Редакция",
    issued: "Выпущено",
    document: "Документ",
    made_by: "Изготовитель:",
    lasting_copy: "Постоянная копия по адресу",
    continued: "продолжение",
    quotes: ("«", "»"),
    colours: ["красный", "жёлтый", "зелёный", "синий", "белый"],
    signal: [&["ОПАСНО", "ОПАСНОСТЬ"], &["ОСТОРОЖНО", "ПРЕДУПРЕЖДЕНИЕ"], &["ВНИМАНИЕ"], &["УВЕДОМЛЕНИЕ", "ПРИМЕЧАНИЕ"]],
};

pub(super) static UKRAINIAN: Words = Words {
    step: "Крок",
    fig: "Рис.",
    notes: "Примітки",
    page: "Сторінка",
    revision: "Редакція",
    issued: "Видано",
    document: "Документ",
    made_by: "Виробник:",
    lasting_copy: "Постійна копія за адресою",
    continued: "продовження",
    quotes: ("«", "»"),
    colours: ["червоний", "жовтий", "зелений", "синій", "білий"],
    signal: [&["НЕБЕЗПЕКА", "НЕБЕЗПЕЧНО"], &["ПОПЕРЕДЖЕННЯ"], &["ОБЕРЕЖНО", "УВАГА"], &["ПРИМІТКА"]],
};

pub(super) static TURKISH: Words = Words {
    step: "Adım",
    fig: "Şekil",
    notes: "Notlar",
    page: "Sayfa",
    revision: "Sürüm",
    issued: "Yayım",
    document: "Belge",
    made_by: "Üretici:",
    lasting_copy: "Kalıcı kopya:",
    continued: "devamı",
    quotes: ("“", "”"),
    colours: ["kırmızı", "sarı", "yeşil", "mavi", "beyaz"],
    signal: [&["TEHLİKE"], &["UYARI"], &["DİKKAT"], &["BİLDİRİM", "NOT"]],
};

pub(super) static JAPANESE: Words = Words {
    step: "手順",
    fig: "図",
    notes: "注記",
    page: "ページ",
    revision: "改訂",
    issued: "発行",
    document: "文書",
    made_by: "製造者：",
    lasting_copy: "保存版：",
    continued: "続き",
    quotes: ("「", "」"),
    colours: ["赤", "黄", "緑", "青", "白"],
    signal: [&["危険"], &["警告"], &["注意"], &["通知", "お知らせ", "留意"]],
};

pub(super) static SIMPLIFIED_CHINESE: Words = Words {
    step: "步骤",
    fig: "图",
    notes: "注释",
    page: "页",
    revision: "修订",
    issued: "发布",
    document: "文件",
    made_by: "制造商：",
    lasting_copy: "长期保存版本：",
    continued: "续",
    quotes: ("“", "”"),
    colours: ["红", "黄", "绿", "蓝", "白"],
    signal: [&["危险"], &["警告"], &["注意", "小心"], &["须知", "提示", "通知"]],
};

pub(super) static KOREAN: Words = Words {
    step: "단계",
    fig: "그림",
    notes: "주석",
    page: "쪽",
    revision: "개정",
    issued: "발행",
    document: "문서",
    made_by: "제조사:",
    lasting_copy: "보존용 사본:",
    continued: "계속",
    quotes: ("“", "”"),
    colours: ["빨강", "노랑", "초록", "파랑", "하양"],
    signal: [&["위험"], &["경고"], &["주의"], &["알림", "참고"]],
};

pub(super) static ARABIC: Words = Words {
    step: "خطوة",
    fig: "شكل",
    notes: "ملاحظات",
    page: "صفحة",
    revision: "مراجعة",
    issued: "صدر في",
    document: "مستند",
    made_by: "الشركة المصنعة:",
    lasting_copy: "نسخة دائمة على",
    continued: "تابع",
    quotes: ("«", "»"),
    colours: ["أحمر", "أصفر", "أخضر", "أزرق", "أبيض"],
    signal: [&["خطر"], &["تحذير"], &["تنبيه", "احتياط"], &["إشعار", "ملاحظة"]],
};

pub(super) static HEBREW: Words = Words {
    step: "שלב",
    fig: "איור",
    notes: "הערות",
    page: "עמוד",
    revision: "מהדורה",
    issued: "פורסם",
    document: "מסמך",
    made_by: "יצרן:",
    lasting_copy: "עותק קבוע בכתובת",
    continued: "המשך",
    quotes: ("”", "”"),
    colours: ["אדום", "צהוב", "ירוק", "כחול", "לבן"],
    signal: [&["סכנה"], &["אזהרה"], &["זהירות"], &["הודעה", "שים לב"]],
};
