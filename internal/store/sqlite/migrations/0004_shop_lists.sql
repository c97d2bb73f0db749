-- What the shop owns and pays: drills on hand as typed, one item each, and its own prices as typed, by item.
ALTER TABLE shop ADD COLUMN drills_json TEXT NOT NULL DEFAULT '[]';
ALTER TABLE shop ADD COLUMN prices_json TEXT NOT NULL DEFAULT '{}';
ALTER TABLE shop ADD COLUMN currency TEXT NOT NULL DEFAULT '';
