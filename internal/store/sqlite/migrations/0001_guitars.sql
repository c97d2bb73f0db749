CREATE TABLE shop (
    id        INTEGER PRIMARY KEY CHECK (id = 1),
    units     TEXT NOT NULL,
    shop_name TEXT NOT NULL
) STRICT;

CREATE TABLE guitar (
    id         TEXT PRIMARY KEY CHECK (id <> ''),
    name       TEXT NOT NULL,
    start_from TEXT NOT NULL CHECK (start_from IN ('design', 'readings')),
    basis      TEXT NOT NULL,
    created    TEXT NOT NULL, -- UTC, RFC 3339 with six decimals, so that text sorts as time
    first_json TEXT NOT NULL,
    revision   INTEGER NOT NULL CHECK (revision > 0),
    changed    TEXT NOT NULL,
    removed    INTEGER NOT NULL DEFAULT 0 CHECK (removed IN (0, 1))
) STRICT;

CREATE INDEX guitar_changed ON guitar (changed);

CREATE TABLE entry (
    guitar_id   TEXT NOT NULL REFERENCES guitar (id),
    seq         INTEGER NOT NULL CHECK (seq > 0),
    entered     TEXT NOT NULL,
    bench       TEXT NOT NULL,
    step        TEXT NOT NULL,
    values_json TEXT NOT NULL,
    plan_json   TEXT, -- only for a cut or a shim
    undone      INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1)),
    PRIMARY KEY (guitar_id, seq)
) STRICT, WITHOUT ROWID;

-- The log only grows: an entry is never changed but for being undone, and never erased.
CREATE TRIGGER entry_kept BEFORE DELETE ON entry
BEGIN
    SELECT RAISE(ABORT, 'entries are never erased');
END;

CREATE TRIGGER entry_fixed BEFORE UPDATE OF guitar_id, seq, entered, bench, step, values_json, plan_json ON entry
BEGIN
    SELECT RAISE(ABORT, 'entries are never changed');
END;
