CREATE TABLE account (
    id     TEXT PRIMARY KEY CHECK (id <> ''),
    name   TEXT NOT NULL,
    folded TEXT NOT NULL UNIQUE, -- the name in small letters: no two may differ only in their case
    role   TEXT NOT NULL CHECK (role IN ('teacher', 'bench')),
    secret TEXT NOT NULL,
    wrong  INTEGER NOT NULL DEFAULT 0,
    locked INTEGER NOT NULL DEFAULT 0 CHECK (locked IN (0, 1)),
    made   TEXT NOT NULL
) STRICT;

CREATE TABLE session (
    hash    TEXT PRIMARY KEY CHECK (hash <> ''),
    account TEXT NOT NULL REFERENCES account (id),
    kind    TEXT NOT NULL CHECK (kind IN ('page', 'script')),
    label   TEXT NOT NULL,
    made    TEXT NOT NULL,
    seen    TEXT NOT NULL,
    ends    TEXT NOT NULL -- '' for never
) STRICT;

CREATE INDEX session_account ON session (account);

CREATE TABLE event (
    seq    INTEGER PRIMARY KEY AUTOINCREMENT,
    at     TEXT NOT NULL,
    who    TEXT NOT NULL,
    did    TEXT NOT NULL,
    guitar TEXT NOT NULL
) STRICT;

CREATE TRIGGER event_kept BEFORE DELETE ON event
BEGIN
    SELECT RAISE(ABORT, 'events are never erased');
END;

CREATE TRIGGER event_fixed BEFORE UPDATE OF seq, at, guitar ON event
BEGIN
    SELECT RAISE(ABORT, 'events are never changed');
END;

ALTER TABLE guitar ADD COLUMN owner TEXT NOT NULL DEFAULT ''; -- account; '' is the teachers'

-- A name can be taken out of the log on its bearer's request; all else of an entry stays as it was.
DROP TRIGGER entry_fixed;

CREATE TRIGGER entry_fixed BEFORE UPDATE OF guitar_id, seq, entered, step, values_json, plan_json ON entry
BEGIN
    SELECT RAISE(ABORT, 'entries are never changed');
END;

CREATE TRIGGER entry_name_fixed BEFORE UPDATE OF bench ON entry WHEN NEW.bench NOT LIKE 'former %'
BEGIN
    SELECT RAISE(ABORT, 'entries are never changed');
END;
