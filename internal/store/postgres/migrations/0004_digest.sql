-- matches sqlite 7
-- What each row says, as a digest (sqlstore, seal.go): a bit that flips on the disk shows, though every page is where
-- it should be. Whatever changes a row empties its digest; the program fills it in before the change is kept, and
-- once when it opens a shop that an older program wrote. The indexes hold only rows that wait for theirs.
CREATE FUNCTION unsealed() RETURNS trigger LANGUAGE plpgsql AS
$$BEGIN NEW.digest = ''; RETURN NEW; END$$;

ALTER TABLE shop ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX shop_unsealed ON shop (digest) WHERE digest = '';
CREATE TRIGGER shop_unsealed BEFORE UPDATE ON shop FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE guitar ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX guitar_unsealed ON guitar (digest) WHERE digest = '';
CREATE TRIGGER guitar_unsealed BEFORE UPDATE ON guitar FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE entry ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX entry_unsealed ON entry (digest) WHERE digest = '';
CREATE TRIGGER entry_unsealed BEFORE UPDATE ON entry FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE climate ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX climate_unsealed ON climate (digest) WHERE digest = '';
CREATE TRIGGER climate_unsealed BEFORE UPDATE ON climate FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE account ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX account_unsealed ON account (digest) WHERE digest = '';
CREATE TRIGGER account_unsealed BEFORE UPDATE ON account FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE session ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX session_unsealed ON session (digest) WHERE digest = '';
CREATE TRIGGER session_unsealed BEFORE UPDATE ON session FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE event ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX event_unsealed ON event (digest) WHERE digest = '';
CREATE TRIGGER event_unsealed BEFORE UPDATE ON event FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE photo ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX photo_unsealed ON photo (digest) WHERE digest = '';
CREATE TRIGGER photo_unsealed BEFORE UPDATE ON photo FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE photo_bytes ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX photo_bytes_unsealed ON photo_bytes (digest) WHERE digest = '';
CREATE TRIGGER photo_bytes_unsealed BEFORE UPDATE ON photo_bytes FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();

ALTER TABLE sent ADD COLUMN digest TEXT COLLATE "C" NOT NULL DEFAULT '';
CREATE INDEX sent_unsealed ON sent (digest) WHERE digest = '';
CREATE TRIGGER sent_unsealed BEFORE UPDATE ON sent FOR EACH ROW WHEN (NEW.digest = OLD.digest) EXECUTE FUNCTION unsealed();
