CREATE TABLE photo (
    seq       INTEGER PRIMARY KEY AUTOINCREMENT, -- the order they were added in
    id        TEXT NOT NULL UNIQUE CHECK (id <> ''),
    guitar_id TEXT NOT NULL REFERENCES guitar (id),
    entry     INTEGER NOT NULL CHECK (entry >= 0), -- 0 for none
    alt       TEXT NOT NULL,
    added     TEXT NOT NULL,
    bench     TEXT NOT NULL,
    account   TEXT NOT NULL, -- '' for none
    width     INTEGER NOT NULL,
    height    INTEGER NOT NULL,
    size      INTEGER NOT NULL,
    removed   INTEGER NOT NULL DEFAULT 0 CHECK (removed IN (0, 1))
) STRICT;

CREATE INDEX photo_guitar ON photo (guitar_id);

CREATE INDEX photo_account ON photo (account);

-- The bytes stand apart, so that listing photos reads none of them. They go when their photo is removed.
CREATE TABLE photo_bytes (
    photo_id TEXT PRIMARY KEY REFERENCES photo (id),
    picture  BLOB NOT NULL,
    thumb    BLOB NOT NULL
) STRICT;

CREATE TRIGGER photo_kept BEFORE DELETE ON photo
BEGIN
    SELECT RAISE(ABORT, 'that a photo was there is never erased');
END;
