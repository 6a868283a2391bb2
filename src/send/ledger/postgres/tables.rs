//! The tables of a ledger in PostgreSQL, in a schema of their own, and the rights to them.
//!
//! The same tables as in a file (`sqlite.rs` says what each is for). Besides, the database itself holds to what may become of a strip,
//! whoever asks.

/// As in `sqlite.rs`, and raised with it.
pub(super) const VERSION: i64 = 3;

pub(super) const SCHEMA: &str = "stripling";

/// Only the first one there is; what a later version lacks of an earlier one is added to it, as in `sqlite.rs`. There was no ledger in
/// PostgreSQL before version 3.
pub(super) const TABLES: &str = r#"
CREATE SCHEMA IF NOT EXISTS stripling;
CREATE TABLE stripling.version (version BIGINT NOT NULL);
INSERT INTO stripling.version VALUES (3);
CREATE TABLE stripling.run (
    run BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    document TEXT NOT NULL,
    revision TEXT NOT NULL,
    manual TEXT NOT NULL,
    rehearsal BOOLEAN NOT NULL,
    started TEXT COLLATE "C" NOT NULL,
    file TEXT NOT NULL DEFAULT '',
    language TEXT NOT NULL DEFAULT ''
);
CREATE TABLE stripling.strip (
    strip BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    run BIGINT NOT NULL REFERENCES stripling.run,
    place BIGINT NOT NULL,
    unit TEXT NOT NULL,
    copy BIGINT NOT NULL,
    manual TEXT NOT NULL,
    document TEXT NOT NULL,
    revision TEXT NOT NULL,
    printer TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('queued', 'sending', 'printed', 'unknown', 'missing')),
    note TEXT NOT NULL,
    queued TEXT COLLATE "C" NOT NULL,
    sending TEXT COLLATE "C",
    settled TEXT COLLATE "C",
    language TEXT NOT NULL DEFAULT '',
    text TEXT NOT NULL DEFAULT '',
    row TEXT NOT NULL DEFAULT '{}',
    accepted TEXT NOT NULL DEFAULT '',
    listed BOOLEAN NOT NULL DEFAULT true,
    holder TEXT NOT NULL DEFAULT '',
    attempt TEXT NOT NULL DEFAULT '',
    boxed TEXT COLLATE "C",
    UNIQUE (run, unit, copy)
);
CREATE INDEX strip_by_state ON stripling.strip (state);
CREATE TABLE stripling.history (
    entry BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    strip BIGINT NOT NULL REFERENCES stripling.strip,
    at TEXT COLLATE "C" NOT NULL,
    state TEXT NOT NULL,
    note TEXT NOT NULL,
    revision TEXT NOT NULL DEFAULT '',
    destination TEXT NOT NULL DEFAULT '',
    bench TEXT NOT NULL DEFAULT ''
);
CREATE INDEX history_by_strip ON stripling.history (strip);
CREATE TABLE stripling.making (manual TEXT PRIMARY KEY, parts TEXT NOT NULL);
CREATE TABLE stripling.line (destination TEXT PRIMARY KEY, in_order BOOLEAN NOT NULL);
CREATE TABLE stripling.bench (
    bench TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    who TEXT NOT NULL,
    began TEXT COLLATE "C" NOT NULL,
    until TEXT COLLATE "C" NOT NULL
);
-- What was settled by hand. Whoever may write here may settle; nothing else tells the two rights apart.
CREATE TABLE stripling.verdict (
    verdict BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    strip BIGINT NOT NULL REFERENCES stripling.strip,
    at TIMESTAMPTZ NOT NULL DEFAULT clock_timestamp(),
    who TEXT NOT NULL DEFAULT session_user,
    before TEXT NOT NULL,
    after TEXT NOT NULL
);
CREATE FUNCTION stripling.keep_honest() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    bench TEXT := current_setting('stripling.bench', true);
BEGIN
    IF OLD.state = NEW.state AND (OLD.boxed IS NULL OR NEW.boxed IS NOT NULL) THEN
        RETURN NEW;
    END IF;
    -- What a bench may do: send what is not printed, and say what came of it.
    IF OLD.state IN ('queued', 'missing') AND NEW.state = 'sending'
       OR OLD.state = 'sending' AND NEW.state IN ('printed', 'unknown', 'missing')
       -- A code was scanned, or the printer's word came late to the bench that had sent it.
       OR OLD.state = 'unknown' AND NEW.state = 'printed' AND (NEW.boxed IS NOT NULL OR OLD.holder = bench) THEN
        RETURN NEW;
    END IF;
    IF NEW.state IN ('sending', 'queued') THEN
        RAISE EXCEPTION 'a strip that is % is not sent', OLD.state USING ERRCODE = 'check_violation';
    END IF;
    -- Everything else is a person's word, for which there is a right of its own.
    INSERT INTO stripling.verdict (strip, before, after) VALUES (OLD.strip, OLD.state, NEW.state);
    RETURN NEW;
END $$;
CREATE TRIGGER keep_honest BEFORE UPDATE ON stripling.strip FOR EACH ROW EXECUTE FUNCTION stripling.keep_honest();
"#;

/// Rights: a bench prints and confirms, and takes nothing out of the history; who settles may write verdicts too.
pub(super) const ROLES: &str = r#"
DO $$ BEGIN
    IF NOT EXISTS (SELECT FROM pg_catalog.pg_roles WHERE rolname = 'stripling_bench') THEN
        CREATE ROLE stripling_bench NOLOGIN;
    END IF;
    IF NOT EXISTS (SELECT FROM pg_catalog.pg_roles WHERE rolname = 'stripling_settler') THEN
        CREATE ROLE stripling_settler NOLOGIN;
    END IF;
END $$;
GRANT USAGE ON SCHEMA stripling TO stripling_bench;
GRANT SELECT ON ALL TABLES IN SCHEMA stripling TO stripling_bench;
GRANT INSERT ON stripling.run, stripling.strip, stripling.history, stripling.making, stripling.line, stripling.bench TO stripling_bench;
GRANT UPDATE ON stripling.run, stripling.strip, stripling.line, stripling.bench TO stripling_bench;
GRANT stripling_bench TO stripling_settler;
GRANT INSERT ON stripling.verdict TO stripling_settler;
"#;
