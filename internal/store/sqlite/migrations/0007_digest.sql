-- What each row says, as a digest (sqlstore, seal.go): a bit that flips on the disk shows, though every page is where
-- it should be. Whatever changes a row empties its digest; the program fills it in before the change is kept, and
-- once when it opens a shop that an older program wrote. The indexes hold only rows that wait for theirs.
ALTER TABLE shop ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX shop_unsealed ON shop (digest) WHERE digest = '';
CREATE TRIGGER shop_unsealed AFTER UPDATE ON shop WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE shop SET digest = '' WHERE id = NEW.id;
END;

ALTER TABLE guitar ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX guitar_unsealed ON guitar (digest) WHERE digest = '';
CREATE TRIGGER guitar_unsealed AFTER UPDATE ON guitar WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE guitar SET digest = '' WHERE id = NEW.id;
END;

ALTER TABLE entry ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX entry_unsealed ON entry (digest) WHERE digest = '';
CREATE TRIGGER entry_unsealed AFTER UPDATE ON entry WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE entry SET digest = '' WHERE guitar_id = NEW.guitar_id AND seq = NEW.seq;
END;

ALTER TABLE climate ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX climate_unsealed ON climate (digest) WHERE digest = '';
CREATE TRIGGER climate_unsealed AFTER UPDATE ON climate WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE climate SET digest = '' WHERE at = NEW.at AND place = NEW.place;
END;

ALTER TABLE account ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX account_unsealed ON account (digest) WHERE digest = '';
CREATE TRIGGER account_unsealed AFTER UPDATE ON account WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE account SET digest = '' WHERE id = NEW.id;
END;

ALTER TABLE session ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX session_unsealed ON session (digest) WHERE digest = '';
CREATE TRIGGER session_unsealed AFTER UPDATE ON session WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE session SET digest = '' WHERE hash = NEW.hash;
END;

ALTER TABLE event ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX event_unsealed ON event (digest) WHERE digest = '';
CREATE TRIGGER event_unsealed AFTER UPDATE ON event WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE event SET digest = '' WHERE seq = NEW.seq;
END;

ALTER TABLE photo ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX photo_unsealed ON photo (digest) WHERE digest = '';
CREATE TRIGGER photo_unsealed AFTER UPDATE ON photo WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE photo SET digest = '' WHERE id = NEW.id;
END;

ALTER TABLE photo_bytes ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX photo_bytes_unsealed ON photo_bytes (digest) WHERE digest = '';
CREATE TRIGGER photo_bytes_unsealed AFTER UPDATE ON photo_bytes WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE photo_bytes SET digest = '' WHERE photo_id = NEW.photo_id;
END;

ALTER TABLE sent ADD COLUMN digest TEXT NOT NULL DEFAULT '';
CREATE INDEX sent_unsealed ON sent (digest) WHERE digest = '';
CREATE TRIGGER sent_unsealed AFTER UPDATE ON sent WHEN NEW.digest = OLD.digest
BEGIN
    UPDATE sent SET digest = '' WHERE account = NEW.account AND sent_key = NEW.sent_key;
END;
