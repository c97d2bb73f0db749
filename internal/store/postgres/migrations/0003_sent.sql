-- matches sqlite 6
-- Under which key an entry was sent, so that the same sending never makes two.
CREATE TABLE sent (
    account   TEXT COLLATE "C" NOT NULL, -- '' for whoever is at the machine
    sent_key  TEXT COLLATE "C" NOT NULL CHECK (sent_key <> ''),
    what      TEXT NOT NULL, -- digest of what was asked
    guitar_id TEXT COLLATE "C" NOT NULL,
    seq       INTEGER NOT NULL,
    revision  BIGINT NOT NULL,
    PRIMARY KEY (account, sent_key),
    FOREIGN KEY (guitar_id, seq) REFERENCES entry (guitar_id, seq) DEFERRABLE
);
